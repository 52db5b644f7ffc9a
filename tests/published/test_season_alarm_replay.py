"""Frost alarms replayed over real winters and springs at Wageningen, 1993-99.

Source: daily weather of Wageningen (Haarweg), from the open package `pcse`. No archive of real
forecasts is in reach, so the forecast of a day is its true temperature plus an error of our own
making: standard deviation 1.1 °C a day ahead, 1.4 two, 1.7 three days ahead. An alarm counts as
false when no night it names came within 1 °C of its limit.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np
from season_real_records import wageningen_record

from boughwright.season.alarms import alarms
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.normals import normals_from
from boughwright.season.record import Origin, Weather
from boughwright.season.stages import Alarm, AlarmKind
from boughwright.species.tables import of_key

MAPLE = of_key("acer-palmatum")
YEARS = range(1993, 2000)


def foreseen(weather: Weather, today: date, rng: np.random.Generator) -> Weather:
    low, high = weather.t_min_c.copy(), weather.t_max_c.copy()
    origin = weather.origin.copy()
    row = weather.day(today) + 1
    for ahead in range(min(10, len(weather) - row)):
        error = rng.normal(0.0, 1.1 + 0.3 * ahead)
        low[row + ahead] += error
        high[row + ahead] += error
        origin[row + ahead] = Origin.FORECAST
    return replace(weather, t_min_c=low, t_max_c=high, origin=origin)


@cache
def replay() -> tuple[list[tuple[date, Alarm]], dict[date, float]]:
    """Return every frost alarm with the day it was raised on, and the limit of each morning."""
    weather = wageningen_record()
    usual = normals_from(weather, latitude_deg=51.97)
    raised, limits = [], {}
    for year in YEARS:
        rng = np.random.default_rng(year)
        for row in range(151):
            today = date(year, 1, 1) + timedelta(days=row)
            clock = site_clock(foreseen(weather, today, rng), latitude_deg=51.97, today=today,
                               normals=usual)  # fmt: skip
            calendar = tree_calendar(clock, MAPLE, [], today=today)
            found = alarms(clock, calendar, MAPLE, today=today, pot_volume_l=4.0)
            raised += [(today, one) for one in found if one.kind is AlarmKind.FROST]
            probe = replace(clock.near, t_min_c=np.full(len(clock.near), -59.0))
            sure = alarms(replace(clock, near=probe), calendar, MAPLE, today=today, days_ahead=0)
            limits[today] = next(one.limit for one in sure if one.kind is AlarmKind.FROST)
    return raised, limits


def test_at_most_one_frost_alarm_in_five_is_false() -> None:
    weather, (raised, _) = wageningen_record(), replay()
    ahead = [one for today, one in raised if one.last > today]
    assert len(ahead) >= 60
    false = 0
    for one in ahead:
        rows = slice(weather.day(one.first), weather.day(one.last) + 1)
        false += float(weather.t_min_c[rows].min()) > one.limit + 1.0
    assert false / len(ahead) <= 0.20


def test_harmful_nights_are_told_a_day_or_more_before() -> None:
    # Nights a clear 1 °C past the limit of their stage.
    weather, (raised, limits) = wageningen_record(), replay()
    hard = [
        day
        for day, limit in limits.items()
        if weather.t_min_c[weather.day(day)] <= limit - 1.0 and (day.month, day.day) > (1, 4)
    ]
    assert len(hard) >= 10
    warned = [
        any(one.first <= day <= one.last and (day - today).days >= 1 for today, one in raised)
        for day in hard
    ]
    assert np.mean(warned) >= 0.95


def test_mild_stretches_are_left_alone() -> None:
    weather, (raised, _) = wageningen_record(), replay()
    for today, one in raised:
        rows = slice(weather.day(today), weather.day(today) + 4)
        assert float(weather.t_min_c[rows].min()) < one.limit + 6.0
