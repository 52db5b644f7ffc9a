"""Toll: what a work costs a tree, and how much of it the tree can still take.

A growing season gives a strong tree ten points, a steady one seven, a weak one two; at most three
fifths of them go inside any six weeks. Works on the whole tree count by the part they touch, at
least half a point a sitting. All numbers are starting values of common practice, to be replaced by
what a garden's own trees show.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import GraftKind, Vigour, Work
from boughwright.verdicts.rules import ZERO_TOLL, strength

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.verdicts.facts import PastWork, TreeFacts

SEASON: Final = {Vigour.STRONG: 10.0, Vigour.STEADY: 7.0, Vigour.WEAK: 2.0, Vigour.FAILING: 0.0}
"""Points a growing season gives, by strength."""
SHARE_SIX_WEEKS: Final = 0.6
SIX_WEEKS: Final = timedelta(weeks=6)
MEDIUM: Final = 2.0
HEAVY: Final = 3.0
LEAST: Final = 0.5
"""Any work on part of the tree costs at least this much a sitting."""

FREE: Final = ZERO_TOLL | {Work.LOWER}
"""Works that cost nothing. Lowering is a pull by a guy, though a weak tree is not offered it."""
LEAF: Final = frozenset({Work.LEAF_CLEAR, Work.LEAF_THIN, Work.LEAF_PAIR})
LEAF_BANDS: Final = ((0.30, 1.0), (0.60, 2.0), (1.01, 3.0))
"""Leaf taken from the place, up to (and not at) a share, and its points over the whole tree."""
SICK_LEAF: Final = 0.10
"""Up to a tenth of the leaf, picked off because it is sick, costs nothing."""
WIRE_KNOTS: Final = ((0.0, 0.0), (0.25, 1.0), (0.5, 2.0), (1.0, 3.0))
"""Part of the tree wired and its points: few shoots, half the tree, the whole tree."""
WHOLE: Final = {Work.CUT: 2.0, Work.TWO: 1.0, Work.PINCH: 1.0, Work.BUD_SELECT: 1.0}
"""Points of a round over the whole tree; a part of it counts pro rata."""
EACH: Final = {Work.RIM: 1.0, Work.SEVER: 0.5, Work.NOTCH: 0.5, Work.LEAF_FULL: 4.0}
"""Points of each one done. A notch counts as the cut that follows it."""
GRAFT: Final = {GraftKind.APPROACH: 1.0, GraftKind.THREAD: 1.5, None: 1.5}
STRUCTURAL: Final = 1.0
LARGE_CUT: Final = 3.0
CHOP: Final = 5.0
REPOT_BANDS: Final = ((0.30, 2.0), (0.50, 4.0), (1.0, 7.0))
"""Roots cut, up to and at a share, and its points: light, hard, bare root or collecting."""

UNSAID: Final = 0.35
"""Part of the crown a work on the whole tree touched when its amount was not said."""
ONE_BRANCH: Final = 0.2
"""Part of the crown one branch bears when that is not known. Seldom more."""
UNSIZED_CUTS: Final = 3.0
"""What cuts of no stated size cost in one sitting at most: as much as a large limb."""
INJURY_FROM: Final = 0.25
INJURY: Final = (2.0, 4.0)
"""Points of an injury: at a quarter of the leaf lost, and at all of it."""


@dataclass(frozen=True, slots=True)
class Load:
    """One work as the toll sees it.

    ``dose`` is the share of leaf or roots taken where it is done, ``part`` the part of the crown
    it touches, both 0..1. ``hard``: a wound over a third of the trunk, a strong bend, or over 30 %
    of the roots. ``chop``: the trunk itself is cut.
    """

    work: Work
    dose: float | None = None
    part: float = 1.0
    hard: bool = False
    structural: bool = False
    chop: bool = False
    graft: GraftKind | None = None


@dataclass(frozen=True, slots=True)
class Spent:
    """Points that went on one day."""

    on: date
    points: float


@dataclass(frozen=True, slots=True)
class Toll:
    """What a tree can still take on a day.

    Parameters
    ----------
    on : date
        The day asked about.
    season : float or None
        Points of this season, None while its strength is unknown.
    room : float
        What is counted with: ``season``, or a weak tree's points while strength is unknown.
    bears : Vigour or None
        The strength the toll goes by; weak after a move to another climate or bare roots.
    injury : float
        Points taken by injury, until the next flush is hard.
    spent : tuple of Spent
        Works of this season and of the last six weeks.
    new_season : date
        First day on which this season's points count no more.
    why : str
        Why it bears less than it looks, empty when it does not.
    """

    on: date
    season: float | None
    room: float
    bears: Vigour | None
    injury: float
    spent: tuple[Spent, ...]
    new_season: date
    season_start: date
    why: str = ""

    def used_on(self, day: date) -> tuple[float, float]:
        """Return the points used on a day: of that day's season, and of its six weeks."""
        start = self.season_start if day < self.new_season else self.new_season
        injury = self.injury if day < self.new_season else 0.0
        season = sum(s.points for s in self.spent if start <= s.on)
        recent = sum(s.points for s in self.spent if abs(day - s.on) < SIX_WEEKS)
        return season + injury, recent + injury

    @property
    def used(self) -> float:
        """Points used of this season."""
        return self.used_on(self.on)[0]

    @property
    def left(self) -> float | None:
        """Points left of this season; None while strength is unknown. Never below zero."""
        return None if self.season is None else max(0.0, self.season - self.used)

    @property
    def six_weeks(self) -> float:
        """Points that may go inside six weeks."""
        return SHARE_SIX_WEEKS * self.room

    @property
    def left_six_weeks(self) -> float:
        """Points left of these six weeks, never more than are left of the season."""
        season, recent = self.used_on(self.on)
        return max(0.0, min(self.six_weeks - recent, self.room - season))

    def fits(self, points: float, day: date | None = None) -> bool:
        """Return whether so many more points may go on a day (``on`` when not given)."""
        if points <= 0:
            return True
        if self.bears is not None and self.bears <= Vigour.WEAK:
            return False  # its points are room for injury
        if self.bears is None and points >= MEDIUM:
            return False
        season, recent = self.used_on(day or self.on)
        return points <= self.six_weeks - recent + 1e-9 and points <= self.room - season + 1e-9

    def frees_on(self, points: float, start: date | None = None) -> date | None:
        """Return the first day from ``start`` on which so many points are free.

        None when no day frees that many: the work has to be split, or the tree must first grow.
        """
        first = start or self.on
        days = {first, self.new_season, *(s.on + SIX_WEEKS for s in self.spent)}
        return next((d for d in sorted(days) if d >= first and self.fits(points, d)), None)

    def also(self, spent: Iterable[Spent]) -> Toll:
        """Return the toll with more works counted."""
        return replace(self, spent=(*self.spent, *spent))


