"""The call-up told by kinds: the bench, what the weather asks, feed, what waits and what slips."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.benchwork.costs import IN_TIME, slip_cost
from boughwright.verdicts.cautions import caution_text
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from boughwright.benchwork.jobs import BenchJob, CallUp, Slip, TreeCall


@dataclass(frozen=True, slots=True)
class BenchTree:
    """A tree that must come to the bench, with the jobs it comes for."""

    tree: TreeCall
    jobs: tuple[BenchJob, ...]

    @property
    def act_by(self) -> date | None:
        """The first day by which one of its jobs must be done; None when none hurries."""
        return min((job.latest for job in self.jobs if job.latest is not None), default=None)

    @property
    def minutes(self) -> float:
        """Bench time: setting up once, and its jobs. [min]."""
        return self.tree.setup_minutes + sum(job.minutes for job in self.jobs)


@dataclass(frozen=True, slots=True)
class Round:
    """One job that several trees share, told once with the trees it is for."""

    job: BenchJob
    trees: tuple[TreeCall, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class Later:
    """A job that opens after this span, and what missing it would cost."""

    tree: TreeCall
    job: BenchJob
    missed: str


@dataclass(frozen=True, slots=True)
class Week:
    """The call-up by kinds. ``dear`` slips cost something; ``idle`` ones only the wait."""

    bench: tuple[BenchTree, ...]
    weather: tuple[Round, ...]
    feed: tuple[Round, ...]
    later: tuple[Later, ...]
    dear: tuple[Slip, ...]
    idle: tuple[Slip, ...]
    alone: tuple[TreeCall, ...]
    """Trees that need nothing at the bench: leave them alone."""
    cautions: tuple[str, ...]


def week_of(call: CallUp) -> Week:
    """Return the call-up by kinds."""
    bench = tuple(BenchTree(tree, jobs) for tree in call.now if (jobs := _bench_jobs(tree)))
    busy = {one.tree.tree for one in bench} | {slip.tree for slip in call.slips}
    busy |= {tree.tree for tree in call.later}
    keys = dict.fromkeys(job.caution for tree in call.now for job in tree.jobs if job.caution)
    return Week(
        bench,
        _rounds(call.now, is_weather),
        _rounds(call.now, is_feed),
        tuple(
            Later(tree, job, slip_cost(job.act, job.harm, late=True))
            for tree in call.later
            for job in tree.jobs
        ),
        tuple(slip for slip in call.slips if slip.cost != IN_TIME),
        tuple(slip for slip in call.slips if slip.cost == IN_TIME),
        tuple(tree for tree in (*call.now, *call.calm) if tree.tree not in busy),
        tuple(caution_text(key) for key in keys),
    )


def is_weather(job: BenchJob) -> bool:
    """Tell a job that the weather asks for: it has a last day."""
    return job.act is Act.PROTECT and job.latest is not None


def is_feed(job: BenchJob) -> bool:
    """Tell a job of feeding."""
    return job.act is Act.FEED


def _bench_jobs(tree: TreeCall) -> tuple[BenchJob, ...]:
    return tuple(job for job in tree.jobs if not is_weather(job) and not is_feed(job))


def _rounds(trees: Sequence[TreeCall], mine: Callable[[BenchJob], bool]) -> tuple[Round, ...]:
    told: dict[tuple[object, ...], list[tuple[TreeCall, BenchJob]]] = {}
    for tree in trees:
        for job in tree.jobs:
            if mine(job):
                key = (job.earliest, job.latest, job.reason, job.grade, job.how)
                told.setdefault(key, []).append((tree, job))
    return tuple(
        Round(
            pairs[0][1],
            tuple(dict.fromkeys(tree for tree, _ in pairs)),
            sum(job.minutes for _, job in pairs),
        )
        for pairs in told.values()
    )
