"""Real weather that nobody here wrote, through our own table and back, value by value."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, timedelta
from importlib.util import find_spec
from math import isnan, nan
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from boughwright.intake.weather import read_weather
from boughwright.intake.weather_rows import LIMITS, WeatherDay
from boughwright.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Sequence

TODAY = date(2026, 6, 9)


def folder_of(package: str) -> Path:
    found = find_spec(package)
    if found is None or not found.submodule_search_locations:
        pytest.fail(f"The package {package!r} carries the open data of this check")
    return Path(next(iter(found.submodule_search_locations)))


def through_a_file(
    tmp_path: Path, headers: Sequence[str], rows: Sequence[Sequence[str]], mark: str = ","
) -> tuple[WeatherDay, ...]:
    path = tmp_path / "weather.csv"
    lines = [mark.join(headers), *(mark.join(row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    found = read_weather(path, today=TODAY, on_bad="refuse")
    assert found.notes == ()
    return found.days


def test_seattle_2012_to_2015(tmp_path: Path) -> None:
    """NOAA daily weather of Seattle, in the package vega-datasets."""
    path = folder_of("vega_datasets") / "_data" / "seattle-weather.csv"
    with path.open(newline="", encoding="utf-8") as file:
        source = list(csv.DictReader(file))
    rows = [
        (r["date"].replace("/", "-"), r["temp_min"], r["temp_max"], r["precipitation"], r["wind"])
        for r in source
    ]
    days = through_a_file(tmp_path, ("date", "t_min_c", "t_max_c", "rain_mm", "wind_ms"), rows)
    # 365 + 366 + 365 + 365 days without a gap.
    assert len(days) == 1461
    assert [day.on for day in days] == [date(2012, 1, 1) + timedelta(days=n) for n in range(1461)]
    assert [(d.t_min_c, d.t_max_c, d.rain_mm, d.wind_ms) for d in days] == [
        tuple(float(cell) for cell in row[1:]) for row in rows
    ]
    # The file itself is close enough to our table to be read as it is.
    itself = read_weather(path, today=TODAY, on_bad="refuse")
    assert [(d.on, d.t_max_c) for d in itself.days] == [(d.on, d.t_max_c) for d in days]


@pytest.mark.parametrize("year", [1976, 1984, 1992, 1999])
def test_wageningen_with_decimal_commas_and_kilojoules(tmp_path: Path, year: int) -> None:
    """Haarweg station at Wageningen, in the package pcse; complete years only."""
    text = (folder_of("pcse") / "tests" / "test_data" / f"NL1.{year % 1000}").read_text("latin-1")
    source = [line.split() for line in text.splitlines() if not line.startswith("*")]
    # Station, year, day of the year, kJ/m2 d, lowest, highest, kPa, m/s at 2 m, mm.
    source = [part for part in source if len(part) == 9]
    rows = []
    for part in source:
        on = date(year, 1, 1) + timedelta(days=int(part[2]) - 1)
        rows.append((f"{on:%d.%m.%Y}", *(part[i].replace(".", ",") for i in (3, 4, 5, 7, 8))))
    headers = ("date", "sun (kJ m-2 d-1)", "t_min", "t_max", "wind_ms", "rain_mm")
    days = through_a_file(tmp_path, headers, rows, mark=";")
    assert len(days) == (date(year + 1, 1, 1) - date(year, 1, 1)).days
    assert [(d.t_min_c, d.t_max_c, d.wind_ms, d.rain_mm) for d in days] == [
        tuple(float(part[i]) for i in (4, 5, 7, 8)) for part in source
    ]
    assert [d.sun_mj for d in days] == pytest.approx([float(part[3]) / 1000 for part in source])


def test_the_wageningen_year_with_values_not_read_tells_each(tmp_path: Path) -> None:
    """In 1990 the wind was not read on some days, and the station wrote -99: each is told."""
    text = (folder_of("pcse") / "tests" / "test_data" / "NL1.990").read_text("latin-1")
    source = [line.split() for line in text.splitlines() if line.startswith("   1 1990")]
    lines = [f"{date(1990, 1, 1) + timedelta(days=int(p[2]) - 1)},{p[5]},{p[7]}" for p in source]
    absent = [number for number, p in enumerate(source) if p[7] == "-99.0"]
    assert len(absent) > 3
    path = tmp_path / "weather.csv"
    path.write_text("date,t_max_c,wind_ms\n" + "\n".join(lines) + "\n")
    found = read_weather(path, today=TODAY)
    assert [number for number, day in enumerate(found.days) if isnan(day.wind_ms)] == absent
    assert [refused.row - 2 for refused in found.refused] == absent
    assert {refused.what for refused in found.refused} == {
        "wind_ms is -99.0, which stands for not read"
    }
    # The rest of such a row goes in.
    assert [day.t_max_c for day in found.days] == [float(part[5]) for part in source]


def test_a_southern_station_with_its_gaps(tmp_path: Path) -> None:
    """Daily New Zealand record 2000-15, in the package eto; 23 days are absent."""
    path = folder_of("eto") / "datasets" / "example_daily.csv.zip"
    with zipfile.ZipFile(path) as folder:
        text = folder.read(folder.namelist()[0]).decode("utf-8")
    source = list(csv.DictReader(io.StringIO(text)))
    rows = [(r["date"], r["T_min"], r["T_max"], r["R_s"]) for r in source]
    days = through_a_file(tmp_path, ("date", "Tmin", "Tmax", "Rs (MJ/m2/d)"), rows, mark="\t")
    assert len(days) == 5821
    assert (days[-1].on - days[0].on).days + 1 - len(days) == 23
    assert [(d.on.isoformat(), d.t_min_c, d.t_max_c, d.sun_mj) for d in days] == [
        (r[0], *(float(cell) if cell else nan for cell in r[1:])) for r in rows
    ]
    # Summer is in January.
    by_month = [[d.t_max_c for d in days if d.on.month == month] for month in (1, 7)]
    warm, cold = (sum(month) / len(month) for month in by_month)
    assert warm > cold + 5


def test_a_file_goes_into_the_book_and_comes_back(tmp_path: Path) -> None:
    path = folder_of("vega_datasets") / "_data" / "seattle-weather.csv"
    found = read_weather(path, today=TODAY)
    with Book.open(tmp_path / "garden.book", create=True) as book:
        put = book.put_weather("Seattle", found.days, file=found.file)
        assert (put.new, put.changed, put.same) == (1461, 0, 0)
        assert book.put_weather("Seattle", found.days).same == 1461
        back = book.weather("Seattle")
    assert back is not None
    assert (back.start, len(back)) == (date(2012, 1, 1), 1461)
    for field in ("t_min_c", "t_max_c", "rain_mm", "wind_ms"):
        assert getattr(back, field).tolist() == [getattr(day, field) for day in found.days]


def test_the_fields_are_those_of_the_record() -> None:
    from boughwright.season.record import Weather

    assert set(LIMITS) < set(Weather.__slots__)
    assert set(LIMITS) < set(WeatherDay.__slots__)
