"""The season clock of one shelf: everything that drives stages and rings, day by day.

Weather is read, then forecast, then normal. On a day that was not read the sums take the mean over
the weather it may have had, since warmth does not answer evenly to temperature: the mean of warm
and cold days lays up more than the mean day does.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import RangeError
from boughwright.season.chill import chill_portions
from boughwright.season.daylength import daylength_h
from boughwright.season.fill import FORECAST_DAYS, as_known_on, at_shelf, fill, ragged, span
from boughwright.season.hourly import hourly_temperatures
from boughwright.season.normals import DAY_MEMORY, YEAR_SD_C, normals_from
from boughwright.season.record import Origin, SiteClock, check_weather
from boughwright.season.warmth import BASE_C, degree_days, effective_days

if TYPE_CHECKING:
    from collections.abc import Callable

    from boughwright.season.normals import Normals
    from boughwright.season.record import Floats, Weather

KNOWN_SHARE = 0.7
"""Chill is called unknown when a smaller share of its days was read."""

NEAR_BEFORE_DAYS = 21

_FIRST_MONTH = {False: 1, True: 7}
_CHILL_MONTH = {False: 10, True: 4}
_CHILL_DAYS_MONTH = {False: 11, True: 5}
_CHILL_DAYS_END = {False: (4, 30), True: (10, 31)}

_SLOW_DAYS = 60.0
"""Months that stray from normal keep straying about this long. Guess. [d]"""

# Gauss-Hermite nodes and weights for a standard normal; warmth and effective days are kinked, and
# seven nodes hold their mean to about 0.05 °C d a day.
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


def season_first(day: date, *, south: bool) -> date:
    """Return the first day of the season that holds a day: 1 January, or 1 July in the south."""
    first = date(day.year, _FIRST_MONTH[south], 1)
    return first if day >= first else date(day.year - 1, _FIRST_MONTH[south], 1)


def season_last(day: date, *, south: bool) -> date:
    """Return the last day of the season that holds a day."""
    first = season_first(day, south=south)
    return date(first.year + 1, first.month, 1) - timedelta(days=1)


def season_of(day: date, *, south: bool) -> str:
    """Return the name of a season: ``2026`` in the north, ``2026/27`` in the south."""
    year = season_first(day, south=south).year
    return f"{year}/{(year + 1) % 100:02d}" if south else str(year)


def site_clock(
    weather: Weather,
    *,
    latitude_deg: float,
    today: date,
    offset_c: float = 0.0,
    frost_pocket_c: float = 0.0,
    store_low_c: float | None = None,
    elevation_m: float | None = None,
    season_start: date | None = None,
    normals: Normals | None = None,
    forecast_days: int = FORECAST_DAYS,
) -> SiteClock:
    """Return the clock of one season at one shelf.

    Parameters
    ----------
    weather : Weather
        The station's record, gaps and all; nothing in it is needed.
    latitude_deg : float
        South negative. [degrees]
    today : date
        Readings after it count as a forecast for ``forecast_days`` and are not looked at beyond.
    offset_c, frost_pocket_c, store_low_c
        The shelf against the station, as in `boughwright.season.fill.at_shelf`. [°C]
    elevation_m : float or None
        Helps the guess where there is no record. [m]
    season_start : date or None
        Any day of the season wanted; None for that of today.
    normals : Normals or None
        Of the station; None to work them out from the record as known today.
    forecast_days : int
        [d]

    Returns
    -------
    SiteClock

    Raises
    ------
    RangeError
        When a value of the record, or the latitude, cannot be right.
    """
    check_weather(weather)
    if not -90.0 <= latitude_deg <= 90.0:
        raise RangeError(f"latitude {latitude_deg:g} is not on Earth",
                         allowed="-90 to 90 degrees, south negative",
                         todo="Mend the latitude of the place")  # fmt: skip
    south = latitude_deg < 0
    first = season_first(season_start or today, south=south)
    last = season_last(first, south=south)
    known = as_known_on(weather, today, forecast_days=forecast_days)
    usual = normals or normals_from(known, latitude_deg=latitude_deg, elevation_m=elevation_m)
    here = at_shelf(known, offset_c=offset_c, frost_pocket_c=frost_pocket_c,
                    store_low_c=store_low_c)  # fmt: skip
    lift = np.zeros(usual.low.size)
    lift[0] = 1.0
    usual = replace(usual, low=usual.low + lift * (offset_c + frost_pocket_c),
                    high=usual.high + lift * offset_c)  # fmt: skip
    rest_first = date(first.year - (not south), _CHILL_MONTH[south], 1)
    whole = at_shelf(fill(here, usual, rest_first, last), store_low_c=store_low_c)
    return _clock_of(whole, here, first=first, last=last, today=today, latitude_deg=latitude_deg)


def site_clocks(
    weather: Weather, *, first_season: date, last_season: date, latitude_deg: float, today: date,
    offset_c: float = 0.0, frost_pocket_c: float = 0.0, store_low_c: float | None = None,
    elevation_m: float | None = None, normals: Normals | None = None,
    forecast_days: int = FORECAST_DAYS,
) -> tuple[SiteClock, ...]:  # fmt: skip
    """Return the clocks of consecutive seasons, oldest first.

    Parameters
    ----------
    first_season, last_season : date
        Any day of the first and of the last season wanted.
    weather, latitude_deg, today, offset_c, frost_pocket_c, store_low_c, elevation_m, normals,
    forecast_days
        As in `site_clock`.

    Returns
    -------
    tuple of SiteClock
        All at the same shelf, with the same normals.
    """
    south = latitude_deg < 0
    known = as_known_on(weather, today, forecast_days=forecast_days)
    usual = normals or normals_from(known, latitude_deg=latitude_deg, elevation_m=elevation_m)
    start, end = (season_first(day, south=south) for day in (first_season, last_season))
    return tuple(
        site_clock(
            weather, latitude_deg=latitude_deg, today=today, offset_c=offset_c,
            frost_pocket_c=frost_pocket_c, store_low_c=store_low_c, elevation_m=elevation_m,
            season_start=date(year, start.month, 1), normals=usual, forecast_days=forecast_days,
        )
        for year in range(start.year, end.year + 1)
    )  # fmt: skip


def _clock_of(
    whole: Weather, here: Weather, *, first: date, last: date, today: date, latitude_deg: float
) -> SiteClock:
    south = latitude_deg < 0
    rest_days = (first - whole.start).days
    before = span(whole, whole.start, first - timedelta(days=1))
    season = span(whole, first, last)
    days = len(season)
    warmth, warmth_sd = _laid_up(season)
    rest_run, chill_run = _chill_runs(whole, rest_days, latitude_deg, south=south)
    cold = _cold_days(whole, south=south)
    passed = np.arange(days) < (today - first).days
    filled = passed & (season.origin >= Origin.FILLED)
    return SiteClock(
        season=season_of(first, south=south),
        south=south,
        first=first,
        known_to=_known_to(season, today),
        weather=season,
        warmth_cd=warmth,
        warmth_sd_cd=warmth_sd,
        effective_days=np.cumsum(_mean_over(season, effective_days)),
        daylength_h=daylength_h(latitude_deg, _days_of_year(first, days)),
        chill_portions=_if_known(whole, whole.start, first, today, rest_run[-1]),
        chill_days=_known_cold_days(whole, cold, today, south=south),
        filled=filled,
        today=today,
        latitude_deg=latitude_deg,
        chill_run=chill_run,
        chill_days_run=cold[rest_days:],
        rest_run=rest_run,
        before=before,
        near=span(here, today - timedelta(days=NEAR_BEFORE_DAYS),
                  today + timedelta(days=FORECAST_DAYS)),
    )  # fmt: skip


def _days_of_year(first: date, days: int) -> Floats:
    """Return the day of the year of consecutive days, 1 January = 1."""
    ordinals = first.toordinal() + np.arange(days)
    turn = date(first.year + 1, 1, 1).toordinal()
    start = date(first.year, 1, 1).toordinal()
    return np.where(ordinals < turn, ordinals - start, ordinals - turn) + 1.0


def _known_to(season: Weather, today: date) -> date:
    read = np.flatnonzero(season.origin[: max(season.day(today) + 1, 0)] <= Origin.BENCH)
    return season.start + timedelta(days=int(read[-1]) if read.size else -1)


def _over(weather: Weather, law: Callable[[Floats, Floats], Floats]) -> Floats:
    """Return what each day lays up at each node of the weather it may have had, (nodes, D)."""
    moved = _NODES[:, None] * weather.sd_c
    return law(weather.t_min_c + moved, weather.t_max_c + moved)


def _mean_over(weather: Weather, law: Callable[[Floats, Floats], Floats]) -> Floats:
    return np.asarray(_WEIGHTS @ _over(weather, law))


def _laid_up(weather: Weather) -> tuple[Floats, Floats]:
    """Return the running warmth and its standard error.

    Errors of neighbouring days go together, those of whole months a little; both parts are summed
    as first-order autoregressions.
    """
    cases = _over(weather, degree_days)
    mean = _WEIGHTS @ cases
    # A day that was read has no error, whatever rounding leaves of it.
    error = np.where(weather.sd_c > 0.0, np.sqrt(_WEIGHTS @ (cases - mean) ** 2), 0.0)
    slow_share = np.minimum((YEAR_SD_C / np.maximum(weather.sd_c, YEAR_SD_C)) ** 2, 1.0)
    fast = _summed_variance(error * np.sqrt(1.0 - slow_share), DAY_MEMORY)
    slow = _summed_variance(error * np.sqrt(slow_share), float(np.exp(-1.0 / _SLOW_DAYS)))
    return np.cumsum(mean), np.sqrt(fast + slow)


def _summed_variance(error: Floats, memory: float) -> Floats:
    """Return the variance of a running sum of errors whose correlation fades with distance."""
    rows = np.arange(error.size)
    # The weighted sum of all days before; a season's 366 days keep the powers well within range.
    carried = np.cumsum(error * memory ** -rows.astype(np.float64)) * memory**rows - error
    return np.cumsum(error**2 + 2.0 * error * carried)


def _chill_runs(
    whole: Weather, rest_days: int, latitude_deg: float, *, south: bool
) -> tuple[Floats, Floats]:
    """Return chill portions since the latest autumn: of the rest before, and of the season."""
    first = whole.start + timedelta(days=rest_days)
    autumn = date(first.year + south, _CHILL_MONTH[south], 1)
    turn = (autumn - whole.start).days
    course = ragged(whole)
    hours = hourly_temperatures(course.t_min_c, course.t_max_c, latitude_deg=latitude_deg,
                                first_day_of_year=whole.start.timetuple().tm_yday)  # fmt: skip
    runs = [
        np.cumsum(chill_portions(part.ravel()).reshape(part.shape).sum(axis=1))
        for part in (hours[:turn], hours[turn:])
    ]
    return runs[0][:rest_days], np.concatenate([runs[0][rest_days:], runs[1]])


def _cold_days(whole: Weather, *, south: bool) -> Floats:
    """Return the expected days at 5 °C or less since 1 November or 1 May, running."""
    mean = (whole.t_min_c + whole.t_max_c) / 2.0
    share = _WEIGHTS @ (mean + _NODES[:, None] * whole.sd_c <= BASE_C)
    share = np.where(whole.sd_c > 0.0, share, (mean <= BASE_C).astype(np.float64))
    start, end = _cold_span(whole.start, south=south)
    rows = np.arange(len(whole))
    counts = (rows >= whole.day(start)) & (rows <= whole.day(end))
    return np.cumsum(np.where(counts, share, 0.0))


def _cold_span(rest_first: date, *, south: bool) -> tuple[date, date]:
    """Return the first and last day whose cold counts, for the rest that begins on a day."""
    month, day = _CHILL_DAYS_END[south]
    start = date(rest_first.year, _CHILL_DAYS_MONTH[south], 1)
    return start, date(rest_first.year + (not south), month, day)


def _if_known(whole: Weather, first: date, end: date, today: date, value: float) -> float:
    """Return a value when enough days of a stretch up to today were read, else nan."""
    stop = min(end, today)
    rows = slice(whole.day(first), max(whole.day(stop), whole.day(first)))
    seen = whole.origin[rows] <= Origin.FORECAST
    return float(value) if seen.size and seen.mean() >= KNOWN_SHARE else float("nan")


def _known_cold_days(whole: Weather, cold: Floats, today: date, *, south: bool) -> float:
    start, end = _cold_span(whole.start, south=south)
    row = min(max(whole.day(min(today, end)), 0), len(whole) - 1)
    return _if_known(whole, start, end, today, cold[row])
