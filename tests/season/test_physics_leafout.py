"""Leaf-out and colour: requirements, the day a sum is reached, and the sequential model."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.season.colour import COLOUR_STARTS, HALF_TURNED, colour_day, colour_rate
from boughwright.season.daylength import daylength_h
from boughwright.season.leafout import (
    chill_rate,
    day_reached,
    forcing_rate,
    required_warmth,
    sequential,
)

gains = st.lists(st.floats(0.0, 20.0), min_size=1, max_size=60).map(np.array)


def test_warmth_asked_for_after_a_winter() -> None:
    # -68 + 638 exp(-0.01 n): n = 0: 570; 50: 638 x 0.60653 - 68 = 318.97; 100: 166.71;
    # 150: 74.36; at 200 the curve, 18.34, is under the floor of 40.
    needed = required_warmth([0, 50, 100, 150, 200])
    np.testing.assert_allclose(needed, [570.0, 318.97, 166.71, 74.36, 40.0], atol=5.1e-3)
    assert float(required_warmth(100, factor=1.5)) == pytest.approx(1.5 * 166.71, abs=0.01)
    assert np.isnan(required_warmth(np.nan))


@given(st.floats(0.0, 250.0), st.floats(0.0, 100.0), st.floats(0.1, 4.0))
def test_a_colder_winter_never_asks_for_more(days: float, more: float, factor: float) -> None:
    assert required_warmth(days + more, factor=factor) <= required_warmth(days, factor=factor)


def test_the_day_a_sum_is_reached() -> None:
    # 4 by the end of day 0, 10 by the end of day 1: 7 is reached half-way through day 1.
    laid = np.array([4.0, 10.0, 10.0, 12.0])
    np.testing.assert_allclose(
        day_reached(laid, [-1.0, 0.0, 2.0, 7.0, 11.0]), [0, 0, 0.5, 1.5, 3.5]
    )
    # Reached exactly at the end of a day, it is still that day.
    assert np.floor(day_reached(laid, [4.0, 10.0, 12.0])).tolist() == [0.0, 1.0, 3.0]
    assert np.isnan(day_reached(laid, 12.5))
    assert np.isnan(day_reached(laid, np.nan))
    assert np.isnan(day_reached([], 1.0))


def test_a_gap_hides_what_comes_after_it() -> None:
    laid = np.array([4.0, 10.0, np.nan, np.nan])
    reached = day_reached(laid, [7.0, 11.0])
    assert reached[0] == pytest.approx(1.5)
    assert np.isnan(reached[1])


@given(gains, st.floats(0.0, 1.0))
def test_the_sum_is_at_the_need_on_the_day_told(gain: np.ndarray, share: float) -> None:
    laid = np.cumsum(gain)
    needed = share * laid[-1]
    day = int(np.floor(day_reached(laid, needed)))
    assert laid[day] >= needed
    assert day == 0 or needed == 0.0 or laid[day - 1] < needed


def test_daily_rates_of_the_sequential_model() -> None:
    # Triangle: (0 + 3.4) / 6.9 = 0.4928; (10.4 - 5) / 6.9 = 0.7826.
    np.testing.assert_allclose(
        chill_rate([-5.0, -3.0, 0.0, 3.5, 5.0, 8.0, 10.0, 12.0]),
        [0.0, 0.0580, 0.4928, 1.0, 0.7826, 0.3478, 0.0580, 0.0], atol=5.1e-5,
    )  # fmt: skip
    # 28.4 / (1 + exp(-0.185 (T - 18.4))): at 18.4 half of 28.4.
    np.testing.assert_allclose(
        forcing_rate([0.0, 5.0, 10.0, 15.0, 18.4, 20.0, 25.0]),
        [0.9136, 2.1966, 4.9561, 9.8757, 14.2, 16.2864, 21.9316], atol=5.1e-5,
    )  # fmt: skip


def test_chill_first_then_warmth() -> None:
    # 60 days at 3.5 °C lay up 60 of chill; then at 18.4 °C each day forces 14.2, so 140 take
    # 9.9 days and 210 take 14.8.
    means = np.r_[np.full(60, 3.5), np.full(60, 18.4)]
    opened = sequential(means, chill_needed=60.0, forcing_per_factor=140.0, factor=[1.0, 1.5, 99.0])
    np.testing.assert_allclose(opened[:2], [60.0 + 140.0 / 14.2, 60.0 + 210.0 / 14.2])
    assert np.isnan(opened[2])
    # Warmth before the chill is met counts for nothing.
    early = np.r_[np.full(30, 20.0), means]
    late = sequential(early, chill_needed=60.0, forcing_per_factor=140.0, factor=[1.0])
    assert late[0] == pytest.approx(opened[0] + 30.0)


def test_without_winter_or_with_a_gap_a_beech_does_not_tell() -> None:
    assert np.isnan(sequential(np.full(300, 15.0))).all()
    means = np.r_[np.full(70, 3.5), np.nan, np.full(60, 15.0)]
    assert np.isnan(sequential(means))
    assert sequential(means, factor=np.ones(3)).shape == (3,)


YEAR = np.arange(1, 366)
USUAL_C = 10.5 + 9.5 * np.cos(2.0 * np.pi * (YEAR - 201) / 365.0)


def test_half_colour_in_a_smooth_year() -> None:
    # The same sum by a separate calculation: days 296, 299 and 301 at 35, 45 and 52 degrees.
    days = [float(colour_day(USUAL_C, daylength_h(at, YEAR), needed=HALF_TURNED)) + 1.0
            for at in (35.0, 45.0, 52.0)]  # fmt: skip
    assert [int(day) for day in days] == [296, 299, 301]


@given(st.floats(25.0, 60.0), st.floats(0.0, 5.0))
def test_colour_comes_later_in_a_warm_autumn(latitude: float, warmer: float) -> None:
    light = daylength_h(latitude, YEAR)
    needed = [COLOUR_STARTS, HALF_TURNED]
    usual, warm = (colour_day(mean, light, needed=needed) for mean in (USUAL_C, USUAL_C + warmer))
    assert np.all(warm >= usual)
    assert usual[0] < usual[1]


def test_short_days_of_spring_do_not_colour() -> None:
    # All the cold before midsummer counts for nothing.
    light = daylength_h(45.0, YEAR)
    icy = np.where(YEAR < 172, USUAL_C - 40.0, USUAL_C)
    assert float(colour_day(icy, light)) == float(colour_day(USUAL_C, light))


def test_gaps_and_short_records_of_colour() -> None:
    light = daylength_h(45.0, YEAR)
    assert np.isnan(colour_rate([np.nan, 10.0], [15.0, np.nan])).all()
    spring_gap, autumn_gap = USUAL_C.copy(), USUAL_C.copy()
    spring_gap[100], autumn_gap[270] = np.nan, np.nan
    assert float(colour_day(spring_gap, light)) == float(colour_day(USUAL_C, light))
    assert np.isnan(colour_day(autumn_gap, light, needed=HALF_TURNED))
    assert np.isnan(colour_day(USUAL_C[:260], light[:260], needed=HALF_TURNED))


def test_the_south_colours_on_the_mirrored_day() -> None:
    # From 1 July with the weather moved by half a year: within three days of the north, in days
    # since the season began (181 days lie between 1 January and 1 July).
    north = float(colour_day(USUAL_C, daylength_h(45.0, YEAR), needed=HALF_TURNED))
    turned = (YEAR + 181 - 1) % 365 + 1
    south = float(colour_day(USUAL_C, daylength_h(-45.0, turned), needed=HALF_TURNED))
    assert abs(south - north) <= 3.0
