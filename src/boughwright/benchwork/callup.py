"""The call-up: which trees come to the bench, with what jobs, and what slips when hours are short.

What cannot be undone comes first, whatever the hours; then works whose window closes, works that
others wait for, improvement, and looks. A tree is set up once. Nothing is dropped: every job is
planned, slips to a named day, opens later, or belongs to a calm tree.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.costs import slip_cost
from boughwright.benchwork.fit import is_hard, loads_of
from boughwright.benchwork.jobs import BenchJob, CallUp, Slip, TreeCall
from boughwright.benchwork.minutes import job_minutes, setup_minutes
from boughwright.benchwork.order import in_order, needs, rows_in_order, step_of
from boughwright.benchwork.toll import sitting_points, toll_of
from boughwright.sources import Grade
from boughwright.verdicts.cautions import caution_for
from boughwright.verdicts.looks import LOOK_AGAIN
from boughwright.verdicts.verdict import Act, Harm, SideNote, Sureness, Verdict
from boughwright.verdicts.words import day, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.benchwork.toll import Load
    from boughwright.journal.terms import Work
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

NAMED: Final = 8
"""Branches named in a job before the rest are counted."""
CALIPER_AT_ONCE: Final = 5
"""Bases measured in one sitting at most; the other looks are for another day."""
SPANS_AHEAD: Final = 12
"""How many spans ahead a slip is given a day."""
WORST_WIRE: Final = "wire bites"
"""The rule that speaks for wire that has bitten; it leads its job."""
_NO_HANDS: Final = frozenset(
    {Act.LEAVE, Act.LET_RUN, Act.KEEP_WIRE, Act.GRAFT_WAIT, Act.REST}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Part:
    """One branch's share of a job: a verdict, or a side note of one."""

    row: int
    act: Act
    works: tuple[Work, ...]
    harm: Harm
    earliest: date | None
    latest: date | None
    minutes: float
    share: float
    structural: bool
    reason: str
    where: str
    sureness: Sureness
    caution: str
    never: tuple[str, ...]
    grade: Grade
    card: str = ""


def _parts(verdicts: Iterable[Verdict]) -> list[_Part]:
    found = []
    for v in verdicts:
        reason = v.reasons[0].text if v.reasons else ""
        grade = v.reasons[0].grade if v.reasons else Grade.BORROWED
        if v.works or _is_look(v.act, v.latest):
            found.append(_Part(v.row, v.act, v.works, v.harm, v.earliest, v.latest, v.minutes,
                               v.share, v.structural, reason, v.where, v.sureness, v.caution,
                               v.never, grade, v.card))  # fmt: skip
        for note in v.notes:
            if note.works or _is_look(note.act, note.latest):
                caution = caution_for(note.works[0]) if note.works else ""
                found.append(_Part(v.row, note.act, note.works, note.harm, note.earliest,
                                   note.latest, note.minutes, note.share, note.structural,
                                   _bare(note), "", v.sureness, caution, (),
                                   note.grade))  # fmt: skip
    return [p for p in found if p.act not in _NO_HANDS or _is_look(p.act, p.latest)]


def _is_look(act: Act, latest: date | None) -> bool:
    """Tell whether a verdict without works asks for a look: at a fact, or at wire by a day."""
    return act is Act.LOOK_FIRST or (act is Act.KEEP_WIRE and latest is not None)


def _bare(note: SideNote) -> str:
    """Return a note's words without its act in front, which the job already names."""
    said = note.text.removeprefix(f"{note.act.value[0].upper()}{note.act.value[1:]}, ")
    return f"{said[0].upper()}{said[1:]}" if said else note.text


def tree_call(
    tree: TreeFacts, branches: Sequence[BranchFacts], verdicts: Sequence[Verdict]
) -> TreeCall:
    """Group the fitted verdicts of one tree into jobs, in bench order.

    Parameters
    ----------
    tree : TreeFacts
    branches : sequence of BranchFacts
    verdicts : sequence of Verdict
        As `boughwright.benchwork.fit.fit` returns them.
    """
    by_row = {b.row: b for b in branches}
    groups: dict[tuple[Act, Harm, date | None, str], list[_Part]] = defaultdict(list)
    for part in _parts(verdicts):
        groups[part.act, part.harm, part.earliest, part.where if part.row < 0 else ""].append(part)
    jobs = [
        _job(tree, by_row, some) for parts in groups.values() for some in _sittings(parts)
    ]  # fmt: skip
    toll = toll_of(tree)
    mine = [v for v in verdicts if v.row in by_row and v.row >= 0 and not by_row[v.row].gone]
    call = TreeCall(
        tree.tree, tree.name, Harm.NONE, None, setup_minutes(_tall(tree)), in_order(jobs),
        toll.left, toll.season, sum(v.act is Act.LEAVE for v in mine), len(mine), "",
    )  # fmt: skip
    calm = min((v.next_look for v in verdicts if v.next_look is not None), default=None)
    return _headed(call, calm)


