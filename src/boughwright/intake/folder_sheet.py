"""One table of a garden folder while it is read: rows with their values by column."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from boughwright.errors import FileError, TextError
from boughwright.intake.tables import Line, encoding, read_header, rows_of
from boughwright.intake.tables_cells import is_blank, read_cell
from boughwright.intake.tables_problems import Problem
from boughwright.intake.weather_dates import is_slashed, order_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from boughwright.intake.folder_gather import Gathering
    from boughwright.intake.tables import Header
    from boughwright.intake.tables_cells import Value
    from boughwright.intake.weather_dates import DateOrder
    from boughwright.journal.columns import Table


@dataclass(slots=True)
class RowRead:
    """One row: values of the cells that say something, and the columns that could not be read."""

    file: str
    line: Line
    values: dict[str, Value] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)
    made: int = 0
    """How many records it has given."""

    @property
    def number(self) -> int:
        """Row of the file."""
        return self.line.number

    def text(self, name: str) -> str:
        """Return a value as text, empty when it is not there."""
        value = self.values.get(name)
        return value if isinstance(value, str) else ""

    def column_of(self, what: str) -> str:
        """Return the column that a sentence about this row begins with."""
        word = what.split(" ", 1)[0]
        if word in self.values:
            return word
        return "value" if "value" in self.values else ""


class Sheet:
    """A table file: opened, its header read, its order of day and month found.

    Every fault of the file and of its cells is listed in the gathering; nothing is raised.
    """

    def __init__(self, path: Path, table: Table, gathering: Gathering) -> None:
        self.file = path.name
        self._path, self._table, self._gathering = path, table, gathering
        self._encoding = ""
        self._header: Header | None = None
        self._order: DateOrder | None = None
        try:
            self._open()
        except FileError as error:
            self._header = None
            gathering.refuse_file(self.file, error, row=0)

    @property
    def names(self) -> frozenset[str]:
        """Columns that the file has."""
        return frozenset() if self._header is None else self._header.names

    def rows(self, *, only: frozenset[str] | None = None, quiet: bool = False) -> Iterator[RowRead]:
        """Give the rows.

        Parameters
        ----------
        only : frozenset of str, optional
            Read these columns and leave the others out.
        quiet : bool
            List no problems, for a first walk through the file.
        """
        if self._header is None:
            return
        kept = len(self._gathering.problems)
        for line in self._lines(quiet=quiet):
            row = self._row(line, self._header, only)
            if quiet:
                del self._gathering.problems[kept:]
            if row is not None:
                yield row
            kept = len(self._gathering.problems)

    def _open(self) -> None:
        self._encoding, notes = encoding(self._path, self._table.row)
        self._gathering.notes += [f"{self.file}: {note}" for note in notes]
        first = next(rows_of(self._path, self._encoding), None)
        if not isinstance(first, Line):
            raise FileError("the header cannot be read", todo="Write a header in the first row")
        header = read_header(first.cells, self._table)
        if header.passed:
            self._gathering.notes.append(
                f"{self.file}: columns not taken: {', '.join(header.passed)}"
            )
        for column, what, allowed in header.faults:
            self._gathering.problems.append(
                Problem(self.file, first.number, column, what, allowed,
                        "Change the unit in the header", line=str(first))
            )  # fmt: skip
        self._header = header
        self._order = self._gathering.date_order or self._find_order(header)

    def _find_order(self, header: Header) -> DateOrder | None:
        places = [at for at, column in header.columns.items() if column.kind == "date"]
        if not places:
            return None
        slashed = (
            line.cells[at]
            for line in self._lines(quiet=True)
            for at in places
            if at < len(line.cells) and is_slashed(line.cells[at])
        )
        return order_of(slashed)

    def _lines(self, *, quiet: bool) -> Iterator[Line]:
        rows = rows_of(self._path, self._encoding)
        next(rows, None)
        try:
            for one in rows:
                if isinstance(one, Line):
                    yield one
                elif not quiet:
                    self._gathering.problems.append(
                        Problem(self.file, one.number, "",
                                f"the row cannot be taken apart ({one.why})",
                                todo="Look for a quotation mark that is never closed",
                                line=one.line)
                    )  # fmt: skip
        except FileError as error:
            if not quiet:
                self._gathering.refuse_file(self.file, error)

    def _row(self, line: Line, header: Header, only: frozenset[str] | None) -> RowRead | None:
        row = RowRead(self.file, line)
        gathering = self._gathering
        if any(cell.strip() for cell in line.cells[header.width :]):
            gathering.refuse(row, "", f"the row has {len(line.cells)} cells under {header.width} "
                             "headers", "one cell for each header",
                             "With decimal commas, part the cells by semicolons")  # fmt: skip
            return None
        for at, column in header.columns.items():
            text = line.cells[at] if at < len(line.cells) else ""
            if is_blank(text, column) or (only is not None and column.name not in only):
                continue
            unit = header.units[at] or (gathering.units if column.unit == "mm" else "")
            try:
                row.values[column.name] = read_cell(
                    text, column, unit=unit, order=self._order, today=gathering.today
                )
                row.units[column.name] = header.units[at]
            except TextError as error:
                row.bad.add(column.name)
                gathering.refuse_error(row, column.name, error)
        return row
