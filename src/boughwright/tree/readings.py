"""Readings by day: error of one reading, two readings of a day taken together, what is noise.

Base, trunk beside it, graft ends and scar width are read twice at right angles; readings of one
day are averaged when they agree and kept apart when they do not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.terms import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import TypeAlias
    from uuid import UUID

    from boughwright.journal.events import Measured
    from boughwright.tree.model import Measure

CALIPER_SD_MM = {True: 0.10, False: 0.20}
"""One caliper reading on a marked spot, or on a wet, rough or unmarked one. Common practice."""

TAPE_SD_MM = 1.0
PHOTO_SD_SHARE, PHOTO_SD_MM = 0.04, 0.5
EYE_SD_SHARE = 0.125
"""Half of the trade's plus-or-minus: tape 2 mm, photo 8 % or 1 mm, eye 25 %. Common practice."""

NOISE_SDS = 4.0
"""A fall of more than this many errors contradicts: 0.4 mm marked, 0.8 mm rough or unmarked."""

OVAL_SHARE = 0.10
"""How far two readings at right angles may differ on an oval branch. Starting value."""

WOOD = frozenset({Quantity.BASE, Quantity.TRUNK, Quantity.EXIT, Quantity.ENTRY})
"""Diameters of living wood: they never get smaller."""

_ROOT_FLARE = frozenset({(Quantity.TRUNK, -1), (Quantity.TRUNK, 0)})
_AVERAGED = WOOD | {Quantity.OPEN}


@dataclass(frozen=True, slots=True)
class DayReading:
    """What was read of one quantity on one part on one day.

    ``events`` are the readings the value rests on. ``agree`` is False when readings of that day
    differ by more than their errors and an oval branch explain; the value is then the last one.
    """

    day: int
    value: float
    sd: float
    events: tuple[UUID, ...]
    agree: bool
    all: tuple[Measure, ...]

    @property
    def reading_sd(self) -> float:
        """The error of the least sure single reading of the day."""
        return max(one.sd for one in self.all)


if TYPE_CHECKING:
    Index: TypeAlias = dict[tuple[Quantity, int], list[DayReading]]
    """Readings of each quantity and row (-1: the whole tree), oldest first."""


def error_of(body: Measured) -> float:
    """Return the standard error of one reading, in its own unit; nan when nothing says it."""
    if body.sd is not None:
        return body.sd
    if body.what in {Quantity.DRAIN, Quantity.WEIGHT}:
        return math.nan
    if body.how == "tape":
        return TAPE_SD_MM
    if body.how == "photo":
        return max(PHOTO_SD_SHARE * body.value, PHOTO_SD_MM)
    if body.how == "eye":
        return EYE_SD_SHARE * body.value
    return CALIPER_SD_MM[body.marked]


def noise_mm(*sds: float) -> float:
    """Return the difference that readings with these errors may show without contradiction."""
    return NOISE_SDS * max(sds) + 1e-9


def by_day(measures: Iterable[Measure]) -> Index:
    """Gather readings, oldest first on input, by quantity, row and day.

    The trunk above the root flare, read on the tree or on its trunk, is the base of row 0.
    """
    days: dict[tuple[Quantity, int], dict[int, list[Measure]]] = {}
    for one in measures:
        key = (one.what, one.branch)
        if key in _ROOT_FLARE:
            key = (Quantity.BASE, 0)
        days.setdefault(key, {}).setdefault(one.on.toordinal(), []).append(one)
    return {
        key: [_of_day(day, group) for day, group in sorted(of.items())] for key, of in days.items()
    }


def latest(index: Index, what: Quantity, row: int, before: int | None = None) -> DayReading | None:
    """Return the last reading of a quantity on a row, of days before ``before`` when given."""
    for reading in reversed(index.get((what, row), ())):
        if before is None or reading.day < before:
            return reading
    return None


def _of_day(day: int, group: list[Measure]) -> DayReading:
    last = group[-1]
    if len(group) == 1 or last.what not in _AVERAGED:
        return DayReading(day, last.value, last.sd, (last.event,), True, tuple(group))
    values = [one.value for one in group]
    spread = max(values) - min(values)
    if spread > max(noise_mm(*(one.sd for one in group)), OVAL_SHARE * max(values)):
        return DayReading(day, last.value, last.sd, (last.event,), False, tuple(group))
    count = len(group)
    sd = math.sqrt(sum(one.sd**2 for one in group)) / count
    events = tuple(one.event for one in group)
    return DayReading(day, sum(values) / count, sd, events, True, tuple(group))
