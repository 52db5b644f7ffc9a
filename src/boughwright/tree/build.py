"""From the story of a tree to its rows and arrays: parents, zones, phases, targets, state."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from boughwright.errors import TextError
from boughwright.journal.names import WHOLE, is_name, parse_name
from boughwright.journal.terms import (
    Bark,
    GraftKind,
    Job,
    Kind,
    Phase,
    Quantity,
    Zone,
)
from boughwright.tree.model import Branches, Contradiction
from boughwright.tree.naming import Standing, rows_of_zone
from boughwright.tree.readings import latest
from boughwright.tree.story import Part

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from enum import StrEnum

    import numpy.typing as npt

    from boughwright.tree.model import Codes, Floats, Ints
    from boughwright.tree.readings import Index
    from boughwright.tree.story import Said, Story

TRUNK = "trunk"
"""Identity of the trunk when the grower entered none."""

LOWER_BELOW, MIDDLE_BELOW = 0.45, 0.75
"""Zones by start height over the agreed outline. Common practice."""

TARGET_STEP = {Zone.LOWER: 0.35, Zone.MIDDLE: 0.30, Zone.APEX: 0.25}
"""Base over the trunk beside it, unless the grower sets one. Common practice."""

_POSITION: dict[type[StrEnum], dict[StrEnum, int]] = {
    enum: {member: place for place, member in enumerate(enum)}
    for enum in (Kind, Zone, Phase, Job, Bark, GraftKind)
}
_STEPPED = (Kind.BRANCH, Kind.GRAFT)
"""Parts that have a step; a leader goes on from the trunk and has none."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The parts of a tree as rows, each after its parent, before any array is made."""

    parts: tuple[Part, ...]
    parent: list[int]
    order: list[int]
    kind: list[int]
    row: Mapping[str, int]
    """Row of each lasting identity."""
    faults: tuple[Contradiction, ...]

    def ref(self, value: object) -> int:
        """Return the row of a reference to another part, -1 when it is none of this tree's."""
        return self.row.get(str(value), -1) if value is not None else -1


# --- rows ----------------------------------------------------------------------------------------


def frame_of(story: Story) -> Frame:
    """Put the parts in rows: the trunk first, each part after its parent, siblings by height.

    A part without a parent grows from the trunk, or from the branch its name says (``2R-1`` from
    ``2R``). An unknown parent and a ring of parents are listed as faults; the part then hangs on
    the trunk.
    """
    parts = dict(story.parts)
    root = _root_of(parts)
    if root not in parts:
        parts[root] = Part(root)
    up, odd = _parents(parts, root)
    rings = _break_rings(parts, up, root)
    ids = _walk(parts, up, root)
    row = {id_: place for place, id_ in enumerate(ids)}
    parent = [-1, *(row[up[id_]] for id_ in ids[1:])]
    kind = [_kind_of(parts[id_], id_ == root) for id_ in ids]
    trunk = _POSITION[Kind][Kind.TRUNK]
    order = [0] * len(ids)
    for place in range(1, len(ids)):
        order[place] = 0 if kind[place] == trunk else order[parent[place]] + 1
    faults = [_no_parent(parts[id_], row[id_]) for id_ in odd]
    faults += [_ring(parts, members, row) for members in rings]
    row.setdefault(TRUNK, 0)
    return Frame(tuple(parts[i] for i in ids), parent, order, kind, row, tuple(faults))


def _root_of(parts: Mapping[str, Part]) -> str:
    if TRUNK in parts:
        return TRUNK
    for part in parts.values():
        if part.fields.get("kind") == Kind.TRUNK.value or part.name.casefold() == TRUNK:
            return part.id
    return TRUNK


def _parents(parts: Mapping[str, Part], root: str) -> tuple[dict[str, str], list[str]]:
    now: dict[str, list[str]] = {}
    ever: dict[str, list[str]] = {}
    for part in parts.values():
        now.setdefault(part.name.casefold(), []).append(part.id)
        for name, _, _ in part.names:
            ever.setdefault(name.casefold(), []).append(part.id)
    up: dict[str, str] = {}
    odd: list[str] = []
    for part in parts.values():
        if part.id == root:
            continue
        wanted = part.fields.get("parent")
        if wanted is None:
            up[part.id] = _parent_by_name(part, now, ever) or root
        elif str(wanted) in parts or str(wanted) == TRUNK:
            up[part.id] = str(wanted) if str(wanted) in parts else root
        else:
            up[part.id] = root
            odd.append(part.id)
    return up, odd


