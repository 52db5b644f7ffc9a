"""Laws of degree-days and effective days."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.season.warmth import degree_days, effective_days

celsius = st.floats(-40.0, 50.0)
rise = st.floats(0.0, 25.0)
days = st.lists(st.tuples(celsius, rise), min_size=1, max_size=30).map(np.array)


def extremes(pairs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return pairs[:, 0], pairs[:, 0] + pairs[:, 1]


@pytest.mark.parametrize(
    ("low", "high", "base", "cutoff", "warmth"),
    [
        # Mean 8, half 6, angle asin(-1/2) = -30°: (6 cos 30° + 3 x 120° in rad) / pi
        # = (5.1962 + 6.2832) / pi = 3.6540.
        (2.0, 14.0, 5.0, None, 3.6540),
        # Never below the base: the mean less the base.
        (10.0, 20.0, 5.0, None, 10.0),
        (-3.0, 4.0, 5.0, None, 0.0),
        # Mean at the base: half / pi = 5 / pi.
        (0.0, 10.0, 5.0, None, 1.5915),
        (-2.0, 8.0, 5.0, None, 0.7207),
        # Mean 22 less 10, less what lies above 30: mean 22, half 12, angle asin(8/12) = 41.81°:
        # (12 cos 41.81° - 8 x 48.19° in rad) / pi = (8.9443 - 6.7285) / pi = 0.7053; 12 - 0.7053.
        (10.0, 34.0, 10.0, 30.0, 11.2947),
        (18.0, 36.0, 5.0, 30.0, 20.4745),
        # A flat day.
        (12.0, 12.0, 5.0, 30.0, 7.0),
        (33.0, 33.0, 5.0, 30.0, 25.0),
    ],
)
def test_days_worked_by_hand(
    low: float, high: float, base: float, cutoff: float | None, warmth: float
) -> None:
    assert float(degree_days(low, high, base_c=base, cutoff_c=cutoff)) == pytest.approx(
        warmth, abs=5.1e-5
    )


@given(days, rise, rise)
def test_a_warmer_day_lays_up_no_less(pairs: np.ndarray, more_low: float, more_high: float) -> None:
    low, high = extremes(pairs)
    before = degree_days(low, high)
    assert np.all(degree_days(low, high + more_high) >= before - 1e-9)
    assert np.all(degree_days(np.minimum(low + more_low, high), high) >= before - 1e-9)


@given(days)
def test_between_nothing_and_the_cutoff(pairs: np.ndarray) -> None:
    warmth = degree_days(*extremes(pairs))
    assert np.all((warmth >= 0.0) & (warmth <= 25.0 + 1e-9))


@given(days)
def test_never_below_the_plain_mean_nor_above_the_peak(pairs: np.ndarray) -> None:
    low, high = extremes(pairs)
    warmth = degree_days(low, high, cutoff_c=None)
    assert np.all(warmth >= np.maximum((low + high) / 2.0 - 5.0, 0.0) - 1e-9)
    assert np.all(warmth <= np.maximum(high - 5.0, 0.0) + 1e-9)


@given(days, st.floats(-10.0, 15.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
def test_layers_add_up(pairs: np.ndarray, base: float, first: float, second: float) -> None:
    # What lies between two temperatures is what lies below a third between them and above it.
    low, high = extremes(pairs)
    middle, top = base + first, base + first + second
    whole = degree_days(low, high, base_c=base, cutoff_c=top)
    lower = degree_days(low, high, base_c=base, cutoff_c=middle)
    upper = degree_days(low, high, base_c=middle, cutoff_c=top)
    np.testing.assert_allclose(whole, lower + upper, atol=1e-9)


@given(days)
def test_cold_is_the_mirror_of_warmth(pairs: np.ndarray) -> None:
    # Above less below the base is the mean less the base.
    low, high = extremes(pairs)
    above = degree_days(low, high, cutoff_c=None)
    below = degree_days(-high, -low, base_c=-5.0, cutoff_c=None)
    np.testing.assert_allclose(above - below, (low + high) / 2.0 - 5.0, atol=1e-9)


@given(days, st.data())
def test_a_gap_is_unknown_on_its_own_day_only(pairs: np.ndarray, data: st.DataObject) -> None:
    low, high = extremes(pairs)
    gap = data.draw(st.integers(0, len(pairs) - 1))
    whole = (degree_days(low, high), effective_days(low, high))
    side = data.draw(st.sampled_from([low, high]))
    side[gap] = np.nan
    for before, after in zip(
        whole, (degree_days(low, high), effective_days(low, high)), strict=True
    ):
        assert np.isnan(after[gap])
        np.testing.assert_array_equal(np.delete(after, gap), np.delete(before, gap))


def test_effective_days() -> None:
    means = np.array([3.0, 5.0, 8.5, 12.0, 25.0])
    assert effective_days(means - 4.0, means + 4.0).tolist() == [0.0, 0.0, 0.5, 1.0, 1.0]


def test_refusals() -> None:
    with pytest.raises(RangeError, match="day 2"):
        degree_days([1.0, 9.0], [5.0, 8.0])
    with pytest.raises(RangeError, match="lowest"):
        effective_days(9.0, 8.0)
    with pytest.raises(RangeError, match="cut-off"):
        degree_days(1.0, 9.0, base_c=10.0, cutoff_c=5.0)
