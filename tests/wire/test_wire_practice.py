"""When wire marks and bites on a reference climate: worked tables, and what growers know.

The tables are depths on ordinary bark with 1.5 mm wire put on tight (slack 0.05 mm): 0.15 mm a
line, 0.375 a quarter, 0.75 half of the gauge sunk. They were worked for a ring that may start
before 1 January; here it starts with the season, so ring-porous dates may differ by 5 days.
Everything about these wires is known exactly, so each has one date.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from wire_fixture import FIRST, LEAF_OUT, YEAR, day_of, running_ed, sharp

from boughwright.growth.ring import CLASSES, ring_share
from boughwright.journal.terms import Bend
from boughwright.wire.draws import draw
from boughwright.wire.mechanics import BENDS, kept_share, set_thickening
from boughwright.wire.windows import ed_when

TOUCH, MARK, QUARTER, HALF = 1e-9, 0.15, 0.375, 0.75
NO = math.inf


def days(rate, depth, **given):
    """Days from leaf-out to a depth; inf when it is not reached this season."""
    wires = sharp(rate, **given)
    draws = draw(wires, None, 1)
    return float(day_of(ed_when(depth + draws.slack, wires, draws))[0, 0])


def end_depth(rate, **given):
    """Depth at the end of the season. [mm]"""
    wires = sharp(rate, **given)
    draws = draw(wires, None, 1)
    grown = draws.rate * draws.share_laid(wires.end_ed[:, None])
    return float(max(grown[0, 0] - draws.slack[0, 0], 0.0))


@pytest.mark.parametrize(
    "row",
    [
        (0.1, 49, NO, NO, NO, 0.05),
        (0.2, 32, NO, NO, NO, 0.15),
        (0.5, 16, 42, 78, NO, 0.45),
        (1.0, 8, 27, 44, 72, 0.95),
        (1.5, 4, 20, 34, 51, 1.45),
        (2.5, 0, 13, 24, 37, 2.45),
        (4.0, -2, 8, 17, 27, 3.95),
    ],
)
def test_autumn_wire_on_a_pruned_diffuse_tree(row):
    rate, *expected, end = row  # touch, mark, quarter, half, depth at the end
    found = [days(rate, depth) for depth in (TOUCH, MARK, QUARTER, HALF)]
    assert found == pytest.approx(expected, abs=1)
    assert end_depth(rate) == pytest.approx(end, abs=0.006)


@pytest.mark.parametrize(
    ("rate", "mark", "quarter", "half"), [(1.5, 26, 45, 68), (2.5, 17, 31, 48), (4.0, 10, 22, 35)]
)
def test_autumn_wire_on_a_free_diffuse_tree(rate, mark, quarter, half):
    found = [days(rate, depth, kind="free") for depth in (MARK, QUARTER, HALF)]
    assert found == pytest.approx([mark, quarter, half], abs=1)


@pytest.mark.parametrize(
    ("rate", "mark", "quarter", "half"),
    [(1.0, 6, 26, None), (1.5, -2, 14, 35), (2.5, -11, 3, 17), (4.0, -18, -6, 6)],
)
def test_autumn_wire_on_a_ring_porous_tree(rate, mark, quarter, half):
    found = [days(rate, depth, kind="ring") for depth in (MARK, QUARTER, HALF)]
    for day, expected in zip(found, (mark, quarter, half), strict=True):
        assert expected is None or day == pytest.approx(expected, abs=5)


@pytest.mark.parametrize(
    ("rate", "kind", "expected"),
    [
        (1.0, "pruned", (7, 21, 36, 70)), (1.0, "free", (10, 29, 51, 96)),
        (1.5, "pruned", (5, 15, 27, 43)), (1.5, "free", (7, 22, 38, 61)),
        (2.5, "pruned", (3, 10, 18, 29)), (2.5, "free", (5, 15, 26, 41)),
        (4.0, "pruned", (2, 7, 13, 21)), (4.0, "free", (3, 10, 18, 29)),
    ],
)  # fmt: skip
def test_wire_put_on_two_weeks_into_leaf(rate, kind, expected):
    on = LEAF_OUT + timedelta(days=14)
    found = [days(rate, depth, kind=kind, on=on) - 14 for depth in (TOUCH, MARK, QUARTER, HALF)]
    assert found == pytest.approx(expected, abs=1)


@pytest.mark.parametrize(
    ("after", "rate", "mark", "quarter"),
    [(30, 1.5, 10, 20), (30, 2.5, 7, 13), (55, 1.5, 11, 27), (55, 2.5, 6, 14)],
)
def test_wire_put_on_later(after, rate, mark, quarter):
    on = LEAF_OUT + timedelta(days=after)
    found = [days(rate, depth, on=on) - after for depth in (MARK, QUARTER)]
    assert found == pytest.approx([mark, quarter], abs=1)


@pytest.mark.parametrize("rate", [0.5, 1.0, 1.5, 2.5])
def test_wire_put_on_from_august_is_at_most_snug(rate):
    assert days(rate, MARK, on=date(YEAR, 8, 1)) == NO
    assert end_depth(rate, on=date(YEAR, 9, 15)) == 0.0


@pytest.mark.parametrize(
    ("rate", "depths"),
    [(1.5, (0.15, 0.25, 0.38, 0.53)), (2.5, (0.15, 0.28, 0.46, 0.67)),
     (4.0, (0.16, 0.33, 0.56, 0.85))],
)  # fmt: skip
def test_depth_at_the_mark_and_one_two_and_three_weeks_late(rate, depths):
    wires = sharp(rate)
    draws = draw(wires, None, 1)
    mark = int(days(rate, MARK)) + (LEAF_OUT - FIRST).days
    late = running_ed()[mark + np.array([0, 7, 14, 21])]
    grown = np.array([(draws.rate * draws.share_laid(np.array([[ed]])))[0, 0] for ed in late])
    assert grown - 0.05 == pytest.approx(depths, abs=0.011)


@pytest.mark.parametrize(("slack", "mark", "quarter"), [(0.05, 13, 24), (0.15, 19, 28),
                                                        (0.5, 32, 39)])  # fmt: skip
def test_slack_is_cheap_insurance(slack, mark, quarter):
    found = [days(2.5, depth, slack_mm=slack) for depth in (MARK, QUARTER)]
    assert found == pytest.approx([mark, quarter], abs=1)


@pytest.mark.parametrize(("after", "percent"), [(0, 0.33), (14, 0.68), (28, 1.15)])
def test_daily_growth_of_a_pruned_diffuse_branch(after, percent):
    # share of the ring laid in the day that follows
    first = (LEAF_OUT - FIRST).days + after
    ed = running_ed()[[first, first + 1]] - running_ed()[(LEAF_OUT - FIRST).days]
    assert 100.0 * np.diff(ring_share(ed, CLASSES["pruned"]))[0] == pytest.approx(
        percent, abs=0.006
    )


def test_daily_growth_peaks_seven_weeks_after_leaf_out():
    ed = running_ed() - running_ed()[(LEAF_OUT - FIRST).days]
    daily = 100.0 * np.diff(ring_share(ed, CLASSES["pruned"]))
    assert daily.max() == pytest.approx(1.53, abs=0.006)
    assert day_of(running_ed()[daily.argmax()]) == pytest.approx(47, abs=1)


SET = [
    # bend, base, rate, growth to set, day set (month, day) or share kept by autumn, mark
    (Bend.GENTLE, 2, 1.5, 0.30, (5, 22), (5, 15)),
    (Bend.GENTLE, 3, 1.5, 0.45, (5, 30), (5, 15)),
    (Bend.GENTLE, 5, 0.5, 0.75, 0.59, (6, 6)),
    (Bend.GENTLE, 10, 2.0, 1.50, (7, 1), (5, 11)),
    (Bend.MODERATE, 2, 0.5, 0.21, (6, 7), (6, 6)),
    (Bend.MODERATE, 3, 1.5, 0.31, (5, 23), (5, 15)),
    (Bend.MODERATE, 5, 1.5, 0.52, (6, 3), (5, 15)),
    (Bend.MODERATE, 5, 2.5, 0.52, (5, 23), (5, 8)),
    (Bend.MODERATE, 10, 0.5, 1.04, 0.56, (6, 6)),
    (Bend.STRONG, 2, 1.5, 0.10, (5, 6), (5, 15)),
    (Bend.STRONG, 3, 1.5, 0.15, (5, 11), (5, 15)),
    (Bend.STRONG, 5, 1.5, 0.25, (5, 19), (5, 15)),
    (Bend.STRONG, 10, 2.0, 0.50, (5, 27), (5, 11)),
    (Bend.STRONG, 20, 0.5, 1.00, 0.64, (6, 6)),
]


@pytest.mark.parametrize("row", SET, ids=lambda row: f"{row[0]}-{row[1]}-{row[2]}")
def test_day_a_bend_is_set_by_growth(row):
    bend, base, rate, growth, outcome, mark = row
    prior = BENDS[bend]
    needed = 0.5 * base * (set_thickening(prior.elastic, prior.creep) - 1.0)
    assert needed == pytest.approx(growth, abs=0.006)
    set_day = days(rate, needed - 0.05)
    if isinstance(outcome, tuple):
        expected = (date(YEAR, *outcome) - LEAF_OUT).days
        assert set_day == pytest.approx(expected, abs=1)
    else:
        assert set_day == NO
        thicker = (base + 2.0 * rate) / base
        assert kept_share(thicker, prior.elastic, prior.creep) == pytest.approx(outcome, abs=0.006)
    assert days(rate, MARK) == pytest.approx((date(YEAR, *mark) - LEAF_OUT).days, abs=1)


@pytest.mark.parametrize(
    ("bend", "to_mark", "to_groove"),
    [(Bend.GENTLE, 1.3, 2.7), (Bend.MODERATE, 1.9, 3.9), (Bend.STRONG, 4.0, 8.0)],
)
def test_thickest_branch_that_sets_before_a_mark(bend, to_mark, to_groove):
    prior = BENDS[bend]
    half_gain = 0.5 * (set_thickening(prior.elastic, prior.creep) - 1.0)
    assert (0.05 + 0.15) / half_gain == pytest.approx(to_mark, abs=0.06)
    assert (0.05 + 0.35) / half_gain == pytest.approx(to_groove, abs=0.06)


# Common practice, both ends of each band.


def test_common_practice_autumn_wire_is_harmless_through_rest():
    """Nothing is laid under wire between leaf fall and swell, on the fastest diffuse branch."""
    wires = sharp(4.0)
    draws = draw(wires, None, 1)
    april = running_ed()[(date(YEAR, 4, 1) - FIRST).days]
    assert float(draws.share_laid(np.array([[april]]))[0, 0]) == 0.0
    assert days(4.0, TOUCH) >= -7


def test_common_practice_autumn_wire_bites_some_weeks_into_the_flush_on_strong_branches():
    """Marked one to three weeks and bitten two and a half to five weeks after leaf-out."""
    for rate in (1.5, 2.5, 4.0):
        assert 7 <= days(rate, MARK) <= 21
        assert 17 <= days(rate, QUARTER) <= 35


def test_common_practice_weak_branches_show_nothing_when_strong_ones_bite():
    bite = max(days(rate, QUARTER) for rate in (1.5, 2.5, 4.0))
    assert days(0.2, MARK) > bite
    assert days(0.1, MARK) == NO
    assert days(0.2, TOUCH) >= 28


def test_common_practice_flush_wire_on_a_fast_maple_comes_off_in_three_to_four_weeks():
    """Marked after one to two weeks; a quarter sunk within four, not in the first ten days."""
    on = LEAF_OUT + timedelta(days=14)
    for rate in (2.5, 4.0):
        for kind in ("pruned", "free"):
            assert 7 <= days(rate, MARK, kind=kind, on=on) - 14 <= 15
            assert 11 <= days(rate, QUARTER, kind=kind, on=on) - 14 <= 28


@pytest.mark.parametrize("rate", [2.5, 4.0])
def test_common_practice_a_week_or_two_late_turns_a_mark_into_a_bite(rate):
    """From the first line (0.15 mm): grade 3, and a quarter or more sunk at two weeks; not half."""
    mark = days(rate, MARK)
    assert days(rate, QUARTER) - mark <= 14
    assert days(rate, HALF) - mark > 14


def test_common_practice_three_weeks_late_is_deep_on_the_fastest_only():
    assert days(4.0, HALF) - days(4.0, MARK) <= 21
    assert days(2.5, HALF) - days(2.5, MARK) > 21


@pytest.mark.parametrize("rate", [0.03, 0.1, 0.15])
def test_common_practice_refined_slow_trees_go_a_season_unmarked(rate):
    assert days(rate, MARK) == NO
    assert end_depth(rate) <= 0.101
