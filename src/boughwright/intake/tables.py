"""Rows of a plain table as people really save it: any separator, encoding, spelling or unit."""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from boughwright.errors import FileError
from boughwright.intake.weather_text import encoding_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from boughwright.journal.columns import Table
    from boughwright.journal.fields import Field

MAX_LINE = 1_000_000
"""The longest line, in characters."""

MAX_TORN = 100
"""So many rows that cannot be taken apart, and the rest of the file is given up."""

_GZIP = b"\x1f\x8b"
_SHARED_WORDS: Mapping[str, str] = {
    "date": "on", "day": "on", "tree name": "tree", "branch name": "branch", "note": "because",
    "reason": "because", "by": "who",
}  # fmt: skip
_LENGTH_UNITS: Mapping[str, str] = {
    "mm": "mm", "millimetres": "mm", "millimeters": "mm", "cm": "cm", "m": "m", "in": "in",
    "inch": "in", "inches": "in", '"': "in",
}  # fmt: skip
_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")


@dataclass(frozen=True, slots=True)
class Torn:
    """A row that could not be taken apart."""

    number: int
    why: str
    line: str


@dataclass(frozen=True, slots=True)
class Line:
    """A row taken apart, with the number of its first line in the file."""

    number: int
    cells: list[str]

    def __str__(self) -> str:
        """Return the row as it would be written with commas."""
        out = io.StringIO()
        csv.writer(out, lineterminator="").writerow(self.cells)
        return out.getvalue()


