"""What a tree's branches grow as they stand, and what they would grow if they ran."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from boughwright.growth.branches import branch_growth
from boughwright.growth.increment import RUN_OVER_CUT, prior
from boughwright.journal.events import BranchSet, Event, Measured, TreeSet, Worked
from boughwright.journal.terms import Quantity, Work
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.record import Weather
from boughwright.species.tables import of_key
from boughwright.tree.replay import replay

MAPLE = of_key("acer-buergerianum")
DAY, TODAY = date(2024, 11, 1), date(2025, 2, 1)
STAMP = datetime(2024, 11, 1, tzinfo=UTC)


def event(body: object, branch: str | None = None) -> Event:
    return Event(body, DAY, tree="t", branch=branch, recorded=STAMP)  # type: ignore[arg-type]


def test_a_cut_branch_keeps_its_own_increment_and_is_told_what_it_would_reach_if_it_ran() -> None:
    facts = {"vigour": "strong", "phase": "primary structure", "outer": True}
    events = [event(TreeSet({"name": "T", "species": "Acer buergerianum"}))]
    for name, work in (("1L", Work.LET_RUN), ("2R", Work.CUT)):
        key = name.lower()
        events += [
            event(BranchSet({"name": name, **facts}), key),
            event(Worked(work), key),
            event(Measured(Quantity.BASE, 6.0, marked=True), key),
        ]
    tree = replay("t", events, until=TODAY)
    none = np.zeros(0)
    bare = Weather("none", TODAY, none, none, none, none, none, none, none.astype(np.int8), none)
    clock = site_clock(bare, latitude_deg=48.0, today=TODAY)
    calendar = tree_calendar(clock, MAPLE, [], today=TODAY)
    size = len(tree.branches)
    grown = branch_growth(tree, MAPLE, clock, calendar, target_base_mm=np.full(size, 12.0))
    runs, cut = (tree.branches.names.index(name) for name in ("1L", "2R"))
    assert [tree.branches.running[row] for row in (runs, cut)] == [1, 0]
    # One reading teaches no rate, so each branch has the starting value of what it does now.
    yearly = np.exp(grown.increment.log_mean)
    assert yearly[runs] / yearly[cut] == pytest.approx(RUN_OVER_CUT, rel=1e-6)
    start = prior(MAPLE, phase=[1], vigour=[3], outer=[1], running=[0])
    assert yearly[cut] == pytest.approx(float(np.exp(start.log_mean[0])), rel=1e-6)
    # Both forecasts are of a branch that runs, so the two agree.
    assert grown.season_end_mm[cut] == pytest.approx(grown.season_end_mm[runs])
    assert grown.seasons_to_target[cut] == pytest.approx(grown.seasons_to_target[runs])
