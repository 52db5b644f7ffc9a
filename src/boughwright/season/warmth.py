"""Warmth laid up in a day, from its lowest and highest temperature.

Two sums are kept apart. Degree-days drive the stages of the year. Effective days drive the ring.
Shapes: D = days; every function works day by day on any shape, and a gap (nan) gives nan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import RangeError

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

BASE_C = 5.0
"""Below this nothing is laid up. [°C]"""

CUTOFF_C = 30.0
"""Above this a day lays up no more. [°C]"""

FULL_EFFECT_C = 12.0
"""Mean temperature from which a day counts as one whole effective day. [°C]"""


def paired(t_min_c: npt.ArrayLike, t_max_c: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Return both extremes as arrays.

    Raises
    ------
    RangeError
        When a day's lowest lies above its highest.
    """
    low, high = np.asarray(t_min_c, dtype=np.float64), np.asarray(t_max_c, dtype=np.float64)
    wrong = low > high
    if np.any(wrong):
        day = int(np.flatnonzero(wrong)[0])
        raise RangeError(
            "the lowest temperature of a day lies above its highest",
            where=f"day {day + 1} of the record",
            allowed="lowest at or below highest",
            todo="Mend or empty that day",
        )
    return low, high


def _above(low: Floats, high: Floats, threshold_c: float) -> Floats:
    """Return the mean height of the day's sine above a threshold."""
    mean, half = (high + low) / 2.0, (high - low) / 2.0
    # A flat day has no sine; 1 keeps the division whole.
    swing = np.where(half > 1e-9, half, 1.0)
    angle = np.arcsin(np.clip((threshold_c - mean) / swing, -1.0, 1.0))
    crossing = (half * np.cos(angle) - (threshold_c - mean) * (np.pi / 2.0 - angle)) / np.pi
    part = np.where(low >= threshold_c, mean - threshold_c, np.maximum(crossing, 0.0))
    return np.where(np.isnan(mean), np.nan, np.where(high <= threshold_c, 0.0, part))


def degree_days(
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    base_c: float = BASE_C,
    cutoff_c: float | None = CUTOFF_C,
) -> Floats:
    """Return the degree-days of each day by the single sine, with a flat (horizontal) cut-off.

    Parameters
    ----------
    t_min_c, t_max_c : (D,) float
        Lowest and highest air temperature of the day. [°C]
    base_c : float
        Temperature from which warmth counts. [°C]
    cutoff_c : float or None
        Temperature above which it counts no further; None for no cut-off. [°C]

    Returns
    -------
    (D,) float
        Warmth of each day, not summed; nan where either extreme is nan. [°C d]

    Raises
    ------
    RangeError
        When a day's lowest lies above its highest, or the cut-off below the base.

    Notes
    -----
    Source: ``baskerville-emin-1969``.
    """
    low, high = paired(t_min_c, t_max_c)
    if cutoff_c is None:
        return _above(low, high, base_c)
    if cutoff_c < base_c:
        raise RangeError(
            f"the cut-off {cutoff_c:g} °C lies below the base {base_c:g} °C",
            allowed="a cut-off at or above the base",
            todo="Raise the cut-off",
        )
    return _above(low, high, base_c) - _above(low, high, cutoff_c)


def effective_days(t_min_c: npt.ArrayLike, t_max_c: npt.ArrayLike) -> Floats:
    """Return the share of a full growing day that each day is worth to the ring.

    Parameters
    ----------
    t_min_c, t_max_c : (D,) float
        Lowest and highest air temperature of the day. [°C]

    Returns
    -------
    (D,) float
        0 at a mean of 5 °C or less, 1 from 12 °C; not summed; nan where unknown. [d]

    Raises
    ------
    RangeError
        When a day's lowest lies above its highest.

    Notes
    -----
    The base and the cap were fitted to the open tables of ``dow-2022``.
    """
    low, high = paired(t_min_c, t_max_c)
    span = FULL_EFFECT_C - BASE_C
    return np.clip((low + high) / 2.0 - BASE_C, 0.0, span) / span
