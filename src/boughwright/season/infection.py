"""Whether wet leaves stay wet long enough, at what warmth, for a leaf fungus to get in.

A generic infection model gives the hours of wetness asked for at a temperature. Days are joined to
wet spells. A spring rule for leaf blight grades the two weeks after bud burst by their mean
temperature. Shapes: D = days, S = spells.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import RangeError
from boughwright.units import celsius

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats


@dataclass(frozen=True, slots=True)
class Fungus:
    """What a kind of leaf fungus asks for.

    ``t_min_c``, ``t_best_c``, ``t_max_c`` temperatures [°C]; ``least_h`` and ``most_h`` hours of
    wetness at best and at worst [h]; ``dry_h`` a dry break longer than this ends a spell [h].
    """

    t_min_c: float
    t_best_c: float
    t_max_c: float
    least_h: float
    most_h: float
    dry_h: float


COOL = Fungus(0.0, 12.5, 24.0, 12.0, 48.0, 12.0)
"""Leaf blight of maple in a cool spring. No published values are known: a guess."""

WARM = Fungus(7.0, 24.0, 33.0, 6.0, 36.0, 8.0)
"""A leaf blight that likes warmth. No published values are known: a guess."""

DAMP_HUMIDITY_PCT = 90.0
"""Air at or above this keeps leaves wet. [%]"""

RAIN_COUNTS_MM = 0.1
"""Less rain than this wets no leaf. [mm]"""

RAIN_MM_PER_H, DRYING_H = 1.0, 3.0
"""A day's rain is taken to fall at this rate, and leaves to dry this long after it. Guess."""

HUMIDITY_SWING_PCT = 15.0
"""Humidity is taken to swing this far to either side of the day's mean. Guess. [%]"""


class Blight(IntEnum):
    """How bad spring leaf blight may get, from the two weeks after bud burst."""

    UNKNOWN = -1
    SLIGHT = 0
    MODERATE = 1
    SEVERE = 2


SEVERE_BELOW_C, SLIGHT_ABOVE_C = celsius(55.0), celsius(60.0)
"""Mean of the two weeks: colder is severe, warmer is slight. [°C]"""


@dataclass(frozen=True, slots=True)
class WetSpells:
    """Runs of days over which leaves stayed wet.

    Parameters
    ----------
    first, last : (S,) int
        Index of the first and the last day.
    wet_h : (S,) float
        Hours of wetness. [h]
    t_c : (S,) float
        Mean temperature while wet; nan when unknown on a wet day. [°C]
    needed_h : (S,) float
        Hours the fungus asks for at that temperature; inf outside its range. [h]
    met : (S,) bool
        Whether it got them.
    whole : (S,) bool
        False when the spell touches a day of unknown wetness: it may have been longer.
    """

    first: npt.NDArray[np.int64]
    last: npt.NDArray[np.int64]
    wet_h: Floats
    t_c: Floats
    needed_h: Floats
    met: npt.NDArray[np.bool_]
    whole: npt.NDArray[np.bool_]


def infection_response(t_c: npt.ArrayLike, *, fungus: Fungus = COOL) -> Floats:
    """Return how well a temperature suits the fungus.

    Parameters
    ----------
    t_c : array
        Mean temperature while wet. [°C]
    fungus : Fungus
        Its limits.

    Returns
    -------
    array
        1 at best, 0 at and beyond the limits; nan where unknown.

    Notes
    -----
    Source: ``magarey-2005``.
    """
    t = np.asarray(t_c, dtype=np.float64)
    above, below = fungus.t_max_c - fungus.t_best_c, fungus.t_best_c - fungus.t_min_c
    inside = np.clip(t, fungus.t_min_c, fungus.t_max_c)
    rising = ((inside - fungus.t_min_c) / below) ** (below / above)
    return np.asarray((fungus.t_max_c - inside) / above * rising)


def required_wet_hours(t_c: npt.ArrayLike, *, fungus: Fungus = COOL) -> Floats:
    """Return the hours of wetness the fungus asks for at a temperature.

    Parameters
    ----------
    t_c : array
        Mean temperature while wet. [°C]
    fungus : Fungus
        Its limits.

    Returns
    -------
    array
        Hours; inf at and beyond its limits, nan where unknown. [h]

    Notes
    -----
    Source: ``magarey-2005``.
    """
    suits = infection_response(t_c, fungus=fungus)
    hours = np.minimum(fungus.least_h / np.maximum(suits, 1e-9), fungus.most_h)
    return np.where(np.isnan(suits), np.nan, np.where(suits > 0.0, hours, np.inf))