def _parent_by_name(
    part: Part, now: Mapping[str, list[str]], ever: Mapping[str, list[str]]
) -> str | None:
    stem, dash, _ = part.name.rpartition("-")
    if not dash:
        return None
    found = now.get(stem.casefold()) or sorted(set(ever.get(stem.casefold(), ())))
    return found[0] if len(found) == 1 and found[0] != part.id else None


def _break_rings(parts: Mapping[str, Part], up: dict[str, str], root: str) -> list[list[str]]:
    """Cut each ring of parents at the part whose parent was set last; return the rings."""
    settled = {root}
    rings: list[list[str]] = []
    for start in parts:
        path: dict[str, None] = {}
        here = start
        while here not in settled and here not in path:
            path[here] = None
            here = up[here]
        if here not in settled:
            trail = list(path)
            ring = trail[trail.index(here) :]
            loose = max(ring, key=lambda id_: (_parent_set(parts[id_]), id_))
            up[loose] = root
            rings.append([loose, *sorted(id_ for id_ in ring if id_ != loose)])
        settled.update(path)
    return rings


def _parent_set(part: Part) -> int:
    event = part.set_by.get("parent")
    return event.int if event is not None else -1  # version 7 identities grow with time


def _walk(parts: Mapping[str, Part], up: Mapping[str, str], root: str) -> list[str]:
    children: dict[str, list[str]] = {}
    for id_ in sorted(up, key=lambda id_: _beside(parts[id_]), reverse=True):
        children.setdefault(up[id_], []).append(id_)
    ids: list[str] = []
    stack = [root]
    while stack:
        here = stack.pop()
        ids.append(here)
        stack.extend(children.get(here, ()))
    return ids


def _beside(part: Part) -> tuple[float, float, list[tuple[float, str]], str]:
    """Sort siblings by height, then distance along, then name with its numbers as numbers."""
    steps = [
        (float(piece), "") if piece[0].isdigit() else (-1.0, piece)
        for piece in re.findall(r"\d+(?:\.\d+)?|[^\d]+", part.name.casefold())
    ]
    height, along = part.fields.get("height_mm"), part.fields.get("along_mm")
    return (
        math.inf if height is None else float(height),  # type: ignore[arg-type]
        math.inf if along is None else float(along),  # type: ignore[arg-type]
        steps,
        part.id,
    )


def _kind_of(part: Part, root: bool) -> int:
    kinds = _POSITION[Kind]
    if root:
        return kinds[Kind.TRUNK]
    given = part.fields.get("kind")
    if given is not None:
        return kinds[Kind(str(given))]
    if not is_name(part.name):
        return kinds[Kind.BRANCH]
    name = parse_name(part.name)
    if name.graft and not name.path:
        return kinds[Kind.GRAFT]
    word = name.word.split(" ")[0]
    return kinds[Kind(word)] if word and not name.path else kinds[Kind.BRANCH]


def _no_parent(part: Part, row: int) -> Contradiction:
    return Contradiction(
        "unknown-parent", row, (part.set_by["parent"],),
        f"{part.name} is said to grow from {part.fields['parent']}, which is not in the record. "
        "It hangs on the trunk until then.",
        "Enter that branch, or name the right parent.",
    )  # fmt: skip


def _ring(parts: Mapping[str, Part], members: list[str], row: Mapping[str, int]) -> Contradiction:
    names = " and ".join(parts[id_].name for id_ in members)
    events = tuple(parts[i].set_by[k] for i in members for k in ("parent",) if k in parts[i].set_by)
    return Contradiction(
        "parent-ring", row[members[0]], events,
        f"{names} are said to grow from each other. {parts[members[0]].name} hangs on the trunk "
        "until then.",
        "Name the right parent of one of them.",
    )  # fmt: skip


# --- columns -------------------------------------------------------------------------------------