def _tall(tree: TreeFacts) -> float | None:
    return tree.height_mm if tree.height_mm is not None else tree.tall_mm


def _sittings(parts: list[_Part]) -> list[list[_Part]]:
    """Keep looks that no harm hangs on to five a sitting."""
    if parts[0].act is not Act.LOOK_FIRST or parts[0].harm <= Harm.WINDOW or parts[0].row < 0:
        return [parts]
    rest = [replace(p, harm=Harm.COSMETIC) for p in parts[CALIPER_AT_ONCE:]]
    return [parts[:CALIPER_AT_ONCE], rest] if rest else [parts]


def _job(tree: TreeFacts, by_row: dict[int, BranchFacts], parts: list[_Part]) -> BenchJob:
    act = parts[0].act
    loads: list[Load] = []
    for p in parts:
        branch = by_row.get(p.row)
        hard = is_hard(branch, p.act, p.share)
        loads += loads_of(branch, p.works, p.share, hard=hard, structural=p.structural)
    rows = rows_in_order(act, (p.row for p in parts), by_row)
    urgent = {p.row: (p.latest or date.max, p.card != WORST_WIRE) for p in parts}
    if act is Act.WIRE_OFF:
        rows = tuple(sorted(rows, key=lambda row: urgent[row]))
    lead = min(parts, key=lambda p: (*urgent[p.row], p.row))
    reason = lead.reason
    if len(rows) > 1 and lead.row in by_row:
        reason = f"{by_row[lead.row].name}: {reason[:1].lower()}{reason[1:]}"
    hows = {p.where for p in parts}
    places = places_of(tree, by_row, rows)
    if lead.card == LOOK_AGAIN and ": " in lead.where:
        places, _, how = lead.where.partition(": ")
        hows = {how}
    share = sum(p.share for p in parts)
    once = dict.fromkeys
    return BenchJob(
        act, tuple(once(w for p in parts for w in p.works)), rows, places,
        parts[0].earliest, min((p.latest for p in parts if p.latest), default=None),
        job_minutes(act, _tall(tree), count=len(parts), share=share,
                    given=sum(p.minutes for p in parts)),
        reason, min(p.sureness for p in parts), parts[0].harm, step_of(act),
        sitting_points(loads), next((p.caution for p in parts if p.caution), ""),
        tuple(once(n for p in parts for n in p.never)),
        hows.pop() if len(hows) == 1 else "",
        lead.grade,
    )  # fmt: skip


def places_of(tree: TreeFacts, by_row: dict[int, BranchFacts], rows: Sequence[int]) -> str:
    """Return branch names in bench words, the first eight and the count of the rest."""
    zones = listed(dict.fromkeys(zone.name for zone in tree.zone_wires)) or "whole tree"
    names = [by_row[row].name if row in by_row else "whole tree" for row in rows]
    if len(names) <= NAMED:
        return listed(dict.fromkeys(names)) if names else zones
    return f"{', '.join(names[: NAMED - 1])} and {len(names) - NAMED + 1} more"


def _headed(call: TreeCall, calm_until: date | None = None) -> TreeCall:
    """Return a tree's call with its harm, its day and its headline drawn from its jobs.

    Jobs that open only later do not lead while others are open.
    """
    if not call.jobs:
        when = f"; next look {day(calm_until)}" if calm_until else ""
        return replace(call, harm=Harm.NONE, act_by=None, headline=f"Leave it alone{when}")
    ready = [job for job in call.jobs if job.earliest is None or job.harm is Harm.IRREVERSIBLE]
    leads = ready or call.jobs
    harm = min(job.harm for job in leads)
    worst = [job for job in leads if job.harm is harm]
    act_by = min((job.latest for job in worst if job.latest), default=None)
    lead = min(worst, key=lambda j: (j.latest or date.max, j.order))
    what = f"{lead.act.value[0].upper()}{lead.act.value[1:]}: {lead.places}"
    by = f" by {day(lead.latest)}" if lead.latest else ""
    start = f" from {day(lead.earliest)}" if lead.earliest else ""
    return replace(call, harm=harm, act_by=act_by, headline=f"{what}{start}{by}. {lead.reason}")


def _only(call: TreeCall, jobs: Iterable[BenchJob]) -> TreeCall:
    """Return a tree's call with only some of its jobs."""
    return _headed(replace(call, jobs=in_order(jobs)))


@dataclass(frozen=True, slots=True)
class _Slot:
    """A job with its place in line."""

    key: tuple[int, date, int, date, int, int, int]
    tree: int
    place: int
    job: BenchJob
    needs: tuple[int, ...]

    @property
    def must(self) -> bool:
        """Whether it cannot wait."""
        return self.key[0] == Harm.IRREVERSIBLE


