"""Lines that bear an id of their own, and indexes that find what was said last."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from boughwright.store.schema import DayText, IdText, MomentText

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table of lines; on SQLite also the triggers that keep it append-only."""
    op.create_table(
        "line",
        sa.Column("id", IdText(), primary_key=True),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("after_line", IdText()),
        sa.Column("withdraws", IdText()),
        sa.Column("tree", sa.Text()),
        sa.Column("on_day", DayText(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("recorded", MomentText(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sqlite_strict=True,
    )
    op.create_index("line_by_withdraws", "line", ["withdraws"])
    op.create_index("event_by_kind", "event", ["kind", "tree"])
    op.create_index("event_last_said", "event", ["recorded", "id", "who", "tree"])
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER line_no_{deed.lower()} BEFORE {deed} ON line BEGIN "
                "SELECT RAISE(ABORT, 'a line never changes: take it back and say it again'); END"
            )