def wet_hours(
    rain_mm: npt.ArrayLike, humidity_pct: npt.ArrayLike | None, *, watering_h: npt.ArrayLike = 0.0
) -> Floats:
    """Guess the hours for which leaves were wet from a day's rain and mean humidity.

    Parameters
    ----------
    rain_mm : (D,) float
        Rain of the day. [mm]
    humidity_pct : (D,) float or None
        Mean relative humidity; None to go by the rain alone, where no day has it. [%]
    watering_h : float or (D,) float
        Hours for which watering from above kept the leaves wet. [h]

    Returns
    -------
    (D,) float
        The longest of the three, 0 to 24; nan where the rain or the humidity is unknown. [h]

    Notes
    -----
    A wet hour has rain, or a humidity of 90 % or more (``sentelhas-2008``). From daily values that
    is a guess: rain falls at 1 mm an hour and leaves dry 3 h after it; humidity follows a sine
    15 % to either side of its mean.
    """
    rain = np.asarray(rain_mm, dtype=np.float64)
    rained = np.where(rain > RAIN_COUNTS_MM, rain / RAIN_MM_PER_H + DRYING_H, rain * 0.0)
    damp = np.asarray(0.0 if humidity_pct is None else humidity_pct, dtype=np.float64)
    short = np.clip((DAMP_HUMIDITY_PCT - damp) / HUMIDITY_SWING_PCT, -1.0, 1.0)
    humid = 24.0 / np.pi * np.arccos(short)
    watered = np.asarray(watering_h, dtype=np.float64)
    return np.minimum(np.maximum(np.maximum(rained, humid), watered), 24.0)


def wet_spells(
    hours_wet: npt.ArrayLike, t_mean_c: npt.ArrayLike, *, fungus: Fungus = COOL
) -> WetSpells:
    """Join wet days to spells and judge each against the hours the fungus asks for.

    Parameters
    ----------
    hours_wet : (D,) float
        Hours for which leaves were wet on consecutive days. [h]
    t_mean_c : (D,) float
        Mean temperature of those days. [°C]
    fungus : Fungus
        Its limits.

    Returns
    -------
    WetSpells
        In order of time.

    Raises
    ------
    RangeError
        When a day has more than 24 wet hours or fewer than none.

    Notes
    -----
    Source: ``magarey-2005``. A day's wet hours are taken as one block around the same time of day,
    so the dry break between two days is 24 h less half the wet hours of each: a guess.
    """
    wet = np.asarray(hours_wet, dtype=np.float64)
    mean = np.asarray(t_mean_c, dtype=np.float64)
    if np.any((wet < 0.0) | (wet > 24.0)):
        raise RangeError("a day has wet hours outside 0 to 24", allowed="0 to 24 h",
                         todo="Mend that day")  # fmt: skip
    days = np.flatnonzero(wet > 0.0)
    if days.size == 0:
        none = np.zeros(0)
        index, flag = none.astype(np.int64), none.astype(np.bool_)
        return WetSpells(index, index, none, none, none, flag, flag)
    breaks = 24.0 * np.diff(days) - (wet[days[1:]] + wet[days[:-1]]) / 2.0
    starts = np.flatnonzero(np.concatenate(([True], breaks > fungus.dry_h)))
    first, last = days[starts], days[np.append(starts[1:], days.size) - 1]
    total = np.add.reduceat(wet[days], starts)
    warmth = np.add.reduceat(wet[days] * mean[days], starts) / total
    needed = required_wet_hours(warmth, fungus=fungus)
    edged = np.concatenate(([False], np.isnan(wet), [False]))
    return WetSpells(first, last, total, warmth, needed, total >= needed,
                     ~(edged[first] | edged[last + 2]))  # fmt: skip


def blight_class(t_mean_c: npt.ArrayLike) -> npt.NDArray[np.int8]:
    """Return how bad spring leaf blight may get.

    Parameters
    ----------
    t_mean_c : float or array
        Mean temperature of the 14 days after bud burst. [°C]

    Returns
    -------
    int8 array
        `Blight` codes; unknown where the mean is nan.

    Notes
    -----
    Source: ``neely-himelick``: under 55 °F severe, 55 to 60 °F moderate, above slight.
    """
    mean = np.asarray(t_mean_c, dtype=np.float64)
    known = np.where(mean < SEVERE_BELOW_C, Blight.SEVERE,
                     np.where(mean <= SLIGHT_ABOVE_C, Blight.MODERATE, Blight.SLIGHT))  # fmt: skip
    return np.where(np.isnan(mean), Blight.UNKNOWN, known).astype(np.int8)
