"""What the bench list is made of: jobs, the call-up of one tree, and the call-up of all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.sources import Grade

if TYPE_CHECKING:
    from datetime import date

    from boughwright.journal.terms import Work
    from boughwright.verdicts.verdict import Act, Harm, Sureness


@dataclass(frozen=True, slots=True)
class BenchJob:
    """One job on one tree: verdicts of one act on several branches taken together.

    ``order`` is the step of the bench session it belongs to, 1..15. ``toll`` in points.
    """

    act: Act
    works: tuple[Work, ...]
    rows: tuple[int, ...]
    places: str
    """Branch names in bench words: ``1L, 4R and apex``."""
    earliest: date | None
    latest: date | None
    minutes: float
    reason: str
    """One line."""
    sureness: Sureness
    harm: Harm
    order: int
    toll: float
    caution: str
    never: tuple[str, ...]
    how: str = ""
    """What exactly, in bench words, when it is the same for all its branches."""
    grade: Grade = Grade.BORROWED
    """Of the reason it gives."""


@dataclass(frozen=True, slots=True)
class TreeCall:
    """One tree's place in the call-up: its jobs in bench order."""

    tree: str
    name: str
    harm: Harm
    act_by: date | None
    setup_minutes: float
    jobs: tuple[BenchJob, ...]
    toll_left: float | None
    toll_season: float | None
    leave_alone: int
    """Branches whose verdict is to leave them alone."""
    branches: int
    headline: str

    @property
    def minutes(self) -> float:
        """Bench time of the tree: setting up once, and its jobs."""
        return self.setup_minutes + sum(job.minutes for job in self.jobs) if self.jobs else 0.0


@dataclass(frozen=True, slots=True)
class Slip:
    """A job that does not fit the hours."""

    tree: str
    name: str
    job: BenchJob
    to: date | None
    days: int | None
    cost: str
    """What the wait costs, in seasons or in words."""


@dataclass(frozen=True, slots=True)
class CallUp:
    """What the collection needs in the days from ``today`` to ``until``."""

    today: date
    until: date
    hours: float
    hours_wanted: float
    hours_planned: float
    now: tuple[TreeCall, ...]
    """Trees with jobs that fit, worst harm first; each carries only those jobs."""
    slips: tuple[Slip, ...]
    calm: tuple[TreeCall, ...]
    """Trees that need nothing in this span."""
    later: tuple[TreeCall, ...] = ()
    """Jobs, of trees that do need something, that open only after this span."""
    over_hours: float = 0.0
    """Hours by which works that cannot wait exceed the hours given; all of them stay listed."""
