"""What was promised: choices that stand for now, jobs and looks, each with the sign that ends it.

A sign that has come is told on the day its record is written. One that has not come has a day or
a number of seasons where the growth on record allows one, and says so where it does not.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.errors import BoughwrightError
from boughwright.growth.forecast import seasons_to_target
from boughwright.growth.increment import switched
from boughwright.journal.names import UNIT_WORDS, head_to_foot
from boughwright.journal.receipt import write
from boughwright.journal.terms import Job, Kind
from boughwright.season.clock import season_last
from boughwright.tree.naming import find
from boughwright.tree.readings import CALIPER_SD_MM
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.rules import THICK, job_live, trait_word
from boughwright.verdicts.verdict import Act
from boughwright.verdicts.words import mm, percent

if TYPE_CHECKING:
    from collections.abc import Iterator
    from uuid import UUID

    from boughwright.tree.model import Measure, Promise, Seen, WorkDone
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import Verdict

FAST_NEED, USUAL_NEED = 0.30, 0.40
"""Inner shoot over its parent from which it can take over: kinds of many flushes, others."""
NO_END: Final = "you take it back"


class State(StrEnum):
    """Whether the sign of a promise has come."""

    NOW = "now"
    SOON = "read it"
    """By the growth on record it has likely come: a reading would tell."""
    WAITING = "waiting"
    UNKNOWN = "unknown"
    """What the sign is read from was never read."""
    STANDING = "standing"
    """It has no end of its own."""


class From(StrEnum):
    """What kind of promise it is."""

    PROMISE = "promise"
    PROVISIONAL = "kept for now"
    JOB = "job"
    LOOK = "look"


@dataclass(frozen=True, slots=True)
class Expected:
    """When the sign is expected.

    ``on`` is a day that is known; ``seasons`` p10, p50 and p90 of the seasons still to go, the
    last None when it may never come at this rate; ``season_end`` the last day of this season when
    it likely comes within it. A scar's range is that of its two readings alone.
    """

    on: date | None = None
    seasons: tuple[float, float, float | None] | None = None
    season_end: date | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """One promise.

    Parameters
    ----------
    tree, name : str
        The tree's lasting id and its name.
    branch, place : str
        The branch's lasting id (empty for a zone or the tree) and its name.
    kind : From
    words : str
        What was promised.
    sign : str
        The sign that re-opens or ends it.
    since : date or None
        The day it was promised; None when only its fact is on record.
    state : State
    expected : Expected
    value, limit : float or None
        The measure that the sign is read from and its line, in ``unit``.
    record : UUID or None
        The record that says so, to be taken back.
    because : str
        Why, as it was said.
    """

    tree: str
    name: str
    branch: str
    place: str
    kind: From
    words: str
    sign: str
    since: date | None
    state: State
    expected: Expected = Expected()
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    record: UUID | None = None
    because: str = ""


@dataclass(frozen=True, slots=True)
class Promises:
    """All promises: those whose sign has come, those a reading would settle, and the rest."""

    today: date
    now: tuple[Held, ...]
    soon: tuple[Held, ...]
    waiting: tuple[Held, ...]


def promises_of(garden: GardenDay, tree: str | None = None) -> Promises:
    """Return what was promised in the garden, or on one tree.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    days = garden.trees if tree is None else (garden.tree(tree),)
    every = [held for day in days for held in _Tree(day).held()]
    every.sort(key=lambda h: (h.expected.on or date.max, h.name.casefold(), head_to_foot(h.place)))
    return Promises(
        garden.today,
        tuple(h for h in every if h.state is State.NOW),
        tuple(h for h in every if h.state is State.SOON),
        tuple(h for h in every if h.state not in (State.NOW, State.SOON)),
    )


