"""Our daily weather table: forgiving about the form, strict about the meaning."""

from __future__ import annotations

import gzip
import tracemalloc
from datetime import date, timedelta
from math import isnan, nan
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boughwright.errors import BoughwrightError, FileError, TextError
from boughwright.intake import weather_text
from boughwright.intake.weather import read_weather
from boughwright.intake.weather_csv import read_weather_csv
from boughwright.intake.weather_headers import read_header
from boughwright.intake.weather_rows import LIMITS
from boughwright.season.record import Origin

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from boughwright.intake.weather_rows import WeatherDay, WeatherFile

TODAY = date(2026, 6, 9)
HEADER = "date,t_min_c,t_max_c,rain_mm,humidity_pct,wind_ms,sun_mj\n"


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., WeatherFile]:
    """Return a function that writes a text to a file and reads it."""

    def reading(text: str | bytes, **options: Any) -> WeatherFile:
        path = tmp_path / "weather.csv"
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return read_weather(path, today=TODAY, **options)

    return reading


def values(day: WeatherDay) -> list[float]:
    return [getattr(day, name) for name in LIMITS]


def told(found: WeatherFile) -> list[tuple[int, str]]:
    return [(refused.row, refused.what) for refused in found.refused]


# ---- the plain case and what may be missing


def test_a_plain_file_is_read_as_it_stands(read: Callable[..., WeatherFile]) -> None:
    found = read(HEADER + "2026-05-01,4.5,17,0,81,1.5,20.25\n2026-05-02,-1,3,12.5,99,0,3\n")
    assert [day.on for day in found.days] == [date(2026, 5, 1), date(2026, 5, 2)]
    assert values(found.days[0]) == [4.5, 17, 0, 81, 1.5, 20.25]
    assert values(found.days[1]) == [-1, 3, 12.5, 99, 0, 3]
    assert {day.origin for day in found.days} == {Origin.READ}
    assert (found.file, found.station) == ("weather.csv", "")
    assert (found.refused, found.refused_count, found.notes) == ((), 0, ())


def test_every_column_but_the_date_may_be_missing(read: Callable[..., WeatherFile]) -> None:
    for field in LIMITS:
        (day,) = read(f"date,{field}\n2026-05-01,7\n").days
        assert {name for name in LIMITS if not isnan(getattr(day, name))} == {field}
        assert getattr(day, field) == 7


@pytest.mark.parametrize("unknown", ["", "  ", "-", "NA", "n/a", "NaN", "null", "?", "M"])
def test_an_empty_cell_is_unknown_and_never_zero(
    read: Callable[..., WeatherFile], unknown: str
) -> None:
    found = read(f"date,t_min_c,t_max_c\n2026-05-01,{unknown},9\n")
    assert isnan(found.days[0].t_min_c)
    assert found.days[0].t_max_c == 9
    assert found.refused == ()


def test_short_rows_have_unknown_ends(read: Callable[..., WeatherFile]) -> None:
    (day,) = read(HEADER + "2026-05-01,4\n").days
    assert day.t_min_c == 4
    assert isnan(day.t_max_c)


def test_a_trace_of_rain_is_none(read: Callable[..., WeatherFile]) -> None:
    assert read("date,rain_mm\n2026-05-01,T\n").days[0].rain_mm == 0.0


def test_days_in_any_order_come_out_by_date(read: Callable[..., WeatherFile]) -> None:
    found = read("date,t_min_c\n2026-05-03,3\n2026-05-01,1\n2026-05-02,2\n")
    assert [day.t_min_c for day in found.days] == [1, 2, 3]


# ---- forms


