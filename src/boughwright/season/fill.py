"""A weather record made whole: gaps filled, never silently, and moved to the tree's shelf.

A missing day is the normal of that day plus what the read days around it stray from theirs. What
they stray fades with distance, so a short gap leans on its neighbours and the middle of a long
one on the normals. Each filled day carries its own standard error and its origin. Rain, wind,
humidity and sun are never filled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.normals import DAY_MEMORY
from boughwright.season.record import Origin, Weather

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.season.normals import Normals
    from boughwright.season.record import Floats

FORECAST_DAYS = 10
"""Readings after today count as a forecast this far ahead, and are not looked at beyond. [d]"""

_FORECAST_SD_C, _FORECAST_SD_C_PER_DAY = 1.0, 0.25
"""Error of a forecast for today, and its growth with each day ahead. Guess."""

_OTHER_END_SHARE = 0.5
"""A day with one of its two temperatures read is this much of a gap."""

_FAR_DAYS = 10**6


@dataclass(frozen=True, slots=True)
class BenchReading:
    """Lowest and highest temperature the grower read at the bench; nan for one not read, °C."""

    on: date
    t_min_c: float
    t_max_c: float


def span(weather: Weather, first: date, last: date) -> Weather:
    """Return the record from ``first`` to ``last``; days it does not hold are unknown.

    Days with no temperature have the origin `Origin.NORMAL`, since that is all there is for them.
    """
    days = (last - first).days + 1
    offset = (weather.start - first).days
    source = np.arange(len(weather))
    held = source[(source + offset >= 0) & (source + offset < days)]

    def moved(values: Floats, empty: float) -> Floats:
        out = np.full(days, empty)
        out[held + offset] = values[held]
        return out

    t_min, t_max = moved(weather.t_min_c, np.nan), moved(weather.t_max_c, np.nan)
    origin = moved(weather.origin.astype(np.float64), Origin.NORMAL).astype(np.int8)
    origin[np.isnan(t_min) & np.isnan(t_max)] = Origin.NORMAL
    return Weather(
        station=weather.station,
        start=first,
        t_min_c=t_min,
        t_max_c=t_max,
        rain_mm=moved(weather.rain_mm, np.nan),
        humidity_pct=moved(weather.humidity_pct, np.nan),
        wind_ms=moved(weather.wind_ms, np.nan),
        sun_mj=moved(weather.sun_mj, np.nan),
        origin=origin,
        sd_c=moved(weather.sd_c, 0.0),
    )


def with_bench(weather: Weather, readings: Iterable[BenchReading]) -> Weather:
    """Return the record with the grower's own readings in place of the station's.

    A bench reading is taken at the shelf; `at_shelf` leaves it as it is. A temperature not read
    keeps the station's value.
    """
    given = tuple(readings)
    if not given:
        return weather
    last = weather.start + timedelta(days=len(weather) - 1)
    days = [reading.on for reading in given]
    wide = span(weather, min([weather.start, *days]), max([last, *days]))
    low, high = wide.t_min_c.copy(), wide.t_max_c.copy()
    origin, error = wide.origin.copy(), wide.sd_c.copy()
    for reading in given:
        row = wide.day(reading.on)
        for values, read in ((low, reading.t_min_c), (high, reading.t_max_c)):
            values[row] = values[row] if np.isnan(read) else read
        origin[row], error[row] = Origin.BENCH, 0.0
    return replace(wide, t_min_c=low, t_max_c=high, origin=origin, sd_c=error)


def at_shelf(
    weather: Weather,
    *,
    offset_c: float = 0.0,
    frost_pocket_c: float = 0.0,
    store_low_c: float | None = None,
) -> Weather:
    """Return the record as the tree feels it.

    Parameters
    ----------
    weather : Weather
    offset_c : float
        How much warmer the shelf is than the station. [°C]
    frost_pocket_c : float
        Added to the lowest temperature only; negative in a frost pocket. [°C]
    store_low_c : float or None
        Coldest it gets in a store; None in the open. [°C]

    Returns
    -------
    Weather
        Days read at the bench are not moved, except that a store keeps its lowest.
    """
    moved = weather.origin != Origin.BENCH
    high = weather.t_max_c + np.where(moved, offset_c, 0.0)
    low = np.minimum(weather.t_min_c + np.where(moved, offset_c + frost_pocket_c, 0.0), high)
    if store_low_c is not None:
        low, high = np.maximum(low, store_low_c), np.maximum(high, store_low_c)
    return replace(weather, t_min_c=low, t_max_c=high)


def as_known_on(weather: Weather, today: date, *, forecast_days: int = FORECAST_DAYS) -> Weather:
    """Return the record as it stood on a day: later days are a forecast, then unknown.

    Parameters
    ----------
    weather : Weather
    today : date
        A reading of today itself counts as read.
    forecast_days : int
        How many days after today are kept. [d]

    Returns
    -------
    Weather
        Days after today have the origin `Origin.FORECAST`; those further ahead are cut off.
    """
    kept = min(len(weather), max(weather.day(today) + 1 + forecast_days, 0))
    cut = span(weather, weather.start, weather.start + timedelta(days=kept - 1))
    ahead = np.arange(kept) - weather.day(today)
    known = ~np.isnan(cut.t_min_c) | ~np.isnan(cut.t_max_c)
    later = (ahead > 0) & known & (cut.origin < Origin.FORECAST)
    origin = np.where(later, Origin.FORECAST, cut.origin).astype(np.int8)
    usual = _FORECAST_SD_C + _FORECAST_SD_C_PER_DAY * np.maximum(ahead, 0)
    bare = (origin == Origin.FORECAST) & (cut.sd_c == 0.0)
    return replace(cut, origin=origin, sd_c=np.where(bare, usual, cut.sd_c))


def fill(weather: Weather, normals: Normals, first: date, last: date) -> Weather:
    """Return the record from ``first`` to ``last`` with no temperature missing.

    Parameters
    ----------
    weather : Weather
        Gaps and any extent allowed, none at all too.
    normals : Normals
        Of the same place and shelf.
    first, last : date

    Returns
    -------
    Weather
        Filled days have the origin `Origin.FILLED` between days that were known, `Origin.NORMAL`
        before the first and after the last, and their standard error in ``sd_c``. It is largest in
        the middle of a long gap, where it is the day-to-day spread of the season. Rain, humidity,
        wind and sun stay unknown.

    Notes
    -----
    The neighbours' departure is carried over a gap as a first-order autoregression with a
    correlation of 0.75 a day, given both ends: the best linear estimate under that model.
    """
    # Days just outside the span still tell about its ends.
    margin = timedelta(days=30)
    wide = span(weather, first - margin, last + margin)
    usual_low, usual_high, spread = normals.at(wide.start, len(wide))
    low, low_sd = _bridged(wide.t_min_c, usual_low, spread)
    high, high_sd = _bridged(wide.t_max_c, usual_high, spread)
    no_low, no_high = np.isnan(wide.t_min_c), np.isnan(wide.t_max_c)
    crossed = (low > high) & (no_low | no_high)
    middle = np.where(no_low & no_high, (low + high) / 2.0, np.where(no_low, high, low))
    low, high = np.where(crossed, middle, low), np.where(crossed, middle, high)
    error = np.where(no_low & no_high, (low_sd + high_sd) / 2.0,
                     _OTHER_END_SHARE * np.maximum(low_sd, high_sd))  # fmt: skip
    gap = no_low | no_high
    known = np.flatnonzero(~(no_low & no_high))
    rows = np.arange(len(wide))
    inside = (rows > known[0]) & (rows < known[-1]) if known.size else np.zeros(len(wide), bool)
    inside |= no_low ^ no_high
    code = np.where(inside, Origin.FILLED, Origin.NORMAL).astype(np.int8)
    whole = replace(
        wide,
        t_min_c=low,
        t_max_c=high,
        origin=np.where(gap, code, wide.origin).astype(np.int8),
        sd_c=np.where(gap, error, np.minimum(wide.sd_c, spread)),
    )
    return span(whole, first, last)


def ragged(weather: Weather) -> Weather:
    """Return a filled record with each filled day moved as far as real days stray.

    Chill and forcing answer to single cold and warm days, which a smooth normal does not have. The
    moves are a fixed even spread of a normal distribution, so every answer repeats.
    """
    move = weather.sd_c * _even_normal(len(weather), weather.start.toordinal())
    return replace(weather, t_min_c=weather.t_min_c + move, t_max_c=weather.t_max_c + move)


def _even_normal(days: int, start: int) -> Floats:
    rows = np.arange(days) + start
    return _EVEN_NORMAL[np.mod(rows * _EVEN_STEP, _EVEN_NORMAL.size)]


_EVEN_NORMAL = np.array([NormalDist().inv_cdf((i + 0.5) / 55) for i in range(55)])
_EVEN_STEP = 34
"""55 quantiles, walked in steps of 34: neighbours in the Fibonacci row, so every stretch of some
weeks holds warm and cold days alike."""


def _bridged(values: Floats, usual: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """Return values with gaps filled, and the standard error of each day's filling."""
    rows = np.arange(values.size)
    known = ~np.isnan(values)
    if not known.any():
        return usual.copy(), spread.copy()
    before = np.maximum.accumulate(np.where(known, rows, -_FAR_DAYS))
    after = np.minimum.accumulate(np.where(known, rows, _FAR_DAYS)[::-1])[::-1]
    left = DAY_MEMORY ** np.minimum(rows - before, 200).astype(np.float64)
    right = DAY_MEMORY ** np.minimum(after - rows, 200).astype(np.float64)
    departure = np.where(known, values - usual, 0.0)
    from_left = departure[np.clip(before, 0, values.size - 1)]
    from_right = departure[np.clip(after, 0, values.size - 1)]
    both = 1.0 - (left * right) ** 2
    safe = np.where(both > 0.0, both, 1.0)
    share_left, share_right = left * (1.0 - right**2) / safe, right * (1.0 - left**2) / safe
    filled = usual + share_left * from_left + share_right * from_right
    error = spread * np.sqrt((1.0 - left**2) * (1.0 - right**2) / safe)
    return np.where(known, values, filled), np.where(known, 0.0, error)