class _Tree:
    """The promises of one tree on its day."""

    def __init__(self, day: TreeDay) -> None:
        self.day = day
        self.today = day.facts.today
        self.by_row = {branch.row: branch for branch in day.branches}
        self.verdicts: dict[int, Verdict] = {v.row: v for v in day.verdicts}
        rows, growth = day.tree.branches, day.growth
        self.runs = None
        if growth is not None:
            will = np.ones(len(rows), np.int8)
            self.runs = switched(growth.increment, running_was=rows.running, running_will=will)

    def held(self) -> Iterator[Held]:
        """Yield every promise, provisional choice, job and look."""
        swaps = set()
        for promise in self.day.tree.promises:
            if promise.what.what == "swap when":
                swaps.add(promise.branch)
            yield self._promised(promise)
        for branch in self.day.branches:
            if branch.provisional_since is not None and branch.row not in swaps:
                yield self._provisional(branch)
            if branch.job is not None:
                yield self._job(branch)
        yield from self._looks()

    def _start(self, row: int, zone: str = "") -> Held:
        rows, facts = self.day.tree.branches, self.day.facts
        branch, place = (rows.ids[row], rows.names[row]) if row >= 0 else ("", zone)
        return Held(facts.tree, facts.name, branch, place, From.PROMISE, "", "", None,
                    State.UNKNOWN)  # fmt: skip

    # --- what the grower said

    def _promised(self, promise: Promise) -> Held:
        what = promise.what
        said = replace(
            self._start(promise.branch, what.zone), since=promise.on, record=promise.event,
            words=_said(promise), because=what.because,
        )  # fmt: skip
        branch = self.by_row.get(promise.branch)
        if what.until is not None:
            due = what.until
            state = State.NOW if due <= self.today else State.WAITING
            return replace(said, sign="the day comes", state=state, expected=Expected(due))
        if what.until_base_mm is not None:
            return self._base(said, branch, what.until_base_mm)
        if what.what == "cut past later":
            return self._past(said, branch)
        if what.what == "swap when":
            return self._swap(said, branch, what.words)
        if what.what in ("for scar", "for graft"):
            return self._served(said, branch, what.words)
        return replace(said, sign=NO_END, state=State.STANDING)

    def _base(self, held: Held, branch: BranchFacts | None, line: float) -> Held:
        """Wait for a base to reach a line."""
        held = replace(held, sign=f"the base reaches {mm(line)}", limit=line, unit="mm")
        if branch is None or branch.base_mm is None:
            return held
        held = replace(held, value=branch.base_mm)
        if branch.base_mm >= line - 1e-9:
            return replace(held, state=State.NOW)
        return self._growing(held, branch.row, line)

    def _growing(self, held: Held, row: int, line: float) -> Held:
        """Tell when a base is expected at a line, and whether it has likely passed it unread."""
        rows = self.day.tree.branches
        if self.runs is None or math.isnan(rows.base_mm[row]):
            return replace(held, state=State.WAITING)
        one = self.runs.take(np.array([row]))
        to_go = seasons_to_target(rows.base_mm[[row]], np.array([line]), one)[0]
        gone = self._rings_since(row)
        left = np.maximum(to_go - gone, 0.0)
        end = season_last(self.day.clock.first, south=self.day.clock.south)
        ahead = self._rings_since(row, to=end)
        expected = Expected(
            seasons=(float(left[0]), float(left[1]), float(left[2])),
            season_end=end if to_go[1] <= ahead else None,
        )
        state = State.SOON if to_go[1] <= gone else State.WAITING
        return replace(held, state=state, expected=expected)

    def _rings_since(self, row: int, to: date | None = None) -> float:
        """Return the rings laid between the last reading of a base and a day, today at first."""
        from boughwright.growth.branches import rings_by  # noqa: PLC0415  # only for what grows

        day, read = self.day, int(self.day.tree.branches.base_on[row])
        if day.species is None or read <= 0:
            return 0.0
        days = np.array([read, (to or self.today).toordinal()], np.int64)
        laid = rings_by(days, day.species, day.clock, day.calendar)
        return max(float(laid[1] - laid[0]), 0.0)

    def _past(self, held: Held, branch: BranchFacts | None) -> Held:
        """Wait until a long node may be cut past: its verdict says when."""
        if branch is None:
            return replace(held, sign="its base is thick enough", state=State.UNKNOWN)
        if self._asked(branch.row, Act.CUT_PAST):
            return replace(held, sign="the verdict is to cut past", state=State.NOW)
        if branch.target_base_mm is None:
            return replace(held, sign="its base is thick enough", state=State.UNKNOWN)
        return self._base(held, branch, _thick_at(branch.target_base_mm))

    def _swap(self, held: Held, branch: BranchFacts | None, words: str) -> Held:
        """Wait for inner shoots: by the verdict, or by the size that the grower named."""
        held = replace(held, sign=words or "an inner shoot can take over")
        if branch is None:
            return held
        if self._asked(branch.row, Act.SWAP_LEADER):
            return replace(self._sized(held, branch, words), state=State.NOW)
        return self._sized(held, branch, words)

    def _sized(self, held: Held, branch: BranchFacts, words: str) -> Held:
        asked = _count_and_size(words)
        if asked is None:
            return self._ratio(held, branch)
        count, size = asked
        bases = [self.by_row[i.row].base_mm for i in branch.inner if i.row in self.by_row]
        read = sorted((base for base in bases if base is not None), reverse=True)
        if len(read) < count:
            return held
        held = replace(held, value=read[count - 1], limit=size, unit="mm")
        return replace(held, state=State.NOW if read[count - 1] >= size - 1e-9 else State.WAITING)

    def _ratio(self, held: Held, branch: BranchFacts) -> Held:
        ratios = [inner.ratio for inner in branch.inner if inner.ratio is not None]
        fast = trait_word(self.day.facts, "flushes") == "many"
        need = FAST_NEED if fast else USUAL_NEED
        if not ratios:
            return replace(held, limit=need)
        return replace(held, value=max(ratios), limit=need, state=State.WAITING)

    def _served(self, held: Held, branch: BranchFacts | None, words: str) -> Held:
        """Wait for the scar or graft that a branch is kept for."""
        row = self._named(words, branch, Kind.SCAR if "scar" in held.words else Kind.GRAFT)
        return self._ends_with(held, row)

    def _named(self, words: str, branch: BranchFacts | None, kind: Kind) -> int | None:
        """Return the row a promise speaks of: by its name, by what the branch feeds, or alone."""
        names = [words, f"{kind.value} {words}"] if words else []
        names += list(branch.feeds) if branch is not None else []
        for name in names:
            try:
                rows = find(self.day.tree, name).rows
            except BoughwrightError:
                continue
            if len(rows) == 1:
                return rows[0]
        alone = [b.row for b in self.day.branches if b.kind is kind and not b.gone]
        return alone[0] if len(alone) == 1 else None

    def _ends_with(self, held: Held, row: int | None) -> Held:
        served = None if row is None else self.by_row.get(row)
        if served is None:
            return replace(held, sign="what it is kept for is done", state=State.UNKNOWN)
        if served.kind is Kind.SCAR:
            return self._closing(held, served)
        state = State.NOW if served.weaned else State.WAITING
        return replace(held, sign=f"{served.name} is weaned", state=state)

    def _closing(self, held: Held, scar: BranchFacts) -> Held:
        held = replace(
            held, sign=f"{scar.name} has closed", value=scar.open_mm, limit=0.0, unit="mm"
        )
        if scar.open_mm is None:
            return held
        if scar.open_mm <= 0.0:
            return replace(held, state=State.NOW)
        was, years = scar.open_was_mm, scar.open_years
        if was is None or not years or was <= scar.open_mm:
            return replace(held, state=State.WAITING)
        rate, error = (was - scar.open_mm) / years, math.sqrt(2.0) * CALIPER_SD_MM[False] / years
        slow = rate + error * NormalDist().inv_cdf(0.1)
        fast = rate - error * NormalDist().inv_cdf(0.1)
        late = scar.open_mm / slow if slow > 0.0 else None
        seasons = (scar.open_mm / fast, scar.open_mm / rate, late)
        return replace(held, state=State.WAITING, expected=Expected(seasons=seasons))

    def _asked(self, row: int, act: Act) -> bool:
        verdict = self.verdicts.get(row)
        if verdict is None:
            return False
        return verdict.act is act or any(note.act is act and note.works for note in verdict.notes)

    # --- compromises and jobs

    def _provisional(self, branch: BranchFacts) -> Held:
        held = replace(
            self._start(branch.row), kind=From.PROVISIONAL, since=branch.provisional_since,
            words="a cut kept for now",
        )  # fmt: skip
        held = self._swap(held, branch, "")
        need = held.limit
        if need is not None and held.state is not State.NOW:
            return replace(held, sign=f"an inner shoot reaches {percent(need)} of its parent")
        return held

    def _job(self, branch: BranchFacts) -> Held:
        job = branch.job
        assert job is not None
        serves = f" for {branch.job_for}" if branch.job_for else ""
        held = replace(
            self._start(branch.row), kind=From.JOB, words=f"{job.value}{serves}",
            since=self._job_since(branch),
        )  # fmt: skip
        if branch.job_met or not job_live(branch):
            return replace(self._job_end(held, branch), state=State.NOW)
        return self._job_end(held, branch)

    def _job_end(self, held: Held, branch: BranchFacts) -> Held:
        rows = self.day.tree.branches
        serves = int(rows.job_for[branch.row])
        if branch.job_until_base_mm is not None:
            read = self.by_row.get(serves)
            grows = read if read is not None and read.base_mm is not None else branch
            return self._base(held, grows, branch.job_until_base_mm)
        if branch.job is Job.THICKEN:
            line = branch.target_base_mm
            if line is None:
                return replace(held, sign="its base is thick enough")
            return self._base(held, branch, _thick_at(line))
        if serves >= 0:
            return self._ends_with(held, serves)
        return replace(held, sign="you say that it is done", state=State.STANDING)

    def _job_since(self, branch: BranchFacts) -> date | None:
        """Return the day it was let run for the job, None when only the fact is on record."""
        works = self.day.tree.works
        return next(
            (w.on for w in reversed(works)
             if w.branch == branch.row and w.what.until_base_mm is not None),
            None,
        )  # fmt: skip

    # --- looks

    def _looks(self) -> Iterator[Held]:
        """Yield the looks asked for that nothing written since has answered."""
        tree = self.day.tree
        for look in tree.looks:
            if self._looked(look.branch, look.on):
                continue
            state = State.NOW if look.due <= self.today else State.WAITING
            yield replace(
                self._start(look.branch, look.zone), kind=From.LOOK, words="look again",
                sign="the day comes", since=look.on, state=state, expected=Expected(look.due),
                record=look.event,
            )  # fmt: skip

    def _looked(self, row: int, asked: date) -> bool:
        """Tell whether the branch, or for the tree anything on it, was written of after a day."""
        tree = self.day.tree
        records: tuple[Seen | WorkDone | Measure, ...] = (*tree.seen, *tree.works, *tree.measures)
        return any(one.on > asked and (row < 0 or one.branch == row) for one in records)


