"""Our own daily weather table, read as people really save it."""

from __future__ import annotations

import csv
from itertools import islice
from math import nan
from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.errors import FileError, TextError
from boughwright.intake.weather_dates import ask, is_slashed, order_of, read_date
from boughwright.intake.weather_headers import read_headers
from boughwright.intake.weather_rows import MISSING_MARKS, Gathering
from boughwright.intake.weather_text import encoding_of, text_lines
from boughwright.season.record import Origin
from boughwright.units import parse_number

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from boughwright.intake.weather_dates import DateOrder
    from boughwright.intake.weather_headers import Column
    from boughwright.intake.weather_rows import OnBad, WeatherFile

_UNKNOWN = frozenset(("", "-", "--", "?", ".", "na", "n/a", "nan", "null", "none", "m"))
_KINDS = {
    "": None,
    **dict.fromkeys(("read", "observed", "measured"), Origin.READ),
    **dict.fromkeys(("bench", "by hand"), Origin.BENCH),
    **dict.fromkeys(("forecast", "predicted"), Origin.FORECAST),
}
_TEMPERATURES = ("t_min_c", "t_max_c")
# Above 60 and up to 140: hot for Celsius, ordinary for Fahrenheit.
_HOT = (60.0, 140.0)


def rows_of(path: Path, encoding: str) -> Iterator[tuple[int, list[str]]]:
    """Give the rows of a table with their line numbers, header first.

    Blank lines, lines that begin with ``#`` and the line ``sep=;`` are passed over. The header
    tells what parts the cells: a semicolon, a tab or a comma.

    Raises
    ------
    FileError
        When a quote is opened and never closed.
    """
    lines = text_lines(path, encoding)
    skipped, mark = 0, ""
    head = ""
    for head in lines:
        sep = head.strip().strip('"').casefold()
        if sep.startswith("sep=") and len(sep) <= 5:
            mark = sep[4:] or "\t"
        elif sep.strip(";,\t ") and not sep.startswith("#"):
            break
        skipped += 1
    else:
        return
    mark = mark or next((m for m in (";", "\t") if m in head), ",")

    def numbered() -> Iterator[str]:
        yield head
        yield from lines

    reader = csv.reader(numbered(), delimiter=mark, skipinitialspace=True)
    try:
        for cells in reader:
            if any(map(str.strip, cells)) and not cells[0].startswith("#"):
                yield skipped + reader.line_num, cells
    except csv.Error as error:
        raise FileError(f"the row cannot be taken apart ({error})",
                        where=f"{path.name}, row {skipped + reader.line_num}",
                        todo="Look for a quotation mark that is never closed",
                        ) from error  # fmt: skip


def read_weather_csv(
    path: Path | str, *, today: date, on_bad: OnBad = "skip", date_order: DateOrder | None = None
) -> WeatherFile:
    """Read a daily weather table; it is never held as a whole.

    Parameters
    ----------
    path : path
    today : date
        Rows after it are forecasts.
    on_bad : {"skip", "refuse"}
        Leave bad rows out and list them, or take nothing when one is bad.
    date_order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means, when the file does not show it.

    Returns
    -------
    WeatherFile

    Raises
    ------
    FileError
        When the file as a whole cannot be read: see ``docs/weather-files.md``.
    TextError
        When it must be asked whether day or month comes first.
    """
    path = Path(path)
    encoding, notes = encoding_of(path)
    rows = rows_of(path, encoding)
    number, cells = next(rows, (1, []))
    try:
        columns, passed = read_headers(cells)
    except FileError as error:
        raise error.at(f"{path.name}, row {number}") from None
    gathering = Gathering(path, today)
    gathering.notes += notes
    if passed:
        gathering.notes.append(f"Columns passed over: {', '.join(passed)[:200]}")
    table = _Table(gathering, columns, len(cells))
    table.order = date_order or _order(path, encoding, table.date_place)
    for row, cells in rows:
        try:
            table.take(row, cells, today)
        except TextError as error:
            gathering.refuse(row, error.what, error.allowed, error.todo)
    table.check_units()
    return gathering.finish(on_bad)


