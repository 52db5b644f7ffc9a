from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from clock_fixture import days_after, made_weather, with_days, with_gap
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.season.clock import (
    season_first,
    season_last,
    season_of,
    site_clock,
    site_clocks,
)
from boughwright.season.normals import normals_from
from boughwright.season.record import Origin

START = date(2015, 1, 1)
WEATHER = made_weather(START, 6 * 365, noise=3.0, seed=11)
LATITUDE = 47.0


@pytest.mark.parametrize(
    ("day", "south", "name", "first"),
    [
        (date(2026, 1, 1), False, "2026", date(2026, 1, 1)),
        (date(2026, 12, 31), False, "2026", date(2026, 1, 1)),
        (date(2026, 7, 1), True, "2026/27", date(2026, 7, 1)),
        (date(2027, 6, 30), True, "2026/27", date(2026, 7, 1)),
        (date(2000, 3, 1), True, "1999/00", date(1999, 7, 1)),
    ],
)
def test_seasons_by_name(day: date, south: bool, name: str, first: date) -> None:
    assert season_of(day, south=south) == name
    assert season_first(day, south=south) == first


@given(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.booleans())
def test_a_day_lies_in_its_season_and_seasons_touch(day: date, south: bool) -> None:
    first, last = season_first(day, south=south), season_last(day, south=south)
    assert first <= day <= last
    assert season_first(last + timedelta(days=1), south=south) == last + timedelta(days=1)
    assert (last - first).days in (364, 365)


def test_sums_of_a_flat_year_by_hand() -> None:
    # 10 °C day and night: 5 degree-days and (10 - 5) / 7 of an effective day each day; every hour
    # of the year is above 5 °C, so no cold day counts.
    flat = made_weather(date(2018, 1, 1), 730, mean=10.0, swing=0.0, half=0.0)
    clock = site_clock(flat, latitude_deg=LATITUDE, today=date(2019, 12, 31))
    assert clock.warmth_cd[9] == pytest.approx(50.0)
    assert clock.warmth_cd[-1] == pytest.approx(5.0 * 365)
    assert clock.effective_days[6] == pytest.approx(5.0)
    assert clock.warmth_sd_cd.max() == 0.0
    assert clock.chill_days == 0.0
    assert clock.filled.sum() == 0
    assert clock.known_to == date(2019, 12, 31)


def test_cold_days_count_from_november_to_april() -> None:
    # 0 °C all the time: from 1 November 2018 to 1 March 2019 there are 30 + 31 + 31 + 28 + 1 days.
    cold = made_weather(date(2018, 1, 1), 730, mean=0.0, swing=0.0, half=0.0)
    clock = site_clock(cold, latitude_deg=LATITUDE, today=date(2019, 3, 1))
    assert clock.chill_days == 121.0
    done = site_clock(cold, latitude_deg=LATITUDE, today=date(2019, 12, 31))
    assert done.chill_days == 181.0  # to 30 April
    assert done.chill_days_run[-1] == 181.0


def test_southern_sums_start_in_july_and_may() -> None:
    cold = made_weather(date(2018, 1, 1), 730, mean=0.0, swing=0.0, half=0.0, south=True)
    clock = site_clock(cold, latitude_deg=-LATITUDE, today=date(2018, 8, 1))
    assert clock.first == date(2018, 7, 1)
    assert clock.season == "2018/19"
    assert clock.chill_days == 31 + 30 + 31 + 1
    assert len(clock.rest_run) == 91
    # Days lengthen from July to December.
    assert np.argmax(clock.daylength_h) == pytest.approx(174, abs=3)


@pytest.mark.parametrize("days", [1, 9, 30])
def test_filled_days_are_counted_exactly_and_widen(days: int) -> None:
    gap = date(2018, 5, 1)
    today = date(2018, 9, 1)
    whole = site_clock(WEATHER, latitude_deg=LATITUDE, today=today)
    holed = site_clock(with_gap(WEATHER, gap, days), latitude_deg=LATITUDE, today=today)
    assert int(holed.filled.sum()) == days
    row = holed.day(today)
    assert whole.warmth_sd_cd[row] == 0.0
    assert holed.warmth_sd_cd[row] > 0.0
    assert holed.warmth_sd_cd[whole.day(gap) - 1] == 0.0


def test_longer_gaps_have_wider_bands() -> None:
    errors = [
        site_clock(with_gap(WEATHER, date(2018, 5, 1), days), latitude_deg=LATITUDE,
                   today=date(2018, 9, 1)).warmth_sd_cd[240]
        for days in (1, 9, 30)
    ]  # fmt: skip
    assert errors[0] * 4 < errors[1] < errors[2]


def test_a_record_that_stopped_is_filled_up_to_today_and_says_so() -> None:
    stopped = with_gap(WEATHER, date(2018, 6, 1), 3 * 365)
    clock = site_clock(stopped, latitude_deg=LATITUDE, today=date(2018, 6, 21))
    assert clock.known_to == date(2018, 5, 31)
    assert int(clock.filled.sum()) == 20
    assert clock.weather.origin[clock.day(date(2018, 6, 10))] == Origin.NORMAL


