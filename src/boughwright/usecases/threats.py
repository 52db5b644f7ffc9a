"""What the weather threatens: which trees to move tonight, worst first, and the days after."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.season.outlook import DAYS, known_span
from boughwright.season.stages import AlarmKind
from boughwright.usecases.day import ALARM_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from boughwright.season.stages import Alarm
    from boughwright.usecases.day import GardenDay, TreeDay

MOVES: Final = frozenset({AlarmKind.FROST, AlarmKind.POT_CORE})
"""Alarms from which a tree is carried under cover."""
TONIGHT: Final = timedelta(days=1)
"""A night belongs to the day it ends on: its coldest hour comes before tomorrow's sunrise."""


@dataclass(frozen=True, slots=True)
class Threatened:
    """One tree and one alarm of it."""

    tree: str
    name: str
    shelf: str
    place: str
    alarm: Alarm


@dataclass(frozen=True, slots=True)
class Move:
    """One tree to carry tonight, with its alarms of this night, the deepest below its limit first.

    ``under_c``: how far below its limit the air or the pot comes. [°C]
    """

    tree: str
    name: str
    shelf: str
    place: str
    alarms: tuple[Alarm, ...]
    under_c: float


@dataclass(frozen=True, slots=True)
class Danger:
    """One kind of alarm over the same days, with its trees, the hardest hit first."""

    kind: AlarmKind
    first: date
    last: date
    trees: tuple[Threatened, ...]
    todo: tuple[str, ...]
    """What to do, each once."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """How many of the days ahead are known at a place, and how many of the season were filled."""

    key: str
    place: str
    known: int
    of: int
    filled: int


@dataclass(frozen=True, slots=True)
class Threats:
    """What the weather threatens in the garden.

    ``tonight`` are the trees to move; ``ahead`` all alarms, nearest first; ``places`` what is known
    of the weather at each. ``reach`` is how many days alarms look ahead. [d]
    """

    today: date
    tonight: tuple[Move, ...]
    ahead: tuple[Danger, ...]
    places: tuple[Outlook, ...]
    reach: int

    @property
    def threatened(self) -> tuple[str, ...]:
        """Keys of all trees with an alarm, each once."""
        return tuple(dict.fromkeys(one.tree for danger in self.ahead for one in danger.trees))

    @property
    def blind(self) -> tuple[Outlook, ...]:
        """Places where not one of the days ahead is known."""
        return tuple(place for place in self.places if place.known == 0)


def threats_of(garden: GardenDay) -> Threats:
    """Return what the weather threatens, from a garden already worked out."""
    found = [
        Threatened(day.facts.tree, day.facts.name, day.shelf.name, _place(day), alarm)
        for day in garden.trees
        for alarm in day.alarms
    ]
    return Threats(
        garden.today, _tonight(found, garden.today), _grouped(found), _places(garden), ALARM_DAYS
    )


def _place(day: TreeDay) -> str:
    return str(day.shelf.place_fields.get("name") or day.shelf.place)


def _under(alarm: Alarm) -> float:
    """Return how far past its limit an alarm goes, whichever way hurts."""
    cold = alarm.kind in MOVES
    return alarm.limit - alarm.value if cold else alarm.value - alarm.limit


def _tonight(found: Iterable[Threatened], today: date) -> tuple[Move, ...]:
    mine: dict[str, list[Threatened]] = {}
    for one in found:
        if one.alarm.kind in MOVES and one.alarm.first <= today + TONIGHT:
            mine.setdefault(one.tree, []).append(one)
    moves = []
    for tree, several in mine.items():
        alarms = sorted((one.alarm for one in several), key=_under, reverse=True)
        one = several[0]
        moves.append(Move(tree, one.name, one.shelf, one.place, tuple(alarms), _under(alarms[0])))
    return tuple(sorted(moves, key=lambda move: (-move.under_c, move.name)))


def _grouped(found: Iterable[Threatened]) -> tuple[Danger, ...]:
    groups: dict[tuple[date, AlarmKind, date], list[Threatened]] = {}
    for one in found:
        key = (one.alarm.first, one.alarm.kind, one.alarm.last)
        groups.setdefault(key, []).append(one)
    dangers = []
    for (first, kind, last), trees in sorted(groups.items(), key=lambda item: item[0]):
        worst = sorted(trees, key=lambda one: (-_under(one.alarm), one.name))
        todo = tuple(dict.fromkeys(one.alarm.todo for one in worst))
        dangers.append(Danger(kind, first, last, tuple(worst), todo))
    return tuple(dangers)


def _places(garden: GardenDay) -> tuple[Outlook, ...]:
    places: dict[str, list[TreeDay]] = {}
    for day in garden.trees:
        places.setdefault(day.shelf.place, []).append(day)
    return tuple(
        Outlook(key, _place(trees[0]), _known_ahead(trees[0], garden.today), DAYS - 1,
                max(day.calendar.filled_days for day in trees))
        for key, trees in places.items()
    )  # fmt: skip


def _known_ahead(day: TreeDay, today: date) -> int:
    """Return how many of the days after today have a forecast at a tree's shelf."""
    ahead = known_span(day.clock, today + TONIGHT, today + timedelta(days=DAYS - 1))
    return int((~np.isnan(ahead.t_min_c)).sum())
