"""The wire register: which wire went on where, what was seen of it, and when it came off.

A zone's wire stays on until the zone, or every living branch of it, is told off; a branch of the
zone told off by itself is split off the zone's wire. A branch that is cut off takes its wire along.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from boughwright.journal.events import Saw, Worked
from boughwright.journal.names import WHOLE, is_zone, normal_zone
from boughwright.journal.terms import Amount, Quantity, Sign, Work
from boughwright.tree.build import rows_said
from boughwright.tree.model import Contradiction, Wire
from boughwright.units import show_date

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.journal.events import Event
    from boughwright.tree.build import Frame
    from boughwright.tree.naming import Standing
    from boughwright.tree.readings import Index
    from boughwright.tree.story import Said

READ_WITHIN_DAYS = 30
CARRIED_DAYS = 120
"""A base read so near the wiring stands for it; an older one of the same season is carried."""

NO_MARK = 1
"""The grade that ``ok`` or ``no bite`` of a branch or zone stands for: left alone, not bitten."""


@dataclass(slots=True, eq=False)
class _On:
    """One wiring while the register is made."""

    event: Event
    row: int
    zone: str
    rows: set[int]
    looks: list[tuple[date, int]] = field(default_factory=list)
    off: date | None = None
    off_event: Event | None = None
    off_grade: int | None = None
    off_method: str = ""


@dataclass(slots=True)
class _Register:
    frame: Frame
    at: Standing
    gone: list[int]
    on: dict[int, _On] = field(default_factory=dict)
    done: list[_On] = field(default_factory=list)
    by_row: dict[int, list[_On]] = field(default_factory=dict)
    last_off: dict[int, _On] = field(default_factory=dict)
    faults: list[Contradiction] = field(default_factory=list)

    def rows(self, said: Said) -> set[int]:
        """Return the rows meant, standing on that day."""
        if said.event.branch is not None:
            return {self.frame.row[said.event.branch]}
        day = said.event.on.toordinal()
        found = np.flatnonzero(rows_said(said, self.at)).tolist()
        return {row for row in found if self.gone[row] < 0 or self.gone[row] >= day}

    def touched(self, rows: Iterable[int], zone: str | None) -> list[_On]:
        """Return the wires on any of the rows, and zone wires of that very zone, oldest first."""
        found = {id(wire): wire for row in rows for wire in self.by_row.get(row, ())}
        if zone is not None:
            found |= {i: w for i, w in self.on.items() if w.row < 0 and zone in {"", w.zone}}
        return sorted(found.values(), key=lambda wire: wire.event.order)


def wires_of(
    said: Sequence[Said], frame: Frame, at: Standing, gone: list[int], index: Index, *, south: bool
) -> tuple[tuple[Wire, ...], tuple[Contradiction, ...]]:
    """Make the wire register.

    Parameters
    ----------
    said : sequence of Said
        Wire put on, taken off, and grades seen, in order.
    frame, at : Frame, Standing
        The rows and where they stand.
    gone : list of int
        Day each row was gone, -1 while it stands.
    index : Index
        Readings, for the base at wiring.
    south : bool
        Whether seasons turn on 1 July.

    Returns
    -------
    tuple of Wire, tuple of Contradiction
        Every wiring, oldest first, and what does not fit.
    """
    register = _Register(frame, at, gone)
    for one in said:
        body = one.event.body
        if isinstance(body, Saw):
            _seen(register, one, body)
        elif isinstance(body, Worked) and body.work is Work.WIRE_ON:
            _put_on(register, one)
        elif isinstance(body, Worked):
            _take_off(register, one, body)
    _gone_with_branch(register)
    every = sorted([*register.done, *register.on.values()], key=lambda w: (w.event.order, w.row))
    wires = tuple(_record(wire, index, south=south) for wire in every)
    return wires, tuple(register.faults)


def _zone_of(said: Said) -> str | None:
    """Return the zone meant in its written form, empty for the whole tree; None for a branch."""
    if said.event.branch is not None:
        return None
    word = said.zone.casefold()
    return "" if word in WHOLE else (normal_zone(word) if is_zone(word) else word)


def _put_on(register: _Register, said: Said) -> None:
    event = said.event
    rows, zone = register.rows(said), _zone_of(said)
    row = next(iter(rows)) if zone is None else -1
    for other in register.touched(rows, None) if row >= 0 else ():
        if other.row == row and other.event.on < event.on:
            name = register.frame.parts[row].name
            register.faults.append(Contradiction(
                "wired-twice", row, (other.event.id, event.id),
                f"{name} was wired on {show_date(other.event.on)} and again on "
                f"{show_date(event.on)}, with no wire off between.",
                "Enter the day the first wire came off, or withdraw one of the two.",
            ))  # fmt: skip
    wire = _On(event, row, zone or "", set(rows))
    register.on[id(wire)] = wire
    for one in rows:
        register.by_row.setdefault(one, []).append(wire)


def _take_off(register: _Register, said: Said, body: Worked) -> None:
    event = said.event
    rows, zone = register.rows(said), _zone_of(said)
    hits = register.touched(rows, zone)
    for wire in hits:
        whole = zone is not None and (wire.zone == zone or wire.rows <= rows)
        if wire.row >= 0 or whole:
            _close(register, wire, event, body)
        else:
            for row in sorted(wire.rows & rows):
                _split(register, wire, row, event, body)
    if hits or _same_day(register, rows, event, body):
        return
    row = next(iter(rows)) if zone is None else -1
    place = register.frame.parts[row].name if row >= 0 else (zone or "the tree")
    register.faults.append(Contradiction(
        "off-but-none-on", row, (event.id,),
        f"Wire came off {place} on {show_date(event.on)}, but none is on record there.",
        "Enter the day it was wired, or withdraw this one.",
    ))  # fmt: skip


def _same_day(register: _Register, rows: set[int], event: Event, body: Worked) -> bool:
    """Take a second wire off of one day as more told of the first."""
    told = [register.last_off[row] for row in sorted(rows) if row in register.last_off]
    told = [wire for wire in told if wire.off == event.on]
    for wire in told:
        if body.bite is not None:
            wire.off_grade = max(body.bite, -1 if wire.off_grade is None else wire.off_grade)
        wire.off_method = wire.off_method or body.method
    return bool(told)


def _close(register: _Register, wire: _On, event: Event, body: Worked) -> None:
    wire.off, wire.off_event = event.on, event
    wire.off_grade, wire.off_method = body.bite, body.method
    _retire(register, wire)


def _retire(register: _Register, wire: _On) -> None:
    del register.on[id(wire)]
    register.done.append(wire)
    for row in wire.rows:
        register.by_row[row].remove(wire)
        register.last_off[row] = wire


def _split(register: _Register, wire: _On, row: int, event: Event, body: Worked) -> None:
    part = _On(wire.event, row, wire.zone, {row}, list(wire.looks), event.on, event, body.bite,
               body.method)  # fmt: skip
    wire.rows.discard(row)
    register.by_row[row].remove(wire)
    register.last_off[row] = part
    register.done.append(part)
    if not wire.rows:
        del register.on[id(wire)]  # every branch of the zone is told by itself


def _seen(register: _Register, said: Said, body: Saw) -> None:
    event = said.event
    bite = body.sign is Sign.BITE and body.amount is not Amount.NONE
    grade = body.grade if bite else NO_MARK
    rows, zone = register.rows(said), _zone_of(said)
    hits = register.touched(rows, zone)
    for wire in hits:
        if grade is not None:
            wire.looks.append((event.on, grade))
    if hits or not bite:
        return
    row = next(iter(rows)) if zone is None else -1
    place = register.frame.parts[row].name if row >= 0 else (zone or "the tree")
    last = max((register.last_off[r] for r in rows if r in register.last_off),
               key=lambda wire: wire.off or date.min, default=None)  # fmt: skip
    mark = "A bite" if grade is None else f"Bite {grade}"
    if last is None or last.off is None or last.off_event is None:
        register.faults.append(Contradiction(
            "bite-without-wire", row, (event.id,),
            f"{mark} was seen on {place} on {show_date(event.on)}, but no wire is on record there.",
            "Enter the day it was wired and the gauge.",
        ))  # fmt: skip
    elif last.off < event.on:
        register.faults.append(Contradiction(
            "off-but-seen", row, (last.off_event.id, event.id),
            f"Wire came off {place} on {show_date(last.off)}, yet {mark.lower()} was seen on "
            f"{show_date(event.on)}.",
            "Look at the branch: if wire is on it, withdraw the wire off or enter the new wire.",
        ))  # fmt: skip


def _gone_with_branch(register: _Register) -> None:
    for wire in list(register.on.values()):
        days = [register.gone[row] for row in wire.rows]
        if days and min(days) >= 0:
            wire.off, wire.off_method = date.fromordinal(max(days)), "gone with the branch"
            _retire(register, wire)


def _record(wire: _On, index: Index, *, south: bool) -> Wire:
    body = wire.event.body
    assert isinstance(body, Worked)
    return Wire(
        event=wire.event.id, branch=wire.row, zone=wire.zone, on=wire.event.on,
        gauge_mm=math.nan if body.gauge_mm is None else body.gauge_mm, metal=body.metal,
        strands=body.strands, bend=body.bend, fit=body.fit,
        shoots=1 if body.shoots is None else body.shoots,
        base_mm=_base_at(index, wire.row, wire.event.on, south=south),
        looks=tuple(wire.looks), off=wire.off, off_grade=wire.off_grade,
        off_method=wire.off_method,
    )  # fmt: skip


def _base_at(index: Index, row: int, day: date, *, south: bool) -> float:
    """Return the base read nearest the wiring, else one carried within the season, else nan."""
    readings = index.get((Quantity.BASE, row), []) if row >= 0 else []
    on = day.toordinal()
    near = [one for one in readings if abs(one.day - on) <= READ_WITHIN_DAYS]
    if near:
        return min(near, key=lambda one: (abs(one.day - on), one.day)).value
    for one in reversed(readings):
        if one.day < on:
            carried = on - one.day < CARRIED_DAYS
            same = season_year(date.fromordinal(one.day), south=south) == season_year(
                day, south=south
            )
            return one.value if carried and same else math.nan
    return math.nan


def season_year(day: date, *, south: bool) -> int:
    """Return the year in which the season of a day began: 1 January north, 1 July south."""
    return day.year - (south and day.month < 7)
