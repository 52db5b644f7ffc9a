"""Lost days on real weather: what filling costs, and whether the band is honest.

Sources: NOAA daily weather of Seattle 2012-15 from the open package `vega-datasets`; daily weather
of Wageningen (Haarweg) 1992-99 from the open package `pcse`.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from season_outside_data import LATITUDE_DEG
from season_real_records import (
    korean_record,
    new_zealand_record,
    seattle_record,
    wageningen_record,
)

from boughwright.season.clock import site_clock
from boughwright.season.normals import guessed_normals, normals_from

if TYPE_CHECKING:
    from boughwright.season.record import SiteClock, Weather

PLACES = {"Seattle": (seattle_record, 47.45), "Wageningen": (wageningen_record, 51.97)}


def lost(weather: Weather, row: int, days: int) -> Weather:
    low, high = weather.t_min_c.copy(), weather.t_max_c.copy()
    low[row : row + days] = high[row : row + days] = np.nan
    return replace(weather, t_min_c=low, t_max_c=high)


def clock_at_year_end(place: str, weather: Weather, year: int) -> SiteClock:
    record, latitude = PLACES[place]
    usual = normals_from(record(), latitude_deg=latitude)
    return site_clock(weather, latitude_deg=latitude, today=date(year, 12, 31), normals=usual)


@cache
def errors(place: str, days: int) -> tuple[np.ndarray, np.ndarray]:
    """Return error and standard error of the year's warmth for gaps all over the record."""
    weather = PLACES[place][0]()
    off, band = [], []
    for year in range(weather.start.year + 1, weather.start.year + len(weather) // 365):
        whole = clock_at_year_end(place, weather, year)
        for first in range(10, 330, 29):
            row = weather.day(whole.first) + first
            holed = clock_at_year_end(place, lost(weather, row, days), year)
            assert int(holed.filled.sum()) == days
            assert np.flatnonzero(holed.filled)[0] == first
            off.append(holed.warmth_cd[-1] - whole.warmth_cd[-1])
            band.append(holed.warmth_sd_cd[-1])
    return np.array(off), np.array(band)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(("days", "tolerance"), [(1, 2.0), (9, 20.0), (30, 50.0)])
def test_the_years_warmth_survives_a_gap(place: str, days: int, tolerance: float) -> None:
    # Of a year's 2,000 to 3,000 degree-days. Tolerance on the root mean square of all gaps.
    off, _ = errors(place, days)
    assert float(np.sqrt(np.mean(off**2))) < tolerance
    # Long gaps do not lean to the warm or the cold side by more than their scatter explains.
    assert abs(off.mean()) < 3.0 * off.std() / np.sqrt(off.size)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("days", [1, 9, 30])
def test_the_band_holds_what_it_promises(place: str, days: int) -> None:
    # Eight in ten errors within 1.28 standard errors, give or take; never a band that always holds
    # because it is far too wide.
    off, band = errors(place, days)
    inside = float(np.mean(np.abs(off) <= 1.2816 * band + 0.05))
    assert inside >= 0.70
    assert float(np.sqrt(np.mean(off**2))) > 0.35 * float(np.sqrt(np.mean(band**2)))


@pytest.mark.parametrize("place", PLACES)
def test_longer_gaps_have_wider_bands(place: str) -> None:
    one, nine, thirty = (errors(place, days)[1] for days in (1, 9, 30))
    # Gap by gap, and by more than a little; in deep winter a day may lay up nothing at all.
    assert (one <= nine).mean() > 0.95
    assert (nine <= thirty).mean() > 0.95
    assert one.mean() * 5 < nine.mean() < thirty.mean() / 1.8


@pytest.mark.parametrize("month", [1, 2, 3])
def test_warmth_ahead_from_normals_holds_in_real_springs(month: int) -> None:
    # Warmth by 1 May, forecast on the first of a month from normals of the days read before, with
    # no weather forecast. Nine real springs.
    scores = []
    for place, (record, latitude) in PLACES.items():
        first = record().start.year + (2 if place == "Wageningen" else 1)
        for year in range(first, first + (6 if place == "Wageningen" else 3)):
            whole = clock_at_year_end(place, record(), year)
            ahead = site_clock(record(), latitude_deg=latitude, today=date(year, month, 1),
                               forecast_days=0)  # fmt: skip
            row = whole.day(date(year, 5, 1))
            scores.append((whole.warmth_cd[row] - ahead.warmth_cd[row]) / ahead.warmth_sd_cd[row])
    score = np.array(scores)
    assert len(score) == 9
    assert np.mean(np.abs(score) < 1.2816) >= 6 / 9
    assert np.abs(score).max() < 2.6


def test_the_guess_by_latitude_is_as_good_as_it_says() -> None:
    # Yearly means at eleven stations it was not made from, against its own 4 °C.
    places = [(seattle_record(), 47.45), (wageningen_record(), 51.97),
              (new_zealand_record(), -43.6)]  # fmt: skip
    places += [(korean_record(name), latitude) for name, latitude in LATITUDE_DEG.items()]
    off = []
    for weather, latitude in places:
        low, high, _ = guessed_normals(latitude).at(date(2019, 1, 1), 365)
        real = np.nanmean(weather.t_min_c + weather.t_max_c) / 2.0
        off.append(real - (low + high).mean() / 2.0)
    assert float(np.sqrt(np.mean(np.square(off)))) < 4.0


def test_real_gaps_are_counted() -> None:
    # The New Zealand record lacks 23 days in 16 years; all but a few lie in whole seasons.
    weather = new_zealand_record()
    missing = np.isnan(weather.t_min_c) | np.isnan(weather.t_max_c)
    found = 0
    for year in range(2000, 2015):
        today = date(year + 1, 7, 1)
        clock = site_clock(weather, latitude_deg=-43.6, today=today, season_start=date(year, 8, 1))
        rows = slice(weather.day(date(year, 7, 1)), weather.day(today))
        assert int(clock.filled.sum()) == int(missing[rows].sum())
        found += int(clock.filled.sum())
    assert found > 15
    assert int(missing.sum()) == 23
