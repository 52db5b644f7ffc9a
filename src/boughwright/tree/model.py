"""What replaying a tree's journal gives: plain arrays and records, unknown kept unknown.

Shapes: N = named parts of the tree (trunk, branches, grafts, scars), each after its parent.
Unknown is nan for numbers, -1 for codes and tri-states, ``None`` for text and dates.
A code is the position of a word in its enumeration (``list(Phase)`` and so on); tri-states are
-1 unknown, 0 no, 1 yes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from uuid import UUID

    from boughwright.journal.events import FieldValue, Promised, Worked
    from boughwright.journal.terms import Amount, Bend, Fit, Metal, Quantity, Sign

Floats: TypeAlias = npt.NDArray[np.float64]
Ints: TypeAlias = npt.NDArray[np.int32]
Codes: TypeAlias = npt.NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class Measure:
    """One reading in the record. ``branch`` is a row, -1 for the whole tree."""

    event: UUID
    on: date
    branch: int
    what: Quantity
    value: float
    sd: float
    how: str
    who: str
    earlier: float = float("nan")
    """A reading of unknown day given along with it (``open 46 to 41``); nan when none was."""


@dataclass(frozen=True, slots=True)
class Wire:
    """One wiring of one branch (row) or of a zone (``branch`` -1), with what became of it.

    ``looks`` are (day, grade) pairs seen while it was on, oldest first. ``base_mm`` is the base at
    wiring, read within 30 days or carried from the last reading; nan when unknown.
    """

    event: UUID
    branch: int
    zone: str
    on: date
    gauge_mm: float
    metal: Metal | None
    strands: int
    bend: Bend | None
    fit: Fit | None
    shoots: int
    base_mm: float
    looks: tuple[tuple[date, int], ...]
    off: date | None
    off_grade: int | None
    off_method: str


@dataclass(frozen=True, slots=True)
class WorkDone:
    """One work done. ``branch`` is a row, -1 for a zone or the whole tree."""

    event: UUID
    on: date
    branch: int
    what: Worked
    who: str


@dataclass(frozen=True, slots=True)
class Seen:
    """One sign in the record; with the amount ``none`` it was looked for and not there."""

    event: UUID
    on: date
    branch: int
    sign: Sign
    grade: int | None
    amount: Amount | None
    zone: str
    rows: tuple[int, ...] = ()
    """Rows that the zone covered that day; empty for a branch and for the whole tree."""


@dataclass(frozen=True, slots=True)
class Promise:
    """One standing promise or provisional choice."""

    event: UUID
    on: date
    branch: int
    what: Promised


@dataclass(frozen=True, slots=True)
class Look:
    """A look the grower asked for."""

    event: UUID
    on: date
    due: date
    branch: int
    zone: str


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two records that cannot both be right. Listed for the grower, never mended silently."""

    kind: str
    """``shrank``, ``thicker-than-trunk``, ``off-but-seen``, ``graft-before-donor``,
    ``date-order``, ``unknown-parent``, ``gone-but-worked`` and the like."""
    branch: int
    events: tuple[UUID, ...]
    what: str
    """The sentence for the grower, with both values and dates."""
    todo: str


@dataclass(frozen=True, slots=True)
class Branches:
    """The structure and latest state of every part of the tree. All arrays are (N,)."""

    ids: tuple[str, ...]
    names: tuple[str, ...]
    aliases: tuple[tuple[str, ...], ...]
    parent: Ints
    """Row of the parent, -1 for the trunk. Always less than the own row."""
    order: Ints
    """0 trunk, 1 primary, 2 secondary and so on."""
    kind: Codes
    height_mm: Floats
    along_mm: Floats
    clock: Floats
    """Direction seen from above as of the first front; `naming.clock_now` turns it to today's."""
    base_mm: Floats
    base_sd_mm: Floats
    base_on: Ints
    """Day of the reading as ``date.toordinal()``, -1 unknown."""
    trunk_mm: Floats
    """The trunk (for a secondary: its parent) beside the branch."""
    node_mm: Floats
    room_mm: Floats
    length_mm: Floats
    extension_mm: Floats
    exit_mm: Floats
    entry_mm: Floats
    open_mm: Floats
    zone: Codes
    """As set by the grower, else by height; -1 when neither is known."""
    outer: Codes
    phase: Codes
    """As set for the branch, else the tree's (apex: its apex phase); -1 unknown."""
    vigour: Codes
    """Local strength set or last seen, -1 unknown."""
    wanted: Codes
    target_step: Floats
    """As set by the grower, else by zone; nan where the zone is unknown."""
    job: Codes
    job_for: Ints
    job_until_base_mm: Floats
    elevation_deg: Floats
    plan_angle_deg: Floats
    shaded_by: Ints
    bud_inside: Codes
    pair_level: Codes
    leaves: Ints
    cluster: Ints
    clusters: Ints
    knuckle: Floats
    fork_order: Ints
    bark: Codes
    graft_kind: Codes
    grafted_on: Ints
    donor: Ints
    union_moves: Codes
    union_gap: Codes
    lips_joined: Codes
    weaned: Codes
    provisional_since: Ints
    running: Codes
    """1 when its tip was let run and not cut since, 0 when cut or pinched since, -1 unknown."""
    gone: npt.NDArray[np.bool_]
    """Cut off, fallen or dead, itself or with its parent. Kept with its name and history."""
    alias_until: tuple[tuple[date, ...], ...] = ()
    """The day each of ``aliases`` gave way to the next name."""

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.ids)


@dataclass(frozen=True, slots=True)
class Tree:
    """One tree as the journal tells it up to a day.

    ``facts`` holds the latest value of each known field of `boughwright.journal.fields`;
    a missing key is unknown. Beside those: ``trunk_mm``, the latest trunk above the root flare, and
    ``vigour_on``, the day strength was last judged by hand. ``traits`` are
    the overrides of species values that hold for the tree. Records are oldest first.
    """

    id: str
    facts: Mapping[str, FieldValue]
    traits: Mapping[str, FieldValue]
    front_deg: float
    branches: Branches
    measures: tuple[Measure, ...]
    wires: tuple[Wire, ...]
    works: tuple[WorkDone, ...]
    seen: tuple[Seen, ...]
    promises: tuple[Promise, ...]
    looks: tuple[Look, ...]
    contradictions: tuple[Contradiction, ...]

    @property
    def name(self) -> str:
        """The plain name, or the id when none was given."""
        return str(self.facts.get("name") or self.id)
