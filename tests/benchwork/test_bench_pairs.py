"""Works that must not meet. The table below is written out again from common practice."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from bench_cases import MILD, TODAY, done, tree
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.benchwork.pairs import Done, Heavy, heavy_of, pairs
from boughwright.journal.terms import Work
from boughwright.verdicts.facts import Outlook

SEASON = "season"
FORBIDDEN = {
    ("hard repot", "taking all leaves"): SEASON,
    ("light repot", "taking all leaves"): SEASON,
    ("hard repot", "large cut"): SEASON,
    ("hard repot", "heavy wiring"): 56,
    ("hard repot", "graft"): SEASON,
    ("hard repot", "cutting a graft free"): SEASON,
    ("taking all leaves", "taking all leaves"): SEASON,
    ("taking all leaves", "large cut"): SEASON,
    ("taking all leaves", "heavy wiring"): SEASON,
    ("taking all leaves", "graft"): SEASON,
    ("taking all leaves", "cutting a graft free"): SEASON,
    ("taking all leaves", "scar rim"): SEASON,
    ("large cut", "large cut"): SEASON,
    ("large cut", "heavy wiring"): 42,
    ("large cut", "cutting a graft free"): 42,
    ("heavy wiring", "cutting a graft free"): 21,
}
FOUR = {"hard repot", "large cut", "taking all leaves", "heavy wiring"}

WORKS = st.lists(
    st.tuples(st.sampled_from(list(Heavy)), st.integers(0, 700), st.integers(1, 3)), max_size=12
)


@given(WORKS)
@settings(max_examples=200)
def test_no_never_pair_is_accepted(asked):
    plain = tree()
    taken: list[Done] = []
    for kind, days, row in asked:
        on = TODAY + timedelta(days=days)
        if not pairs(plain, kind, on, row=row, planned=taken):
            taken.append(Done(kind, on, row))
    for i, a in enumerate(taken):
        for b in taken[i + 1 :]:
            rule = FORBIDDEN.get((a.kind.value, b.kind.value)) or FORBIDDEN.get(
                (b.kind.value, a.kind.value)
            )
            if rule == SEASON:
                assert a.on.year != b.on.year, (a, b)
            elif rule:
                assert abs((a.on - b.on).days) >= rule, (a, b)
    big = sorted({(d.on, d.kind.value) for d in taken if d.kind.value in FOUR})
    for start, _ in big:
        inside = [b for b in big if start <= b[0] < start + timedelta(days=365)]
        assert len(inside) <= 2, inside


@given(WORKS)
def test_the_day_a_pair_frees_is_free_of_that_pair(asked):
    plain = tree()
    if len(asked) < 2:
        return
    (one, days, row), (two, later, other) = asked[:2]
    first = Done(one, TODAY + timedelta(days=days), row)
    on = first.on + timedelta(days=later % 30)
    found = pairs(plain, two, on, row=other, planned=[first])
    for answer in found:
        assert answer.from_date is not None
        assert answer.from_date > on
    if found:
        last = max(a.from_date for a in found)
        assert not pairs(plain, two, last, row=other, planned=[first])


@pytest.mark.parametrize(
    ("work", "share", "hard", "kind"),
    [
        (Work.REPOT, 0.3, False, Heavy.REPOT_LIGHT),
        (Work.REPOT, 0.31, False, Heavy.REPOT_HARD),
        (Work.REPOT, None, False, Heavy.REPOT_HARD),
        (Work.CUT, 0.9, False, None),
        (Work.CUT, None, True, Heavy.LARGE_CUT),
        (Work.WIRE_ON, 0.4, False, None),
        (Work.WIRE_ON, 0.5, False, Heavy.HEAVY_WIRE),
        (Work.WIRE_ON, None, True, Heavy.HEAVY_WIRE),
        (Work.LEAF_FULL, None, False, Heavy.ALL_LEAVES),
        (Work.LEAF_THIN, 0.7, False, None),
        (Work.PINCH, None, False, None),
    ],
)
def test_which_works_are_heavy(work, share, hard, kind):
    assert heavy_of(work, share, hard=hard) is kind


def test_on_record_and_the_day_it_frees():
    # large limb off on 1 May 2026: heavy wiring from 12 June (six weeks), a second one next season
    facts = tree(works=(done(Work.CUT, date(2026, 5, 1), 2, hard=True),))
    wire = pairs(facts, Heavy.HEAVY_WIRE, TODAY)
    assert [a.from_date for a in wire] == [date(2026, 6, 12)]
    again = pairs(facts, Heavy.LARGE_CUT, TODAY)
    assert [a.from_date for a in again] == [date(2027, 1, 1)]
    assert "1 May" in again[0].reasons[0].text


def test_rim_of_the_same_wound_is_free_in_the_season_of_its_cut():
    facts = tree(works=(done(Work.CUT, date(2026, 5, 1), 2, hard=True),))
    assert not pairs(facts, Heavy.RIM, TODAY, row=2)
    assert pairs(facts, Heavy.RIM, TODAY, row=3)


def test_third_big_work_waits_twelve_months_from_the_second_last():
    # hard repot 10 March 2025 lies outside; large cut 1 November 2025 and heavy wiring 20 January
    # 2026 lie inside; a third may come 365 days after 1 November 2025
    works = (
        done(Work.WIRE_ON, date(2026, 1, 20), share=0.8),
        done(Work.CUT, date(2025, 11, 1), 3, hard=True),
        done(Work.REPOT, date(2025, 3, 10), share=0.4, hard=True),
    )
    found = pairs(tree(works=works), Heavy.ALL_LEAVES, TODAY)
    assert date(2026, 11, 1) in [a.from_date for a in found]


@pytest.mark.parametrize(
    ("kind", "days", "free"),
    [
        (Heavy.ALL_LEAVES, 149, False),
        (Heavy.ALL_LEAVES, 150, True),  # five months
        (Heavy.LARGE_CUT, 300, False),
        (Heavy.HEAVY_WIRE, 182, False),
        (Heavy.RIM, 30, True),
    ],
)
def test_shows(kind, days, free):
    assert (not pairs(tree(show_on=TODAY + timedelta(days=days)), kind, TODAY)) is free


def test_active_disease_and_frost_put_works_off():
    sick = tree(disease={"spots": date(2026, 6, 5)})
    for kind in (Heavy.REPOT_HARD, Heavy.ALL_LEAVES, Heavy.LARGE_CUT, Heavy.GRAFT, Heavy.RIM):
        assert pairs(sick, kind, TODAY)[0].condition == "one clean flush is over"
    mildew = tree(disease={"mildew": date(2026, 6, 5)})
    assert pairs(mildew, Heavy.ALL_LEAVES, TODAY)
    assert not pairs(mildew, Heavy.RIM, TODAY)  # mildew does not come by wounds
    cold = tree(outlook=Outlook(12.0, -3.0, None, None, None, None, 0))
    for kind in (Heavy.GRAFT, Heavy.SEVER, Heavy.RIM, Heavy.LARGE_CUT):
        assert pairs(cold, kind, TODAY)
    assert MILD.t_min_10d_c == 11.0
    assert not pairs(tree(), Heavy.LARGE_CUT, TODAY)
