"""The book open for reading only, on Python's own sqlite3: quick to start, unable to write.

Every method that `boughwright.store.book.Book` has too answers exactly as it does there.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from boughwright.store.faults import connect_to_read, require_book, told
from boughwright.store.layout import WEATHER_FIELDS
from boughwright.store.queries import Queries
from boughwright.store.rows import day_span, weather_of

if TYPE_CHECKING:
    import sqlite3
    from datetime import date
    from types import TracebackType

    from boughwright.season.record import Weather

_DAYS = (
    f"SELECT on_day, origin, {', '.join(WEATHER_FIELDS)} FROM weather_day "  # noqa: S608
    "WHERE station = ? AND on_day BETWEEN ? AND ?"
)


class Reader(Queries):
    """A book open for reading. Use it in a ``with`` block; threads may share it, one at a time."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    @classmethod
    def open(cls, path: Path | str) -> Self:
        """Open a book for reading. One of an older layout is brought up to date first.

        Raises
        ------
        StoreError
            When there is no book, or it is foreign, broken or newer than this program.
        """
        path = Path(path)
        if not require_book(path).current:
            # The writing side is slow to import and hardly ever needed here.
            from boughwright.store.book import Book  # noqa: PLC0415

            Book.open(path).close()
        with told(path):
            return cls(path, connect_to_read(path))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the book."""
        self._connection.close()

    def trees(self) -> list[str]:
        """Return the lasting identities of all trees with an event, sorted."""
        rows = self._all("SELECT DISTINCT tree FROM event WHERE tree IS NOT NULL ORDER BY tree")
        return [tree for (tree,) in rows]

    def data_version(self) -> int:
        """Return a number that changes when anything in the book was written by anyone."""
        return int(self._all("PRAGMA data_version")[0][0])

    def weather(
        self, station: str, first: date | None = None, last: date | None = None
    ) -> Weather | None:
        """Return the weather of a station, one value a day; None when it has no day."""
        if first is None or last is None:
            query = "SELECT min(on_day), max(on_day) FROM weather_day WHERE station = ?"
            span = day_span(self._all(query, station))
            if span is None:
                return None
            first, last = first or span[0], last or span[1]
        rows = self._all(_DAYS, station, first.isoformat(), last.isoformat())
        return weather_of(station, rows, first, last)

    def stations(self) -> list[str]:
        """Return the names of all stations with a day, sorted."""
        rows = self._all("SELECT DISTINCT station FROM weather_day ORDER BY station")
        return [station for (station,) in rows]

    def _all(self, query: str, *values: Any) -> list[Any]:
        with told(self.path):
            return self._connection.execute(query, values).fetchall()
