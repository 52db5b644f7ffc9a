"""The trunk's taper through readings that may contradict each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression
from shape_cases import primaries

from boughwright.tree.replay import replay
from boughwright.tree.shape import shape_of
from boughwright.tree.shape_trunk import falling, without_strays

readings = st.lists(st.floats(0.5, 200.0), min_size=1, max_size=20).map(np.asarray)


@given(readings)
def test_evened_readings_are_those_of_a_published_library(values):
    """Against the isotonic regression of SciPy."""
    assert np.allclose(falling(values), isotonic_regression(values, increasing=False).x)


@given(readings)
def test_readings_that_fall_are_left_as_they_are(values):
    ordered = np.sort(values)[::-1]
    assert np.array_equal(falling(ordered), ordered)


def test_a_reading_far_under_both_neighbours_is_passed_over():
    """70, 64, 29, 50, 44: the 29 stands far under the 50 above it, so 57 is taken there."""
    assert without_strays(np.asarray([70.0, 64.0, 29.0, 50.0, 44.0])).tolist() == [
        70.0, 64.0, 57.0, 50.0, 44.0,
    ]  # fmt: skip


def test_a_reading_far_over_the_one_below_is_passed_over():
    """60, 50, 70, 40: the 70 stands over the 50 below it, so 45 is taken there."""
    assert without_strays(np.asarray([60.0, 50.0, 70.0, 40.0])).tolist() == [60, 50, 45, 40]


def test_the_trunk_is_as_thick_beside_a_branch_as_it_was_read():
    """Beside 2R at 130 it was read 42, beside 3B at 190 33: within 3 % after smoothing."""
    tree = replay("plain", primaries().events)
    points, radius = shape_of(tree).line(0)
    at = 2.0 * np.interp([130.0, 190.0], points[:, 1], radius)
    assert at == pytest.approx([42.0, 33.0], rel=0.03)


def test_the_root_flare_is_wider_than_the_trunk_above_it():
    tree = replay("plain", primaries().events)
    points, radius = shape_of(tree).line(0)
    assert points[0].tolist() == [0.0, 0.0, 0.0]
    assert 2.0 * radius[0] > 1.5 * 60.0


def test_a_trunk_leans_towards_the_branches_it_bears():
    """At 80 the branch goes left, at 130 right: between the two the trunk moves to the right."""
    tree = replay("plain", primaries().events)
    points, _ = shape_of(tree).line(0)
    x = np.interp([80.0, 130.0], points[:, 1], points[:, 0])
    assert x[1] > x[0]
