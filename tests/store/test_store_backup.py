"""Backups hold everything, restores lose nothing."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from store_help import DAY, days, mixed, notes

from boughwright.errors import StoreError
from boughwright.store.backup import backup, holds, restore
from boughwright.store.book import Book
from boughwright.store.reader import Reader

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.journal.events import Event


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with Book.open(tmp_path / "garden.book", create=True) as book:
        book.append(mixed())
        book.put_weather("home", days(DAY, [1, 2, 3]))
    return tmp_path / "garden.book"


def events_of(path: Path) -> list[Event]:
    with Reader.open(path) as reader:
        return reader.events()


def test_a_backup_holds_all_of_a_book_in_use(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.book"
    with Book.open(path) as book:
        # Still in the log beside the book, not folded into it.
        book.append(notes(100, tree="t9"))
        assert path.with_name("garden.book-wal").stat().st_size > 0
        held = backup(path, target)
        kept = book.events()
    assert (held.path, held.events, held.trees) == (target, 104, 3)
    assert (held.stations, held.weather_days) == (1, 3)
    assert (str(held.first), str(held.last)) == ("2025-05-05", "2026-06-09")
    assert str(held) == (
        "events 104, trees 3, 2025-05-05 to 2026-06-09; weather days 3, stations 1"
    )
    assert events_of(target) == kept
    assert holds(target) == held
    # One file, and nothing half made beside it.
    assert {file.name for file in tmp_path.iterdir()} == {"garden.book", "copy.book"}


def test_a_backup_never_overwrites_unless_told(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "precious.txt"
    target.write_text("keep me")
    with pytest.raises(StoreError, match="already a file"):
        backup(path, target)
    assert target.read_text() == "keep me"
    assert backup(path, target, force=True).events == 4


def test_a_book_is_never_backed_up_onto_itself(path: Path) -> None:
    with pytest.raises(StoreError, match="already a file"):
        backup(path, path, force=True)
    assert len(events_of(path)) == 4


def test_a_backup_into_nowhere_is_told(path: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened or made here"):
        backup(path, tmp_path / "no" / "copy.book")
    with pytest.raises(StoreError, match="Name a file in it"):
        backup(path, tmp_path)
    with pytest.raises(StoreError, match="no book here"):
        backup(tmp_path / "none.book", tmp_path / "copy.book")
    assert not [file for file in tmp_path.iterdir() if not file.name.startswith("garden.book")]
    assert not list(tmp_path.glob("*.part"))


def test_a_restore_brings_everything_back_where_there_is_no_book(
    path: Path, tmp_path: Path
) -> None:
    kept = events_of(path)
    copy = tmp_path / "copy.book"
    backup(path, copy)
    path.unlink()
    held, replaced = restore(copy, path)
    assert (held.path, held.events, replaced) == (path, 4, None)
    assert events_of(path) == kept
    with Book.open(path) as book:
        assert book.append(notes(1)) == 1


def test_a_restore_keeps_the_book_it_replaces(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.book"
    backup(path, copy)
    old = events_of(path)
    with Book.open(path) as book:
        book.append(notes(3))
    newer = events_of(path)
    with pytest.raises(StoreError, match=r"already a book here.*The backup holds events 4"):
        restore(copy, path)
    assert events_of(path) == newer
    _, replaced = restore(copy, path, force=True)
    assert replaced == tmp_path / "garden.book.replaced"
    assert events_of(path) == old
    assert events_of(replaced) == newer
    _, second = restore(replaced, path, force=True)
    assert second == tmp_path / "garden.book.replaced-2"
    assert (events_of(path), events_of(second)) == (newer, old)


def test_a_broken_book_is_replaced_and_kept_byte_for_byte(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.book"
    backup(path, copy)
    broken = b"\x5a" * 9000
    path.write_bytes(broken)
    log = path.with_name("garden.book-wal")
    log.write_bytes(b"old log")
    held, replaced = restore(copy, path, force=True)
    assert held.events == 4
    assert replaced is not None
    assert replaced.read_bytes() == broken
    assert replaced.with_name(replaced.name + "-wal").read_bytes() == b"old log"
    assert not log.exists()
    assert len(events_of(path)) == 4


def test_a_book_open_elsewhere_is_not_replaced(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("boughwright.store.backup.BUSY_S", 0.1)
    copy = tmp_path / "copy.book"
    backup(path, copy)
    with Book.open(path) as book:
        book.append(notes(2))
        with pytest.raises(StoreError, match="another program"):
            restore(copy, path, force=True)
        assert book.append(notes(1)) == 1
    assert len(events_of(path)) == 7


@pytest.mark.parametrize("kind", ["text", "foreign", "zero", "missing", "broken", "newer"])
def test_a_bad_backup_never_touches_the_book(path: Path, tmp_path: Path, kind: str) -> None:
    bad = tmp_path / "bad.book"
    if kind == "text":
        bad.write_text("date,t_min_c\n" * 50)
    elif kind == "zero":
        bad.touch()
    elif kind == "foreign":
        with closing(sqlite3.connect(bad)) as other:
            other.execute("CREATE TABLE event (id TEXT)")
            other.commit()
    elif kind in {"broken", "newer"}:
        with Book.open(path) as book:
            book.append(notes(2000))
        backup(path, bad)
    if kind == "broken":
        content = bytearray(bad.read_bytes())
        content[len(content) // 2 : len(content) // 2 + 9000] = b"\x5a" * 9000
        bad.write_bytes(content)
    elif kind == "newer":
        with closing(sqlite3.connect(bad)) as other:
            other.execute("UPDATE alembic_version SET version_num = '0999'")
            other.commit()
    kept = events_of(path)
    with pytest.raises(StoreError):
        restore(bad, path, force=True)
    assert events_of(path) == kept
    assert not list(tmp_path.glob("*.part"))
    assert not list(tmp_path.glob("*.replaced"))


def test_what_a_crash_left_is_cleared_later(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.book"
    old, fresh = tmp_path / "copy.book.77.part", tmp_path / "copy.book.78.part-journal"
    for file in (old, fresh):
        file.write_bytes(b"half")
    os.utime(old, (0, 0))
    backup(path, target)
    assert (old.exists(), fresh.exists()) == (False, True)


def test_a_broken_book_is_not_backed_up_over_a_good_backup(path: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.book"
    with Book.open(path) as book:
        book.append(notes(2000))
    backup(path, copy)
    content = bytearray(path.read_bytes())
    content[len(content) // 2 : len(content) // 2 + 9000] = b"\x5a" * 9000
    path.write_bytes(content)
    with pytest.raises(StoreError, match="broken"):
        backup(path, copy, force=True)
    assert holds(copy).events == 2004
    assert not list(tmp_path.glob("*.part"))
