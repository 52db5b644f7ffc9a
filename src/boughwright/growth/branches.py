"""What the readings of one tree say of each branch's growth, and where its base is going.

Shapes: N = rows of the tree; the three quantiles are p10, p50 and p90.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from boughwright.growth.forecast import base_forecast, seasons_to_target
from boughwright.growth.increment import Increment, Readings, from_readings, prior, switched
from boughwright.growth.ring import curve_for, ring_share
from boughwright.journal.terms import Quantity
from boughwright.season.clock import season_first

if TYPE_CHECKING:
    from boughwright.season.record import SiteClock
    from boughwright.season.stages import TreeCalendar
    from boughwright.species.model import Species
    from boughwright.tree.model import Tree

Floats: TypeAlias = npt.NDArray[np.float64]

FULL_RING_SD_MM = 0.20
"""Error of a reading that carries none. [mm]"""


@dataclass(frozen=True, slots=True)
class BranchGrowth:
    """Growth of each row of a tree.

    ``increment`` of the radius a year of the branch as it stands, cut or running, learned from its
    own readings; ``season_end_mm`` (N, 3) base at the end of this season if it runs;
    ``seasons_to_target`` (N, 3) rings to the target base if it runs. nan where the base is
    unknown. [mm, seasons]
    """

    increment: Increment
    season_end_mm: Floats
    seasons_to_target: Floats


def branch_growth(
    tree: Tree,
    species: Species,
    clock: SiteClock,
    calendar: TreeCalendar,
    *,
    target_base_mm: Floats,
) -> BranchGrowth:
    """Return the growth of every row of a tree.

    Parameters
    ----------
    tree : Tree
        Replayed up to the day of the calendar.
    species : Species
    clock : SiteClock
        This season at the tree's shelf. Its course stands for that of earlier seasons too.
    calendar : TreeCalendar
    target_base_mm : (N,) float
        Base at which each branch is thick enough; nan unknown. [mm]
    """
    rows = tree.branches
    start = prior(
        species,
        phase=rows.phase,
        vigour=rows.vigour,
        outer=rows.outer,
        running=rows.running,
    )
    bases = [m for m in tree.measures if m.what is Quantity.BASE and m.branch >= 0]
    days = np.array([m.on.toordinal() for m in bases], dtype=np.int64)
    readings = Readings(
        row=np.array([m.branch for m in bases], dtype=np.int64),
        base_mm=np.array([m.value for m in bases], dtype=np.float64),
        sd_mm=np.array([m.sd or FULL_RING_SD_MM for m in bases], dtype=np.float64),
        rings=rings_by(days, species, clock, calendar),
    )
    season = float(clock.first.year)
    learned = from_readings(start, readings, season=season)
    runs = switched(learned, running_was=rows.running, running_will=np.ones(len(rows), np.int8))
    ends = np.full((len(rows), 3), np.nan)
    read = np.flatnonzero(~np.isnan(rows.base_mm) & (rows.base_on > 0))
    if read.size:
        laid = rings_by(rows.base_on[read].astype(np.int64), species, clock, calendar)
        ends[read] = base_forecast(
            rows.base_mm[read],
            rows.base_sd_mm[read],
            runs.take(read),
            rings_ahead=np.maximum(season + 1.0 - laid, 0.0),
        )
    return BranchGrowth(learned, ends, seasons_to_target(rows.base_mm, target_base_mm, runs))


def rings_by(
    days: npt.NDArray[np.int64], species: Species, clock: SiteClock, calendar: TreeCalendar
) -> Floats:
    """Return rings laid by each day: the year its season began plus the share of its ring.

    Parameters
    ----------
    days : (R,) int
        Day numbers, ``date.toordinal()``.
    """
    if not days.size:
        return np.zeros(0)
    firsts = [season_first(date.fromordinal(int(day)), south=clock.south) for day in days]
    rows = days - np.array([first.toordinal() for first in firsts], dtype=np.int64)
    rows = np.clip(rows, 0, len(clock.effective_days) - 1)
    leaf_out = calendar.leaf_out.likely or clock.first
    leaf_row = int(np.clip(clock.day(leaf_out), 0, len(clock.effective_days) - 1))
    at_leaf_out = float(clock.effective_days[leaf_row])
    curve = curve_for(species.word("wood"), free=False)
    since = clock.effective_days - at_leaf_out
    share = ring_share(since[rows], curve, season_start_ed=-at_leaf_out)
    # A short season still lays its whole ring: none of it is left for the winter.
    whole = float(ring_share(since[-1], curve, season_start_ed=-at_leaf_out))
    share = share / whole if whole > 0.0 else share
    return np.array([first.year for first in firsts], dtype=np.float64) + share
