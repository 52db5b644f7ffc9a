"""GHCN-Daily in its long and its wide shape. The layout is given from memory of NOAA's readme."""

from __future__ import annotations

from datetime import date
from math import isnan
from typing import TYPE_CHECKING

import pytest

from boughwright.errors import FileError, TextError
from boughwright.intake.weather import read_weather
from boughwright.season.record import Origin

if TYPE_CHECKING:
    from pathlib import Path

TODAY = date(2026, 6, 9)
LONG = """\
USW00099999,20240101,TMAX,89,,,W,2400
USW00099999,20240101,TMIN,-11,,,W,2400
USW00099999,20240101,PRCP,254,,,W,2400
USW00099999,20240101,AWND,32,,,W,
USW00099999,20240101,SNWD,120,,,W,
USW00099999,20240102,TMAX,700,,X,W,2400
USW00099999,20240102,TMIN,5,,,W,2400
USW00099999,20240102,PRCP,0,T,,W,2400
USW00099999,20240103,TMAX,-9999,,,W,2400
USW00099999,20240103,PRCP,-9999,,,W,2400
"""
WIDE = """\
"STATION","DATE","LATITUDE","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","AWND"
"USW00099999","2024-01-01","40.7","A PLACE, US","  254",",,W,2400","   89",",,W","  -11","   32"
"USW00099999","2024-01-02","40.7","A PLACE, US","    0","T,,W,2400","  700",",X,W","    5",""
"USW00099999","2024-01-03","40.7","A PLACE, US","","","-9999","",""
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "station.csv"
    path.write_text(text)
    return path


@pytest.mark.parametrize(
    "text", [LONG, "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n" + LONG, WIDE]
)
def test_both_shapes_say_the_same(tmp_path: Path, text: str) -> None:
    found = read_weather(written(tmp_path, text), today=TODAY)
    assert found.station == "USW00099999"
    assert found.refused == ()
    first, second, third = found.days
    assert (first.on, first.t_min_c, first.t_max_c, first.rain_mm) == (
        date(2024, 1, 1), -1.1, 8.9, 25.4,
    )  # fmt: skip
    # FAO-56, example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m, printed with one decimal.
    assert first.wind_ms == pytest.approx(2.4, abs=0.05)
    assert isnan(first.humidity_pct)
    # 70.0 °C carries the flag X: it is unknown, not refused.
    assert isnan(second.t_max_c)
    assert (second.t_min_c, second.rain_mm, second.origin) == (0.5, 0.0, Origin.READ)
    assert isnan(third.t_max_c)
    assert isnan(third.rain_mm)
    assert found.notes == (
        "TMAX with a quality flag, left unknown: 1",
        "Read as tenths of °C: coldest -1.1 °C, warmest 8.9 °C",
    )


def test_several_stations_are_asked_about(tmp_path: Path) -> None:
    path = written(tmp_path, LONG + LONG.replace("USW00099999", "GMW00000001").replace("89", "99"))
    with pytest.raises(FileError, match=r"row 11.*several stations: USW00099999, GMW00000001"):
        read_weather(path, today=TODAY)
    found = read_weather(path, today=TODAY, station="GMW00000001")
    assert (found.station, found.days[0].t_max_c) == ("GMW00000001", 9.9)
    with pytest.raises(FileError, match=r"NZ000000001 is not in this file.*GMW00000001, USW"):
        read_weather(path, today=TODAY, station="NZ000000001")


def test_a_decimal_point_shows_that_it_is_not_in_tenths(tmp_path: Path) -> None:
    text = "STATION,DATE,TMAX,TMIN,PRCP,AWND\nUSW00099999,2024-07-01,95,68,0.50,10\n"
    path = written(tmp_path, text)
    with pytest.raises(TextError, match=r"PRCP is 0\.50.*not in tenths.*standard"):
        read_weather(path, today=TODAY)
    (day,) = read_weather(path, today=TODAY, units="standard").days
    # 95 °F, 68 °F, half an inch; ten miles an hour are 4.4704 m/s at 10 m, times 0.748.
    assert day.t_max_c == pytest.approx(35.0)
    assert day.t_min_c == pytest.approx(20.0)
    assert day.rain_mm == pytest.approx(12.7)
    assert day.wind_ms == pytest.approx(4.4704 * 0.748, abs=1e-3)
    (metric,) = read_weather(
        written(tmp_path, text.replace("95,68,0.50", "35.0,20.0,12.7")), today=TODAY, units="metric"
    ).days
    assert (metric.t_max_c, metric.t_min_c, metric.rain_mm) == (35.0, 20.0, 12.7)


@pytest.mark.parametrize(
    ("line", "row", "what"),
    [
        ("USW00099999,20240102,TMIN", 5, "is not a row of this file"),
        ("USW00099999,20240230,TMIN,5,,,W,", 5, "there is no day '20240230'"),
        ("USW00099999,20240102,TMIN,cold,,,W,", 5, "'cold' is not a number"),
        ("USW00099999,20240101,TMAX,90,,,W,", 5, "already there with another value"),
        ("USW00099999,20240102,TMIN,610,,,W,", 5, "t_min_c is 61"),
        ("USW00099999,20260801,TMIN,61,,,W,", 5, "more than 20 days ahead"),
    ],
)
def test_bad_rows_are_refused_and_the_rest_goes_in(
    tmp_path: Path, line: str, row: int, what: str
) -> None:
    path = written(tmp_path, "".join(LONG.splitlines(keepends=True)[:4]) + line + "\n")
    found = read_weather(path, today=TODAY)
    assert [(day.on.day, day.t_max_c) for day in found.days] == [(1, 8.9)]
    (refused,) = found.refused
    assert refused.row == row
    assert what in refused.what
    with pytest.raises(FileError, match="nothing was taken"):
        read_weather(path, today=TODAY, on_bad="refuse")


def test_a_lowest_above_the_highest_refuses_that_day(tmp_path: Path) -> None:
    found = read_weather(written(tmp_path, LONG.replace("TMIN,-11", "TMIN,95")), today=TODAY)
    assert [day.on.day for day in found.days] == [2, 3]
    assert "9.5 °C, is above the highest, 8.9 °C" in found.refused[0].what


def test_our_own_table_is_never_taken_for_theirs(tmp_path: Path) -> None:
    text = "station,date,tmax,tmin\nhome,2024-01-01,8.9,-1\n"
    found = read_weather(written(tmp_path, text), today=TODAY)
    assert (found.days[0].t_max_c, found.days[0].t_min_c) == (8.9, -1.0)
    assert found.notes == ("Columns passed over: station",)