def toll_of(tree: TreeFacts, on: date | None = None) -> Toll:
    """Return what a tree can still take on a day, from its works and injuries.

    Parameters
    ----------
    tree : TreeFacts
    on : date, optional
        Today when not given.
    """
    day = on or tree.today
    start, end = season_bounds(tree.today, south=tree.calendar.south)
    bears, why = _bears(tree)
    season = None if bears is None else SEASON[bears]
    room = SEASON[Vigour.WEAK] if season is None else season
    spent = tuple(
        Spent(when, sitting_points(loads, past=True))
        for when, loads in _sittings(tree.works, start).items()
    )
    return Toll(day, season, room, bears, injury_points(tree), spent, end, start, why)


def season_bounds(today: date, *, south: bool) -> tuple[date, date]:
    """Return the first day of today's season and of the next: 1 January, or 1 July in the south."""
    month = 7 if south else 1
    year = today.year if today >= date(today.year, month, 1) else today.year - 1
    return date(year, month, 1), date(year + 1, month, 1)


def _bears(tree: TreeFacts) -> tuple[Vigour | None, str]:
    """Return the strength the toll goes by, and why it is less than the tree shows."""
    found = strength(tree)
    if found is None or found <= Vigour.WEAK:
        return found, ""
    if tree.recovering == "move":
        return Vigour.WEAK, "It moved to another climate within a year"
    bare = any(w.work is Work.REPOT and (w.share or 0.0) > 0.5 and w.weeks_ago < 52
               for w in tree.works)  # fmt: skip
    return (Vigour.WEAK, "It lost most of its roots within a year") if bare else (found, "")


def injury_points(tree: TreeFacts) -> float:
    """Return the points an injury of this season took: two to four by the leaf lost."""
    low, high = INJURY
    if tree.leaf_loss > INJURY_FROM:
        return low + (high - low) * (tree.leaf_loss - INJURY_FROM) / (1.0 - INJURY_FROM)
    return low if tree.recovering in ("frost", "heat") else 0.0