@pytest.mark.parametrize(
    "text",
    [
        "date;t_min_c;t_max_c\n2026-05-01;-4,5;17,25\n",
        "date\tt_min_c\tt_max_c\n2026-05-01\t-4,5\t17.25\n",
        'date,t_min_c,t_max_c\n2026-05-01,"-4,5","17,25"\n',
        "sep=;\ndate;t_min_c;t_max_c\n2026-05-01;-4,5;17,25\n",
        '"sep=;"\r\n"date";"t_min_c";"t_max_c"\r\n"2026-05-01";"-4,5";"17,25"\r\n',
        "# my garden\n\ndate, t_min_c, t_max_c\n\n2026-05-01, \u22124.5, 17.25\n# end\n",
        "T_Max_C;Date;T_Min_C;;\n17,25;2026-05-01;-4,5;;\n",
        "date,t_min_c,t_max_c\r2026-05-01,-4.5,17.25\r",
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_what_programs_write_is_read(
    read: Callable[..., WeatherFile], text: str, encoding: str
) -> None:
    (day,) = read(text.encode(encoding)).days
    assert (day.on, day.t_min_c, day.t_max_c) == (date(2026, 5, 1), -4.5, 17.25)


def test_a_windows_western_file_is_read_with_a_note(read: Callable[..., WeatherFile]) -> None:
    found = read("date;Tmax (°F)\n2026-05-01;50\n".encode("cp1252"))
    assert found.days[0].t_max_c == pytest.approx(10.0)
    assert found.notes == ("The file is not in UTF-8; it was read as Windows Western (cp1252)",)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b" \n\r\n ", "the file is empty"),
        (b"PK\x03\x04" + bytes(200), "a spreadsheet or a zip folder"),
        (b"%PDF-1.7\n", "a PDF"),
        (bytes(range(256)), "not text"),
        ("date,t_min_c\n".encode("utf-16-le"), "not text"),
        ("date,t_min_c\n2026-05-01,4\n".encode("utf-32"), "UTF-32"),
        ("日付、t_min_c\n2026-05-01,4\n".encode("shift-jis"), "encoding of the file is not known"),
        ("date,t_min_c\n2026-05-01,4\n".encode("utf-16")[:-1], "breaks off or is damaged"),
        (b"date,t_min_c\n2026-05-01,4\n" + b"x" * 30_000, "too long for a row"),
        (b'date,t_min_c\n2026-05-01,"4\n' + b"2026-05-02,4\n" * 20_000, "never closed"),
        (gzip.compress(b"date,t_min_c\n" + b"2026-05-01,4\n" * 999)[:-20], "cut short"),
        (b"date,t_min_c\n", "no row of weather"),
        (b"# only words\n", "no column date"),
        (b"2026-05-01,4,9\n2026-05-02,4,9\n", "no column date"),
        (b"date,mood\n2026-05-01,4\n", "no column of weather"),
        (b"date,tmin,low\n2026-05-01,4,4\n", "hold the same value"),
        (b"date,wind (furlongs)\n2026-05-01,4\n", "unit that is not known"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(
    read: Callable[..., WeatherFile], content: bytes, words: str
) -> None:
    with pytest.raises(FileError, match=words) as caught:
        read(content)
    assert "weather.csv" in str(caught.value)


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        read_weather(tmp_path / "none.csv", today=TODAY)
    with pytest.raises(FileError, match="cannot be read as a file"):
        read_weather(tmp_path, today=TODAY)


def test_a_packed_file_is_read(read: Callable[..., WeatherFile]) -> None:
    (day,) = read(gzip.compress(b"date,t_min_c\n2026-05-01,4\n")).days
    assert day.t_min_c == 4


# ---- header words and units, worked out by hand


@pytest.mark.parametrize(
    ("header", "written", "field", "ours"),
    [
        ("t_min_c", "5", "t_min_c", 5.0),
        ("Tmin", "5", "t_min_c", 5.0),
        ("Low (°F)", "50", "t_min_c", 10.0),
        ("Minimum temperature [deg C]", "5", "t_min_c", 5.0),
        ("TEMP_MIN_F", "32", "t_min_c", 0.0),
        ("Max temp °F", "212e-1", "t_max_c", -6.0),
        ("daily high F", "95", "t_max_c", 35.0),
        ("t_max (K)", "283.15", "t_max_c", 10.0),
        ("precipitation", "3", "rain_mm", 3.0),
        ("inches of rain", "0.5", "rain_mm", 12.7),
        ("Rain (in)", "0.5", "rain_mm", 12.7),
        ("rain in inches", "1", "rain_mm", 25.4),
        ("rainfall mm/day", "3", "rain_mm", 3.0),
        ("precip_cm", "1.2", "rain_mm", 12.0),
        ("Relative humidity (%)", "81", "humidity_pct", 81.0),
        ("RH %", "81", "humidity_pct", 81.0),
        ("humidity (fraction)", "0.81", "humidity_pct", 81.0),
        ("wind_ms", "3", "wind_ms", 3.0),
        ("wind m s-1", "3", "wind_ms", 3.0),
        ("Average wind speed (km/h)", "36", "wind_ms", 10.0),
        # An hour's mile is 1609.344 m / 3600 s.
        ("wind mph", "10", "wind_ms", 4.4704),
        # A knot is 1852 m / 3600 s: 3.5 knots are 1.80056 m/s.
        ("Wind [knots]", "3.5", "wind_ms", 6482 / 3600),
        # FAO-56, example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m.
        ("wind speed at 10 m (m/s)", "3.2", "wind_ms", 2.4),
        ("wind speed at 2 m (m/s)", "3.2", "wind_ms", 3.2),
        ("sun_mj", "20", "sun_mj", 20.0),
        ("Solar radiation (kJ m-2 d-1)", "20500", "sun_mj", 20.5),
        ("kJ/m2/d sun", "20500", "sun_mj", 20.5),
        ("global radiation J/cm2", "2050", "sun_mj", 20.5),
        # 100 W through 86,400 s is 8.64 MJ.
        ("solar (W/m2)", "100", "sun_mj", 8.64),
        ("solar kWh/m2", "5", "sun_mj", 18.0),
    ],
)
def test_headers_name_the_value_and_its_unit(
    read: Callable[..., WeatherFile], header: str, written: str, field: str, ours: float
) -> None:
    (day,) = read(f"date;{header}\n2026-05-01;{written}\n").days
    # The handbook prints its wind with one decimal.
    near = 0.05 if "10 m" in header else 1e-9
    assert getattr(day, field) == pytest.approx(ours, abs=near)
    assert sum(not isnan(value) for value in values(day)) == 1


@pytest.mark.parametrize(
    "header",
    ["mean temp", "wind gust max", "humidity max", "snow_mm", "sunshine hours", "min rain"],
)
def test_columns_of_other_things_are_passed_over_and_named(
    read: Callable[..., WeatherFile], header: str
) -> None:
    assert read_header(header) is None
    found = read(f"date,t_min_c,{header}\n2026-05-01,4,99\n")
    assert found.notes == (f"Columns passed over: {header}",)
    assert sum(not isnan(value) for value in values(found.days[0])) == 1


# ---- dates


@pytest.mark.parametrize(
    "text",
    ["2026-05-13", "20260513", "2026/5/13", "13.5.2026", "13.05.26", "13/5/2026", "5/13/26",
     "13-05-2026", "2026-05-13T00:00:00", "2026-05-13 00:00:00Z"],
)  # fmt: skip
def test_dates_of_many_forms(read: Callable[..., WeatherFile], text: str) -> None:
    assert read(f"date,t_min_c\n{text},4\n").days[0].on == date(2026, 5, 13)


def test_the_order_of_day_and_month_is_found_from_any_row(read: Callable[..., WeatherFile]) -> None:
    found = read("date,t_min_c\n3/4/2025,1\n4/4/2025,2\n13/4/2025,3\n")
    assert [day.on for day in found.days] == [date(2025, 4, d) for d in (3, 4, 13)]
    found = read("date,t_min_c\n3/4/2025,1\n3/5/2025,2\n3/14/2025,3\n")
    assert [day.on for day in found.days] == [date(2025, 3, d) for d in (4, 5, 14)]


def test_an_open_order_is_asked_and_never_guessed(read: Callable[..., WeatherFile]) -> None:
    text = "date,t_min_c\n3/4/2025,1\n4/4/2025,2\n"
    with pytest.raises(TextError, match=r"row 2.*'3/4/2025'.*day or month.*dmy or mdy"):
        read(text)
    assert [day.on.month for day in read(text, date_order="dmy").days] == [4, 4]
    assert [day.on.month for day in read(text, date_order="mdy").days] == [3, 4]


def test_a_file_that_contradicts_itself_has_those_rows_refused(
    read: Callable[..., WeatherFile],
) -> None:
    found = read("date,t_min_c\n13/4/2025,1\n4/14/2025,2\n")
    assert [day.on for day in found.days] == [date(2025, 4, 13)]
    assert told(found) == [(3, "there is no day '4/14/2025'")]


@pytest.mark.parametrize(
    ("text", "words"),
    [("2026-02-30", "no day"), ("yesterday", "is not a date"), ("46000", "is not a date"),
     ("", "is not a date"), ("2026-05-01 06:00", "time of day"), ("1650-01-01", "too early"),
     ("2026-06-30", "more than 20 days ahead"), ("2062-05-01", "more than 20 days ahead")],
)  # fmt: skip
def test_bad_dates_are_refused_row_by_row(
    read: Callable[..., WeatherFile], text: str, words: str
) -> None:
    found = read(f"date,t_min_c\n2026-05-01,4\n{text},5\n")
    assert [day.t_min_c for day in found.days] == [4]
    ((row, what),) = told(found)
    assert row == 3
    assert words in what


# ---- bad values


@pytest.mark.parametrize("mark", ["-99", "-99.9", "-999", "-999,9", "-9999", "-9999.0"])
def test_marks_for_not_read_are_told_and_left_unknown(
    read: Callable[..., WeatherFile], mark: str
) -> None:
    found = read(f"date;t_min_c;t_max_c\n2026-05-01;{mark};9\n")
    assert isnan(found.days[0].t_min_c)
    assert found.days[0].t_max_c == 9
    ((row, what),) = told(found)
    assert (row, what) == (2, f"t_min_c is {mark}, which stands for not read")


@pytest.mark.parametrize(
    ("cells", "what", "allowed", "todo"),
    [
        ("4,61,,,,", "t_max_c is 61", "-60 to 60 °C", "Is the column in °F?"),
        ("-61,4,,,,", "t_min_c is -61", "-60 to 60 °C", "Is the column in °F?"),
        ("12,9,,,,", "the lowest, 12 °C, is above the highest, 9 °C", "not above", "swapped"),
        ("1,2,-0.5,,,", "rain_mm is -0.5", "0 to 2000 mm a day", "unit"),
        ("1,2,,101,,", "humidity_pct is 101", "0 to 100 %", "Mend"),
        ("1,2,,,90,", "wind_ms is 90", "0 to 75 m/s", "unit"),
        ("1,2,,,,2000", "sun_mj is 2000", "0 to 50 MJ/m² a day", "unit"),
        ("1,cold,,,,", "t_max_c: 'cold' is not a number", "12.5", "Mend"),
        ("1,1.234,5,,,,3", "the row has 8 cells under 7 headers", "one cell", "semicolons"),
    ],
)
def test_a_bad_row_is_refused_and_the_rest_goes_in(
    read: Callable[..., WeatherFile], cells: str, what: str, allowed: str, todo: str
) -> None:
    text = HEADER + f"2026-05-01,1,2,3,4,5,6\n2026-05-02,{cells}\n2026-05-03,2,3,4,5,6,7\n"
    found = read(text)
    assert [day.on.day for day in found.days] == [1, 3]
    (refused,) = found.refused
    assert (refused.file, refused.row, refused.what) == ("weather.csv", 3, what)
    assert allowed in refused.allowed
    assert todo in refused.todo
    assert str(refused).startswith(f"weather.csv, row 3: {what}. Allowed: ")
    with pytest.raises(FileError, match=r"weather\.csv, row 3.*nothing was taken"):
        read(text, on_bad="refuse")


def test_the_ends_of_the_legal_range_are_legal(read: Callable[..., WeatherFile]) -> None:
    (day,) = read(HEADER + "2026-05-01,-60,60,2000,100,75,50\n").days
    assert values(day) == [-60, 60, 2000, 100, 75, 50]
    (day,) = read(HEADER + "2026-05-01,60,60,0,0,0,0\n").days
    assert values(day) == [60, 60, 0, 0, 0, 0]


def test_a_fahrenheit_column_is_one_clear_error(read: Callable[..., WeatherFile]) -> None:
    rows = [f"{date(2025, 1, 1) + timedelta(days=n)},{n},{40 + n}" for n in range(60)]
    text = "date,low,high\n" + "\n".join(rows)
    for on_bad in ("skip", "refuse"):
        # 40 to 99 °F: 39 of 60 are above 60.
        with pytest.raises(FileError, match=r"39 of 60 values of t_max_c.*like °F.*\(°F\)"):
            read(text, on_bad=on_bad)
    found = read(text.replace("low,high", "low °F,high °F"))
    assert len(found.days) == 60
    assert found.days[32].t_min_c == pytest.approx(0.0)


def test_one_hot_slip_does_not_make_a_column_fahrenheit(read: Callable[..., WeatherFile]) -> None:
    rows = [
        f"{date(2025, 1, 1) + timedelta(days=n)},{70 if n in (5, 6) else 20}" for n in range(60)
    ]
    found = read("date,t_max_c\n" + "\n".join(rows))
    assert (len(found.days), found.refused_count) == (58, 2)


def test_a_date_twice_counts_once_when_it_agrees(read: Callable[..., WeatherFile]) -> None:
    found = read("date,t_min_c,rain_mm\n2026-05-01,4,\n2026-05-01,4.0,\n1.5.2026,5,\n")
    assert [(day.on.day, day.t_min_c) for day in found.days] == [(1, 4)]
    assert told(found) == [(4, "2026-05-01 is already in row 2 with other values")]


def test_a_file_of_nothing_but_bad_rows_says_the_first(read: Callable[..., WeatherFile]) -> None:
    with pytest.raises(FileError, match=r"all 2 were refused.*row 2: t_max_c is 70"):
        read("date,t_max_c\n2026-05-01,70\n2026-05-02,70\n")


def test_only_the_first_refusals_are_kept_but_all_are_counted(
    read: Callable[..., WeatherFile],
) -> None:
    found = read("date,t_max_c\n2026-05-01,1\n" + "2026-13-01,1\n" * 900)
    assert (len(found.refused), found.refused_count) == (500, 900)


# ---- forecasts


def test_rows_after_today_are_a_forecast(read: Callable[..., WeatherFile]) -> None:
    found = read("date,t_max_c\n2026-06-09,1\n2026-06-10,2\n2026-06-29,3\n")
    assert [day.origin for day in found.days] == [Origin.READ, Origin.FORECAST, Origin.FORECAST]
    assert found.notes == ("Rows after today, taken as a forecast: 2",)


def test_the_column_kind_says_what_a_row_is(read: Callable[..., WeatherFile]) -> None:
    found = read(
        "date,t_max_c,kind\n2026-06-09,20,read\n2026-06-09,23,Forecast\n2026-06-10,24,\n"
        "2026-06-11,25,read\n2026-06-12,26,guess\n"
    )
    assert [(day.on.day, day.t_max_c, day.origin) for day in found.days] == [
        (9, 20, Origin.READ), (9, 23, Origin.FORECAST), (10, 24, Origin.FORECAST),
    ]  # fmt: skip
    assert told(found) == [
        (5, "2026-06-11 is still to come, so it cannot have been read"),
        (6, "kind is 'guess'"),
    ]


# ---- size


def test_a_file_over_the_limit_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert weather_text.MAX_BYTES == 200_000_000
    monkeypatch.setattr(weather_text, "MAX_BYTES", 1_500_000)
    path = tmp_path / "large.csv"
    path.write_text("date,t_min_c\n" + "2026-05-01,4\n" * 120_000)
    with pytest.raises(FileError, match=r"larger than 1 MB.*up to 1 MB.*Cut it into files"):
        read_weather(path, today=TODAY)


def test_memory_does_not_grow_with_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Scaled down: files of 0.08 and 0.8 MB, read in pieces of 16 kB instead of 1 MB."""
    monkeypatch.setattr(weather_text, "_PIECE", 1 << 14)

    def peak(times: int) -> int:
        path = tmp_path / f"{times}.csv"
        rows = [f"{date(2024, 1, 1) + timedelta(days=n)},{n % 7},12.5,0.0,71\n" for n in range(300)]
        path.write_text("date,t_min_c,t_max_c,rain_mm,humidity_pct\n" + "".join(rows) * times)
        tracemalloc.start()
        try:
            assert len(read_weather_csv(path, today=TODAY).days) == 300
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    small, large = peak(10), peak(100)
    # Ten times the file, not a quarter of its size more memory.
    assert large < small + 200_000


def test_a_hundred_megabytes_are_read(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    # 20,000 letters are the longest row: rows of 10,000 keep the test quick at the full size.
    with path.open("w") as file:
        file.write("date,t_min_c,comment\n")
        for n in range(10_000):
            file.write(f"{date(1990, 1, 1) + timedelta(days=n)},4,{'x' * 10_000}\n")
    assert path.stat().st_size > 100_000_000
    found = read_weather(path, today=TODAY)
    assert len(found.days) == 10_000
    path.unlink()


# ---- law


def _cell(value: float) -> str:
    # Zero has one spelling here: adding 0 takes the sign from -0.
    return "" if isnan(value) else repr(value + 0.0)


_DAY = st.tuples(
    *(st.floats(low, high, allow_nan=False) | st.just(nan) for low, high, _ in LIMITS.values())
)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.dictionaries(st.dates(date(1950, 1, 1), TODAY), _DAY, min_size=1, max_size=20),
    st.sampled_from([",", ";", "\t"]),
    st.booleans(),
)
def test_any_table_comes_back_as_it_was_written(
    read: Callable[..., WeatherFile],
    table: dict[date, tuple[float, ...]],
    mark: str,
    comma: bool,
) -> None:
    fair = {
        on: (min(row[:2]), max(row[:2]), *row[2:]) if row[0] > row[1] else row
        for on, row in table.items()
    }
    # -99 and the like stand for unknown, so they are not legal as values; none is in range.
    lines = [mark.join(["date", *LIMITS])]
    for on, row in fair.items():
        cells = [_cell(value) for value in row]
        if comma and mark != ",":
            cells = [cell.replace(".", ",") for cell in cells]
        lines.append(mark.join([on.isoformat(), *cells]))
    found = read("\n".join(lines))
    assert found.refused == ()
    assert {day.on: [_cell(value) for value in values(day)] for day in found.days} == {
        on: [_cell(value) for value in row] for on, row in fair.items()
    }


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.binary(max_size=300))
def test_whatever_a_file_holds_it_is_read_or_refused_in_our_words(
    read: Callable[..., WeatherFile], content: bytes
) -> None:
    for start in (b"", b"date,t_min_c\n", b"ID,DATE,ELEMENT,VALUE\n"):
        try:
            found = read(start + content)
        except BoughwrightError as error:
            assert error.what  # noqa: PT017
        else:
            assert found.days
