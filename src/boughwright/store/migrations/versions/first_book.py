"""The first layout: journal, weather and the book's own facts."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from boughwright.store.schema import DayText, IdText, MomentText, counter, number

revision = "0001"
down_revision = None

# "BWBT" in the header of the SQLite file.
_APPLICATION_ID = 0x42574254


def upgrade() -> None:
    """Make the tables; on SQLite also the triggers that keep the journal append-only."""
    _event()
    _weather_day()
    op.create_table(
        "meta",
        sa.Column("key", sa.Text(), primary_key=True),
        sa.Column("value", sa.Text(), nullable=False),
        sqlite_strict=True,
    )
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER event_no_{deed.lower()} BEFORE {deed} ON event BEGIN "
                "SELECT RAISE(ABORT, 'an event never changes: withdraw it and enter it again'); "
                "END"
            )
        op.execute(f"PRAGMA application_id = {_APPLICATION_ID}")


def _event() -> None:
    op.create_table(
        "event",
        sa.Column("seq", counter(), primary_key=True, autoincrement=True),
        sa.Column("id", IdText(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("tree", sa.Text()),
        sa.Column("branch", sa.Text()),
        sa.Column("on_day", DayText(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("recorded", MomentText(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.UniqueConstraint("id", name="event_id_once"),
        sa.CheckConstraint("branch IS NULL OR tree IS NOT NULL", name="event_branch_has_tree"),
        sqlite_autoincrement=True,
        sqlite_strict=True,
    )
    op.create_index("event_by_tree", "event", ["tree", "seq"])


def _weather_day() -> None:
    op.create_table(
        "weather_day",
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("on_day", DayText(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("t_min_c", number()),
        sa.Column("t_max_c", number()),
        sa.Column("rain_mm", number()),
        sa.Column("humidity_pct", number()),
        sa.Column("wind_ms", number()),
        sa.Column("sun_mj", number()),
        sa.Column("file", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("station", "on_day", "origin", name="weather_day_once"),
        sa.CheckConstraint("origin IN ('bench', 'read', 'forecast')", name="weather_day_origin"),
        sa.CheckConstraint("t_min_c <= t_max_c", name="weather_day_min_below_max"),
        sqlite_strict=True,
    )
