"""Layouts: the steps lead to the tables the program uses, and older books are brought along."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_mock_engine, inspect
from store_help import mixed
from store_writers import SLOW_STEP

from boughwright.errors import StoreError
from boughwright.store import faults, layout, migrate, schema
from boughwright.store.book import Book, _engine
from boughwright.store.reader import Reader
from boughwright.store.turn import Turn

if TYPE_CHECKING:
    from pathlib import Path


def test_the_steps_lead_to_the_tables_in_use(tmp_path: Path) -> None:
    with Book.open(tmp_path / "garden.book", create=True) as book, book._reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, schema.metadata) == []
        tables = set(inspect(connection).get_table_names())
    assert tables == {*schema.metadata.tables, "alembic_version"}


def test_every_table_is_strict_and_the_checks_are_the_same(tmp_path: Path) -> None:
    migrated, direct = tmp_path / "migrated.book", tmp_path / "direct.book"
    Book.open(migrated, create=True).close()
    from sqlalchemy import create_engine

    engine = create_engine(f"sqlite:///{direct}")
    schema.metadata.create_all(engine)
    engine.dispose()

    def made(path: Path) -> dict[str, str]:
        query = (
            "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL "
            "AND type IN ('table', 'index') AND name NOT IN ('alembic_version', 'sqlite_sequence')"
        )
        with closing(sqlite3.connect(path)) as connection:
            return {name: " ".join(sql.split()) for name, sql in connection.execute(query)}

    assert made(migrated) == made(direct)
    tables = [sql for sql in made(migrated).values() if sql.startswith("CREATE TABLE")]
    assert len(tables) == 4
    assert all(sql.endswith("STRICT") for sql in tables)


def test_the_listed_layouts_are_the_steps_there_are() -> None:
    steps = ScriptDirectory.from_config(migrate.config()).walk_revisions()
    assert tuple(step.revision for step in reversed(list(steps))) == layout.REVISIONS


def test_the_tables_can_be_made_on_postgresql_too() -> None:
    made: list[str] = []
    engine = create_mock_engine(
        "postgresql+psycopg://", lambda sql, *_, **__: made.append(str(sql.compile(engine)))
    )
    schema.metadata.create_all(engine, checkfirst=False)
    text = " ".join(made)
    for words in ("id UUID NOT NULL", "on_day DATE NOT NULL", "t_min_c DOUBLE PRECISION",
                  "recorded TIMESTAMP WITH TIME ZONE NOT NULL", "seq BIGSERIAL"):  # fmt: skip
        assert words in text
    assert "STRICT" not in text


def next_layout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str = SLOW_STEP) -> None:
    """Give the program one more layout than it has."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "later.py").write_text(step)
    monkeypatch.setattr(migrate, "MIGRATIONS", folder)
    monkeypatch.setattr(faults, "REVISIONS", ("0001", "0002", "0003"))


def test_an_older_book_is_brought_up_to_date_after_a_copy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "garden.book"
    with Book.open(path, create=True) as book:
        book.append(mixed())
    next_layout(tmp_path, monkeypatch)
    with Reader.open(path) as reader:
        assert reader.events() == mixed_again(reader)
        assert faults.look_at(path).revision == "0003"
        assert reader._all("SELECT count(*) FROM later") == [(300,)]
    copy = tmp_path / "garden.book.before-upgrade-0002"
    assert faults.look_at(copy).revision == "0002"
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT count(*) FROM event").fetchone() == (4,)
    # Up to date now: no second copy is made.
    Book.open(path).close()
    assert len(list(tmp_path.glob("*.before-upgrade*"))) == 1


def first_layout(path: Path) -> None:
    """Make a book of the first layout, as the first program left it, with four events in it."""
    engine = _engine(path)
    with engine.connect() as connection:
        writer = connection.execution_options(writes=True)
        with writer.begin():
            command.upgrade(migrate.config(writer), "0001")
            Turn(writer).append(mixed())
    engine.dispose()


def test_a_book_of_the_first_layout_gains_the_lines_and_keeps_its_events(tmp_path: Path) -> None:
    path = tmp_path / "garden.book"
    first_layout(path)
    with closing(sqlite3.connect(path)) as connection:
        before = connection.execute("SELECT * FROM event ORDER BY seq").fetchall()
        names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    assert (len(before), "line" in names) == (4, False)
    with Reader.open(path) as reader:
        assert reader.raw_events() == before
        assert reader.line("01890000-0000-7000-8000-000000000001") is None
    assert faults.look_at(path).revision == layout.REVISIONS[-1]
    assert faults.look_at(tmp_path / "garden.book.before-upgrade-0001").revision == "0001"


def mixed_again(reader: Reader) -> list[object]:
    """Return the events as the raw rows say them, so that ids made at random agree."""
    from boughwright.store.rows import row_event

    rows = reader.raw_events()
    assert [row[2] for row in rows] == ["measure", "work", "note", "note"]
    return [row_event(row) for row in rows]


def test_a_step_that_fails_leaves_the_book_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "garden.book"
    with Book.open(path, create=True) as book:
        book.append(mixed())
    next_layout(tmp_path, monkeypatch, SLOW_STEP + "    op.execute('SELECT * FROM nowhere')\n")
    with pytest.raises(StoreError, match="nowhere"):
        Book.open(path)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
        assert connection.execute("SELECT count(*) FROM event").fetchone() == (4,)
        names = connection.execute("SELECT count(*) FROM sqlite_master WHERE name = 'later'")
        assert names.fetchone() == (0,)
