"""Chill and forcing, hour by hour: what the winter's cold does to a resting bud.

Every function takes hourly temperatures with time on the last axis and returns what *each hour*
adds, in the same shape; sum it for a season. A gap (nan) gives nan. Because a gap leaves the state
of the bud unknown, chill portions stay unknown from the gap on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

CHILLING_TOP_C = 7.2
"""Warmest hour that counts as a chilling hour. [°C]"""

_UTAH_TOPS_C = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
_UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])
"""Units of an hour up to and including each top; the last for anything warmer."""

# Dynamic Model: activation energies [K], rates [1/h], and the steepness and midpoint [K] of the
# step that fixes a finished intermediate. Erez et al. 1990 as used by the usual open code.
_E0_K, _E1_K = 4153.5, 12888.8
_A0_PER_H, _A1_PER_H = 139500.0, 2.567e18
_SLOPE, _STEP_K = 1.6, 277.0
_KELVIN = 273.0
"""The model's authors round 273.15 to 273; the constants were fitted with it."""

_GDH_BASE_C, _GDH_BEST_C, _GDH_TOP_C = 4.0, 25.0, 36.0


def _hours(hourly_c: npt.ArrayLike) -> Floats:
    return np.asarray(hourly_c, dtype=np.float64)


def chilling_hours(hourly_c: npt.ArrayLike) -> Floats:
    """Return 1 for each hour between 0 and 7.2 °C, else 0.

    Parameters
    ----------
    hourly_c : (..., H) float
        Hourly temperatures. [°C]

    Returns
    -------
    (..., H) float
        Chilling hours of each hour; nan where unknown. [h]

    Notes
    -----
    Source: ``weinberger-1950``.
    """
    hour = _hours(hourly_c)
    counted = ((hour >= 0.0) & (hour <= CHILLING_TOP_C)).astype(np.float64)
    return np.where(np.isnan(hour), np.nan, counted)


def utah_units(hourly_c: npt.ArrayLike) -> Floats:
    """Return the Utah chill units of each hour; warm hours take units away.

    Parameters
    ----------
    hourly_c : (..., H) float
        Hourly temperatures. [°C]

    Returns
    -------
    (..., H) float
        Units from -1 to 1; nan where unknown.

    Notes
    -----
    Source: ``richardson-1974``.
    """
    hour = _hours(hourly_c)
    units = _UTAH_UNITS[np.searchsorted(_UTAH_TOPS_C, hour, side="left")]
    return np.where(np.isnan(hour), np.nan, units)


def chill_portions(hourly_c: npt.ArrayLike) -> Floats:
    """Return the chill portions that each hour fixes, by the Dynamic Model.

    Parameters
    ----------
    hourly_c : (..., H) float
        Hourly temperatures, begun in early autumn with no chill laid up. [°C]

    Returns
    -------
    (..., H) float
        Portions fixed in each hour; sum for the season. nan from the first gap on.

    Notes
    -----
    Source: ``fishman-1987`` with the constants of ``erez-1990``. The state of one hour rests on
    that of the hour before, so the hours are walked one by one, on plain floats with all the
    exponentials worked out beforehand: that is faster than arrays up to some dozens of sites.
    """
    kelvin = _hours(hourly_c) + _KELVIN
    if kelvin.size == 0:
        return kelvin
    level = _A0_PER_H / _A1_PER_H * np.exp((_E1_K - _E0_K) / kelvin)
    keep = np.exp(-_A1_PER_H * np.exp(-_E1_K / kelvin))
    # 1 / (1 + exp(-x)) is the same step as exp(x) / (1 + exp(x)) and cannot overflow when hot.
    fixed = 1.0 / (1.0 + np.exp(-_SLOPE * _STEP_K * (kelvin - _STEP_K) / kelvin))
    flat = [part.reshape(-1, kelvin.shape[-1]) for part in (level, keep, fixed)]
    state = np.array([_walk(*rows) for rows in zip(*flat, strict=True)]).reshape(kelvin.shape)
    return np.where(np.isnan(state), np.nan, np.where(state >= 1.0, state * fixed, 0.0))


def _walk(level: Floats, keep: Floats, fixed: Floats) -> list[float]:
    """Return the intermediate of each hour; the first hour opens empty."""
    state = float(level[0] * 0.0)
    states = [state]
    for goal, share, before in zip(
        level[1:].tolist(), keep[1:].tolist(), fixed[:-1].tolist(), strict=True
    ):
        left = state * (1.0 - before) if state >= 1.0 else state
        state = goal - (goal - left) * share
        states.append(state)
    return states


def forcing_hours(hourly_c: npt.ArrayLike) -> Floats:
    """Return the growing degree hours of each hour, by the double cosine of Anderson.

    Parameters
    ----------
    hourly_c : (..., H) float
        Hourly temperatures. [°C]

    Returns
    -------
    (..., H) float
        0 at 4 °C or less, 21 at 25 °C, 0 from 36 °C; nan where unknown. [°C h]

    Notes
    -----
    Source: ``anderson-1986``.
    """
    hour = _hours(hourly_c)
    span = _GDH_BEST_C - _GDH_BASE_C
    up = (np.clip(hour, _GDH_BASE_C, _GDH_BEST_C) - _GDH_BASE_C) / span
    down = (np.clip(hour, _GDH_BEST_C, _GDH_TOP_C) - _GDH_BEST_C) / (_GDH_TOP_C - _GDH_BEST_C)
    rising = span / 2.0 * (1.0 - np.cos(np.pi * up))
    falling = span * (1.0 - np.sin(np.pi / 2.0 * down))
    return np.where(hour > _GDH_BEST_C, falling, rising)
