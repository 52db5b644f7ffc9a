"""How thick a branch's base will be, and how many seasons it needs to a target.

Wood never shrinks: every quantile of a forecast lies at or above the same quantile of the base
as read, and rises with the rings ahead.

Shapes: B = branches; the three quantiles are p10, p50 and p90.
"""

from __future__ import annotations

from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from boughwright.growth.increment import Increment

Floats: TypeAlias = npt.NDArray[np.float64]

SHARES = (0.1, 0.5, 0.9)
_POINTS = 512
_STEP = 0.6180339887498949
"""Golden-ratio step: the points fill the square of two independent normals evenly."""


@cache
def _normal_pairs() -> tuple[Floats, Floats]:
    """Return equally likely pairs of two independent standard normals; fixed, not random."""
    quantile = NormalDist().inv_cdf
    first = (np.arange(_POINTS) + 0.5) / _POINTS
    second = (np.arange(_POINTS) * _STEP + 0.5 / _POINTS) % 1.0
    # Equal steps in rank, so that both margins are exactly even.
    second = (np.argsort(np.argsort(second)) + 0.5) / _POINTS
    return (
        np.array([quantile(float(share)) for share in first]),
        np.array([quantile(float(share)) for share in second]),
    )


def base_forecast(base_mm: npt.ArrayLike, base_sd_mm: npt.ArrayLike, increment: Increment, *,
                  rings_ahead: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the base after some more of the ring is laid.

    Ask twice to compare: with the increment and ring of a branch that runs, and of one cut now
    (`boughwright.growth.increment.switched`).

    Parameters
    ----------
    base_mm, base_sd_mm : (B,) array_like
        Diameter as read and the error of the reading. [mm]
    increment : Increment
        Yearly growth of the radius, (B,).
    rings_ahead : (B,) array_like
        Rings to be laid from the day of the reading to the day asked for: the difference of
        their ring shares, plus whole seasons between. Taken as 0 where negative.

    Returns
    -------
    (B, 3) ndarray
        p10, p50, p90. [mm] nan where an input is nan. A missing error counts as unknown too.
    """
    noise, growth = _normal_pairs()
    base, sd, ahead = (
        np.atleast_1d(np.asarray(value, float))[:, None]
        for value in (base_mm, base_sd_mm, rings_ahead)
    )
    mean, spread, link = (
        value[:, None] for value in (increment.log_mean, increment.log_sd, increment.base_link)
    )
    growth = link * noise + np.sqrt(1.0 - link**2) * growth
    grown = 2.0 * np.maximum(ahead, 0.0) * np.exp(mean + spread * growth)
    ends = base + sd * noise + grown
    quantiles: Floats = np.moveaxis(np.quantile(ends, SHARES, axis=-1), 0, -1)
    return quantiles


def seasons_to_target(base_mm: npt.ArrayLike, target_mm: npt.ArrayLike,
                      increment: Increment) -> Floats:  # fmt: skip
    """Return how many whole rings a base needs to reach a target diameter.

    Parameters
    ----------
    base_mm, target_mm : (B,) array_like
        Diameters. [mm]
    increment : Increment
        Yearly growth of the radius, (B,), taken as lasting.

    Returns
    -------
    (B, 3) ndarray
        p10 (fast growth), p50, p90 (slow growth). 0 where the target is reached, nan where a
        diameter is unknown.
    """
    missing = np.maximum(np.atleast_1d(np.subtract(target_mm, base_mm)).astype(float), 0.0)
    slowest_first = np.array([NormalDist().inv_cdf(1.0 - share) for share in SHARES])
    yearly = np.exp(increment.log_mean[:, None] + increment.log_sd[:, None] * slowest_first)
    seasons: Floats = missing[:, None] / (2.0 * yearly)
    return seasons
