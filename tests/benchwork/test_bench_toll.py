"""Points, allowances and the days that free them. Values by hand from common practice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from bench_cases import TODAY, calendar, done, tree
from hypothesis import given
from hypothesis import strategies as st

from boughwright.benchwork.toll import (
    Load,
    Spent,
    points,
    season_bounds,
    sitting_points,
    toll_of,
    weight_word,
)
from boughwright.journal.terms import GraftKind, Vigour, Work


@pytest.mark.parametrize(
    ("load", "cost"),
    [
        (Load(Work.WIRE_OFF), 0.0),
        (Load(Work.GUY_ON), 0.0),
        (Load(Work.FEED), 0.0),
        (Load(Work.SHADE), 0.0),
        (Load(Work.TURN), 0.0),
        (Load(Work.LOWER), 0.0),
        (Load(Work.PINCH, part=1.0), 1.0),
        (Load(Work.TWO, part=0.1), 0.5),  # a part counts at least half a point
        (Load(Work.WIRE_ON, part=0.25), 1.0),
        (Load(Work.WIRE_ON, part=0.5), 2.0),
        (Load(Work.WIRE_ON, part=1.0), 3.0),
        (Load(Work.WIRE_ON, part=1.0, hard=True), 4.0),
        (Load(Work.LEAF_THIN, dose=0.2), 1.0),
        (Load(Work.LEAF_THIN, dose=0.3), 2.0),
        (Load(Work.LEAF_CLEAR, dose=0.7), 3.0),
        (Load(Work.LEAF_PAIR, dose=0.5), 2.0),  # as outer thin of the same share
        (Load(Work.LEAF_CLEAR, dose=0.1), 0.0),  # a tenth, picked off sick
        (Load(Work.LEAF_THIN, dose=0.6, part=0.5), 1.5),  # 3 points pro rata to half the tree
        (Load(Work.LEAF_FULL), 4.0),
        (Load(Work.CUT, part=1.0), 2.0),
        (Load(Work.CUT, part=0.3), 0.6),  # 2 points pro rata to 0.3 of the tree
        (Load(Work.CUT, structural=True), 1.0),
        (Load(Work.CUT, hard=True), 3.0),
        (Load(Work.CUT, hard=True, chop=True), 5.0),
        (Load(Work.GRAFT_IN, graft=GraftKind.APPROACH), 1.0),
        (Load(Work.GRAFT_ON, graft=GraftKind.THREAD), 1.5),
        (Load(Work.GRAFT_IN), 1.5),
        (Load(Work.SEVER), 0.5),
        (Load(Work.RIM), 1.0),
        (Load(Work.REPOT, dose=0.3), 2.0),
        (Load(Work.REPOT, dose=0.5), 4.0),
        (Load(Work.REPOT, dose=0.8), 7.0),
        (Load(Work.REPOT), 4.0),  # unknown counts as hard
    ],
)
def test_points_of_each_work(load, cost):
    assert points(load) == pytest.approx(cost)


def test_parts_of_one_round_add_up_before_the_least_is_asked():
    # ten twigs of 2 % each: 2 x 0.2 = 0.4, so the least of half a point, once
    assert sitting_points([Load(Work.CUT, part=0.02)] * 10) == 0.5
    # two structural cuts count one each beside it
    assert (
        sitting_points([Load(Work.CUT, part=0.02)] + [Load(Work.CUT, structural=True)] * 2) == 2.5
    )


@given(st.lists(st.floats(0, 1), max_size=8), st.floats(0, 1))
def test_more_work_never_costs_less(parts, one):
    loads = [Load(Work.LEAF_THIN, dose=0.5, part=p) for p in parts]
    assert sitting_points([*loads, Load(Work.LEAF_THIN, 0.5, one)]) >= sitting_points(loads) - 1e-12


def test_words_of_weight():
    assert [weight_word(p) for p in (0, 1.9, 2.0, 2.9, 3.0)] == [
        "nothing", "light", "medium", "medium", "heavy",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("vigour", "season", "six"),
    [
        (Vigour.STRONG, 10, 6),
        (Vigour.STEADY, 7, 4.2),
        (Vigour.WEAK, 2, 1.2),
        (Vigour.FAILING, 0, 0),
    ],
)
def test_allowance_by_strength(vigour, season, six):
    toll = toll_of(tree(vigour=vigour))
    assert toll.season == season
    assert toll.six_weeks == pytest.approx(six)
    assert toll.left == season


def test_a_graft_of_11_may_frees_its_points_on_22_june():
    """Six weeks after 11 May 2026 is 22 June 2026."""
    # 11 May: a graft, 1.5; 8 June: four structural cuts known as such would be 4, on record cuts of
    # no size weigh 3 a sitting: 4.5 used, 1.5 of 6 left in six weeks
    works = [done(Work.GRAFT_IN, date(2026, 5, 11), 4)]
    works += [done(Work.CUT, date(2026, 6, 8), row) for row in (1, 2, 3, 5)]
    toll = toll_of(tree(works=tuple(works)))
    assert toll.used == 4.5
    assert toll.left == 5.5
    assert toll.left_six_weeks == 1.5
    assert toll.frees_on(1.5) == TODAY
    assert toll.frees_on(2.0) == date(2026, 6, 22)
    assert toll.frees_on(3.5) == date(2026, 7, 20)  # 8 June + 42 days
    assert toll.frees_on(5.5) == date(2026, 7, 20)
    assert toll.frees_on(6.0) == date(2027, 1, 1)  # only a new season gives six more
    assert toll.frees_on(6.5) is None  # more than six weeks bear at all


def test_injury_counts_until_the_season_turns():
    # leaf loss 0.4 lies 0.15 of 0.75 above a quarter: 2 + 2 x 0.2 = 2.4
    toll = toll_of(tree(leaf_loss=0.4))
    assert toll.injury == pytest.approx(2.4)
    assert toll.left == pytest.approx(7.6)
    assert toll.left_six_weeks == pytest.approx(3.6)
    assert toll_of(tree(leaf_loss=0.25)).injury == 0.0
    assert toll_of(tree(recovering="frost")).injury == 2.0


def test_a_weak_tree_has_room_for_injury_only():
    toll = toll_of(tree(vigour=Vigour.WEAK))
    assert toll.fits(0.0)
    assert not toll.fits(0.5)
    assert toll.frees_on(0.5) is None


@pytest.mark.parametrize(
    "facts",
    [
        {"recovering": "move"},
        {"works": (done(Work.REPOT, date(2026, 3, 10), share=0.8),)},  # collected this year
    ],
)
def test_moved_or_bare_rooted_trees_count_as_weak(facts):
    toll = toll_of(tree(**facts))
    assert toll.season == 2.0
    assert toll.why
    assert not toll.fits(0.5)


def test_unknown_strength_takes_light_work_only():
    toll = toll_of(tree(vigour=None))
    assert toll.season is None
    assert toll.left is None
    assert toll.fits(0.5)
    assert not toll.fits(2.0)


def test_seasons_turn_on_1_january_and_1_july():
    assert season_bounds(date(2026, 6, 9), south=False) == (date(2026, 1, 1), date(2027, 1, 1))
    assert season_bounds(date(2026, 6, 9), south=True) == (date(2025, 7, 1), date(2026, 7, 1))


def test_mirrored_works_leave_the_same_toll():
    """The same works 182 days later in the south use as much and free as late."""
    north = [date(2026, 4, 20), date(2026, 5, 25)]
    shift = timedelta(days=182)
    tolls = []
    for south in (False, True):
        move = shift if south else timedelta(0)
        today = TODAY + move
        works = tuple(done(Work.RIM, on + move, 1, this_season=True) for on in north)
        facts = tree(works=works, today=today, calendar=replace(calendar(), south=south))
        tolls.append(toll_of(facts))
    a, b = tolls
    assert (a.used, a.left, a.left_six_weeks) == (b.used, b.left, b.left_six_weeks)
    assert a.frees_on(5.5) + shift == b.frees_on(5.5)


SPENDS = st.lists(
    st.tuples(st.integers(0, 200), st.sampled_from([0.5, 1.0, 1.5, 2.0, 3.0, 4.0])), max_size=14
)


@given(SPENDS, st.sampled_from([Vigour.STRONG, Vigour.STEADY]))
def test_works_put_where_they_are_free_never_break_the_limits(asked, vigour):
    toll = toll_of(tree(vigour=vigour))
    for days, cost in asked:
        when = toll.frees_on(cost, TODAY + timedelta(days=days))
        if when is not None:
            toll = toll.also([Spent(when, cost)])
    for start in {s.on for s in toll.spent}:
        window = sum(
            s.points for s in toll.spent if start <= s.on < start + timedelta(weeks=6)
        )  # fmt: skip
        assert window <= 0.6 * toll.season + 1e-9
    for year in (2026, 2027):
        assert sum(s.points for s in toll.spent if s.on.year == year) <= toll.season + 1e-9
