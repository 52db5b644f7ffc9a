"""The book: the one file that holds a grower's journal and weather, open for writing.

What has been acknowledged is on the disk: `Book.append` and `Book.put_weather` return only after
the commit has been synced. Commands that only read use `boughwright.store.reader`, which answers
the same and starts faster.
"""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import URL, create_engine, delete, func, insert, select, update
from sqlalchemy import event as hooks
from sqlalchemy.exc import DBAPIError

from boughwright.store import schema
from boughwright.store.backup import copy_beside
from boughwright.store.faults import explain, look_at, require_book, told
from boughwright.store.layout import BUSY_S, WEATHER_FIELDS, Row, WeatherPut
from boughwright.store.rows import (
    moment_text,
    origin_word,
    reading_values,
    row_event,
    weather_of,
)
from boughwright.store.turn import Turn, rows_once

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import date
    from types import TracebackType

    from sqlalchemy import Connection, Engine, Select

    from boughwright.journal.events import Event
    from boughwright.season.record import Weather
    from boughwright.store.rows import DayReading

_WEATHER_COUNT = "weather_count"


def _engine(path: Path) -> Engine:
    engine = create_engine(
        URL.create("sqlite", database=str(path)), connect_args={"timeout": BUSY_S}
    )

    @hooks.listens_for(engine, "connect")
    def _set_up(connection: Any, _record: Any) -> None:
        # Python's driver must not begin transactions of its own: `_begin` does.
        connection.isolation_level = None
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            connection.execute(f"PRAGMA {pragma}")

    @hooks.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A writer takes its turn at once: starting as a reader, two could block each other.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


