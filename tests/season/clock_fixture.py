"""Made-up weather and trees for the tests of the season clock. Nothing here is a real record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from boughwright.season.record import Origin, Weather
from boughwright.sources import Grade
from boughwright.species.model import Species, Trait

YEAR = 365.2425


def made_weather(
    start: date, days: int, *, mean: float = 9.0, swing: float = 9.0, half: float = 5.0,
    noise: float = 0.0, seed: int = 1, south: bool = False, rain_mm: float = np.nan,
) -> Weather:  # fmt: skip
    """Return a yearly wave, coldest on 19 January (20 July in the south), with daily noise."""
    ordinals = start.toordinal() + np.arange(days)
    coldest = date(2001, 7, 20) if south else date(2001, 1, 19)
    wave = mean - swing * np.cos(2 * np.pi * (ordinals - coldest.toordinal()) / YEAR)
    rng = np.random.default_rng(seed)
    shocks, error = rng.normal(0.0, noise * np.sqrt(1 - 0.75**2), days), np.zeros(days)
    for row in range(1, days):
        error[row] = 0.75 * error[row - 1] + shocks[row]
    middle = wave + error
    unknown = np.full(days, np.nan)
    return Weather(
        station="made up", start=start, t_min_c=middle - half, t_max_c=middle + half,
        rain_mm=np.full(days, rain_mm), humidity_pct=unknown, wind_ms=unknown.copy(),
        sun_mj=unknown.copy(), origin=np.zeros(days, np.int8), sd_c=np.zeros(days),
    )  # fmt: skip


def with_gap(weather: Weather, first: date, days: int) -> Weather:
    """Return the record with some days lost."""
    rows = slice(weather.day(first), weather.day(first) + days)
    low, high = weather.t_min_c.copy(), weather.t_max_c.copy()
    origin = weather.origin.copy()
    low[rows] = high[rows] = np.nan
    origin[rows] = Origin.NORMAL
    return replace(weather, t_min_c=low, t_max_c=high, origin=origin)


def with_days(weather: Weather, first: date, **columns: list[float]) -> Weather:
    """Return the record with other values from a day on."""
    row, changed = weather.day(first), {}
    for name, values in columns.items():
        column = getattr(weather, name).copy()
        column[row : row + len(values)] = values
        changed[name] = column
    return replace(weather, **changed)


def made_species(**traits: float | str | bool) -> Species:
    """Return a species with only these traits, all guesses."""
    held = {name: Trait(value, "", "starting-value", Grade.GUESS) for name, value in traits.items()}
    return Species("made-up", "Arbor ficta", "made-up tree", (), held)


def days_after(day: date, days: int) -> date:
    return day + timedelta(days=days)