def _thick_at(target_mm: float) -> float:
    """Return the base that is thick enough, up to a tenth, so that it can be read off a caliper."""
    return math.ceil(target_mm * THICK * 10 - 1e-6) / 10


def _said(promise: Promise) -> str:
    """Return the promise in bench words, without its place."""
    what = replace(promise.what, because="", zone="")
    try:
        return write(what).removeprefix("will ")
    except BoughwrightError:
        return " ".join(filter(None, (what.what, what.words)))


_SIZE = re.compile(r"(?:pass|reach|over|above|are|is|at)\w*\s+(\d+(?:[.,]\d+)?)\s*(?:mm)?\b")
_MANY = re.compile(r"\b(\d+|" + "|".join(UNIT_WORDS) + r"|an?)\s+(?:\w+\s+)?shoots?\b")


def _count_and_size(words: str) -> tuple[int, float] | None:
    """Read ``two inner shoots pass 2.5``: how many, how thick; None when that is not said."""
    said = words.casefold()
    size, many = _SIZE.search(said), _MANY.search(said)
    if size is None or "shoot" not in said:
        return None
    count = 1
    if many is not None:
        word = many[1]
        count = int(word) if word.isdigit() else UNIT_WORDS.get(word, 1)
    return max(count, 1), float(size[1].replace(",", "."))


def promises_shape(answer: Promises) -> dict[str, Json]:
    """Return the promises in their JSON shape."""
    return shaped(
        "boughwright/promises",
        1,
        {"on": answer.today, "now": answer.now, "soon": answer.soon, "waiting": answer.waiting},
    )
