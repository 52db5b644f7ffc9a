"""The call-up under limited hours. Written trees; the order of hours is common practice."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest
from bench_cases import TODAY, branch, call, job, tree, verdict
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.benchwork.callup import call_up, tree_call
from boughwright.benchwork.costs import LATE
from boughwright.benchwork.order import broken, needs
from boughwright.journal.terms import Work
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Sureness

SOON = TODAY + timedelta(days=3)
NEXT = TODAY + timedelta(days=8)
OFF, PAST, PAIR = (Work.WIRE_OFF,), (Work.CUT,), (Work.CUT,)

TWELVE = [
    call("hornbeam", job(Act.WIRE_OFF, 6, Harm.IRREVERSIBLE, latest=TODAY, rows=(9,)),
         job(Act.LEAF_THIN, 60, rows=(1, 2))),
    call("fan maple", job(Act.FEED, 3, rows=()), job(Act.RAISE, 5, Harm.FEEDS, rows=(1,))),
    call("trident", job(Act.LOOK_FIRST, 2, Harm.WINDOW, latest=SOON, rows=(3,))),
    call("field maple", job(Act.WIRE_OFF, 3, rows=(4,)),
         job(Act.CUT_PAST, 4, latest=SOON, rows=(4,)),
         job(Act.SWAP_LEADER, 5, latest=SOON, rows=(8,)),
         job(Act.CUT_TO_PAIR, 20, rows=(1, 2)), job(Act.RIM, 15, earliest=NEXT, rows=(7,))),
    call("elm", job(Act.WIRE_OFF, 60, Harm.IRREVERSIBLE, latest=SOON, rows=tuple(range(28))),
         job(Act.TWO, 40, Harm.WINDOW, latest=SOON, rows=(1, 2, 3))),
    call("beech"),
    call("hawthorn", job(Act.RUB, 5, rows=(1, 2))),
    call("zelkova", job(Act.CUT_PAST, 10, earliest=NEXT, rows=(5,))),
    call("crab", job(Act.FRUIT_OFF, 10, Harm.FEEDS, rows=()),
         job(Act.CUT_SICK, 5, Harm.IRREVERSIBLE, rows=(3,))),
    call("oak", job(Act.GUY, 10, Harm.FEEDS, rows=(4,)), job(Act.LOOK_FIRST, 5, Harm.COSMETIC)),
    call("southern beech", job(Act.PROTECT, 5, Harm.IRREVERSIBLE, latest=TODAY, rows=())),
    call("river maple", job(Act.CUT_TO_PAIR, 90), job(Act.WIRE_ON, 120, rows=(2,))),
]  # fmt: skip


def planned(found):
    return [(c.tree, j.act, j.rows) for c in found.now for j in c.jobs]


def every_job(found):
    return [
        *((c.tree, j) for c in (*found.now, *found.later, *found.calm) for j in c.jobs),
        *((s.tree, s.job) for s in found.slips),
    ]


def test_twelve_trees_in_six_hours():
    found = call_up(TWELVE, today=TODAY, hours=6.0)
    assert found.until == TODAY + timedelta(days=7)
    assert found.hours_planned <= 6.0
    assert found.over_hours == 0.0
    assert all(s.job.harm is not Harm.IRREVERSIBLE for s in found.slips)
    assert [c.name for c in found.now[:4]] == ["hornbeam", "southern beech", "elm", "crab"]
    assert {c.name for c in found.calm} == {"beech", "zelkova"}
    assert [(c.name, c.jobs[0].act) for c in found.later] == [("field maple", Act.RIM)]
    # 6 + 60 + 5 + 5 min and four set-ups come first; wiring of 120 min cannot fit any more
    assert ("river maple", Act.WIRE_ON) in {(s.tree, s.job.act) for s in found.slips}
    slip = next(s for s in found.slips if s.job.act is Act.WIRE_ON)
    assert (slip.to, slip.days) == (TODAY + timedelta(days=8), 8)
    assert slip.cost


@pytest.mark.parametrize("hours", [0.0, 0.5, 1.0, 2.0, 3.0, 6.0, 20.0])
def test_no_irreversible_item_slips_while_anything_else_is_done(hours):
    found = call_up(TWELVE, today=TODAY, hours=hours)
    musts = [j for c in TWELVE for j in c.jobs if j.harm is Harm.IRREVERSIBLE]
    assert sum(j.harm is Harm.IRREVERSIBLE for c in found.now for j in c.jobs) == len(musts)
    # 6 + 60 + 5 + 5 = 76 min and four trees set up at 10: 116 min
    assert found.over_hours == pytest.approx(max(0.0, 116 / 60 - hours))
    if hours < 116 / 60:
        assert all(j.harm is Harm.IRREVERSIBLE for c in found.now for j in c.jobs)


def test_with_time_enough_nothing_slips():
    found = call_up(TWELVE, today=TODAY, hours=24.0)
    assert found.slips == ()
    assert found.hours_planned == pytest.approx(found.hours_wanted)


def test_a_set_up_is_counted_once():
    two = call("a", job(Act.RUB, 5), job(Act.TWO, 5), setup=10.0)
    found = call_up([two], today=TODAY, hours=1.0)
    assert found.hours_planned == pytest.approx(20 / 60)
    assert found.now[0].minutes == 20.0


def test_a_cut_never_goes_without_the_wire_off_before_it():
    # the cut is the more pressing, but its wire comes off first: 10 + 30 min, then 10 for the cut
    off, cut = job(Act.WIRE_OFF, 30, rows=(1,)), job(Act.CUT_PAST, 10, latest=SOON, rows=(1,))
    trees = [call("a", off, cut)]
    assert planned(call_up(trees, today=TODAY, hours=0.5)) == []
    assert planned(call_up(trees, today=TODAY, hours=0.8)) == [("a", Act.WIRE_OFF, (1,))]
    whole = call_up(trees, today=TODAY, hours=1.0)
    assert [j.act for j in whole.now[0].jobs] == [Act.WIRE_OFF, Act.CUT_PAST]


def test_slips_are_spread_over_the_weeks_that_follow():
    trees = [call(f"t{n}", job(Act.TWO, 50, latest=TODAY + timedelta(days=10))) for n in range(4)]
    found = call_up(trees, today=TODAY, hours=1.0)  # one tree of 60 min a week
    assert [s.to for s in found.slips] == [TODAY + timedelta(days=d) for d in (8, 15, 22)]
    assert found.slips[0].cost == "nothing but the wait"  # 17 June, in time for 19 June
    assert found.slips[1].cost == LATE[Act.TWO]
    none = call_up(trees, today=TODAY, hours=0.0)
    assert all(s.to is None and s.days is None for s in none.slips)


JOBS = st.builds(
    lambda act, minutes, harm, rows, wait, due: job(
        act, minutes, harm, rows=tuple(sorted(rows)),
        earliest=TODAY + timedelta(days=wait) if wait else None,
        latest=TODAY + timedelta(days=wait + due) if due else None,
    ),
    st.sampled_from([Act.WIRE_OFF, Act.CUT_PAST, Act.TWO, Act.WIRE_ON, Act.PINCH, Act.FEED]),
    st.floats(1, 120),
    st.sampled_from([h for h in Harm if h is not Harm.NONE]),
    st.sets(st.integers(1, 3), min_size=1),
    st.sampled_from([0, 0, 0, 4, 12]),
    st.integers(0, 14),
)  # fmt: skip
TREES = st.lists(st.lists(JOBS, max_size=5), max_size=8).map(
    lambda trees: [call(f"t{n}", *jobs) for n, jobs in enumerate(trees)]
)


@given(TREES, st.floats(0, 12), st.floats(0, 12))
@settings(deadline=None)
def test_laws_of_the_call_up(trees, some, more):
    few, many = sorted((some, more))
    a = call_up(trees, today=TODAY, hours=few)
    b = call_up(trees, today=TODAY, hours=many)
    whole = Counter((c.tree, j) for c in trees for j in c.jobs)
    for found in (a, b):
        assert Counter(every_job(found)) == whole  # nothing dropped, nothing twice
        assert found.hours_planned <= max(found.hours, found.hours + found.over_hours) + 1e-9
        for tree_ in found.now:
            assert broken(tree_.jobs) == ()
            mine = next(c for c in trees if c.tree == tree_.tree)
            done = set(map(id, tree_.jobs))
            for n, first in enumerate(needs(mine.jobs)):
                if id(mine.jobs[n]) in done:
                    open_ = [i for i in first if mine.jobs[i].earliest is None
                             or mine.jobs[i].earliest <= found.until]  # fmt: skip
                    assert all(id(mine.jobs[i]) in done for i in open_)
    # more hours take a job away only where one of no less harm came in
    before, after = ({id(j): j.harm for c in f.now for j in c.jobs} for f in (a, b))
    lost = [harm for key, harm in before.items() if key not in after]
    came = [harm for key, harm in after.items() if key not in before]
    if lost:
        assert came
    assert sum(j.harm is Harm.IRREVERSIBLE for c in a.now for j in c.jobs) == sum(
        j.harm is Harm.IRREVERSIBLE for c in b.now for j in c.jobs
    )


@given(TREES, st.floats(0, 12), st.randoms(use_true_random=False))
@settings(deadline=None)
def test_the_order_of_trees_does_not_matter_for_hours(trees, hours, random):
    mixed = list(trees)
    random.shuffle(mixed)
    a, b = (call_up(t, today=TODAY, hours=hours) for t in (trees, mixed))
    assert a.hours_wanted == pytest.approx(b.hours_wanted)
    assert a.over_hours == pytest.approx(b.over_hours)


def test_a_tree_call_groups_verdicts_by_act():
    maple = tree(name="Ditch field maple")
    rows = [branch(1, name="1L"), branch(2, name="4R"), branch(3, name="apex"), branch(4)]
    note = SideNote(Act.CUT_PAST, "Cut past: node 1", PAST, Harm.IMPROVEMENT, None, SOON, 4.0, 0.1,
                    structural=True)  # fmt: skip
    verdicts = [
        verdict(Act.WIRE_OFF, 1, OFF, harm=Harm.IRREVERSIBLE, latest=SOON, caution="wire ends",
                never=("Never unwind",), sureness=Sureness.SURE),
        verdict(Act.WIRE_OFF, 2, OFF, harm=Harm.IRREVERSIBLE, latest=TODAY, notes=(note,),
                reasons=(Reason("The wire has bitten"),), sureness=Sureness.LIKELY),
        verdict(Act.WIRE_OFF, 3, OFF, harm=Harm.IRREVERSIBLE, latest=SOON, never=("Never unwind",)),
        verdict(Act.LEAVE, 4),
        verdict(Act.FEED, -1, (Work.FEED,), minutes=3.0),
    ]  # fmt: skip
    found = tree_call(maple, rows, verdicts)
    assert [(j.act, j.places, j.order) for j in found.jobs] == [
        (Act.WIRE_OFF, "4R, 1L and apex", 5),  # the one due today first
        (Act.CUT_PAST, "4R", 7),
        (Act.FEED, "whole tree", 15),
    ]
    off, cut, _ = found.jobs
    assert (off.latest, off.minutes, off.sureness) == (TODAY, 9.0, Sureness.LIKELY)
    assert off.reason == "4R: the wire has bitten"
    assert off.never == ("Never unwind",)
    assert off.caution == "wire ends"
    assert (off.toll, cut.toll) == (0.0, 1.0)
    assert cut.caution == "blades"
    assert (found.harm, found.act_by) == (Harm.IRREVERSIBLE, TODAY)
    assert (found.leave_alone, found.branches) == (1, 4)
    assert (found.toll_left, found.toll_season) == (10.0, 10.0)
    assert found.headline == "Wire off: 4R, 1L and apex by 9 June. 4R: the wire has bitten"
    assert found.minutes == pytest.approx(found.setup_minutes + 9 + 4 + 3)


def test_a_tree_that_needs_nothing_says_so():
    rows = [branch(n) for n in range(1, 5)]
    verdicts = [verdict(Act.LEAVE, n, next_look=date(2026, 7, 20)) for n in range(1, 5)]
    found = tree_call(tree(), rows, verdicts)
    assert found.jobs == ()
    assert found.minutes == 0.0
    assert found.headline == "Leave it alone; next look 20 July"
    assert (found.leave_alone, found.branches) == (4, 4)


def test_five_bases_are_measured_at_once_and_the_rest_wait():
    rows = [branch(n) for n in range(12)]
    verdicts = [verdict(Act.LOOK_FIRST, n, minutes=1.0) for n in range(12)]
    found = tree_call(tree(), rows, verdicts)
    assert sorted((len(j.rows), j.harm) for j in found.jobs) == [
        (5, Harm.IMPROVEMENT), (7, Harm.COSMETIC),
    ]  # fmt: skip
    long = next(j for j in found.jobs if len(j.rows) == 7)
    assert long.places == "5L, 6L, 7L, 8L, 9L, 10L and 11L"


def test_long_lists_of_branches_are_counted():
    rows = [branch(n) for n in range(28)]
    verdicts = [verdict(Act.TWO, n, (Work.TWO,), minutes=2.0) for n in range(28)]
    found = tree_call(tree(height_mm=310.0), rows, verdicts)
    assert found.jobs[0].places == "0L, 1L, 2L, 3L, 4L, 5L, 6L and 21 more"
    assert len(found.jobs[0].rows) == 28
    assert found.jobs[0].minutes == 56.0  # within the 20 to 60 minutes of a whole round
