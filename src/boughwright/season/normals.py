"""The usual weather of each day of the year at a place, and how far days stray from it.

Smooth yearly curves of the lowest and highest temperature: a mean and two harmonics. A record
pulls them away from a rough guess by latitude and height; without any record the guess stands.
The seasons of the south need no rule of their own: they come with the sign of the latitude.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.daylength import checked_latitude
from boughwright.sources import Grade

if TYPE_CHECKING:
    from datetime import date

    import numpy.typing as npt

    from boughwright.season.record import Floats, Weather

YEAR_DAYS = 365.2425
HARMONICS = 2

DAY_MEMORY = 0.75
"""Correlation of one day's departure from normal with the next day's. Guess, near 0.7-0.8 in
temperate records."""

YEAR_SD_C = 1.2
"""How far whole months stray from the normal, standard deviation. Guess. [°C]"""

_GUESS_OFFSET_SD_C, _GUESS_WAVE_SD_C = 4.0, 2.5
"""How wrong the guess by latitude may be: yearly mean, and each harmonic."""

_DAYS_PER_FACT = (1.0 + DAY_MEMORY) / (1.0 - DAY_MEMORY)
"""Days of a record that count as one free reading, because neighbouring days agree."""

_LAPSE_C_PER_M = 0.006
_COLDEST_AFTER_SOLSTICE_D = 30.0
_NORTH_SOLSTICE_D = 355.0
"""Day of the year of the northern winter solstice."""

_HALF_SWING_C = 4.8
"""Half of the way from a day's lowest to its highest, where nothing is known. Guess. [°C]"""

_LEAST_SD_C = 0.8


@dataclass(frozen=True, slots=True)
class Normals:
    """Yearly curves; H = 1 + 2 · harmonics.

    Parameters
    ----------
    low, high : (H,) float
        Coefficients of the lowest and highest temperature. [°C]
    variance : (3,) float
        Coefficients of the day-to-day variance of the daily mean. [°C²]
    years : float
        Length of the record they rest on. [years]
    grade : Grade
        Measured from one year of record on, else a guess.
    """

    low: Floats
    high: Floats
    variance: Floats
    years: float
    grade: Grade

    def at(self, first: date, days: int) -> tuple[Floats, Floats, Floats]:
        """Return lowest, highest and day-to-day standard deviation of consecutive days, °C."""
        waves = _waves(first.toordinal() + np.arange(days), HARMONICS)
        low, high = waves @ self.low, waves @ self.high
        middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.5)
        spread = np.sqrt(np.maximum(waves[:, :3] @ self.variance, _LEAST_SD_C**2))
        return middle - half, middle + half, spread


def _waves(ordinals: npt.ArrayLike, harmonics: int) -> Floats:
    """Return mean, cosines and sines of the year for day numbers, as columns."""
    # Day 1 of the proleptic calendar is a 1 January, so the phase is that of the year.
    turn = 2.0 * np.pi * (np.asarray(ordinals, dtype=np.float64) - 1.0) / YEAR_DAYS
    columns = [np.ones_like(turn)]
    for order in range(1, harmonics + 1):
        columns += [np.cos(order * turn), np.sin(order * turn)]
    return np.stack(columns, axis=1)


def guessed_normals(latitude_deg: float, *, elevation_m: float | None = None) -> Normals:
    """Return normals guessed from latitude and height above the sea.

    Parameters
    ----------
    latitude_deg : float
        South negative. [degrees]
    elevation_m : float or None
        None counts as low ground. [m]

    Returns
    -------
    Normals
        A zonal guess, good to about 4 °C; years 0, grade guess.

    Notes
    -----
    Ours: sea-level mean 27 - 36 sin² of the latitude; half the yearly swing 0.24 °C a degree in
    the north and 0.13 in the sea-bound south; 6 °C colder each 1000 m.
    """
    checked_latitude(latitude_deg)
    away = abs(latitude_deg)
    mean = 27.0 - 36.0 * np.sin(np.radians(away)) ** 2 - _LAPSE_C_PER_M * (elevation_m or 0.0)
    swing = (0.13 if latitude_deg < 0 else 0.24) * away
    coldest = _NORTH_SOLSTICE_D + _COLDEST_AFTER_SOLSTICE_D
    coldest += YEAR_DAYS / 2.0 if latitude_deg < 0 else 0.0
    phase = 2.0 * np.pi * coldest / YEAR_DAYS
    wave = np.array([mean, -swing * np.cos(phase), -swing * np.sin(phase), 0.0, 0.0])
    half = np.array([_HALF_SWING_C, 0.0, 0.0, 0.0, 0.0])
    spread = 1.8 + 0.04 * away
    return Normals(wave - half, wave + half, np.array([spread**2, 0.0, 0.0]), 0.0, Grade.GUESS)


def normals_from(
    weather: Weather | None, *, latitude_deg: float, elevation_m: float | None = None
) -> Normals:
    """Return the normals of a place from its record and, as far as that is short, from a guess.

    Parameters
    ----------
    weather : Weather or None
        Any length, gaps allowed; only days that were read count.
    latitude_deg : float
        South negative. [degrees]
    elevation_m : float or None
        For the guess. [m]

    Returns
    -------
    Normals
        From one year of record on the guess weighs next to nothing.
    """
    guess = guessed_normals(latitude_deg, elevation_m=elevation_m)
    if weather is None or len(weather) == 0:
        return guess
    from_reading = ~np.isnan(weather.t_min_c) & ~np.isnan(weather.t_max_c) & (weather.origin <= 1)
    rows = np.flatnonzero(from_reading)
    if rows.size == 0:
        return guess
    waves = _waves(rows + weather.start.toordinal(), HARMONICS)
    noise = guess.variance[0] * _DAYS_PER_FACT
    low = _pulled(waves, weather.t_min_c[rows], guess.low, noise)
    high = _pulled(waves, weather.t_max_c[rows], guess.high, noise)
    middle = (weather.t_min_c[rows] + weather.t_max_c[rows]) / 2.0
    strayed = (middle - waves @ ((low + high) / 2.0)) ** 2
    variance = _pulled(waves[:, :3], strayed, guess.variance, 2.0 * guess.variance[0] ** 2
                       * _DAYS_PER_FACT)  # fmt: skip
    years = rows.size / YEAR_DAYS
    grade = Grade.MEASURED if years >= 0.97 else Grade.GUESS
    return Normals(low, high, variance, years, grade)


def _pulled(waves: Floats, values: Floats, guess: Floats, noise: float) -> Floats:
    """Return coefficients between a guess and a fit, each by its own certainty (ridge)."""
    doubt = np.full(guess.size, _GUESS_WAVE_SD_C)
    doubt[0] = _GUESS_OFFSET_SD_C
    normal = waves.T @ waves / noise + np.diag(doubt**-2.0)
    return guess + np.linalg.solve(normal, waves.T @ (values - waves @ guess) / noise)
