"""The next ten days at a shelf, as far as they are read or forecast.

Days that only have normals tell nothing here: what is not known stays ``None``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.fill import span
from boughwright.season.infection import RAIN_COUNTS_MM, wet_hours, wet_spells
from boughwright.season.record import Origin

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.infection import WetSpells
    from boughwright.season.record import Floats, SiteClock, Weather

DAYS = 10
HOT_C = 33.0
"""Daily maximum from which leaves need shade. Common practice. [°C]"""

FROST_C = 0.0
SPELL_DAYS = 14
"""Wet spells are counted over this many days up to today."""

_RAIN_GAPS_ALLOWED = 2


@dataclass(frozen=True, slots=True)
class TenDays:
    """Today and the nine days after it, at the shelf. ``None`` where nothing of it is known.

    ``t_max_10d_c``, ``t_min_10d_c`` extremes of the known days [°C]; ``hot_from`` and ``hot_to``
    first and last day of the next spell of 33 °C or more; ``frost_on`` first night at 0 °C or
    less; ``dry_from`` first day without rain; ``wet_spells_14d`` spells in the 14 days up to today
    wet enough for leaf fungus to get in; ``days_known`` how many of the ten days have both
    temperatures.
    """

    t_max_10d_c: float | None
    t_min_10d_c: float | None
    hot_from: date | None
    hot_to: date | None
    frost_on: date | None
    dry_from: date | None
    wet_spells_14d: int | None
    days_known: int


def ten_days(clock: SiteClock, *, today: date) -> TenDays:
    """Return the outlook of a shelf.

    Parameters
    ----------
    clock : SiteClock
        Made for today.
    today : date

    Returns
    -------
    TenDays
    """
    ahead = known_span(clock, today, today + timedelta(days=DAYS - 1))
    high, low = ahead.t_max_c, ahead.t_min_c
    hot_from, hot_to = _first_run(high >= HOT_C)
    frost, _ = _first_run(low <= FROST_C)
    dry, _ = _first_run(ahead.rain_mm < RAIN_COUNTS_MM)

    def day(row: int | None) -> date | None:
        return None if row is None else today + timedelta(days=row)

    return TenDays(
        t_max_10d_c=None if np.isnan(high).all() else float(np.nanmax(high)),
        t_min_10d_c=None if np.isnan(low).all() else float(np.nanmin(low)),
        hot_from=day(hot_from),
        hot_to=day(hot_to),
        frost_on=day(frost),
        dry_from=day(dry),
        wet_spells_14d=_spells_past(clock, today),
        days_known=int((~np.isnan(high) & ~np.isnan(low)).sum()),
    )


def known_span(clock: SiteClock, first: date, last: date) -> Weather:
    """Return the days at the shelf that were read or forecast; all else is unknown.

    Reaches from 21 days before the clock's today to 10 days after, over the season's end too.
    """
    near = clock.near if clock.near is not None else clock.weather
    cut = span(near, first, last)
    guess = cut.origin > Origin.FORECAST
    for values in (cut.t_min_c, cut.t_max_c):
        values[guess] = np.nan  # `span` returns fresh arrays
    return cut


def leaf_wetness_h(weather: Weather) -> Floats:
    """Return hours of leaf wetness a day; by the rain alone on days without humidity. [h]."""
    by_rain = wet_hours(weather.rain_mm, None)
    by_both = wet_hours(weather.rain_mm, weather.humidity_pct)
    return np.where(np.isnan(weather.humidity_pct), by_rain, by_both)


def spells_of(weather: Weather) -> WetSpells:
    """Return the wet spells of a stretch of days."""
    mean = (weather.t_min_c + weather.t_max_c) / 2.0
    return wet_spells(leaf_wetness_h(weather), mean)


def _spells_past(clock: SiteClock, today: date) -> int | None:
    """Return how many infection-length spells the last 14 days had; None when rain is unknown."""
    past = known_span(clock, today - timedelta(days=SPELL_DAYS - 1), today)
    unknown = np.isnan(leaf_wetness_h(past)) | np.isnan(past.t_min_c) | np.isnan(past.t_max_c)
    if int(unknown.sum()) > _RAIN_GAPS_ALLOWED:
        return None
    return int(spells_of(past).met.sum())


def _first_run(flags: npt.NDArray[np.bool_]) -> tuple[int | None, int | None]:
    """Return first and last row of the first run of true values."""
    rows = np.flatnonzero(flags)
    if rows.size == 0:
        return None, None
    first = int(rows[0])
    stops = np.flatnonzero(~flags[first:])
    return first, (first + int(stops[0]) if stops.size else int(flags.size)) - 1
