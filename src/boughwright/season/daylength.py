"""Length of the day at a latitude, and the shift of calendar rules to the southern half-year."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import RangeError

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

SUNRISE_DEG = 0.8333
"""Sun's centre below the horizon at sunrise: refraction and half the disc. [degrees]"""

SOUTH_SHIFT_DAYS = 182
"""Calendar rules come this much later south of the equator. The weather is never shifted. [d]"""


def checked_latitude(latitude_deg: npt.ArrayLike) -> Floats:
    """Return the latitude as an array.

    Raises
    ------
    RangeError
        When one lies beyond the poles.
    """
    latitude = np.asarray(latitude_deg, dtype=np.float64)
    if np.any(np.abs(latitude) > 90.0):
        raise RangeError(
            f"latitude {float(latitude.flat[int(np.argmax(np.abs(latitude)))]):g} is not on Earth",
            allowed="-90 to 90 degrees, south negative",
            todo="Mend the latitude of the place",
        )
    return latitude


def daylength_h(
    latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike, *, horizon_deg: float = SUNRISE_DEG
) -> Floats:
    """Return the time the sun stands above a horizon, by the CBM model.

    Parameters
    ----------
    latitude_deg : float or array
        South negative. [degrees]
    day_of_year : (D,) int or float
        1 January = 1; broadcast against the latitude.
    horizon_deg : float
        How far the sun's centre lies below the horizon when the day begins: 0.8333 for sunrise
        with refraction, 0 for the centre on the horizon, 6 for civil twilight. [degrees]

    Returns
    -------
    (D,) float
        Day length, 0 in polar night and 24 in polar day; nan where an input is nan. [h]

    Raises
    ------
    RangeError
        When the latitude lies beyond a pole.

    Notes
    -----
    Source: ``forsythe-1995``. Good to about a minute below 40° and to some minutes near 60°.
    """
    latitude = np.radians(checked_latitude(latitude_deg))
    day = np.asarray(day_of_year, dtype=np.float64)
    turn = 0.2163108 + 2.0 * np.arctan(0.9671396 * np.tan(0.00860 * (day - 186.0)))
    declination = np.arcsin(0.39795 * np.cos(turn))
    rise = np.sin(np.radians(horizon_deg)) + np.sin(latitude) * np.sin(declination)
    bracket = np.clip(rise / (np.cos(latitude) * np.cos(declination)), -1.0, 1.0)
    return np.asarray(24.0 - 24.0 / np.pi * np.arccos(bracket), dtype=np.float64)


def season_day(day_of_year: npt.ArrayLike, *, south: bool) -> npt.NDArray[np.int64]:
    """Return the day of the year as a northern calendar rule counts it.

    Parameters
    ----------
    day_of_year : (D,) int
        1 January = 1, up to 366.
    south : bool
        Whether the place lies south of the equator.

    Returns
    -------
    (D,) int
        The same day in the north; 182 days on, within 1 to 365, in the south.
    """
    day = np.asarray(day_of_year, dtype=np.int64)
    return (day + SOUTH_SHIFT_DAYS - 1) % 365 + 1 if south else day