def test_nothing_beyond_the_forecast_is_looked_at() -> None:
    today = date(2018, 3, 10)
    other = with_days(WEATHER, days_after(today, 11), t_min_c=[20.0] * 60, t_max_c=[40.0] * 60)
    mine = site_clock(WEATHER, latitude_deg=LATITUDE, today=today)
    theirs = site_clock(other, latitude_deg=LATITUDE, today=today)
    assert np.array_equal(mine.warmth_cd, theirs.warmth_cd)
    assert np.array_equal(mine.chill_run, theirs.chill_run)
    sooner = with_days(WEATHER, days_after(today, 10), t_min_c=[20.0], t_max_c=[40.0])
    seen = site_clock(sooner, latitude_deg=LATITUDE, today=today)
    assert seen.warmth_cd[-1] > mine.warmth_cd[-1]


@pytest.mark.parametrize("months_known", [0, 2])
def test_a_winter_hardly_read_is_unknown(months_known: int) -> None:
    lost = with_gap(WEATHER, date(2017, 10, 1), 92 - 31 * months_known)
    clock = site_clock(lost, latitude_deg=LATITUDE, today=date(2018, 1, 1))
    assert np.isnan(clock.chill_portions)
    assert np.isfinite(clock.chill_run).all()
    read = site_clock(with_gap(WEATHER, date(2017, 10, 1), 20), latitude_deg=LATITUDE,
                      today=date(2018, 1, 1))  # fmt: skip
    assert read.chill_portions > 0.0


def test_expected_warmth_ahead_is_the_mean_of_the_years() -> None:
    # A normal day lays up less than the mean of the days it stands for. Forty made-up springs from
    # one climate: their mean warmth by 1 May against the forecast made on 1 January without them.
    springs = [made_weather(date(2019, 1, 1), 120, noise=3.5, seed=seed) for seed in range(40)]
    from boughwright.season.warmth import degree_days

    truth = [float(degree_days(one.t_min_c, one.t_max_c).sum()) for one in springs]
    history = made_weather(date(2001, 1, 1), 18 * 365, noise=3.5, seed=99)
    clock = site_clock(history, latitude_deg=LATITUDE, today=date(2018, 12, 27),
                       season_start=date(2019, 1, 1), forecast_days=0)  # fmt: skip
    error = np.std(truth) / np.sqrt(len(truth))
    assert abs(clock.warmth_cd[119] - np.mean(truth)) < 2.5 * error + 10.0
    low, high, _ = normals_from(history, latitude_deg=LATITUDE).at(date(2019, 1, 1), 120)
    bare = float(degree_days(low, high).sum())
    assert bare < np.mean(truth) - 40.0
    # The spread of the years fits the standard error given, within a factor of two.
    assert 0.5 < clock.warmth_sd_cd[119] / np.std(truth) < 2.0


def test_shelf_offsets_reach_the_normals_too() -> None:
    today = date(2018, 2, 1)
    here = site_clock(WEATHER, latitude_deg=LATITUDE, today=today)
    wall = site_clock(WEATHER, latitude_deg=LATITUDE, today=today, offset_c=1.5)
    ahead = wall.weather.t_max_c - here.weather.t_max_c
    assert ahead == pytest.approx(1.5)
    store = site_clock(WEATHER, latitude_deg=LATITUDE, today=today, store_low_c=3.0)
    assert store.weather.t_min_c.min() == 3.0


def test_consecutive_seasons_share_shelf_and_normals() -> None:
    today = date(2018, 6, 1)
    clocks = site_clocks(WEATHER, first_season=date(2016, 9, 1), last_season=today,
                         latitude_deg=LATITUDE, today=today, offset_c=1.0)  # fmt: skip
    assert [clock.season for clock in clocks] == ["2016", "2017", "2018"]
    alone = site_clock(WEATHER, latitude_deg=LATITUDE, today=today, offset_c=1.0)
    assert np.array_equal(clocks[-1].warmth_cd, alone.warmth_cd)
    assert clocks[0].filled.sum() == 0
    assert clocks[0].known_to == date(2016, 12, 31)


def test_no_record_at_all_still_makes_a_clock_that_says_it_knows_nothing() -> None:
    empty = replace(
        made_weather(START, 1), t_min_c=np.array([np.nan]), t_max_c=np.array([np.nan]),
        origin=np.array([Origin.NORMAL], np.int8),
    )  # fmt: skip
    clock = site_clock(empty, latitude_deg=LATITUDE, today=date(2026, 6, 1))
    assert int(clock.filled.sum()) == 151
    assert np.isnan(clock.chill_portions)
    assert (np.diff(clock.warmth_cd) >= 0).all()
    assert clock.known_to == date(2025, 12, 31)


def test_a_latitude_off_the_earth_is_refused() -> None:
    with pytest.raises(RangeError, match="latitude"):
        site_clock(WEATHER, latitude_deg=-91.0, today=date(2018, 1, 1))