def branches_of(story: Story, frame: Frame, index: Index, until: date | None) -> Branches:
    """Make the arrays of a framed story.

    Parameters
    ----------
    story, frame
        The story and its rows.
    index
        Readings by quantity, row and day.
    until : date, optional
        The last day known; what is to be gone later still stands.
    """
    parts = frame.parts
    heights = _numbers(parts, "height_mm")
    kind = np.asarray(frame.kind, np.int8)
    parent = np.asarray(frame.parent, np.int32)
    zone = _zones(story, frame, heights)
    outer, clock = _truths(parts, "outer"), _numbers(parts, "clock")
    at = Standing(kind, zone, outer, clock, parent)
    columns: dict[str, Any] = {
        "parent": parent, "kind": kind, "height_mm": heights, "zone": zone, "outer": outer,
        "clock": clock, "order": np.asarray(frame.order, np.int32),
        "ids": tuple(part.id for part in parts),
        "names": tuple(part.name for part in parts),
        "aliases": tuple(tuple(name for name, _, _ in part.names[:-1]) for part in parts),
        "alias_until": tuple(tuple(day for _, day, _ in part.names[1:]) for part in parts),
        "phase": _phases(story, parts, zone),
        "target_step": _targets(parts, kind, zone),
        "vigour": said_of_rows(story.strength, frame, at),
        "running": said_of_rows(story.runs, frame, at),
        "gone": _gone(frame, until),
    }  # fmt: skip
    columns |= _read(index, len(parts))
    for name in ("along_mm", "job_until_base_mm", "elevation_deg", "plan_angle_deg", "knuckle"):
        columns[name] = _numbers(parts, name)
    for name in ("wanted", "bud_inside", "pair_level", "union_moves", "union_gap", "lips_joined",
                 "weaned"):  # fmt: skip
        columns[name] = _truths(parts, name)
    for name in ("leaves", "cluster", "clusters", "fork_order"):
        columns[name] = _counts(parts, name)
    for name, enum in (("job", Job), ("bark", Bark), ("graft_kind", GraftKind)):
        columns[name] = _codes(parts, name, enum)
    for name in ("job_for", "shaded_by"):
        columns[name] = _ints([frame.ref(part.fields.get(name)) for part in parts])
    columns["donor"] = _donors(frame)
    for name in ("grafted_on", "provisional_since"):
        columns[name] = _ints([_ordinal(part.fields.get(name)) for part in parts])
    return Branches(**columns)


def said_of_rows(said: Sequence[Said], frame: Frame, at: Standing) -> Codes:
    """Return the last thing said of each row, by name or by its zone; -1 when nothing was."""
    value = np.full(len(frame.parts), -1, np.int8)
    for one in said:
        if one.event.branch is not None:
            rows = np.zeros(len(value), bool)
            rows[frame.row[one.event.branch]] = True
        else:
            rows = rows_said(one, at)
        if one.instead_of is not None:
            rows = rows & (value == one.instead_of)
        value[rows] = one.value
    return value


def rows_said(one: Said, at: Standing) -> npt.NDArray[np.bool_]:
    """Return the rows of what was said of a zone; none when the zone's words are not known."""
    zone = "" if one.zone.casefold() in WHOLE else one.zone
    try:
        return rows_of_zone(zone, at, one.front_deg)
    except TextError:
        return np.zeros(len(at.kind), bool)


def _read(index: Index, count: int) -> dict[str, npt.NDArray[Any]]:
    columns: dict[str, npt.NDArray[Any]] = {}
    for what in (Quantity.TRUNK, Quantity.NODE, Quantity.ROOM, Quantity.LENGTH, Quantity.EXTENSION,
                 Quantity.EXIT, Quantity.ENTRY, Quantity.OPEN):  # fmt: skip
        columns[f"{what.value}_mm"] = _latest(index, what, count)
    columns["base_mm"] = _latest(index, Quantity.BASE, count)
    columns["base_sd_mm"] = np.full(count, np.nan)
    columns["base_on"] = np.full(count, -1, np.int32)
    for row in range(count):
        reading = latest(index, Quantity.BASE, row)
        if reading is not None:
            columns["base_sd_mm"][row], columns["base_on"][row] = reading.sd, reading.day
    return columns