def _sittings(works: Sequence[PastWork], start: date) -> dict[date, list[Load]]:
    """Return the works of this season and of the six weeks before it, by day."""
    days: dict[date, list[Load]] = defaultdict(list)
    for work in works:
        if work.on >= start - SIX_WEEKS and work.work not in FREE:
            days[work.on].append(past_load(work))
    return days


def past_load(work: PastWork) -> Load:
    """Return a work on record as a load.

    On one branch its share is of that branch, whose part of the crown is not on record. A cut on
    one branch with no share is taken as structural.
    """
    one = work.row >= 0
    if work.work in LEAF:
        return Load(work.work, UNSAID if work.share is None else work.share,
                    ONE_BRANCH if one else 1.0)  # fmt: skip
    if work.work is Work.CUT and one and work.share is None:
        return Load(work.work, None, ONE_BRANCH, work.hard, structural=True)
    unsaid = 1.0 if one or work.work is Work.LEAF_FULL else UNSAID
    part = unsaid if work.share is None else work.share
    if work.work is Work.REPOT:
        return Load(work.work, work.share, 1.0, work.hard)
    return Load(work.work, work.share, part * (ONE_BRANCH if one else 1.0), work.hard)


def points(load: Load) -> float:
    """Return what one work costs on its own."""
    return sitting_points((load,))


def sitting_points(loads: Iterable[Load], *, past: bool = False) -> float:
    """Return what the works of one sitting cost together.

    Parts of the same round add up before the least of half a point is asked.

    Parameters
    ----------
    loads : iterable of Load
    past : bool
        They come from the record, where a cut without a size may be a small one: such cuts then
        cost three points a sitting at most.
    """
    total = structural = 0.0
    part: dict[Work, float] = defaultdict(float)
    bent = False
    for load in loads:
        work = load.work
        if work in FREE or (
            work is Work.LEAF_CLEAR and load.dose is not None and load.dose <= SICK_LEAF
        ):
            continue
        if work is Work.CUT and (load.hard or load.chop):
            total += CHOP if load.chop else LARGE_CUT
        elif load.structural:
            structural += STRUCTURAL
        elif work in LEAF:
            part[work] += _band(LEAF_BANDS, load.dose) * load.part
        elif work in WHOLE or work is Work.WIRE_ON:
            part[work] += load.part
            bent |= load.hard
        else:
            total += _each(load)
    cuts = min(structural, UNSIZED_CUTS) if past else structural
    return total + cuts + sum(_round(work, share, bent) for work, share in part.items())


def _round(work: Work, part: float, bent: bool) -> float:
    """Return the cost of one round over a part of the crown."""
    if work in LEAF:
        found = min(part, LEAF_BANDS[-1][1])
    elif work is Work.WIRE_ON:
        found = _knots(min(part, 1.0)) * (4.0 / 3.0 if bent else 1.0)
    else:
        found = WHOLE[work] * min(part, 1.0)
    return max(LEAST, found)


def _each(load: Load) -> float:
    if load.work in (Work.GRAFT_IN, Work.GRAFT_ON):
        return GRAFT[load.graft]
    if load.work is Work.REPOT:
        if load.dose is None:
            return REPOT_BANDS[1][1]  # unknown counts as hard
        most = max(load.dose, 0.301 if load.hard else 0.0)
        return next(cost for limit, cost in REPOT_BANDS if most <= limit)
    return EACH[load.work] * (max(load.part, 0.125) if load.work is Work.LEAF_FULL else 1.0)


def _band(bands: Sequence[tuple[float, float]], dose: float | None) -> float:
    share = UNSAID if dose is None else dose
    return next(cost for limit, cost in bands if share < limit)


def _knots(part: float) -> float:
    for (low, at_low), (high, at_high) in pairwise(WIRE_KNOTS):
        if part <= high:
            return at_low + (at_high - at_low) * (part - low) / (high - low)
    return WIRE_KNOTS[-1][1]


def weight_word(cost: float) -> str:
    """Return how a cost is called: nothing, light, medium or heavy."""
    if cost <= 0:
        return "nothing"
    return "light" if cost < MEDIUM else "medium" if cost < HEAVY else "heavy"
