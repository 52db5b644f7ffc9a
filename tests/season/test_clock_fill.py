from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from clock_fixture import days_after, made_weather, with_days, with_gap
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.season.clock import site_clock
from boughwright.season.fill import BenchReading, as_known_on, at_shelf, fill, span, with_bench
from boughwright.season.normals import normals_from
from boughwright.season.record import Origin, check_weather

START = date(2018, 1, 1)
WEATHER = made_weather(START, 1461, noise=3.0, seed=7, rain_mm=2.0)
NORMALS = normals_from(WEATHER, latitude_deg=48.0)
GAP = date(2020, 5, 10)


def test_one_lost_day_by_hand() -> None:
    # Both neighbours 2 °C above normal. Each carries 0.75 (1 - 0.75²) / (1 - 0.75⁴) = 0.48, so
    # the day stands 1.92 above its normal; its error is sqrt((1 - 0.75²)² / (1 - 0.75⁴)) = 0.5292
    # of the spread.
    low, high, spread = NORMALS.at(days_after(GAP, -40), 81)
    base = made_weather(days_after(GAP, -40), 81)
    held = replace(base, t_min_c=low + 2.0, t_max_c=high + 2.0)
    filled = fill(with_gap(held, GAP, 1), NORMALS, GAP, GAP)
    assert filled.t_min_c[0] == pytest.approx(low[40] + 1.92)
    assert filled.t_max_c[0] == pytest.approx(high[40] + 1.92)
    assert filled.sd_c[0] == pytest.approx(0.5292 * spread[40], rel=1e-3)
    assert filled.origin[0] == Origin.FILLED


def test_after_the_last_day_the_departure_fades_to_the_normal() -> None:
    low, high, spread = NORMALS.at(GAP, 60)
    held = replace(made_weather(GAP, 10), t_min_c=low[:10] + 4.0, t_max_c=high[:10] + 4.0)
    filled = fill(held, NORMALS, GAP, days_after(GAP, 59))
    # Three days on, 4 · 0.75³ = 1.6875 is left.
    assert filled.t_min_c[12] - low[12] == pytest.approx(1.6875)
    assert filled.t_min_c[59] == pytest.approx(low[59], abs=1e-4)
    assert filled.sd_c[59] == pytest.approx(spread[59], rel=1e-4)
    assert (filled.origin[:10] == Origin.READ).all()
    assert (filled.origin[10:] == Origin.NORMAL).all()


@pytest.mark.parametrize("days", [1, 9, 30])
def test_every_lost_day_is_flagged_and_only_those(days: int) -> None:
    filled = fill(with_gap(WEATHER, GAP, days), NORMALS, START, date(2021, 12, 31))
    flagged = np.flatnonzero(filled.origin == Origin.FILLED)
    assert flagged.tolist() == list(range(WEATHER.day(GAP), WEATHER.day(GAP) + days))
    assert (filled.sd_c[flagged] > 0.0).all()
    assert not np.isnan(filled.t_min_c).any()


def test_doubt_grows_towards_the_middle_and_with_the_gap() -> None:
    row = WEATHER.day(GAP)
    short, middle, long = (
        fill(with_gap(WEATHER, GAP, days), NORMALS, START, date(2021, 12, 31)).sd_c[
            row : row + days
        ]
        for days in (1, 9, 30)
    )
    assert short[0] < middle.max() < long.max()
    assert (np.diff(middle[:5]) > 0).all()
    assert (np.diff(middle[4:]) < 0).all()
    assert long[15] == pytest.approx(NORMALS.at(days_after(GAP, 15), 1)[2][0], rel=0.01)


def test_rain_is_never_invented() -> None:
    lost = with_days(with_gap(WEATHER, GAP, 9), GAP, rain_mm=[np.nan] * 9)
    filled = fill(lost, NORMALS, START, date(2022, 6, 30))
    rows = slice(WEATHER.day(GAP), WEATHER.day(GAP) + 9)
    assert np.isnan(filled.rain_mm[rows]).all()
    assert np.isnan(filled.rain_mm[1461:]).all()
    assert (filled.rain_mm[:800] == 2.0).all()


def test_one_lost_end_of_a_day_is_flagged_and_surer_than_a_lost_day() -> None:
    half = with_days(WEATHER, GAP, t_min_c=[np.nan])
    filled = fill(half, NORMALS, GAP, GAP)
    whole = fill(with_gap(WEATHER, GAP, 1), NORMALS, GAP, GAP)
    assert filled.t_max_c[0] == WEATHER.t_max_c[WEATHER.day(GAP)]
    assert filled.t_min_c[0] <= filled.t_max_c[0]
    assert filled.origin[0] == Origin.FILLED
    assert 0.0 < filled.sd_c[0] < whole.sd_c[0]