LEAST_OUTLINE_MM = 1.0
"""An outline lower than this was never measured."""


def _latest(index: Index, what: Quantity, count: int) -> Floats:
    values = np.full(count, np.nan)
    for row in range(count):
        readings = index.get((what, row))
        if readings:
            values[row] = readings[-1].value
    return values


def _zones(story: Story, frame: Frame, heights: Floats) -> Codes:
    """Take zones as set, else by height, else from the parent: a shoot is where its branch is."""
    outline = story.facts.get("height_mm")
    known = isinstance(outline, int | float) and outline >= LEAST_OUTLINE_MM
    share = heights / (float(outline) if known else math.nan)  # type: ignore[arg-type]  # a number
    place = np.digitize(share, (LOWER_BELOW, MIDDLE_BELOW))
    zone = np.where(np.isnan(share), -1, place).astype(np.int8)
    top, apex = _POSITION[Kind][Kind.TOP], _POSITION[Zone][Zone.APEX]
    zone[np.asarray(frame.kind) == top] = apex
    given = _codes(frame.parts, "zone", Zone)
    zone = np.where(given >= 0, given, zone)
    zone[0] = -1
    for row in range(1, len(zone)):
        if zone[row] < 0:
            zone[row] = zone[frame.parent[row]]
    return zone


def _phases(story: Story, parts: Sequence[Part], zone: Codes) -> Codes:
    words = _POSITION[Phase]
    tree = story.facts.get("phase")
    apex = story.facts.get("apex_phase")
    phase = np.full(len(parts), -1 if tree is None else words[Phase(str(tree))], np.int8)
    if apex is not None:
        phase[zone == _POSITION[Zone][Zone.APEX]] = words[Phase(str(apex))]
    own = _codes(parts, "phase", Phase)
    return np.where(own >= 0, own, phase)


def _targets(parts: Sequence[Part], kind: Codes, zone: Codes) -> Floats:
    by_zone = np.asarray([*TARGET_STEP.values(), math.nan])  # -1 picks the last
    stepped = np.isin(kind, [_POSITION[Kind][one] for one in _STEPPED])
    own = _numbers(parts, "target_step")
    return np.where(np.isnan(own), np.where(stepped, by_zone[zone], math.nan), own)


def gone_days(frame: Frame, until: date | None) -> list[int]:
    """Return the day each row was gone, itself or with a part it grows from; -1 while it stands."""
    days = [-1] * len(frame.parts)
    for row, part in enumerate(frame.parts):
        own = part.gone
        if own is not None and (until is None or own[0] <= until):
            days[row] = own[0].toordinal()
        above = days[frame.parent[row]] if row else -1
        if above >= 0 and (days[row] < 0 or above < days[row]):
            days[row] = above
    return days


def _gone(frame: Frame, until: date | None) -> npt.NDArray[np.bool_]:
    return np.asarray(gone_days(frame, until)) >= 0


def _donors(frame: Frame) -> Ints:
    names = {part.name.casefold(): row for row, part in enumerate(frame.parts)}
    rows = []
    for part in frame.parts:
        donor = part.fields.get("donor")
        row = frame.ref(donor)
        rows.append(names.get(str(donor).casefold(), -1) if row < 0 and donor else row)
    return _ints(rows)


def _numbers(parts: Sequence[Part], name: str) -> Floats:
    return np.asarray([part.fields.get(name, math.nan) for part in parts], np.float64)


def _truths(parts: Sequence[Part], name: str) -> Codes:
    return np.asarray([int(part.fields.get(name, -1)) for part in parts], np.int8)  # type: ignore[arg-type]


def _counts(parts: Sequence[Part], name: str) -> Ints:
    return np.asarray([part.fields.get(name, -1) for part in parts], np.int32)


def _ints(values: Sequence[int]) -> Ints:
    return np.asarray(values, np.int32)


def _codes(parts: Sequence[Part], name: str, enum: type[StrEnum]) -> Codes:
    positions = _POSITION[enum]
    given = (part.fields.get(name) for part in parts)
    return np.asarray([-1 if v is None else positions[enum(str(v))] for v in given], np.int8)


def _ordinal(value: object) -> int:
    return value.toordinal() if isinstance(value, date) else -1
