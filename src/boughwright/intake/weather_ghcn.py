"""Daily files of the Global Historical Climatology Network (GHCN-Daily, NOAA), in both shapes.

The long shape has one value a row: station, day, element, value, three flags, time. The wide shape
(the daily-summaries table) has one day a row and a column for each element. Both count in tenths:
of °C for TMAX and TMIN, of mm for PRCP, of m/s for AWND. The layout is described in the network's
own readme; it is given here from memory.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, replace
from itertools import chain
from math import isnan, nan
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from boughwright.errors import FileError, TextError
from boughwright.intake.weather_dates import read_date
from boughwright.intake.weather_headers import read_header
from boughwright.intake.weather_rows import Gathering
from boughwright.intake.weather_text import encoding_of, text_lines
from boughwright.units import parse_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from boughwright.intake.weather_rows import OnBad, WeatherFile

Units: TypeAlias = Literal["tenths", "metric", "standard"]
"""``metric``: °C, mm, m/s. ``standard``: °F, inches, miles an hour."""

_ELEMENTS = ("TMIN", "TMAX", "PRCP", "AWND")
# How a header of our own table would say it; wind is read at about 10 m.
_IN_UNITS: Mapping[str, Mapping[str, str]] = {
    "metric": {"TMIN": "t_min_c", "TMAX": "t_max_c", "PRCP": "rain_mm", "AWND": "wind 10m (m/s)"},
    "standard": {"TMIN": "t_min_f", "TMAX": "t_max_f", "PRCP": "rain_in",
                 "AWND": "wind 10m (mph)"},
}  # fmt: skip
_NOT_READ = -9999.0
_LONG = re.compile(r'"?[A-Z]{2}[A-Z0-9_\-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,')
_LONG_HEADER = re.compile(r'"?ID"?,"?DATE"?,"?ELEMENT"?,', re.IGNORECASE)


def is_long(line: str) -> bool:
    """Tell whether a first line is of the long shape, with or without its header."""
    return _LONG.match(line) is not None or _LONG_HEADER.match(line) is not None


def is_wide(line: str) -> bool:
    """Tell whether a first line is the header of the wide shape."""
    cells = {cell.strip().strip('"') for cell in line.split(",")}
    return {"STATION", "DATE"} <= cells and bool(cells & set(_ELEMENTS))


def read_weather_ghcn(
    path: Path | str,
    *,
    today: date,
    on_bad: OnBad = "skip",
    station: str | None = None,
    units: Units | None = None,
) -> WeatherFile:
    """Read a GHCN-Daily file of either shape.

    Values with a quality flag are left unknown, and so are those written -9999. Wind is brought
    from 10 m down to 2 m.

    Parameters
    ----------
    path : path
    today : date
    on_bad : {"skip", "refuse"}
    station : str, optional
        Which one to take, when the file holds several.
    units : {"tenths", "metric", "standard"}, optional
        Left out: tenths, and a file with decimal points is asked about.

    Raises
    ------
    FileError
        When the file cannot be read, holds several stations and none is named, or lacks the one
        that is.
    TextError
        When it must be asked which units the file has.
    """
    path = Path(path)
    encoding, notes = encoding_of(path)
    lines = text_lines(path, encoding)
    first = next(lines, "")
    split = _long_values if is_long(first) else _wide_values
    reading = _Reading(path, today, station, units or "tenths", decimals_tell=units is None)
    reading.gathering.notes += notes
    reader = csv.reader(chain([first], lines), skipinitialspace=True)
    try:
        for row in split(reader, path):
            reading.take(row)
    except csv.Error as error:
        raise FileError(f"the row cannot be taken apart ({error})",
                        where=f"{path.name}, row {reader.line_num}",
                        todo="Fetch the file again, or mend the row") from error  # fmt: skip
    return reading.finish(on_bad)


@dataclass(frozen=True, slots=True)
class _Value:
    """One value as written, with the row it stands in."""

    row: int
    station: str
    day: str
    element: str
    text: str
    flag: str


def _long_values(reader: Iterator[list[str]], path: Path) -> Iterator[_Value]:
    for row, cells in enumerate(reader, 1):
        if not cells or (row == 1 and _LONG_HEADER.match(",".join(cells))):
            continue
        if len(cells) < 4:
            # Told where it is taken, like any other row that cannot be read.
            yield _Value(row, "", "", "", ",".join(cells), "")
        elif cells[2] in _ELEMENTS:
            flag = cells[5].strip() if len(cells) > 5 else ""
            yield _Value(row, cells[0].strip(), cells[1], cells[2], cells[3], flag)


def _wide_values(reader: Iterator[list[str]], path: Path) -> Iterator[_Value]:
    header = [cell.strip() for cell in next(reader, [])]
    if "STATION" not in header or "DATE" not in header or not set(header) & set(_ELEMENTS):
        raise FileError("the first row has not STATION, DATE and TMIN, TMAX or PRCP",
                        where=f"{path.name}, row 1",
                        todo="Fetch the station's file of daily values again")  # fmt: skip
    at = {name: place for place, name in enumerate(header)}
    present = [element for element in _ELEMENTS if element in at]
    for row, cells in enumerate(reader, 2):
        if not cells:
            continue
        if len(cells) <= max(at["STATION"], at["DATE"]):
            yield _Value(row, "", "", "", ",".join(cells), "")
            continue
        for element in present:
            text = _cell(cells, at[element])
            # The flags of a value stand together: measurement, quality, source.
            flags = _cell(cells, at.get(f"{element}_ATTRIBUTES", len(cells))).split(",")
            flag = flags[1].strip() if len(flags) > 1 else ""
            yield _Value(row, cells[at["STATION"]].strip(), cells[at["DATE"]], element, text, flag)


def _cell(cells: Sequence[str], place: int) -> str:
    return cells[place].strip() if place < len(cells) else ""


def _scales(units: Units) -> dict[str, tuple[str, float, float]]:
    """Return each element's field, factor and shift into our unit, tenths already taken."""
    names = _IN_UNITS["standard" if units == "standard" else "metric"]
    columns = {element: read_header(name) for element, name in names.items()}
    return {e: (c.field, c.factor, c.shift) for e, c in columns.items() if c is not None}


