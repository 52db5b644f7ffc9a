"""The order of one session and what must come before what."""

from __future__ import annotations

import networkx as nx
from bench_cases import WORK_OF, branch, job
from hypothesis import given
from hypothesis import strategies as st

from boughwright.benchwork.order import (
    ARROWS,
    SEASONS_APART,
    STEP,
    STEPS,
    broken,
    in_order,
    needs,
    rows_in_order,
    step_of,
)
from boughwright.verdicts.verdict import Act

# Written out again from common practice, not read from the module.
MUST_PRECEDE = [
    (Act.CUT_SICK, Act.CUT_PAST),
    (Act.LEAF_CLEAR, Act.WIRE_OFF),
    (Act.LOOK_FIRST, Act.CUT_TO_PAIR),
    (Act.WIRE_OFF, Act.CUT_PAST),
    (Act.WIRE_OFF, Act.RUB),
    (Act.RUB, Act.SWAP_LEADER),
    (Act.CUT_PAST, Act.TWO),
    (Act.TWO, Act.RIM),
    (Act.RIM, Act.GRAFT),
    (Act.GRAFT, Act.WIRE_ON),
    (Act.WIRE_ON, Act.CUT_TO_PAIR),
    (Act.CUT_TO_PAIR, Act.FEED),
]


def test_every_act_has_a_step_of_the_fifteen():
    assert set(STEP) == set(Act)
    assert set(STEPS) == set(range(1, 16))
    assert {step_of(act) for act in Act} <= set(STEPS)


def test_steps_follow_the_trade():
    for first, then in MUST_PRECEDE:
        assert step_of(first) < step_of(then), (first, then)


def test_arrows_and_years_have_no_circle():
    acts = nx.DiGraph((a, b) for arrow in ARROWS for a in arrow.first for b in arrow.then)
    assert nx.is_directed_acyclic_graph(acts)
    years = nx.DiGraph(SEASONS_APART)
    assert nx.is_directed_acyclic_graph(years)
    assert nx.has_path(years, "healthy roots", "show")


JOBS = st.lists(
    st.builds(
        lambda act, rows: job(act, rows=tuple(sorted(rows))),
        st.sampled_from(list(Act)),
        st.sets(st.integers(1, 4), min_size=1),
    ),
    max_size=14,
)


@given(JOBS)
def test_ordered_jobs_break_no_arrow(jobs):
    found = in_order(jobs)
    assert sorted(map(id, found)) == sorted(map(id, jobs))
    assert broken(found) == ()
    for n, first in enumerate(needs(found)):
        assert all(i < n for i in first)


def test_a_wrong_order_is_named():
    wrong = [job(Act.CUT_PAST), job(Act.WIRE_OFF)]
    assert broken(wrong) == ("wire off before cut past: wire hides what to cut",)
    assert broken([job(Act.CUT_PAST), job(Act.WIRE_OFF, rows=(2,), places="2R")]) == ()
    assert broken([job(Act.WIRE_ON), job(Act.GRAFT, rows=(2,))]) == (
        "graft before wire on: no coil may cross a union or a fresh cut",
    )


def test_needs_are_only_of_the_same_part():
    jobs = [job(Act.WIRE_OFF, rows=(1, 2)), job(Act.CUT_PAST, rows=(2,)), job(Act.TWO, rows=(3,))]
    assert needs(jobs) == ((), (0,), ())


def test_rows_within_a_job():
    rows = {1: branch(1, base_mm=9.0), 2: branch(2, base_mm=20.0), 3: branch(3, base_mm=12.0)}
    assert rows_in_order(Act.CUT_PAST, (1, 2, 3), rows) == (2, 3, 1)  # largest first
    assert rows_in_order(Act.LEAF_THIN, (1, 2, 3), rows) == (3, 2, 1)  # from the top down
    assert rows_in_order(Act.WIRE_ON, (1, 2, 3), rows) == (2, 3, 1)  # thick to thin
    assert rows_in_order(Act.WIRE_OFF, (3, 1), rows) == (1, 3)
    assert rows_in_order(Act.FEED, (-1,), rows) == (-1,)
    assert set(WORK_OF) <= set(STEP)
