"""Laws of hourly temperatures, chill and forcing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.season.chill import chill_portions, chilling_hours, forcing_hours, utah_units
from boughwright.season.hourly import hourly_temperatures, sun_times_h

days = st.lists(st.tuples(st.floats(-30.0, 40.0), st.floats(0.0, 25.0)), min_size=1, max_size=8)
hours = st.lists(st.floats(-30.0, 45.0), min_size=1, max_size=200).map(np.array)
latitudes = st.floats(-90.0, 90.0)


@given(days, latitudes, st.integers(1, 366))
def test_hours_lie_within_the_extremes_around_them(
    pairs: list[tuple[float, float]], latitude: float, first: int
) -> None:
    low = np.array([pair[0] for pair in pairs])
    high = low + [pair[1] for pair in pairs]
    hourly = hourly_temperatures(low, high, latitude_deg=latitude, first_day_of_year=first)
    assert hourly.shape == (len(pairs), 24)
    # The night runs from the evening before to the next day's lowest, so both neighbours count.
    floor = np.minimum(low, np.minimum(np.r_[low[0], low[:-1]], np.r_[low[1:], low[-1]]))
    roof = np.maximum(high, np.maximum(np.r_[high[0], high[:-1]], np.r_[high[1:], high[-1]]))
    assert np.all(hourly >= floor[:, None] - 1e-9)
    assert np.all(hourly <= roof[:, None] + 1e-9)


@given(st.floats(-60.0, 60.0), st.integers(1, 365), st.floats(-20.0, 20.0), st.floats(0.1, 20.0))
def test_same_days_have_one_curve_without_jumps(
    latitude: float, day: int, low: float, swing: float
) -> None:
    curve = hourly_temperatures(
        [low] * 3, [low + swing] * 3, latitude_deg=latitude, first_day_of_year=day
    )
    assert curve[1].min() == pytest.approx(low, abs=0.25 * swing)
    assert curve[1].max() >= low + 0.95 * swing
    # The steepest hour is the first of the night, below ln 2 / ln 7.5 = 35 % of the swing.
    assert np.abs(np.diff(curve.ravel())).max() <= 0.40 * swing


def test_the_lowest_falls_at_sunrise_and_the_highest_after_noon() -> None:
    # At 40° on day 80 the sun rises at about six, so hour 6 is within minutes of the lowest; the
    # sine of a day of D h peaks (D + 4) / 2 h after sunrise: some 8 h, at two.
    curve = hourly_temperatures([0.0] * 3, [10.0] * 3, latitude_deg=40.0, first_day_of_year=79)[1]
    assert int(np.argmin(curve)) == 6
    assert int(np.argmax(curve)) == 14
    assert curve[14] == pytest.approx(10.0, abs=0.01)


def test_polar_days_and_nights_still_have_a_curve() -> None:
    rise, fall = sun_times_h(80.0, np.array([172.0, 355.0]))
    assert (fall - rise).tolist() == [23.0, 1.0]


def test_a_gap_takes_its_day_and_the_nights_beside_it() -> None:
    low, high = np.array([1.0, np.nan, 1.0, 1.0]), np.array([9.0, 9.0, 9.0, 9.0])
    unknown = np.isnan(hourly_temperatures(low, high, latitude_deg=40.0, first_day_of_year=80))
    assert unknown[1].all()
    assert not unknown[0, :18].any()
    assert unknown[0, 19:].all()
    assert unknown[2, :6].all()
    assert not unknown[2, 6:].any()
    assert not unknown[3].any()


@given(hours)
def test_each_hour_stays_in_its_range(hourly: np.ndarray) -> None:
    assert set(chilling_hours(hourly)) <= {0.0, 1.0}
    assert set(utah_units(hourly)) <= {-1.0, -0.5, 0.0, 0.5, 1.0}
    forcing = forcing_hours(hourly)
    assert np.all((forcing >= 0.0) & (forcing <= 21.0 + 1e-12))
    assert np.all(chill_portions(hourly) >= 0.0)


@given(hours)
def test_order_does_not_matter_but_for_portions(hourly: np.ndarray) -> None:
    for model in (chilling_hours, utah_units, forcing_hours):
        assert model(hourly[::-1]).sum() == pytest.approx(model(hourly).sum(), abs=1e-9)


@given(hours, hours)
def test_portions_once_fixed_are_never_lost(first: np.ndarray, more: np.ndarray) -> None:
    alone = chill_portions(first)
    np.testing.assert_array_equal(chill_portions(np.r_[first, more])[: first.size], alone)


def test_heat_destroys_what_is_not_yet_fixed() -> None:
    # The first portion at 6 °C is fixed in hour 30. A hot spell in hours 20 to 27 undoes the work
    # so far, so hour 30 fixes nothing.
    cold = np.full(60, 6.0)
    broken = cold.copy()
    broken[19:27] = 30.0
    assert chill_portions(cold)[:30].sum() > 0.9
    assert chill_portions(broken)[:30].sum() == 0.0
    assert chill_portions(broken).sum() < chill_portions(cold).sum()


def test_sites_side_by_side() -> None:
    rng = np.random.default_rng(7)
    sites = rng.normal(5.0, 5.0, (3, 500))
    together = chill_portions(sites)
    for row, site in zip(together, sites, strict=True):
        np.testing.assert_array_equal(row, chill_portions(site))
    assert chill_portions(np.zeros((2, 0))).shape == (2, 0)


def test_gaps_are_unknown() -> None:
    hourly = np.full(100, 6.0)
    hourly[50] = np.nan
    for model in (chilling_hours, utah_units, forcing_hours):
        assert np.flatnonzero(np.isnan(model(hourly))).tolist() == [50]
    # What the buds hold after a gap cannot be known.
    unknown = np.isnan(chill_portions(hourly))
    assert unknown[50:].all()
    assert not unknown[:50].any()
    assert np.isnan(chill_portions([np.nan, 6.0])).all()