def call_up(
    calls: Sequence[TreeCall], *, today: date, days: int = 7, hours: float
) -> CallUp:  # fmt: skip
    """Say what the collection needs in the coming days, and what slips if hours are short.

    Parameters
    ----------
    calls : sequence of TreeCall
    today : date
    days : int
        Length of the span; its last day is ``today + days``.
    hours : float
        Bench hours in the span. [h]

    Returns
    -------
    CallUp
        Every job of every call once: planned, slipped, later, or with a calm tree.
    """
    until = today + timedelta(days=days)
    slots = _line(calls, until)
    planned, used = _fill(calls, slots, hours * 60.0)
    slipped = [s for s in slots if (s.tree, s.place) not in planned]
    busy = {s.tree for s in slots}
    wanted = sum(s.job.minutes for s in slots) + sum(calls[t].setup_minutes for t in busy)
    musts = [s for s in slots if s.must]
    must_minutes = sum(s.job.minutes for s in musts)
    must_minutes += sum(calls[t].setup_minutes for t in {s.tree for s in musts})
    now = [
        _only(calls[t], jobs) for t in sorted(busy)
        if (jobs := [j for n, j in enumerate(calls[t].jobs) if (t, n) in planned])
    ]  # fmt: skip
    later = [
        _only(calls[t], jobs) for t in sorted(busy)
        if (jobs := [j for j in calls[t].jobs if not _open(j, until)])
    ]  # fmt: skip
    return CallUp(
        today, until, hours, wanted / 60.0, used / 60.0,
        tuple(sorted(now, key=_tree_key)),
        _slips(calls, slipped, today, days, hours),
        tuple(call for t, call in enumerate(calls) if t not in busy),
        tuple(sorted(later, key=_tree_key)),
        max(0.0, must_minutes / 60.0 - hours),
    )  # fmt: skip


def _tree_key(call: TreeCall) -> tuple[int, date, str]:
    return (call.harm, call.act_by or date.max, call.name)


def _open(job: BenchJob, until: date) -> bool:
    return job.earliest is None or job.earliest <= until


def _line(calls: Sequence[TreeCall], until: date) -> list[_Slot]:
    """Return the jobs that open in the span in the order they are given time.

    A job that must go before another on the same part stands in line where that other does.
    """
    found = []
    for t, call in enumerate(calls):
        first = needs(call.jobs)
        keys = [(job.harm, job.latest or date.max) for job in call.jobs]
        for n in sorted(range(len(keys)), key=lambda n: -call.jobs[n].order):
            if _open(call.jobs[n], until):
                for i in first[n]:
                    keys[i] = min(keys[i], keys[n])
        for n, job in enumerate(call.jobs):
            if _open(job, until):
                key = (*keys[n], call.harm, call.act_by or date.max, t, job.order, n)
                found.append(_Slot(key, t, n, job, first[n]))
    return sorted(found, key=lambda s: s.key)


def _fill(
    calls: Sequence[TreeCall], slots: Iterable[_Slot], budget: float
) -> tuple[set[tuple[int, int]], float]:
    """Give jobs their time in line; one that does not fit lets smaller ones behind it pass.

    What cannot wait is always given time, over the budget too.
    """
    planned: set[tuple[int, int]] = set()
    set_up: set[int] = set()
    waiting = {(s.tree, s.place) for s in slots}
    used = 0.0
    for slot in slots:
        cost = slot.job.minutes + (0.0 if slot.tree in set_up else calls[slot.tree].setup_minutes)
        held = any((slot.tree, i) in waiting - planned for i in slot.needs)
        if not slot.must and (held or used + cost > budget + 1e-9):
            continue
        planned.add((slot.tree, slot.place))
        set_up.add(slot.tree)
        used += cost
    return planned, used


def _slips(
    calls: Sequence[TreeCall], slipped: list[_Slot], today: date, days: int, hours: float
) -> tuple[Slip, ...]:
    """Give what slips a day in one of the next spans of the same hours."""
    to: dict[tuple[int, int], date] = {}
    left = slipped
    for span in range(1, SPANS_AHEAD + 1):
        if not left:
            break
        start = today + timedelta(days=span * days + 1)
        got, _ = _fill(calls, left, hours * 60.0)
        for slot in left:
            if (slot.tree, slot.place) in got:
                to[slot.tree, slot.place] = start
        left = [s for s in left if (s.tree, s.place) not in got]
    return tuple(_slip(calls[s.tree], s.job, to.get((s.tree, s.place)), today) for s in slipped)


def _slip(call: TreeCall, job: BenchJob, to: date | None, today: date) -> Slip:
    from_day = max(job.earliest or today, today)
    late = to is None or (job.latest is not None and to > job.latest)
    return Slip(call.tree, call.name, job, to, None if to is None else (to - from_day).days,
                slip_cost(job.act, job.harm, late=late))  # fmt: skip
