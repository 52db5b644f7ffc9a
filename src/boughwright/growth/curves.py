"""Growth curves as plain functions of time: the logistic, whole and cut off at its start."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Callable

Floats: TypeAlias = npt.NDArray[np.float64]


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
    steps = (np.asarray(time, float) - np.asarray(mid, float)) / np.asarray(scale, float)
    with np.errstate(invalid="ignore"):  # nan in, nan out
        share = np.exp(-np.logaddexp(0.0, -steps))
    grown: Floats = np.asarray(asymptote, float) * share
    return grown


def truncated_logistic(time: npt.ArrayLike, mid: npt.ArrayLike, scale: npt.ArrayLike,
                       start: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the share 0..1 of a logistic curve that is grown since ``start``.

    Exactly 0 up to ``start``; rises to 1. All in one unit of time, broadcast together.
    """
    before = logistic(start, 1.0, mid, scale)
    share: Floats = np.maximum((logistic(time, 1.0, mid, scale) - before) / (1.0 - before), 0.0)
    return share


def truncated_logistic_time(share: npt.ArrayLike, mid: npt.ArrayLike, scale: npt.ArrayLike,
                            start: npt.ArrayLike) -> Floats:  # fmt: skip
    """Return the time at which `truncated_logistic` reaches ``share``.

    ``start`` for a share of 0 or less, infinity for 1 or more, nan for nan.
    """
    before = logistic(start, 1.0, mid, scale)
    wanted = np.clip(np.asarray(share, float), 0.0, 1.0)
    # H = before + wanted (1 - before); its odds are written without 1 - H, which would cancel.
    with np.errstate(divide="ignore"):
        odds = (before + wanted * (1.0 - before)) / ((1.0 - wanted) * (1.0 - before))
        time = np.asarray(mid, float) + np.asarray(scale, float) * np.log(odds)
    reached: Floats = np.where(wanted <= 0.0, start, np.maximum(time, np.asarray(start, float)))
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
