"""The daily weather record and the season clock of one place, as plain arrays.

Shapes: D = days from ``start`` or ``first``, one each, no day left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
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
    first, known_to : date
    weather : Weather
        The filled record at the shelf (offset applied) for these days.
    warmth_cd : (D,) float
        Running degree-days, base 5 °C, flat cut-off 30 °C, single sine. [°C d]
    warmth_sd_cd : (D,) float
        Standard error of that sum. [°C d]
    effective_days : (D,) float
        Running effective days: sum of clip(mean - 5, 0, 7) / 7. [d]
    daylength_h : (D,) float
        Sunrise to sunset with refraction. [h]
    chill_portions : float
        Since 1 October (north) or 1 April (south) before ``first``, up to ``first``; nan unknown.
    chill_days : float
        Days with a mean of 5 °C or less since 1 November or 1 May before; nan unknown.
    filled : (D,) bool
        Days before ``known_to`` whose temperatures were missing and have been filled.
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
