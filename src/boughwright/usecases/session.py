"""One tree on the bench today: what to measure first, then each step in order, and when to stop."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.benchwork.callup import tree_call
from boughwright.benchwork.order import FINE, LEAF, STEPS, STRUCTURAL, step_of
from boughwright.health.signs import HYGIENE
from boughwright.journal.events import LookAgain, Saw
from boughwright.journal.names import head_to_foot
from boughwright.journal.receipt import write
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.asks import ask_body, asks_of
from boughwright.usecases.bench_phrases import (
    EVERYWHERE,
    LET_BE,
    done_phrase,
    look_form,
    place_named,
)
from boughwright.usecases.shapes import shaped
from boughwright.usecases.stop_rules import stop_rules
from boughwright.verdicts.cautions import caution_text
from boughwright.verdicts.making import next_look
from boughwright.verdicts.precedence import RANKED
from boughwright.verdicts.verdict import Act, Harm, Sureness

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from boughwright.benchwork.jobs import TreeCall
    from boughwright.sources import Grade
    from boughwright.usecases.asks import Ask
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import Reason, SideNote, Verdict

PHOTO_BEFORE, SICK, WIRE_OFF, SEALS, PHOTO_AFTER, PLACE = 1, 2, 5, 13, 14, 15
"""Numbers of the steps that are named here; all stand in `boughwright.benchwork.order.STEPS`."""
READING_MINUTES: Final = 1.0
SEALED: Final = STRUCTURAL | {Act.RIM, Act.SEVER, Act.NOTCH, Act.CUT_SICK}
WIRED: Final = frozenset({Act.WIRE_ON, Act.GUY, Act.RAISE})


@dataclass(frozen=True, slots=True)
class Spot:
    """One branch on a line, or the whole tree (``branch`` empty).

    ``why`` is the verdict's first reason, ``also`` its notes that ask for no work, ``phrase`` what
    logs it as done; ``answers`` are the ways to answer a look, ``__`` for a number; ``field`` the
    field of the branch's form that answers it when no phrase does.
    """

    branch: str
    name: str
    why: str
    reasons: tuple[Reason, ...]
    also: tuple[str, ...]
    latest: date | None
    minutes: float
    sureness: Sureness
    grade: Grade
    phrase: str
    answers: tuple[str, ...] = ()
    field: str = ""


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One act on the branches it is the same for: place, act, exactly where, never, why.

    ``phrase`` logs it on all of them at once; empty when each has to be answered by itself.
    """

    act: Act
    where: str
    spots: tuple[Spot, ...]
    works: tuple[Work, ...]
    earliest: date | None
    latest: date | None
    minutes: float
    harm: Harm
    never: tuple[str, ...]
    caution: str
    why: str
    phrase: str

    @property
    def names(self) -> tuple[str, ...]:
        """Names of its branches in the order they are worked; empty for the whole tree."""
        return tuple(spot.name for spot in self.spots if spot.branch or spot.name)


@dataclass(frozen=True, slots=True)
class SessionStep:
    """One step of the session. ``phrases`` may be said of the tree at this step."""

    number: int
    title: str
    lines: tuple[SessionLine, ...]
    phrases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HandsOff:
    """A branch that must be let be today, why, and what must not be done to it."""

    branch: str
    name: str
    act: Act
    where: str
    why: str
    never: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Session:
    """One tree's session.

    ``minutes`` with setting up; ``toll`` what the list takes, ``toll_left`` what the tree has for
    the season [points]; ``later`` are lines that open on another day.
    """

    tree: str
    name: str
    today: date
    asks: tuple[Ask, ...]
    steps: tuple[SessionStep, ...]
    stop: tuple[Reason, ...]
    hands_off: tuple[HandsOff, ...]
    later: tuple[SessionLine, ...]
    look_again: date
    look_at: str
    setup_minutes: float
    minutes: float
    toll: float
    toll_left: float | None

    @property
    def calm(self) -> bool:
        """True when nothing on the tree needs hands today."""
        return not self.asks and not any(step.lines for step in self.steps)


@dataclass(frozen=True, slots=True)
class _Part:
    """What one verdict or side note asks of one branch."""

    row: int
    act: Act
    works: tuple[Work, ...]
    earliest: date | None
    latest: date | None
    minutes: float
    share: float
    harm: Harm
    verdict: Verdict
    note: SideNote | None = None

    @property
    def where(self) -> str:
        """The exact place and way, in the verdict's words."""
        return self.verdict.where


