"""The daily weather record and the season clock of one place, as plain arrays.

Shapes: D = days from ``start`` or ``first``, one each, no day left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from enum import IntEnum
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from boughwright.errors import RangeError

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

Floats: TypeAlias = npt.NDArray[np.float64]
Codes: TypeAlias = npt.NDArray[np.int8]


class Origin(IntEnum):
    """Where a day's temperatures come from; the higher, the weaker."""

    READ = 0
    BENCH = 1
    """Read by the grower at the bench."""
    FORECAST = 2
    FILLED = 3
    """Filled from neighbouring days and normals."""
    NORMAL = 4
    """The usual weather of that day of the year."""


@dataclass(frozen=True, slots=True)
class Weather:
    """Daily weather of one station. nan is unknown.

    ``t_min_c``, ``t_max_c`` [°C], ``rain_mm`` [mm], ``humidity_pct`` [%], ``wind_ms`` [m/s at 2 m],
    ``sun_mj`` [MJ/m² d]; ``origin`` of the temperatures as `Origin`; ``sd_c`` standard error of the
    daily temperatures [°C], 0 when read.
    """

    station: str
    start: date
    t_min_c: Floats
    t_max_c: Floats
    rain_mm: Floats
    humidity_pct: Floats
    wind_ms: Floats
    sun_mj: Floats
    origin: Codes
    sd_c: Floats

    def __len__(self) -> int:
        """Return the number of days."""
        return len(self.t_min_c)

    def day(self, on: date) -> int:
        """Return the row of a day; it may lie outside the record."""
        return (on - self.start).days


LEGAL_RANGES: dict[str, tuple[float, float, str]] = {
    "t_min_c": (-60.0, 60.0, "°C"),
    "t_max_c": (-60.0, 60.0, "°C"),
    "rain_mm": (0.0, 2000.0, "mm"),
    "humidity_pct": (0.0, 100.0, "%"),
    "wind_ms": (0.0, 60.0, "m/s"),
    "sun_mj": (0.0, 45.0, "MJ/m² d"),
}
"""What a day of weather can be, both ends allowed. Beyond them a value is a slip or a gap mark."""


def check_weather(weather: Weather) -> None:
    """Refuse a record with a value that no day of weather can have.

    Raises
    ------
    RangeError
        Naming the first day outside `LEGAL_RANGES`, or whose lowest lies above its highest.
    """
    for name, (low, high, unit) in LEGAL_RANGES.items():
        values = getattr(weather, name)
        _refuse(
            weather,
            (values < low) | (values > high),
            partial(_bad_value, name, values, unit),
            f"{low:g} to {high:g} {unit}",
        )
    _refuse(
        weather,
        weather.t_min_c > weather.t_max_c,
        lambda row: f"lowest {weather.t_min_c[row]:g} °C lies above {weather.t_max_c[row]:g} °C",
        "lowest at or below highest",
    )


def _bad_value(name: str, values: Floats, unit: str, row: int) -> str:
    return f"{name} of {values[row]:g} {unit} cannot be right"


def _refuse(
    weather: Weather, wrong: npt.NDArray[np.bool_], what: Callable[[int], str], allowed: str
) -> None:
    if np.any(wrong):
        row = int(np.flatnonzero(wrong)[0])
        day = weather.start + timedelta(days=row)
        raise RangeError(
            what(row),
            where=f"weather of {weather.station}, {day.isoformat()}",
            allowed=allowed,
            todo="Mend or empty that day",
        )


def _none() -> Floats:
    return np.zeros(0)


@dataclass(frozen=True, slots=True)
class SiteClock:
    """One season at one shelf of one place: what drives stages and rings.

    ``first`` is 1 January (north) or 1 July (south); the arrays run to the day before the next
    one. Days after ``known_to`` hold forecasts, then normals. Sums hold what has been laid up by
    the *end* of each day.

    Parameters
    ----------
    season : str
        ``2026`` or ``2026/27``.
    south : bool
    first : date
    known_to : date
        Last day up to today that was read; the day before ``first`` when none was.
    weather : Weather
        The filled record at the shelf (offset applied) for these days.
    warmth_cd : (D,) float
        Running degree-days, base 5 °C, flat cut-off 30 °C, single sine. On a day that was not
        read, the mean over the weather it may have had. [°C d]
    warmth_sd_cd : (D,) float
        Standard error of that sum. [°C d]
    effective_days : (D,) float
        Running effective days: sum of clip(mean - 5, 0, 7) / 7. [d]
    daylength_h : (D,) float
        Sunrise to sunset with refraction. [h]
    chill_portions : float
        Since 1 October (north) or 1 April (south) before ``first``, up to ``first``; nan when
        under 70 % of those days up to today were read.
    chill_days : float
        Days with a mean of 5 °C or less since 1 November or 1 May before, up to today and at most
        to the end of April or October; nan when under 70 % of those days were read.
    filled : (D,) bool
        Days before today whose temperatures were missing and have been filled.
    today : date, optional
        The day it was made for; readings after it count as a forecast.
    latitude_deg : float
        South negative. [degrees]
    chill_run : (D,) float
        Chill portions since the latest 1 October or 1 April. Expected, from filled days, also
        where ``chill_portions`` is nan.
    chill_days_run : (D,) float
        Days with a mean of 5 °C or less since 1 November or 1 May before ``first``. Expected, as
        above. [d]
    rest_run : (B,) float
        ``chill_run`` of the days from 1 October or 1 April before up to ``first``.
    before : Weather, optional
        The filled record of those B days.
    near : Weather, optional
        The record at the shelf, gaps left open, from 21 days before today to 10 days after.
    """

    season: str
    south: bool
    first: date
    known_to: date
    weather: Weather
    warmth_cd: Floats
    warmth_sd_cd: Floats
    effective_days: Floats
    daylength_h: Floats
    chill_portions: float
    chill_days: float
    filled: npt.NDArray[np.bool_]
    today: date | None = None
    latitude_deg: float = float("nan")
    chill_run: Floats = field(default_factory=_none)
    chill_days_run: Floats = field(default_factory=_none)
    rest_run: Floats = field(default_factory=_none)
    before: Weather | None = None
    near: Weather | None = None

    def day(self, on: date) -> int:
        """Return the row of a day; it may lie outside the season."""
        return (on - self.first).days
