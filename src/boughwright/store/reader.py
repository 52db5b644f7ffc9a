"""The book open for reading only, on Python's own sqlite3: quick to start, unable to write.

Every method answers exactly as the one of the same name in `boughwright.store.book.Book`.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from boughwright.store.faults import connect_to_read, require_book, told
from boughwright.store.layout import EVENT_COLUMNS, WEATHER_FIELDS, Row
from boughwright.store.rows import day_span, row_event, weather_of

if TYPE_CHECKING:
    import sqlite3
    from datetime import date
    from types import TracebackType

    from boughwright.journal.events import Event
    from boughwright.season.record import Weather

_EVENTS = f"SELECT {', '.join(EVENT_COLUMNS)} FROM event"  # noqa: S608 - our own column names
_DAYS = (
    f"SELECT on_day, origin, {', '.join(WEATHER_FIELDS)} FROM weather_day "  # noqa: S608
    "WHERE station = ? AND on_day BETWEEN ? AND ?"
)


class Reader:
    """A book open for reading. Use it in a ``with`` block."""

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

    def events(self, tree: str | None = None, after_seq: int | None = None) -> list[Event]:
        """Return events in the order they arrived, of one tree or after a position."""
        return [row_event(row) for row in self.raw_events(tree, after_seq)]

    def raw_events(self, tree: str | None = None, after_seq: int | None = None) -> list[Row]:
        """Return the stored rows of `events`, undecoded."""
        wanted = {"tree = ?": tree, "seq > ?": after_seq}
        wanted = {words: value for words, value in wanted.items() if value is not None}
        where = f" WHERE {' AND '.join(wanted)}" if wanted else ""
        return self._all(f"{_EVENTS}{where} ORDER BY seq", *wanted.values())

    def trees(self) -> list[str]:
        """Return the lasting identities of all trees with an event, sorted."""
        rows = self._all("SELECT DISTINCT tree FROM event WHERE tree IS NOT NULL ORDER BY tree")
        return [tree for (tree,) in rows]

    def position(self) -> int:
        """Return the ``seq`` of the latest event, 0 without any."""
        return int(self._all("SELECT max(seq) FROM event")[0][0] or 0)

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

    def weather_count(self) -> int:
        """Return a number that grows whenever a weather day is added or changed."""
        rows = self._all("SELECT value FROM meta WHERE key = 'weather_count'")
        return int(rows[0][0]) if rows else 0

    def _all(self, query: str, *values: Any) -> list[Any]:
        with told(self.path):
            return self._connection.execute(query, values).fetchall()
