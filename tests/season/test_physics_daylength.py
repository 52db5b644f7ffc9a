"""Laws of day length, and the shift of calendar rules."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.season.daylength import daylength_h, season_day

YEAR = np.arange(1, 366)


@given(st.floats(0.0, 45.0))
def test_the_south_mirrors_the_north_but_for_the_orbit(latitude: float) -> None:
    # The earth runs faster in January, so the mirror is up to 0.236 h out at 45°.
    north = daylength_h(latitude, YEAR)
    south = daylength_h(-latitude, (YEAR + 182 - 1) % 365 + 1)
    assert np.abs(north - south).max() <= 0.237


@given(st.floats(-90.0, 90.0), st.floats(0.0, 12.0))
def test_a_day_has_no_more_than_24_hours(latitude: float, horizon: float) -> None:
    hours = daylength_h(latitude, YEAR, horizon_deg=horizon)
    assert np.all((hours >= 0.0) & (hours <= 24.0))
    # A lower horizon never shortens the day.
    assert np.all(hours >= daylength_h(latitude, YEAR, horizon_deg=0.0) - 1e-9)


@given(st.floats(0.0, 60.0), st.integers(1, 365))
def test_north_and_south_share_the_day(latitude: float, day: int) -> None:
    # With the sun's centre on a bare horizon, one side's day is the other side's night.
    both = daylength_h(np.array([latitude, -latitude]), day, horizon_deg=0.0)
    assert both.sum() == pytest.approx(24.0, abs=1e-9)


@given(st.floats(10.0, 65.0))
def test_the_longest_day_is_in_june_and_the_shortest_in_december(latitude: float) -> None:
    hours = daylength_h(latitude, YEAR)
    assert 170 <= YEAR[np.argmax(hours)] <= 174
    assert 353 <= YEAR[np.argmin(hours)] <= 358


def test_other_definitions_at_45_north_in_june() -> None:
    # The formula once more, by a separate hand calculation.
    assert float(daylength_h(45.0, 172, horizon_deg=0.0)) == pytest.approx(15.427, abs=5.1e-4)
    assert float(daylength_h(45.0, 172, horizon_deg=6.0)) == pytest.approx(16.867, abs=5.1e-4)


def test_poles_and_gaps() -> None:
    assert daylength_h([90.0, -90.0], 172).tolist() == [24.0, 0.0]
    assert np.isnan(daylength_h(np.nan, 10))
    assert np.isnan(daylength_h(45.0, [np.nan, 10.0])).tolist() == [True, False]
    with pytest.raises(RangeError, match="91"):
        daylength_h(91.0, 10)


def test_calendar_rules_shift_by_182_days_in_the_south() -> None:
    # 1 October (day 274) is spring there: 274 + 182 - 365 = 91, 1 April.
    assert season_day([274, 1, 365, 366], south=True).tolist() == [91, 183, 182, 183]
    assert season_day([274, 1, 366], south=False).tolist() == [274, 1, 366]


@given(st.integers(1, 365))
def test_twice_half_a_year_is_a_year_less_a_day(day: int) -> None:
    twice = season_day(season_day(day, south=True), south=True)
    assert int(twice) == (day + 364 - 1) % 365 + 1
    assert 1 <= int(twice) <= 365
