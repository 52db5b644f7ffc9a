"""What was written of a tree today, by the step of the bench session, and what is left of it.

Some verdicts stand for the whole day although their work was done on it: what was logged today is
taken off the list here.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from boughwright.journal.events import (
    LookAgain,
    Measured,
    Noted,
    Photographed,
    Saw,
    Worked,
    standing,
)
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.bench_phrases import CLEANED, LOOKS
from boughwright.usecases.history import Told, history_of
from boughwright.usecases.session import (
    PHOTO_AFTER,
    PHOTO_BEFORE,
    PLACE,
    READING_MINUTES,
    SICK,
    WIRE_OFF,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from boughwright.journal.events import Event
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.session import Session, SessionLine, SessionStep, Spot

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


# --- what is left ---------------------------------------------------------------------------------


def left_of(session: Session, own: Sequence[Event]) -> Session:
    """Return a session without what was logged as done, or read, today.

    Parameters
    ----------
    session : Session
        As the verdicts ask for it.
    own : sequence of Event
        Everything written of the tree.
    """
    done = set(_logged(session, own))
    asks = tuple(ask for ask in session.asks if ask.read_on != session.today)
    steps = tuple(replace(step, lines=tuple(_left(step, done))) for step in session.steps)
    gone = READING_MINUTES * (len(session.asks) - len(asks))
    gone += _minutes(session.steps) - _minutes(steps)
    busy = bool(asks) or any(step.lines for step in steps)
    minutes = max(session.minutes - gone, 0.0) if busy else 0.0
    return replace(session, asks=asks, steps=steps, minutes=minutes)


def _minutes(steps: tuple[SessionStep, ...]) -> float:
    return sum(line.minutes for step in steps for line in step.lines)


def _logged(session: Session, own: Sequence[Event]) -> Iterator[DoneKey]:
    for event in standing(own):
        body = event.body
        if event.on != session.today:
            continue
        if isinstance(body, Worked):
            yield _step(event, worked=True), body.work, event.branch or body.zone
        elif isinstance(body, Noted) and body.text == CLEANED:
            yield SICK, CLEANED, ""


def _left(step: SessionStep, done: set[DoneKey]) -> Iterator[SessionLine]:
    """Yield the lines of a step with the branches that are still to be done."""
    for line in step.lines:
        left = tuple(spot for spot in line.spots if not _is_done(step.number, line, spot, done))
        if len(left) == len(line.spots):
            yield line
        elif left:
            share = sum(spot.minutes for spot in left)
            yield replace(line, spots=left, minutes=share, phrase=_shorter(line, left))


def _is_done(number: int, line: SessionLine, spot: Spot, done: set[DoneKey]) -> bool:
    where = spot.branch or spot.name
    if line.phrase.endswith(CLEANED):
        return (number, CLEANED, where) in done
    return any((number, work, where) in done for work in line.works)


def _shorter(line: SessionLine, left: tuple[Spot, ...]) -> str:
    """Return the phrase of a line for the branches that are left."""
    every = ", ".join(line.names)
    if not line.phrase.startswith(every):
        return ""
    return ", ".join(spot.name for spot in left) + line.phrase.removeprefix(every)


def answers_of(line: SessionLine, spot: Spot) -> tuple[str, ...]:
    """Return the phrases that answer a look, also one that goes with another verdict."""
    if spot.answers or spot.phrase or line.where not in LOOKS:
        return spot.answers
    return LOOKS[line.where](spot.name).phrases