class Book:
    """An open book. Use it in a ``with`` block; threads may share it.

    Its reading methods answer exactly as those of `boughwright.store.reader.Reader`.
    """

    def __init__(self, path: Path, engine: Engine) -> None:
        self.path = path
        self._engine = engine

    @classmethod
    def open(cls, path: Path | str, *, create: bool = False) -> Self:
        """Open a book, bringing an older layout up to date after a copy is made beside it.

        Parameters
        ----------
        path : path
        create : bool
            Make the book when there is none, or when its making was once cut short.

        Raises
        ------
        StoreError
            When there is no book, it is foreign, broken, newer than this program or cannot be
            written.
        """
        path = Path(path)
        look = look_at(path) if create else require_book(path)
        if not look.blank and not look.current:
            copy_beside(path, f"before-upgrade-{look.revision}")
        book = cls(path, _engine(path))
        try:
            if not look.current:
                book._bring_up_to_date()
            book.position()
        except BaseException:
            book.close()
            raise
        return book

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
        """Close the book; it can be opened again."""
        self._engine.dispose()

    # ---- journal

    def append(self, events: Iterable[Event]) -> int:
        """Write events: all of them or none. One that is already there is passed over.

        Parameters
        ----------
        events : iterable of Event

        Returns
        -------
        int
            How many were new. They are on the disk when this returns.

        Raises
        ------
        StoreError
            When an id is already used by another event, a value cannot be written, or the disk
            refuses. Nothing is written then.
        """
        rows = rows_once(events)
        if not rows:
            return 0
        with self.turn() as turn:
            return turn.append_rows(rows)

    @contextmanager
    def turn(self) -> Iterator[Turn]:
        """Take one turn at writing: what is read and written inside is one transaction.

        Other writers wait. All of it is on the disk when the block ends; none of it when the
        block raises.

        Raises
        ------
        StoreError
            When the book cannot be written.
        """
        with self._writing() as connection:
            yield Turn(connection)

    def events(self, tree: str | None = None, after_seq: int | None = None) -> list[Event]:
        """Return events in the order they arrived.

        Parameters
        ----------
        tree : str, optional
            Only those of this tree.
        after_seq : int, optional
            Only those that arrived after this position.
        """
        return [row_event(row) for row in self.raw_events(tree, after_seq)]

    def raw_events(self, tree: str | None = None, after_seq: int | None = None) -> list[Row]:
        """Return the stored rows of `events`, undecoded."""
        query = select(schema.event).order_by(schema.event.c.seq)
        if tree is not None:
            query = query.where(schema.event.c.tree == tree)
        if after_seq is not None:
            query = query.where(schema.event.c.seq > after_seq)
        with self._reading() as connection:
            return _event_rows(connection, query)

    def trees(self) -> list[str]:
        """Return the lasting identities of all trees with an event, sorted."""
        column = schema.event.c.tree
        query = select(column).where(column.is_not(None)).distinct().order_by(column)
        with self._reading() as connection:
            return list(connection.scalars(query))

    def position(self) -> int:
        """Return the ``seq`` of the latest event, 0 without any."""
        with self._reading() as connection:
            return connection.scalar(select(func.max(schema.event.c.seq))) or 0

    # ---- weather

    def put_weather(
        self, station: str, days: Iterable[DayReading], *, file: str = ""
    ) -> WeatherPut:
        """Write weather days: all or none. Values that are there are replaced, others kept.

        An unknown value never replaces a known one.

        Parameters
        ----------
        station : str
        days : iterable of DayReading
            Of the same day and origin twice, the last counts.
        file : str
            Where they come from, for the record.

        Returns
        -------
        WeatherPut
            Days that are new, changed and the same as before.
        """
        given = {(day.on, origin_word(day.origin)): reading_values(day) for day in days}
        table = schema.weather_day
        with self._writing() as connection:
            kept: dict[tuple[date, str], tuple[float | None, ...]] = {}
            if given:
                span = table.c.on_day.between(
                    min(on for on, _ in given), max(on for on, _ in given)
                )
                query = select(table).where(table.c.station == station, span)
                kept = {(r.on_day, r.origin): tuple(r[3:-1]) for r in connection.execute(query)}
            # An empty cell never wipes a reading that is there.
            given = {key: _over(kept.get(key), values) for key, values in given.items()}
            new = {key: values for key, values in given.items() if key not in kept}
            changed = {k: v for k, v in given.items() if k in kept and kept[k] != v}
            for on, origin in changed:
                row = (table.c.station == station, table.c.on_day == on, table.c.origin == origin)
                connection.execute(delete(table).where(*row))
            fresh = [_weather_values(station, k, v, file) for k, v in (new | changed).items()]
            if fresh:
                connection.execute(insert(table), fresh)
                self._count_weather(connection)
        return WeatherPut(len(new), len(changed), len(given) - len(new) - len(changed))

    def weather(
        self, station: str, first: date | None = None, last: date | None = None
    ) -> Weather | None:
        """Return the weather of a station, one value a day without gaps in the days.

        Parameters
        ----------
        station : str
        first, last : date, optional
            Left out: the first and last day that is kept.

        Returns
        -------
        Weather or None
            nan where unknown; see `boughwright.store.rows.weather_of`. None when the station
            has no day and a bound is left out.
        """
        table = schema.weather_day
        with self._reading() as connection:
            if first is None or last is None:
                query = select(func.min(table.c.on_day), func.max(table.c.on_day))
                span = connection.execute(query.where(table.c.station == station)).one()
                if span[0] is None:
                    return None
                first, last = first or span[0], last or span[1]
            days = select(
                table.c.on_day, table.c.origin, *(table.c[name] for name in WEATHER_FIELDS)
            ).where(table.c.station == station, table.c.on_day.between(first, last))
            rows = [(row[0].isoformat(), *row[1:]) for row in connection.execute(days)]
        return weather_of(station, rows, first, last)

    def stations(self) -> list[str]:
        """Return the names of all stations with a day, sorted."""
        column = schema.weather_day.c.station
        with self._reading() as connection:
            return list(connection.scalars(select(column).distinct().order_by(column)))

    def weather_count(self) -> int:
        """Return a number that grows whenever a weather day is added or changed."""
        query = select(schema.meta.c.value).where(schema.meta.c.key == _WEATHER_COUNT)
        with self._reading() as connection:
            return int(connection.scalar(query) or 0)

    # ---- within

    def _bring_up_to_date(self) -> None:
        from boughwright.store.migrate import upgrade  # noqa: PLC0415 - costs 0.1 s, seldom needed

        with self._writing() as connection:
            upgrade(connection)

    def _count_weather(self, connection: Connection) -> None:
        table = schema.meta
        here = table.c.key == _WEATHER_COUNT
        value = connection.scalar(select(table.c.value).where(here))
        if value is None:
            connection.execute(insert(table).values(key=_WEATHER_COUNT, value="1"))
        else:
            connection.execute(update(table).where(here).values(value=str(int(value) + 1)))

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with self._told(), self._engine.connect() as connection:
            writer = connection.execution_options(writes=True)
            with writer.begin():
                yield writer

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._told(), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            with told(self.path):
                yield
        except DBAPIError as error:
            raise explain(self.path, error.orig or error) from error


def _event_rows(connection: Connection, query: Select[Any]) -> list[Row]:
    return [
        (r.seq, str(r.id), r.kind, r.version, r.tree, r.branch, r.on_day.isoformat(), r.who,
         moment_text(r.recorded), r.body)
        for r in connection.execute(query)
    ]  # fmt: skip


def _weather_values(
    station: str, key: tuple[date, str], values: tuple[float | None, ...], file: str
) -> dict[str, Any]:
    on, origin = key
    named = dict(zip(WEATHER_FIELDS, values, strict=True))
    return {"station": station, "on_day": on, "origin": origin, "file": file} | named


def _over(
    kept: tuple[float | None, ...] | None, given: tuple[float | None, ...]
) -> tuple[float | None, ...]:
    """Return given values over those kept; unknown ones leave what is there."""
    if kept is None:
        return given
    return tuple(old if new is None else new for old, new in zip(kept, given, strict=True))