@dataclass(frozen=True, slots=True)
class Header:
    """What the columns of a file are.

    ``columns`` and ``units`` by place; a unit is empty when the header names none. ``passed`` are
    headers that were not understood, ``faults`` columns left out with the reason and what is
    allowed.
    """

    columns: Mapping[int, Field]
    units: Mapping[int, str]
    width: int
    passed: tuple[str, ...] = ()
    faults: tuple[tuple[str, str, str], ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """Names of the columns that are there."""
        return frozenset(column.name for column in self.columns.values())


# --- lines ---------------------------------------------------------------------------------------


def encoding(path: Path, row: str) -> tuple[str, list[str]]:
    """Find a table's encoding; ``row`` says what one row is, for the message on an empty file.

    Raises
    ------
    FileError
        When it is missing, empty, too large, packed, not text or in another encoding.
    """
    try:
        with path.open("rb") as file:
            packed = file.read(2) == _GZIP
    except OSError:
        packed = False  # told better below
    if packed:
        raise FileError("the file is packed", allowed="CSV text in UTF-8", todo="Unpack it first")
    try:
        return encoding_of(path)
    except FileError as error:
        empty = "empty" in error.what
        allowed = f"a header and one row for each: {row}" if empty else error.allowed
        todo = "" if "larger" in error.what else error.todo
        raise FileError(error.what, allowed=allowed, todo=todo) from error


class _Lines:
    """Lines of a file that can be put back, with their numbers."""

    def __init__(self, text: io.TextIOWrapper) -> None:
        self._text = text
        self._back: deque[str] = deque()
        self.number = 0
        self.taken: list[str] = []

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        try:
            line = self._back.popleft() if self._back else self._text.readline(MAX_LINE + 1)
        except UnicodeError as error:
            raise FileError(f"the text breaks off or is damaged after line {self.number}",
                            todo="Save it as CSV in UTF-8") from error  # fmt: skip
        if not line:
            raise StopIteration
        if len(line) > MAX_LINE or "\x00" in line:
            fault = "is not text" if "\x00" in line else "is too long for a row"
            raise FileError(f"line {self.number + 1} {fault}", todo="Save it as CSV in UTF-8")
        self.number += 1
        self.taken.append(line)
        return line

    def put_back(self, keep: int) -> None:
        """Put back the lines taken for this row but the first few."""
        self._back.extendleft(reversed(self.taken[keep:]))
        self.number -= len(self.taken) - keep
        del self.taken[keep:]


def rows_of(path: Path, encoded: str) -> Iterator[Line | Torn]:
    """Give the rows of a table one by one, the header first; the file is never held as a whole.

    Blank lines, lines before the header that begin with ``#``, and the line ``sep=;`` are passed
    over. The header tells what parts the cells: a semicolon, a tab or a comma. A row whose
    quotation mark is never closed comes as `Torn`, and reading goes on in the next line.

    Raises
    ------
    FileError
        When a line is not text, or too many rows are torn.
    """
    with path.open(encoding=encoded, newline="") as text:
        lines = _Lines(text)
        mark = _find_header(lines)
        if mark is None:
            return
        torn = 0
        while True:
            lines.taken.clear()
            start = lines.number + 1
            try:
                cells = next(csv.reader(lines, delimiter=mark, strict=True), None)
            except csv.Error as error:
                lines.put_back(1)
                torn += 1
                yield Torn(start, str(error), lines.taken[0].rstrip("\r\n"))
                if torn >= MAX_TORN:
                    raise FileError(
                        f"{torn} rows up to row {start} cannot be taken apart; the rest is left",
                        todo="Look for quotation marks that are never closed",
                    ) from error
                continue
            if cells is None:
                return
            if any(map(str.strip, cells)):
                yield Line(start, cells)


def _find_header(lines: _Lines) -> str | None:
    """Pass over what stands before the header and return what parts the cells."""
    mark = ""
    for line in lines:
        sep = line.strip().strip('"').casefold()
        if sep.startswith("sep=") and len(sep) <= 5:
            mark = sep[4:] or "\t"
        elif sep.strip(";,\t ") and not sep.startswith("#"):
            lines.taken[:] = [line]
            lines.put_back(0)
            return mark or next((one for one in (";", "\t") if one in line), ",")
    return None


# --- headers -------------------------------------------------------------------------------------


def _squeezed(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.casefold())


@dataclass(slots=True)
class _Words:
    """Every spelling of the columns of one table."""

    exact: dict[str, Field] = field(default_factory=dict)
    bare: dict[str, Field] = field(default_factory=dict)


def _words_of(table: Table) -> _Words:
    words = _Words()
    for column in table.columns:
        words.exact.setdefault(_squeezed(column.name), column)
        stem = column.name.rpartition("_")[0]
        if stem and column.unit:
            words.bare.setdefault(_squeezed(stem), column)
    for spelled, name in {**_SHARED_WORDS, **table.same}.items():
        known = table.column(name)
        if known is not None:
            words.exact.setdefault(_squeezed(spelled), known)
    return words


def read_header(cells: Sequence[str], table: Table) -> Header:
    """Return what the columns of a file are; case, spaces, hyphens and units are forgiven.

    Raises
    ------
    FileError
        When no column is known, a needed one is missing, or two hold the same value.
    """
    words = _words_of(table)
    columns: dict[int, Field] = {}
    units: dict[int, str] = {}
    passed: list[str] = []
    faults: list[tuple[str, str, str]] = []
    for place, cell in enumerate(cells):
        text = cell.strip().lstrip("\ufeff")
        column, unit = _read_one(text, words)
        if column is None:
            passed += [_with_hint(text, words)] if text else []
        elif unit is None:
            faults.append((column.name, f"the header {text!r} has a unit that is not known",
                           "mm, cm or in" if column.unit == "mm" else column.unit or "no unit"),
                          )  # fmt: skip
        else:
            twin = next((at for at, one in columns.items() if one is column), None)
            if twin is not None:
                raise FileError(f"the columns {cells[twin].strip()!r} and {text!r} hold the same",
                                allowed="one column for each value",
                                todo="Remove or rename one of them")  # fmt: skip
            columns[place], units[place] = column, unit
    _demand(table, {one.name for one in columns.values()}, cells)
    return Header(columns, units, len(cells), tuple(passed), tuple(faults))


def _demand(table: Table, there: set[str], cells: Sequence[str]) -> None:
    lacking = [name for name in table.needs if name not in there]
    if not there or lacking:
        what = f"no column {lacking[0]}" if there else "no column that is known"
        raise FileError(f"the first row has {what}: {', '.join(cells)[:120]!r}",
                        allowed=", ".join(column.name for column in table.columns),
                        todo="Write a header in the first row")  # fmt: skip


def _read_one(text: str, words: _Words) -> tuple[Field | None, str | None]:
    """Return a header's column and unit; the unit is None when it is not one of the column's."""
    bracket = _BRACKETS.search(text)
    bare = _BRACKETS.sub(" ", text)
    name = _squeezed(bare)
    column = words.exact.get(name) or words.bare.get(name)
    if column is not None:
        if bracket is not None and bracket[1].strip():
            return column, _unit_of(bracket[1], column)
        return column, column.unit if name == _squeezed(column.name) else ""
    parts = bare.replace("_", " ").replace("-", " ").split()
    if len(parts) > 1:
        name = _squeezed(" ".join(parts[:-1]))
        column = words.bare.get(name) or words.exact.get(name)
        unit = None if column is None else _unit_of(parts[-1], column)
        if unit:
            return column, unit
    return None, None


def _unit_of(text: str, column: Field) -> str | None:
    word = text.strip().casefold()
    if column.unit == "mm" or column.kind == "reading":
        return _LENGTH_UNITS.get(word)
    same = word.replace("°", "") == column.unit.casefold().replace("°", "")
    return column.unit if same else None


def _with_hint(text: str, words: _Words) -> str:
    near = difflib.get_close_matches(_squeezed(text), words.exact, n=1, cutoff=0.8)
    return f"{text} (perhaps {words.exact[near[0]].name})" if near else text
