"""The logistic curve: its fixed points, its symmetry, its inverse."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.growth.curves import (
    logistic,
    rising_root,
    truncated_logistic,
    truncated_logistic_time,
)

TIMES = st.floats(-300, 300)
SCALES = st.floats(1, 80)


def test_fixed_points() -> None:
    # Half of the asymptote at the middle; 1 / (1 + e^-1) of it one scale later.
    assert logistic(47.0, 8.0, 47.0, 17.0) == pytest.approx(4.0, rel=1e-15)
    assert logistic(64.0, 1.0, 47.0, 17.0) == pytest.approx(1 / (1 + math.exp(-1)), rel=1e-15)


def test_it_never_overflows_and_nan_stays() -> None:
    ends = logistic([-1e9, 1e9, np.nan], 5.0, 0.0, 1.0)
    assert ends[0] == 0.0
    assert ends[1] == 5.0
    assert np.isnan(ends[2])


@given(time=TIMES, mid=TIMES, scale=SCALES)
def test_it_is_symmetric_about_its_middle(time: float, mid: float, scale: float) -> None:
    both = logistic(mid + time, 1.0, mid, scale) + logistic(mid - time, 1.0, mid, scale)
    assert both == pytest.approx(1.0, abs=1e-12)


@given(share=st.floats(0.0, 0.999), mid=TIMES, scale=SCALES, before=st.floats(-3, 3))
def test_time_and_share_are_inverse(share: float, mid: float, scale: float, before: float) -> None:
    start = mid + before * scale
    time = truncated_logistic_time(share, mid, scale, start)
    assert time >= start
    assert truncated_logistic(time, mid, scale, start) == pytest.approx(share, abs=1e-9)


def test_ends_of_the_cut_curve() -> None:
    assert truncated_logistic([-8.0, -7.0], 47.0, 17.0, -7.0).tolist() == [0.0, 0.0]
    assert truncated_logistic(1e6, 47.0, 17.0, -7.0) == 1.0
    assert truncated_logistic_time([0.0, 1.0, 2.0], 47.0, 17.0, -7.0).tolist() == [
        -7.0,
        math.inf,
        math.inf,
    ]
    assert np.isnan(truncated_logistic_time(np.nan, 47.0, 17.0, -7.0))


def test_rising_root_finds_cube_roots() -> None:
    wanted = np.array([8.0, 27.0, 0.001])
    found = rising_root(lambda x: x**3, wanted, np.zeros(3), np.full(3, 10.0))
    assert found == pytest.approx([2.0, 3.0, 0.1], rel=1e-12)
