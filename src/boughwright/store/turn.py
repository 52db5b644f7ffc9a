"""One turn at writing: what is read and written in it is one transaction."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import insert

from boughwright.errors import StoreError
from boughwright.store import schema
from boughwright.store.layout import EVENT_COLUMNS, Row
from boughwright.store.queries import Queries
from boughwright.store.rows import event_row, same_event

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sqlalchemy import Connection

    from boughwright.journal.events import Event
    from boughwright.store.layout import KeptLine


class Turn(Queries):
    """The journal while nobody else can write to it; see `boughwright.store.book.Book.turn`."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def append(self, events: Iterable[Event]) -> int:
        """Write events; see `boughwright.store.book.Book.append`."""
        return self.append_rows(rows_once(events))

    def append_rows(self, rows: dict[str, Row]) -> int:
        """Write events given as rows by their ids; return how many were new.

        Raises
        ------
        StoreError
            When an id is already used by another event.
        """
        known = self.raw_with(list(rows))
        for id_, kept in known.items():
            if not same_event(kept, rows[id_]):
                raise _two_of(id_)
        new = [_values(row) for id_, row in rows.items() if id_ not in known]
        if new:
            self._connection.execute(insert(schema.event), new)
        return len(new)

    def keep_line(self, line: KeptLine) -> None:
        """Keep what became of a line; one with this id must not be there yet."""
        ids = {"id": line.id, "after_line": line.after_line, "withdraws": line.withdraws}
        values = asdict(line) | {name: value and UUID(value) for name, value in ids.items()}
        values["on_day"] = date.fromisoformat(line.on_day)
        values["recorded"] = datetime.fromisoformat(line.recorded)
        self._connection.execute(insert(schema.line), values)

    def _all(self, query: str, *values: Any) -> list[Any]:
        return [tuple(row) for row in self._connection.exec_driver_sql(query, values).fetchall()]


def rows_once(events: Iterable[Event]) -> dict[str, Row]:
    """Return events as rows by their ids, each once.

    Raises
    ------
    StoreError
        When one id comes with two contents, or a value cannot be written.
    """
    rows: dict[str, Row] = {}
    for given in events:
        row = event_row(given)
        if not same_event(rows.setdefault(row[1], row), row):
            raise _two_of(row[1])
    return rows


def _two_of(id_: str) -> StoreError:
    return StoreError(f"the event {id_} is already there and says something else",
                      allowed="a new id for a new event",
                      todo="Withdraw the old event and enter the new one afresh")  # fmt: skip


def _values(row: Row) -> dict[str, Any]:
    """Return a stored row as column values, without the ``seq`` that the book gives."""
    named: dict[str, Any] = dict(zip(EVENT_COLUMNS[1:], row[1:], strict=True))
    return named | {
        "id": UUID(named["id"]),
        "on_day": date.fromisoformat(named["on_day"]),
        "recorded": datetime.fromisoformat(named["recorded"]),
    }
