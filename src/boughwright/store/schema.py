"""The tables of a book, in SQLAlchemy Core, portable to PostgreSQL.

On SQLite every table is STRICT: a word in a number column is refused by the book itself. Days,
moments and ids are then kept as ISO text, which sorts as they do.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from sqlalchemy import (
    REAL,
    BigInteger,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Double,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
    Uuid,
)

from boughwright.errors import StoreError
from boughwright.store.layout import ORIGIN_WORDS, WEATHER_FIELDS
from boughwright.store.rows import moment_text

if TYPE_CHECKING:
    from sqlalchemy.engine.interfaces import Dialect
    from sqlalchemy.types import TypeEngine


class DayText(TypeDecorator[date]):
    """A calendar day: ISO text on SQLite, DATE elsewhere."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Choose the column type."""
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else Date())

    def process_bind_param(self, value: date | None, dialect: Dialect) -> Any:
        """Write a day; a moment is refused, for its day depends on where one stands."""
        if isinstance(value, datetime):
            raise StoreError(f"{value.isoformat()} is a moment", allowed="a day",
                             todo="Give the day alone")  # fmt: skip
        return value.isoformat() if value is not None and dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> date | None:
        """Read a day."""
        return date.fromisoformat(value) if isinstance(value, str) else value


class MomentText(TypeDecorator[datetime]):
    """A moment in UTC: ISO text on SQLite, TIMESTAMP WITH TIME ZONE elsewhere."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Choose the column type."""
        kind = Text() if dialect.name == "sqlite" else DateTime(timezone=True)
        return dialect.type_descriptor(kind)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Write a moment; one without a time zone is refused."""
        if value is None:
            return None
        text = moment_text(value)
        return text if dialect.name == "sqlite" else value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Read a moment, in UTC."""
        moment = datetime.fromisoformat(value) if isinstance(value, str) else value
        return None if moment is None else moment.astimezone(UTC)


class IdText(TypeDecorator[UUID]):
    """A UUID: its dashed text on SQLite, the native type elsewhere."""

    impl = Text
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Choose the column type."""
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else Uuid())

    def process_bind_param(self, value: UUID | None, dialect: Dialect) -> Any:
        """Write an id."""
        return str(value) if value is not None and dialect.name == "sqlite" else value

    def process_result_value(self, value: Any, dialect: Dialect) -> UUID | None:
        """Read an id."""
        return UUID(value) if isinstance(value, str) else value


def number() -> TypeEngine[float]:
    """Return a float column type of eight bytes on either database."""
    return Double().with_variant(REAL(), "sqlite")


def counter() -> TypeEngine[int]:
    """Return a counter type that SQLite can number by itself."""
    return BigInteger().with_variant(Integer(), "sqlite")


metadata = MetaData()

event = Table(
    "event",
    metadata,
    Column("seq", counter(), primary_key=True, autoincrement=True),
    Column("id", IdText(), nullable=False),
    Column("kind", Text(), nullable=False),
    Column("version", Integer(), nullable=False),
    Column("tree", Text()),
    Column("branch", Text()),
    Column("on_day", DayText(), nullable=False),
    Column("who", Text(), nullable=False),
    Column("recorded", MomentText(), nullable=False),
    Column("body", Text(), nullable=False),
    UniqueConstraint("id", name="event_id_once"),
    CheckConstraint("branch IS NULL OR tree IS NOT NULL", name="event_branch_has_tree"),
    Index("event_by_tree", "tree", "seq"),
    Index("event_by_kind", "kind", "tree"),
    Index("event_last_said", "recorded", "id", "who", "tree"),
    sqlite_autoincrement=True,
    sqlite_strict=True,
)
"""The journal. ``seq`` is the order of arrival in this book and nothing more."""

line = Table(
    "line",
    metadata,
    Column("id", IdText(), primary_key=True),
    Column("asked", Text(), nullable=False),
    Column("text", Text(), nullable=False),
    Column("after_line", IdText()),
    Column("withdraws", IdText()),
    Column("tree", Text()),
    Column("on_day", DayText(), nullable=False),
    Column("who", Text(), nullable=False),
    Column("recorded", MomentText(), nullable=False),
    Column("device", Text(), nullable=False),
    Column("answer", Text(), nullable=False),
    Index("line_by_withdraws", "withdraws"),
    sqlite_strict=True,
)
"""Lines that came under an id of their own, so that one sent again is known and answered alike."""

weather_day = Table(
    "weather_day",
    metadata,
    Column("station", Text(), nullable=False),
    Column("on_day", DayText(), nullable=False),
    Column("origin", Text(), nullable=False),
    *(Column(name, number()) for name in WEATHER_FIELDS),
    Column("file", Text(), nullable=False),
    PrimaryKeyConstraint("station", "on_day", "origin", name="weather_day_once"),
    CheckConstraint(
        f"origin IN ({', '.join(repr(word) for word in ORIGIN_WORDS.values())})",
        name="weather_day_origin",
    ),
    CheckConstraint("t_min_c <= t_max_c", name="weather_day_min_below_max"),
    sqlite_strict=True,
)
"""One row a station, day and origin. ``file`` is where it was read from."""

meta = Table(
    "meta",
    metadata,
    Column("key", Text(), primary_key=True),
    Column("value", Text(), nullable=False),
    sqlite_strict=True,
)
"""Small facts of the book itself."""
