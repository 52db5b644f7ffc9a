"""Invented weather for the demonstration garden. No thermometer ever read a day of it.

Each station is a smooth year through monthly means, with day-to-day noise that has a memory of its
own, and a few days set by hand because the demonstration's story needs them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

DAY_MEMORY = 0.72
"""Correlation of one day's departure from the usual with the next day's."""

HEADER = "date,kind,t_min_c,t_max_c,rain_mm,humidity_pct,wind_ms"


@dataclass(frozen=True, slots=True)
class Station:
    """What a station's weather is made from.

    ``means_c`` twelve monthly mean temperatures; ``rain_mm`` twelve monthly sums; ``half_range_c``
    half the usual difference of day and night in January and July; ``told`` days set by hand as
    (t_min, t_max, rain); ``missing`` first and last day of gaps; ``today`` the last day read.
    """

    seed: int
    first: date
    today: date
    means_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    half_range_c: tuple[float, float]
    spread_c: float
    told: Mapping[date, tuple[float, float, float]]
    missing: tuple[tuple[date, date], ...] = ()


WEIR_LANE = Station(
    seed=4641,
    first=date(2019, 9, 1),
    today=date(2026, 6, 9),
    means_c=(0.5, 2.5, 6.8, 11.5, 16.2, 19.8, 21.3, 20.7, 16.0, 11.0, 5.8, 1.2),
    rain_mm=(45, 45, 60, 70, 90, 115, 110, 110, 105, 85, 70, 45),
    half_range_c=(3.6, 6.2),
    spread_c=3.0,
    told={
        date(2026, 4, 23): (-2.8, 9.5, 0.0),
        date(2026, 6, 6): (14.5, 24.0, 38.0),
        date(2026, 6, 7): (13.0, 22.5, 4.0),
        date(2026, 6, 8): (12.5, 24.5, 0.0),
        date(2026, 6, 9): (13.0, 26.0, 0.0),
        date(2026, 6, 10): (14.0, 27.5, 0.0),
        date(2026, 6, 11): (15.0, 29.0, 0.0),
        date(2026, 6, 12): (16.5, 31.0, 0.0),
        date(2026, 6, 13): (19.0, 36.0, 0.0),
        date(2026, 6, 14): (20.0, 36.0, 0.0),
        date(2026, 6, 15): (20.5, 36.0, 0.0),
        date(2026, 6, 16): (20.0, 36.0, 0.0),
        date(2026, 6, 17): (17.0, 28.0, 12.0),
        date(2026, 6, 18): (14.0, 25.0, 3.0),
        date(2026, 6, 19): (13.5, 25.5, 0.0),
    },
    missing=((date(2026, 5, 12), date(2026, 5, 20)),),
)

VALDIVIA = Station(
    seed=3980,
    first=date(2023, 3, 1),
    today=date(2026, 6, 9),
    means_c=(17.0, 16.6, 14.8, 11.8, 9.6, 7.8, 7.4, 8.2, 9.7, 11.6, 13.6, 15.8),
    rain_mm=(50, 50, 80, 170, 300, 340, 310, 250, 150, 120, 80, 70),
    half_range_c=(6.0, 3.4),
    spread_c=2.2,
    told={
        date(2026, 6, 8): (2.0, 9.0, 6.0),
        date(2026, 6, 9): (1.0, 9.5, 0.0),
        date(2026, 6, 10): (-5.5, 6.0, 0.0),
        date(2026, 6, 11): (-4.5, 6.5, 0.0),
        date(2026, 6, 12): (3.0, 10.0, 14.0),
    },
)

FORECAST_DAYS = 10


def rows(station: Station) -> Iterator[str]:
    """Yield the station's weather file line by line, the head first.

    Days after the station's ``today`` are marked as forecast.
    """
    yield HEADER
    days = (station.today - station.first).days + 1 + FORECAST_DAYS
    dates = [station.first + timedelta(days=i) for i in range(days)]
    low, high, rain, damp, wind = _made(station, dates)
    for i, day in enumerate(dates):
        if any(first <= day <= last for first, last in station.missing):
            continue
        t_min, t_max, wet = station.told.get(day, (low[i], high[i], rain[i]))
        kind = "forecast" if day > station.today else "read"
        humid = max(float(damp[i]), 92.0) if wet > 1.0 else float(damp[i])
        yield f"{day},{kind},{t_min:.1f},{t_max:.1f},{wet:.1f},{humid:.0f},{wind[i]:.1f}"


def _made(
    station: Station, dates: list[date]
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    chance = np.random.default_rng(station.seed)
    turn = np.array([(d.timetuple().tm_yday - 15.5) / 365.25 * 12.0 for d in dates])
    months = np.arange(-1, 13)
    usual = np.interp(turn, months, np.take(station.means_c, months % 12))
    january, july = station.half_range_c
    half = (january + july) / 2 + (january - july) / 2 * np.cos(2 * np.pi * turn / 12)
    shock = chance.normal(0.0, station.spread_c * np.sqrt(1 - DAY_MEMORY**2), len(dates))
    drift = np.zeros(len(dates))
    for i in range(1, len(dates)):
        drift[i] = DAY_MEMORY * drift[i - 1] + shock[i]
    half = half * chance.uniform(0.65, 1.3, len(dates))
    monthly = np.array([station.rain_mm[d.month - 1] for d in dates])
    wet = chance.random(len(dates)) < np.clip(monthly / 300 + 0.12, 0.12, 0.75)
    share = np.clip(monthly / 300 + 0.12, 0.12, 0.75)
    rain = np.where(wet, chance.gamma(0.8, 1 / 0.8, len(dates)) * monthly / 30.4 / share, 0.0)
    half = np.where(wet, half * 0.65, half)
    damp = np.clip(68 + 20 * wet + chance.normal(0, 6, len(dates)), 35, 99)
    wind = np.clip(chance.gamma(3.0, 0.7, len(dates)), 0.2, 12)
    return usual + drift - half, usual + drift + half, rain, damp, wind