class _Reading:
    """One file while it is read: values gathered into days, and what is counted on the way."""

    def __init__(
        self, path: Path, today: date, station: str | None, units: Units, *, decimals_tell: bool
    ) -> None:
        self.gathering = Gathering(path, today)
        self._path, self._today = path, today
        self._wanted = station
        self._station = station or ""
        self._passed: set[str] = set()
        self._scales = _scales(units)
        self._tenth = 10.0 if units == "tenths" else 1.0
        self._decimals_tell = decimals_tell
        self._days: dict[date, tuple[int, dict[str, float]]] = {}
        self._flagged: Counter[str] = Counter()

    def take(self, value: _Value) -> None:
        """Take one value, or refuse it.

        Raises
        ------
        FileError
            When a second station turns up and none was named.
        TextError
            When a decimal point shows that the file is not in tenths.
        """
        if not value.element:
            self.gathering.refuse(value.row, f"{value.text[:60]!r} is not a row of this file",
                                  todo="Remove the row or fetch the file again")  # fmt: skip
            return
        if not self._is_wanted(value):
            return
        try:
            on = read_date(value.day, None, self._today)
            number = parse_number(value.text) if value.text else _NOT_READ
        except TextError as error:
            self.gathering.refuse(value.row, error.what, error.allowed, error.todo)
            return
        if self._decimals_tell and "." in value.text:
            raise TextError(f"{value.element} is {value.text}, so the file is not in tenths",
                            where=f"{self._path.name}, row {value.row}",
                            allowed="metric (°C, mm) or standard (°F, inches)",
                            todo="Say which units the file has")  # fmt: skip
        self._put(value, on, number)

    def _is_wanted(self, value: _Value) -> bool:
        if self._wanted is None and not self._station:
            self._station = value.station
        if value.station == self._station:
            return True
        if self._wanted is None:
            raise FileError(f"the file holds several stations: {self._station}, {value.station}",
                            where=f"{self._path.name}, row {value.row}",
                            todo="Name the station to take")  # fmt: skip
        if len(self._passed) < 20:
            self._passed.add(value.station)
        return False

    def _put(self, value: _Value, on: date, number: float) -> None:
        field, factor, shift = self._scales[value.element]
        values = self._days.setdefault(on, (value.row, {}))[1]
        if number == _NOT_READ:
            number = nan
        elif value.flag:
            self._flagged[value.element] += 1
            number = nan
        else:
            number = number / self._tenth * factor + shift
        before = values.get(field, nan)
        if not isnan(before) and not isnan(number) and before != number:
            self.gathering.refuse(value.row, f"{value.element} of {on} is already there with "
                                  "another value", "one value a day",
                                  "The first one was kept")  # fmt: skip
        elif isnan(before):
            values[field] = number

    def finish(self, on_bad: OnBad) -> WeatherFile:
        """Return what was gathered.

        Raises
        ------
        FileError
            When the named station is not in the file, or as in `Gathering.finish`.
        """
        if self._wanted is not None and not self._days and self._passed:
            raise FileError(f"the station {self._wanted} is not in this file",
                            where=self._path.name, allowed=", ".join(sorted(self._passed)),
                            todo="Name one of these")  # fmt: skip
        for on, (row, values) in self._days.items():
            self.gathering.add(row, on, values)
        for element, count in self._flagged.items():
            self.gathering.notes.append(f"{element} with a quality flag, left unknown: {count}")
        result = self.gathering.finish(on_bad, self._station)
        if self._tenth != 1.0:
            lows = [day.t_min_c for day in result.days if not isnan(day.t_min_c)]
            highs = [day.t_max_c for day in result.days if not isnan(day.t_max_c)]
            if lows and highs:
                note = (f"Read as tenths of °C: coldest {min(lows):.1f} °C, "
                        f"warmest {max(highs):.1f} °C")  # fmt: skip
                result = replace(result, notes=(*result.notes, note))
        return result