def session_of(garden: GardenDay, tree: str) -> Session:
    """Return today's session of one tree.

    Parameters
    ----------
    garden : GardenDay
        The garden on the day.
    tree : str
        Name, tag or id of the tree.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    day = garden.tree(tree)
    call = tree_call(day.facts, day.branches, (*day.whole, *day.verdicts))
    parts = _timed(list(_parts(day)), call)
    asks = asks_of(day)
    now, later = _sorted_out(day, parts, {ask.row for ask in asks})
    steps = _steps(day, now)
    on_list = [part for part in now if part.works]
    due = [job for job in call.jobs if _open(job.earliest, day.facts.today)]
    extra = READING_MINUTES * sum(ask.act is not Act.LOOK_FIRST for ask in asks)
    minutes = sum(job.minutes for job in due) + extra
    whole = call.setup_minutes + minutes if due or asks else 0.0
    toll = sum(job.toll for job in due)
    look, look_at = _look_again(day, now)
    return Session(
        day.facts.tree, day.facts.name, day.facts.today, asks, _framed(steps, look),
        stop_rules(day, {p.act for p in on_list}, {w for p in on_list for w in p.works},
                   toll=toll, minutes=whole) if on_list else (),
        _hands_off(day), tuple(_lines(day, later)), look, look_at, call.setup_minutes, whole,
        toll, call.toll_left,
    )  # fmt: skip


# --- what the verdicts ask for --------------------------------------------------------------------


def _parts(day: TreeDay) -> Iterator[_Part]:
    """Yield every work and every look that a verdict or one of its notes asks for."""
    by_row = {branch.row: branch for branch in day.branches}
    for v in (*day.whole, *day.verdicts):
        if _asks(v.act, v.works, v.latest):
            yield _Part(v.row, v.act, v.works, v.earliest, v.latest, v.minutes, v.share, v.harm, v)
        for note in v.notes:
            if _asks(note.act, note.works, note.latest):
                own = _behind(day, by_row.get(v.row), note, v)
                yield _Part(v.row, note.act, note.works, note.earliest, note.latest, note.minutes,
                            note.share, note.harm, own, note)  # fmt: skip


def _asks(act: Act, works: tuple[Work, ...], latest: date | None) -> bool:
    """Tell whether it is a work, a look at a missing fact, or a look at wire by a day."""
    look = act is Act.LOOK_FIRST or (act is Act.KEEP_WIRE and latest is not None)
    return look or (bool(works) and act not in LET_BE)


def _behind(day: TreeDay, branch: BranchFacts | None, note: SideNote, main: Verdict) -> Verdict:
    """Return the verdict that a side note was made from: its place, its reasons, its warnings."""
    if branch is not None:
        for _, card in RANKED:
            found = card(day.facts, branch)
            if found is not None and found.act is note.act and found.works == note.works:
                return found
    return replace(main, where=note.text, never=(), caution="")


def _timed(parts: list[_Part], call: TreeCall) -> list[_Part]:
    """Give parts the minutes of the jobs they belong to: a round has its longest time."""
    job_of = {
        (job.act, job.earliest, row, job.how if row < 0 else ""): n
        for n, job in enumerate(call.jobs)
        for row in job.rows
    }
    asked: dict[int, float] = defaultdict(float)
    count: dict[int, int] = defaultdict(int)
    where = [
        job_of.get((p.act, p.earliest, p.row, p.where if p.row < 0 else ""), -1) for p in parts
    ]
    for part, n in zip(parts, where, strict=True):
        asked[n] += part.minutes
        count[n] += 1
    timed = []
    for part, n in zip(parts, where, strict=True):
        whole = call.jobs[n].minutes if n >= 0 else part.minutes
        each = whole * part.minutes / asked[n] if asked[n] > 0 else whole / count[n]
        timed.append(replace(part, minutes=each))
    return timed


def _open(earliest: date | None, today: date) -> bool:
    return earliest is None or earliest <= today


def _sorted_out(
    day: TreeDay, parts: list[_Part], asked: set[int]
) -> tuple[list[_Part], list[_Part]]:
    """Part what is for today from what opens later; readings on the list of asks go with it."""
    now: list[_Part] = []
    later: list[_Part] = []
    by_row = {branch.row: branch for branch in day.branches}
    for part in parts:
        reading = part.act is Act.LOOK_FIRST and part.note is None and bool(
            look_form(part.verdict, day.facts, by_row.get(part.row)).what
        )  # fmt: skip
        if reading and part.row in asked:
            continue
        wait = reading and part.row >= 0 and part.harm > Harm.WINDOW
        (now if _open(part.earliest, day.facts.today) and not wait else later).append(part)
    return now, later


# --- in order -------------------------------------------------------------------------------------


def _number(part: _Part, branch: BranchFacts | None) -> int:
    """Return the step a part belongs to; a look at wire goes with the wire."""
    if part.act is Act.PROTECT and part.where.startswith(HYGIENE[0]):
        return SICK
    wire = part.act is Act.LOOK_FIRST and branch is not None and branch.wire is not None
    return WIRE_OFF if wire and "wire" in part.where else step_of(part.act)


class _Order:
    """Where every row stands, for the order of work on one tree."""

    def __init__(self, day: TreeDay) -> None:
        rows = day.tree.branches
        self.by_row = {branch.row: branch for branch in day.branches}
        self.start = np.array(rows.height_mm, copy=True)
        for row in range(len(rows)):  # a shoot stands where its primary does
            if rows.order[row] > 1:
                self.start[row] = self.start[rows.parent[row]]
        living = [b.row for b in day.branches if b.order == 1]
        self.by_height = not np.isnan(self.start[living]).any()

    def _height(self, row: int) -> float:
        known = self.by_height and row >= 0 and not np.isnan(self.start[row])
        return float(self.start[row]) if known else 0.0

    def key(self, part: _Part) -> tuple[object, ...]:
        """Return the place of a part within its step."""
        branch = self.by_row.get(part.row)
        name = branch.name if branch is not None else ""
        base = (branch.base_mm or 0.0) if branch is not None else 0.0
        order = branch.order if branch is not None else 0
        if part.act in WIRED:
            foot = tuple(-x for x in head_to_foot(name)[:2])
            return (1, order, self._height(part.row), foot, -base)
        if part.act in STRUCTURAL:
            return (1, 0, -base, (), 0.0, head_to_foot(name))
        down = (-self._height(part.row), head_to_foot(name))
        if part.act in LEAF or part.act is Act.LEAF_CLEAR:
            return (0, 0, *down)
        fine = {Act.PINCH: 3}.get(part.act, 2) if part.act in FINE else 1
        urgent = 0.0 if part.act is not Act.WIRE_OFF else (part.latest or date.max).toordinal()
        return (fine, int(part.harm), urgent, *down)


def _steps(day: TreeDay, parts: list[_Part]) -> dict[int, tuple[SessionLine, ...]]:
    by_row = {branch.row: branch for branch in day.branches}
    found: dict[int, list[_Part]] = defaultdict(list)
    for part in parts:
        found[_number(part, by_row.get(part.row))].append(part)
    return {number: tuple(_lines(day, some)) for number, some in sorted(found.items())}


def _lines(day: TreeDay, parts: Iterable[_Part]) -> Iterator[SessionLine]:
    """Yield lines: neighbours in the order of work that ask for just the same stand together."""
    order = _Order(day)
    for _, group in groupby(sorted(parts, key=order.key), key=_sameness):
        yield _line(day, order, list(group))


def _sameness(part: _Part) -> tuple[object, ...]:
    alone = part.row if part.act is Act.LOOK_FIRST or part.row < 0 else -1
    return (part.act, part.where, part.works, part.harm, part.verdict.never, part.earliest,
            part.latest, alone)  # fmt: skip


def _line(day: TreeDay, order: _Order, parts: list[_Part]) -> SessionLine:
    lead = parts[0]
    spots = tuple(_spot(day, order.by_row.get(part.row), part) for part in parts)
    said = ""
    if lead.act is not Act.LOOK_FIRST:
        names = [spot.name for spot in spots if spot.name]
        said = done_phrase(lead.act, lead.works, names, where=lead.where, share=lead.share)
    return SessionLine(
        lead.act, lead.where, spots, lead.works, lead.earliest, lead.latest,
        sum(part.minutes for part in parts), lead.harm, lead.verdict.never,
        caution_text(lead.verdict.caution), spots[0].why, said,
    )  # fmt: skip


def _spot(day: TreeDay, branch: BranchFacts | None, part: _Part) -> Spot:
    v, note = part.verdict, part.note
    name = branch.name if branch is not None else _zone(day, v)
    branch_id = day.tree.branches.ids[part.row] if part.row >= 0 else ""
    names = [name] if name else []
    phrase = done_phrase(part.act, part.works, names, where=part.where, share=part.share)
    form = look_form(v, day.facts, branch) if part.act is Act.LOOK_FIRST else None
    also = () if note is not None else tuple(n.text for n in v.notes if not n.works)
    grade = note.grade if note is not None else v.reasons[0].grade
    return Spot(
        branch_id, name, v.reasons[0].text, v.reasons, also, part.latest, part.minutes,
        v.sureness, grade, phrase, form.phrases if form else (), form.field if form else "",
    )  # fmt: skip


def _zone(day: TreeDay, verdict: Verdict) -> str:
    """Return the place that a verdict on the tree speaks of, else nothing: the whole tree."""
    return place_named(verdict, day.facts)


# --- before, after, and what is let be ------------------------------------------------------------


def _framed(lines: dict[int, tuple[SessionLine, ...]], look: date) -> tuple[SessionStep, ...]:
    """Return the steps with those that every session has: photo, strength, seals, photo, label."""
    sealed = any(line.act in SEALED for some in lines.values() for line in some)
    always = {PHOTO_BEFORE, PHOTO_AFTER, PLACE} | ({SEALS} if sealed else set())
    said = {
        PHOTO_BEFORE: tuple(
            write(Saw(sign), EVERYWHERE) for sign in (Sign.OK, Sign.STRONG, Sign.STEADY, Sign.WEAK)
        ),
        PLACE: (write(LookAgain(look), EVERYWHERE),),
    }
    return tuple(
        SessionStep(number, STEPS[number], lines.get(number, ()), said.get(number, ()))
        for number in sorted(always | set(lines))
    )


def _hands_off(day: TreeDay) -> tuple[HandsOff, ...]:
    """Return the branches that are grown or healing and must not be touched, head to foot."""
    rows = day.tree.branches
    found = [
        HandsOff(rows.ids[v.row], rows.names[v.row], v.act, v.where, v.reasons[0].text, v.never)
        for v in day.verdicts
        if v.act in (Act.LET_RUN, Act.GRAFT_WAIT, Act.KEEP_WIRE) and v.never
    ]
    return tuple(sorted(found, key=lambda one: head_to_foot(one.name)))


def _look_again(day: TreeDay, now: list[_Part]) -> tuple[date, str]:
    """Return the next day to look at this tree, and what asks for it."""
    today, rows = day.facts.today, day.tree.branches
    done = {part.row for part in now if part.note is None}
    asked = [(look.due, rows.names[look.branch] if look.branch >= 0 else look.zone)
             for look in day.tree.looks if look.due > today]  # fmt: skip
    for v in (*day.whole, *day.verdicts):
        if v.next_look is not None and v.next_look > today and v.row not in done:
            asked.append((v.next_look, rows.names[v.row] if v.row >= 0 else ""))
    for part in _parts(day):
        if part.earliest is not None and part.earliest > today:
            asked.append((part.earliest, rows.names[part.row] if part.row >= 0 else ""))
    return min(asked, default=(next_look(day.facts), ""))


def session_shape(answer: Session) -> dict[str, Json]:
    """Return the session in its JSON shape."""
    return shaped(
        "boughwright/session",
        1,
        {
            "on": answer.today,
            "tree": {"id": answer.tree, "name": answer.name},
            "asks": [ask_body(ask) for ask in answer.asks],
            "steps": [
                {"step": step.number, "title": step.title, "phrases": step.phrases,
                 "lines": [_line_body(line) for line in step.lines]}
                for step in answer.steps
            ],
            "stop": answer.stop,
            "hands_off": answer.hands_off,
            "later": [_line_body(line) for line in answer.later],
            "look_again": answer.look_again,
            "look_at": answer.look_at,
            "setup_minutes": answer.setup_minutes,
            "minutes": answer.minutes,
            "toll": answer.toll,
            "toll_left": answer.toll_left,
        },
    )  # fmt: skip


def _line_body(line: SessionLine) -> dict[str, object]:
    names = ("act", "where", "earliest", "latest", "minutes", "harm", "never", "caution", "why",
             "phrase", "works", "spots")  # fmt: skip
    return {name: getattr(line, name) for name in names}
