"""Bench time: ranges of common practice, by the size of the tree."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.benchwork.minutes import (
    EACH,
    FEW,
    ROUND,
    Size,
    job_minutes,
    setup_minutes,
    size_of,
)
from boughwright.verdicts.verdict import Act


def test_sizes():
    assert [size_of(h) for h in (249.0, 250.0, 550.0, 551.0, None)] == [
        Size.SMALL, Size.MIDDLE, Size.MIDDLE, Size.LARGE, Size.MIDDLE,
    ]  # fmt: skip


def test_setting_up_costs_8_to_15_minutes():
    assert setup_minutes(200.0) == 8.0
    assert setup_minutes(900.0) == 15.0
    assert 8.0 < setup_minutes(None) < 15.0
    assert setup_minutes(200.0, pupil=True) == 12.0


@pytest.mark.parametrize(
    ("act", "tall", "low", "high"),
    [
        (Act.WIRE_OFF, 310.0, 20, 60),
        (Act.WIRE_OFF, 620.0, 45, 120),
        (Act.CUT_TO_PAIR, 200.0, 10, 20),
        (Act.LEAF_THIN, 400.0, 30, 75),
        (Act.WIRE_ON, 400.0, 120, 300),
        (Act.REPOT, 600.0, 120, 240),
    ],
)
def test_a_whole_round_lies_in_its_range(act, tall, low, high):
    assert low <= job_minutes(act, tall, count=1) <= high
    assert job_minutes(act, tall, count=100, given=1e4) == high


def test_rims_and_grafts_count_each():
    assert job_minutes(Act.RIM, 400.0, count=3, given=45.0) == 45.0
    assert job_minutes(Act.RIM, 400.0, count=3, given=3.0) == 30.0  # ten minutes each at least
    assert job_minutes(Act.GRAFT, 400.0, count=2, given=200.0) == 80.0


@given(st.sampled_from([*ROUND, *EACH, *FEW]), st.floats(0, 500), st.floats(0, 500),
       st.integers(1, 40))  # fmt: skip
def test_longer_given_time_is_never_shorter_and_a_pupil_takes_half_again(act, one, two, count):
    low, high = sorted((one, two))
    if low <= 0:
        return
    mine = job_minutes(act, 400.0, count=count, given=low)
    assert mine <= job_minutes(act, 400.0, count=count, given=high) + 1e-9
    assert job_minutes(act, 400.0, count=count, given=low, pupil=True) == pytest.approx(1.5 * mine)
