"""Hourly temperatures from the lowest and highest of each day, for chill and forcing sums.

By day the temperature follows a sine from sunrise, by night it falls as a logarithm of the time
since sunset to the next day's lowest. Shapes: D = days, 24 hours each, hour 0 = midnight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.daylength import SUNRISE_DEG, checked_latitude
from boughwright.season.warmth import paired

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

SHORTEST_DAY_H, LONGEST_DAY_H = 1.0, 23.0
"""The curve needs a day and a night: polar days and nights are held to these. Guess. [h]"""

_YEAR_DAYS = 365.2425
_LAG_H = 4.0
"""The day's sine is this much longer than the day, so the peak comes after noon. [h]"""


def sun_times_h(latitude_deg: float, day_of_year: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Return sunrise and sunset in solar time.

    Parameters
    ----------
    latitude_deg : float
        South negative. [degrees]
    day_of_year : (D,) float
        1 January = 1.

    Returns
    -------
    (D,) float, (D,) float
        Sunrise and sunset, symmetric about 12. In polar day and night the day is taken as 23 h
        and 1 h long. [h]

    Raises
    ------
    RangeError
        When the latitude lies beyond a pole.

    Notes
    -----
    Source: ``spencer-1971``.
    """
    latitude = np.radians(checked_latitude(latitude_deg))
    turn = 2.0 * np.pi / 365.0 * (np.asarray(day_of_year, dtype=np.float64) - 1.0)
    declination = (
        0.006918
        - 0.399912 * np.cos(turn) + 0.070257 * np.sin(turn)
        - 0.006758 * np.cos(2 * turn) + 0.000907 * np.sin(2 * turn)
        - 0.002697 * np.cos(3 * turn) + 0.00148 * np.sin(3 * turn)
    )  # fmt: skip
    rise = -np.sin(np.radians(SUNRISE_DEG)) - np.sin(latitude) * np.sin(declination)
    bracket = np.clip(rise / (np.cos(latitude) * np.cos(declination)), -1.0, 1.0)
    day_h = np.clip(24.0 / np.pi * np.arccos(bracket), SHORTEST_DAY_H, LONGEST_DAY_H)
    return 12.0 - day_h / 2.0, 12.0 + day_h / 2.0


def hourly_temperatures(
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    latitude_deg: float,
    first_day_of_year: int,
) -> Floats:
    """Return the temperature at each full hour of each day.

    Parameters
    ----------
    t_min_c, t_max_c : (D,) float
        Lowest and highest air temperature of consecutive days. [°C]
    latitude_deg : float
        South negative. [degrees]
    first_day_of_year : int
        Day of the year of the first day; later days follow on over the year's end.

    Returns
    -------
    (D, 24) float
        Temperature. A gap makes the hours unknown that rest on it: its own day, the night before
        and the night after. The day before the first and after the last are taken as equal to
        them. [°C]

    Raises
    ------
    RangeError
        When a day's lowest lies above its highest, or the latitude beyond a pole.

    Notes
    -----
    Source: ``linvill-1990`` with the sun times of ``spencer-1971``.
    """
    low, high = (np.pad(part, 1, mode="edge") for part in paired(t_min_c, t_max_c))
    day = (first_day_of_year - 2 + np.arange(low.size)) % _YEAR_DAYS + 1.0
    rise, fall = sun_times_h(latitude_deg, day)
    day_h, swing = fall - rise, high - low
    at_sunset = low + swing * np.sin(np.pi * day_h / (day_h + _LAG_H))
    hour = np.arange(24.0)
    now, before, after = slice(1, -1), slice(None, -2), slice(2, None)

    def column(values: Floats, which: slice) -> Floats:
        return values[which, None]

    sine = np.sin(np.pi * (hour - column(rise, now)) / (column(day_h, now) + _LAG_H))
    by_day = column(low, now) + column(swing, now) * sine
    dark = np.maximum(hour - column(fall, now), 0.0)
    fell = np.log(dark + 1.0) / np.log(25.0 - column(fall, now) + column(rise, after))
    evening = column(at_sunset, now) - (column(at_sunset, now) - column(low, after)) * fell
    dark = hour + 24.0 - column(fall, before)
    fell = np.log(dark + 1.0) / np.log(25.0 - column(fall, before) + column(rise, now))
    morning = column(at_sunset, before) - (column(at_sunset, before) - column(low, now)) * fell
    night = np.where(hour < column(rise, now), morning, evening)
    lit = (hour >= column(rise, now)) & (hour <= column(fall, now))
    return np.where(lit, by_day, night)
