"""What was written of a tree today, by the step of the bench session."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from boughwright.journal.events import (
    LookAgain,
    Measured,
    Noted,
    Photographed,
    Saw,
    Worked,
)
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.bench_phrases import CLEANED
from boughwright.usecases.history import Told, history_of
from boughwright.usecases.session import (
    PHOTO_AFTER,
    PHOTO_BEFORE,
    PLACE,
    SICK,
    WIRE_OFF,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.journal.events import Event
    from boughwright.usecases.day import TreeDay

    DoneKey: TypeAlias = tuple[int, Work | str, str]
    """Step, work or note, and the branch or zone it was done on."""

READ, CUTS, FINE = 4, 7, 12
"""Steps of readings, of structural cuts and of fine cuts."""

WORK_STEP: Final[Mapping[Work, int]] = {
    Work.LEAF_CLEAR: 3,
    Work.WIRE_OFF: WIRE_OFF, Work.GUY_OFF: WIRE_OFF,
    Work.RUB: 6, Work.FRUIT_OFF: 6,
    Work.TWO: 8, Work.BUD_SELECT: 8,
    Work.RIM: 9,
    Work.GRAFT_IN: 10, Work.GRAFT_ON: 10, Work.NOTCH: 10, Work.SEVER: 10,
    Work.WIRE_ON: 11, Work.GUY_ON: 11, Work.RAISE: 11, Work.LOWER: 11,
    Work.LEAF_THIN: FINE, Work.LEAF_PAIR: FINE, Work.LEAF_FULL: FINE, Work.PINCH: FINE,
    Work.LET_RUN: PLACE, Work.REPOT: PLACE, Work.FEED: PLACE, Work.SPRAY: PLACE,
    Work.SHADE: PLACE, Work.COVER: PLACE, Work.TURN: PLACE,
}  # fmt: skip
"""Step of the session each work belongs to; a cut by what it was cut to."""
STRUCTURAL_ENDS: Final = ("base", "collar", "inner shoot", "past")
SICK_END: Final = "live wood"


@dataclass(frozen=True, slots=True)
class Done:
    """Records of today by step, in the order they were written."""

    by_step: Mapping[int, tuple[Told, ...]]

    @property
    def count(self) -> int:
        """How many records there are."""
        return sum(len(some) for some in self.by_step.values())


def done_of(day: TreeDay, own: Sequence[Event], *, units: str = "mm") -> Done:
    """Return what was written of a tree today, by step of the bench session.

    Parameters
    ----------
    day : TreeDay
        The tree today.
    own : sequence of Event
        Everything written of it.
    units : str
        Unit that lengths are told in.
    """
    today = day.facts.today
    by_id = {event.id: event for event in own if event.on == today}
    worked = any(isinstance(event.body, Worked) for event in by_id.values())
    found: dict[int, list[Told]] = defaultdict(list)
    for told in reversed(history_of(day.tree, own, today=today, units=units).lines):
        if told.id in by_id:
            found[_step(by_id[told.id], worked=worked)].append(told)
    return Done({step: tuple(some) for step, some in found.items()})


def _step(event: Event, *, worked: bool) -> int:
    body = event.body
    if isinstance(body, Measured):
        return READ
    if isinstance(body, Worked):
        return _cut(body.to) if body.work is Work.CUT else WORK_STEP[body.work]
    if isinstance(body, Saw):
        return WIRE_OFF if body.sign is Sign.BITE else PHOTO_BEFORE
    if isinstance(body, Photographed):
        return PHOTO_AFTER if worked else PHOTO_BEFORE
    if isinstance(body, Noted) and body.text == CLEANED:
        return SICK
    return PLACE if isinstance(body, LookAgain) else PHOTO_BEFORE


def _cut(to: str) -> int:
    if to == SICK_END:
        return SICK
    return CUTS if to.startswith(STRUCTURAL_ENDS) else FINE