def _order(path: Path, encoding: str, place: int) -> DateOrder | None:
    """Find the order of day and month by a first walk through the dates, when it is needed.

    Raises
    ------
    TextError
        When the dates leave it open.
    """

    def dates() -> Iterator[tuple[int, str]]:
        for row, cells in islice(rows_of(path, encoding), 1, None):
            if len(cells) > place:
                yield row, cells[place]

    row, first = next(dates(), (0, ""))
    if not is_slashed(first):
        return None
    order = order_of(text for _, text in dates())
    if order is None:
        raise ask(first).at(f"{path.name}, row {row}")
    return order


class _Table:
    """One table while it is read: its columns, and what is counted on the way."""

    def __init__(self, gathering: Gathering, columns: dict[int, Column], width: int) -> None:
        self._gathering = gathering
        self._width = width
        self.order: DateOrder | None = None
        self.date_place = next(at for at, c in columns.items() if c.field == "date")
        self._kind_place = next((at for at, c in columns.items() if c.field == "kind"), None)
        self._values = {at: c for at, c in columns.items() if c.field not in ("date", "kind")}
        self._counted = dict.fromkeys(_TEMPERATURES, 0)
        self._hot = dict.fromkeys(_TEMPERATURES, 0)

    def take(self, row: int, cells: Sequence[str], today: date) -> None:
        """Take one row.

        Raises
        ------
        TextError
            When a cell cannot be read, or there are more cells than headers.
        """
        if len(cells) > self._width and any(cells[self._width :]):
            raise TextError(f"the row has {len(cells)} cells under {self._width} headers",
                            allowed="one cell for each header",
                            todo="With decimal commas, part the cells by semicolons",
                            )  # fmt: skip
        if len(cells) <= self.date_place:
            raise TextError("the row has no date", todo="Add the date or remove the row")
        on = read_date(cells[self.date_place], self.order, today)
        values = {
            column.field: self._value(row, column, cells[at]) if at < len(cells) else nan
            for at, column in self._values.items()
        }
        self._gathering.add(row, on, values, self._origin(cells))

    def _value(self, row: int, column: Column, text: str) -> float:
        text = text.strip()
        if text.casefold() in _UNKNOWN:
            return nan
        if column.field == "rain_mm" and text.casefold() in ("t", "trace"):
            return 0.0
        try:
            value = parse_number(text)
        except TextError as error:
            raise TextError(f"{column.field}: {error.what}", allowed=error.allowed,
                            todo=error.todo) from None  # fmt: skip
        if value in MISSING_MARKS:
            self._gathering.refuse(row, f"{column.field} is {text}, which stands for not read",
                                   "an empty cell", "The value is left unknown")  # fmt: skip
            return nan
        if column.field in _TEMPERATURES and not column.unit:
            self._counted[column.field] += 1
            self._hot[column.field] += _HOT[0] < value <= _HOT[1]
        return value * column.factor + column.shift

    def _origin(self, cells: Sequence[str]) -> Origin | None:
        if self._kind_place is None or self._kind_place >= len(cells):
            return None
        word = cells[self._kind_place].strip().casefold()
        if word not in _KINDS:
            raise TextError(
                f"kind is {word!r}", allowed="read, bench or forecast", todo="Mend or empty it"
            )
        return _KINDS[word]

    def check_units(self) -> None:
        """Refuse the file when a column without a unit reads like Fahrenheit.

        Raises
        ------
        FileError
            When three values and one in twenty lie above 60.
        """
        for field, hot in self._hot.items():
            if hot >= 3 and hot * 20 >= self._counted[field]:
                raise FileError(
                    f"{hot} of {self._counted[field]} values of {field} are above 60: they look "
                    "like °F; nothing was taken",
                    where=self._gathering.file, allowed="-60 to 60 °C",
                    todo="Write the unit in the header, as in 't_max (°F)'",
                )  # fmt: skip