def test_without_any_record_the_normals_stand() -> None:
    empty = span(WEATHER, date(2030, 1, 1), date(2030, 12, 31))
    filled = fill(empty, NORMALS, date(2030, 1, 1), date(2030, 12, 31))
    low, high, spread = NORMALS.at(date(2030, 1, 1), 365)
    assert np.array_equal(filled.t_min_c, low)
    assert np.array_equal(filled.t_max_c, high)
    assert np.array_equal(filled.sd_c, spread)
    assert (filled.origin == Origin.NORMAL).all()


@settings(max_examples=40, deadline=None)
@given(st.sets(st.integers(0, 119), max_size=119), st.sets(st.integers(0, 119), max_size=119))
def test_known_days_never_move_and_the_rest_is_whole(no_low: set[int], no_high: set[int]) -> None:
    cut = span(WEATHER, date(2019, 2, 1), days_after(date(2019, 2, 1), 119))
    low, high = cut.t_min_c.copy(), cut.t_max_c.copy()
    low[sorted(no_low)], high[sorted(no_high)] = np.nan, np.nan
    filled = fill(replace(cut, t_min_c=low, t_max_c=high), NORMALS, cut.start,
                  days_after(cut.start, 119))  # fmt: skip
    assert np.array_equal(filled.t_min_c[~np.isnan(low)], low[~np.isnan(low)])
    assert np.array_equal(filled.t_max_c[~np.isnan(high)], high[~np.isnan(high)])
    assert (filled.t_min_c <= filled.t_max_c).all()
    gap = np.isnan(low) | np.isnan(high)
    assert ((filled.origin >= Origin.FILLED) == gap).all()
    assert ((filled.sd_c > 0) == gap).all()


def test_a_bench_reading_beats_the_station_and_is_not_moved_to_the_shelf() -> None:
    read = with_bench(WEATHER, [BenchReading(GAP, 3.0, 21.0),
                                BenchReading(date(2022, 1, 3), -4.0, np.nan)])  # fmt: skip
    shelf = at_shelf(read, offset_c=1.5, frost_pocket_c=-2.0)
    row = read.day(GAP)
    assert (shelf.t_min_c[row], shelf.t_max_c[row]) == (3.0, 21.0)
    assert shelf.origin[row] == Origin.BENCH
    assert shelf.t_max_c[row + 1] == pytest.approx(WEATHER.t_max_c[row + 1] + 1.5)
    assert shelf.t_min_c[row + 1] == pytest.approx(WEATHER.t_min_c[row + 1] - 0.5)
    assert read.t_min_c[-1] == -4.0
    assert np.isnan(read.t_max_c[-1])


def test_a_store_keeps_its_lowest() -> None:
    store = at_shelf(WEATHER, store_low_c=2.0)
    assert store.t_min_c.min() == 2.0
    assert (store.t_max_c >= 2.0).all()
    warm = WEATHER.t_min_c > 2.0
    assert np.array_equal(store.t_min_c[warm], WEATHER.t_min_c[warm])


def test_days_after_today_are_a_forecast_and_then_nothing() -> None:
    today = date(2020, 3, 1)
    known = as_known_on(WEATHER, today, forecast_days=10)
    row = known.day(today)
    assert len(known) == row + 11
    assert (known.origin[: row + 1] == Origin.READ).all()
    assert (known.origin[row + 1 :] == Origin.FORECAST).all()
    assert (np.diff(known.sd_c[row + 1 :]) > 0).all()
    assert len(as_known_on(WEATHER, today, forecast_days=0)) == row + 1


@pytest.mark.parametrize(
    ("column", "value", "says"),
    [
        ("t_min_c", -99.0, "-99"),
        ("t_max_c", 61.0, "61"),
        ("t_max_c", -59.0, "lies above"),
        ("humidity_pct", 101.0, "humidity"),
        ("rain_mm", -1.0, "rain"),
        ("wind_ms", 99.0, "wind"),
    ],
)
def test_values_that_cannot_be_are_refused_with_their_day(
    column: str, value: float, says: str
) -> None:
    bad = with_days(WEATHER, GAP, **{column: [value]})
    with pytest.raises(RangeError, match=says) as caught:
        site_clock(bad, latitude_deg=48.0, today=date(2020, 6, 1))
    assert "2020-05-10" in str(caught.value)
    assert caught.value.allowed


def test_the_legal_ends_are_taken() -> None:
    check_weather(with_days(WEATHER, GAP, t_min_c=[-60.0], t_max_c=[60.0]))


def test_span_keeps_days_where_they_were() -> None:
    wide = span(WEATHER, START - timedelta(days=5), START + timedelta(days=2000))
    assert np.isnan(wide.t_min_c[:5]).all()
    assert np.array_equal(wide.t_min_c[5 : 5 + 1461], WEATHER.t_min_c)
    assert (wide.origin[5 + 1461 :] == Origin.NORMAL).all()
