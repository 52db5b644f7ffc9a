"""When the leaves turn: cold and short days add up after midsummer.

No published model tells the date of colour much better than the usual date of the place, so a date
from here is shown with at least `INTERVAL_DAYS` to either side until the grower logs it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.leafout import day_reached

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

SHORT_DAY_H = 12.5
"""Days shorter than this count. [h]"""

WARM_C = 28.5
"""Days colder than this count. [°C]"""

COLOUR_STARTS = 4000.0
"""Sum of `colour_rate` at which the first leaves turn: fitted to the Korean records of
Acer palmatum of 1977-2007 (``kma-plants``), and borrowed from there for other trees."""

HALF_TURNED = 8268.0
"""Sum of `colour_rate` at which half the crown of a European broadleaf has turned
(``delpierre-2009``). On the Korean maples it comes three weeks after the start."""

INTERVAL_DAYS = 13.0
"""Least distance shown to either side of a date of colour. [d]"""


def colour_rate(
    t_mean_c: npt.ArrayLike, daylength_h: npt.ArrayLike, *, short_days_hasten: bool = False
) -> Floats:
    """Return how far a day brings the leaves towards colour.

    Parameters
    ----------
    t_mean_c, daylength_h : (D,) float
        Mean temperature [°C] and length of the day [h].
    short_days_hasten : bool
        False (model DM1): the shorter the day, the less it adds, by (L/P)². True (DM2): the
        shorter the day, the more it adds, by (1 - L/P)².

    Returns
    -------
    (D,) float
        0 on warm or long days; nan where unknown.

    Notes
    -----
    Source: ``delpierre-2009``, with the defaults in use for broadleaved trees: 12.5 h, 28.5 °C,
    both powers 2.
    """
    cold = np.maximum(WARM_C - np.asarray(t_mean_c, dtype=np.float64), 0.0)
    ratio = np.asarray(daylength_h, dtype=np.float64) / SHORT_DAY_H
    light = 1.0 - ratio if short_days_hasten else ratio
    rate = np.where(ratio < 1.0, cold**2 * light**2, 0.0)
    return np.where(np.isnan(cold) | np.isnan(ratio), np.nan, rate)


def colour_day(
    t_mean_c: npt.ArrayLike,
    daylength_h: npt.ArrayLike,
    *,
    needed: npt.ArrayLike = COLOUR_STARTS,
    short_days_hasten: bool = False,
) -> Floats:
    """Return when the leaves begin to turn, in one season.

    Parameters
    ----------
    t_mean_c, daylength_h : (D,) float
        Mean temperature [°C] and length of the day [h] from 1 January (north) or 1 July (south).
    needed : float or (N,) float
        Sum of `colour_rate` asked for: `COLOUR_STARTS` or `HALF_TURNED`.
    short_days_hasten : bool
        As in `colour_rate`; ``needed`` must then be fitted anew.

    Returns
    -------
    float array, shape of ``needed``
        Days from the start of the first day; nan when the season ends before, or when a gap lies
        between the first short day and then. [d]

    Notes
    -----
    Sources: ``delpierre-2009`` and ``kma-plants``. Show it with at least 13 days to either side.
    """
    day_h = np.asarray(daylength_h, dtype=np.float64)
    rate = colour_rate(t_mean_c, day_h, short_days_hasten=short_days_hasten)
    after_midsummer = np.arange(day_h.size) > np.argmax(day_h)
    counts = after_midsummer & ~(day_h >= SHORT_DAY_H)
    return day_reached(np.cumsum(np.where(counts, rate, 0.0)), needed)
