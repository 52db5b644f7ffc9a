"""Growth curves as plain functions of time: the logistic, whole and cut off at its start."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Callable

Floats: TypeAlias = npt.NDArray[np.float64]

_MOST_STEPS = 700.0
"""Exponents are held to this, where nothing is left to grow in floating point."""


def logistic(time: npt.ArrayLike, asymptote: npt.ArrayLike, mid: npt.ArrayLike,
             scale: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the logistic growth curve asymptote / (1 + exp(-(time - mid) / scale)).

    Parameters
    ----------
    time, mid, scale : array_like
        In one unit of time, broadcast together; ``scale`` above 0.
    asymptote : array_like
        The size it grows to, in the unit of the answer.

    Returns
    -------
    ndarray
        Broadcast shape of the inputs. Never overflows; nan stays nan.
    """
    steps = np.subtract(mid, time) / np.asarray(scale, float)
    with np.errstate(over="ignore"):  # nothing grown yet
        grown: Floats = np.asarray(asymptote, float) / (1.0 + np.exp(steps))
    return grown


def _odds(time: npt.ArrayLike, mid: npt.ArrayLike, scale: npt.ArrayLike) -> Floats:
    """Return grown over still to grow of a logistic curve, short of where a float overflows."""
    steps = np.asarray(np.subtract(time, mid) / np.asarray(scale, float))
    return np.asarray(np.exp(np.minimum(steps, _MOST_STEPS)))


def truncated_logistic(time: npt.ArrayLike, mid: npt.ArrayLike, scale: npt.ArrayLike,
                       start: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the share 0..1 of a logistic curve that is grown since ``start``.

    Exactly 0 up to ``start``; rises to 1. All in one unit of time, broadcast together.
    """
    # (H - H0) / (1 - H0) with H = odds / (1 + odds): both H and 1 - H0 cancel out.
    grown = _odds(time, mid, scale)
    share: Floats = np.maximum((grown - _odds(start, mid, scale)) / (1.0 + grown), 0.0)
    return share


def truncated_logistic_time(share: npt.ArrayLike, mid: npt.ArrayLike, scale: npt.ArrayLike,
                            start: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the time at which `truncated_logistic` reaches ``share``.

    ``start`` for a share of 0 or less, infinity for 1 or more, nan for nan.
    """
    asked = np.asarray(share, float)
    wanted = np.minimum(np.maximum(asked, 0.0), 1.0)
    with np.errstate(divide="ignore"):
        odds = (wanted + _odds(start, mid, scale)) / (1.0 - wanted)
        time = np.asarray(scale, float) * np.log(odds) + np.asarray(mid, float)
    reached: Floats = np.where(asked <= 0.0, start, np.maximum(time, np.asarray(start, float)))
    return reached


def rising_root(curve: Callable[[Floats], Floats], wanted: Floats, low: Floats,
                high: Floats) -> Floats:  # fmt: skip
    """Return where a rising function takes the values ``wanted``, between ``low`` and ``high``.

    Halves the bracket until it is as narrow as floating point allows; every element at once.
    """
    for _ in range(64):
        middle = 0.5 * (low + high)
        under = curve(middle) < wanted
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return 0.5 * (low + high)
