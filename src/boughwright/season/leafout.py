"""When the first leaves open: warmth asked for after a winter, and the day it is reached.

Leaf-out is the day the first leaves are open on half of the buds. Days are counted from the start
of the first day of an array: 0.0 is its first midnight, and ``floor`` gives the calendar day.
Shapes: D = days, N = draws of an uncertain requirement.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

LEAST_WARMTH_CD = 40.0
"""No tree opens on less than this, however cold the winter was. Guess. [°C d]"""

BEECH_CHILL = 60.0
"""Chill the sequential model asks for before beech buds answer to warmth. Guess. [units]"""

BEECH_FORCING_PER_FACTOR = 140.0
"""Forcing it then asks for, for a species factor of 1. Guess. [units]"""

EUROPEAN_BEECH_FACTOR = 1.5
"""How late European beech opens beside a generic tree. Guess."""

_CHILL_CORNERS_C = (-3.4, 3.5, 10.4)
_ALMOST_ONE = 1.0 - 1e-9


def required_warmth(chill_days: npt.ArrayLike, *, factor: npt.ArrayLike = 1.0) -> Floats:
    """Return the degree-days a tree asks for before it opens; less after a colder winter.

    Parameters
    ----------
    chill_days : float or array
        Days with a mean of 5 °C or less since 1 November (north) or 1 May (south). [d]
    factor : float or (N,) float
        Species or tree factor; 1 for a generic cold-hardy tree.

    Returns
    -------
    array
        Degree-days, base 5 °C, from 1 January or 1 July: factor times the curve, and never below
        40; nan where unknown. [°C d]

    Notes
    -----
    Source: ``botta-2000``, in the form of ``murray-1989``; the floor is a guess.
    """
    curve = -68.0 + 638.0 * np.exp(-0.01 * np.asarray(chill_days, dtype=np.float64))
    return np.asarray(np.asarray(factor, dtype=np.float64) * np.maximum(curve, LEAST_WARMTH_CD))


def day_reached(running: npt.ArrayLike, needed: npt.ArrayLike) -> Floats:
    """Return when a running sum first reaches what is needed.

    Parameters
    ----------
    running : (D,) float
        Sum at the *end* of each day, never falling; nan from a gap on.
    needed : float or (N,) float
        Sum asked for.

    Returns
    -------
    float array, shape of ``needed``
        Days from the start of the first day, read off a straight line within the day; nan when
        the record ends, or turns unknown, before it is reached. [d]
    """
    ends = np.concatenate(([0.0], np.asarray(running, dtype=np.float64), [np.nan]))
    goal = np.asarray(needed, dtype=np.float64)
    # searchsorted holds nan to be the largest, so a gap is met like the end of the record.
    last = np.maximum(np.searchsorted(ends, goal, side="left"), 1)
    last = np.minimum(last, ends.size - 1)
    start, gain = ends[last - 1], ends[last] - ends[last - 1]
    part = np.where(goal <= start, 0.0, (goal - start) / np.where(gain > 0.0, gain, 1.0))
    found = last - 1 + np.minimum(part, _ALMOST_ONE)
    return np.where(np.isnan(gain) | np.isnan(goal), np.nan, found)


def chill_rate(t_mean_c: npt.ArrayLike) -> Floats:
    """Return the chill of a day: a triangle from -3.4 over its peak at 3.5 to 10.4 °C.

    Parameters
    ----------
    t_mean_c : (D,) float
        Mean temperature of the day. [°C]

    Returns
    -------
    (D,) float
        0 to 1; nan where unknown.

    Notes
    -----
    Source: ``kramer-1994``, as remembered.
    """
    low, best, high = _CHILL_CORNERS_C
    mean = np.asarray(t_mean_c, dtype=np.float64)
    return np.maximum(np.minimum((mean - low) / (best - low), (high - mean) / (high - best)), 0.0)


def forcing_rate(t_mean_c: npt.ArrayLike) -> Floats:
    """Return the forcing of a day, an S-curve of its mean temperature.

    Parameters
    ----------
    t_mean_c : (D,) float
        Mean temperature of the day. [°C]

    Returns
    -------
    (D,) float
        0 to 28.4; nan where unknown.

    Notes
    -----
    Source: ``sarvas-1974``, as remembered.
    """
    mean = np.asarray(t_mean_c, dtype=np.float64)
    return np.asarray(28.4 / (1.0 + np.exp(-0.185 * (mean - 18.4))))


def sequential(
    t_mean_c: npt.ArrayLike,
    *,
    factor: npt.ArrayLike = EUROPEAN_BEECH_FACTOR,
    chill_needed: float = BEECH_CHILL,
    forcing_per_factor: float = BEECH_FORCING_PER_FACTOR,
) -> Floats:
    """Return when a beech opens: first its chill must be met, only then does warmth count.

    Parameters
    ----------
    t_mean_c : (D,) float
        Mean temperature of each day from 1 November (north) or 1 May (south) on. [°C]
    factor : float or (N,) float
        Species or tree factor, as in `required_warmth`.
    chill_needed : float
        Chill, in units of `chill_rate`.
    forcing_per_factor : float
        Forcing after that, in units of `forcing_rate`, for a factor of 1.

    Returns
    -------
    float array, shape of ``factor``
        Leaf-out in days from the start of the first day; nan when the record ends or turns unknown
        before. [d]

    Notes
    -----
    Sources: ``kramer-1994`` for the order and the chill, ``sarvas-1974`` for the forcing. The two
    requirements are ours, set so that European beech opens in late April on the weather of
    Wageningen: a guess.
    """
    chilled = day_reached(np.cumsum(chill_rate(t_mean_c)), chill_needed)
    if np.isnan(chilled):
        return np.full(np.shape(factor), np.nan)
    rested = int(chilled) + 1
    warm = np.cumsum(forcing_rate(t_mean_c)[rested:])
    return rested + day_reached(warm, np.asarray(factor, dtype=np.float64) * forcing_per_factor)
