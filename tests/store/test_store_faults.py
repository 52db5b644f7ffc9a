"""What is not a book, or cannot be used, is refused with what to do; nothing is changed."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from store_help import notes

from boughwright.errors import RecordError, StoreError
from boughwright.store.book import Book
from boughwright.store.layout import APPLICATION_ID
from boughwright.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Iterator

OPENERS = pytest.mark.parametrize("opener", [Book.open, Reader.open])


def made(path: Path, count: int = 3) -> Path:
    with Book.open(path, create=True) as book:
        book.append(notes(count))
    return path


@OPENERS
def test_a_missing_book_is_not_made_by_looking(tmp_path: Path, opener: type[Book]) -> None:
    with pytest.raises(StoreError, match="there is no book here"):
        opener(tmp_path / "none.book")
    assert list(tmp_path.iterdir()) == []


@OPENERS
def test_an_empty_file_is_told(tmp_path: Path, opener: type[Book]) -> None:
    path = tmp_path / "zero.book"
    path.touch()
    with pytest.raises(StoreError, match="this file is empty"):
        opener(path)
    assert path.stat().st_size == 0


def test_a_making_that_was_cut_short_can_be_taken_up_again(tmp_path: Path) -> None:
    path = tmp_path / "half.book"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
    assert path.stat().st_size > 0
    with pytest.raises(StoreError, match="this file is empty"):
        Book.open(path)
    assert made(path).exists()


@OPENERS
@pytest.mark.parametrize("content", [b"date,t_min_c\n2026-01-01,4\n", bytes(range(256)) * 40])
def test_another_kind_of_file_is_left_alone(
    tmp_path: Path, opener: type[Book], content: bytes
) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(content)
    with pytest.raises(StoreError, match="not a book"):
        opener(path)
    with pytest.raises(StoreError, match="not a book"):
        Book.open(path, create=True)
    assert path.read_bytes() == content


@OPENERS
def test_another_programs_database_is_left_alone(tmp_path: Path, opener: type[Book]) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE event (id TEXT)")
        connection.commit()
    before = path.read_bytes()
    with pytest.raises(StoreError, match="another program"):
        opener(path)
    with pytest.raises(StoreError, match="another program"):
        Book.open(path, create=True)
    assert path.read_bytes() == before


@OPENERS
def test_a_newer_book_is_refused_and_left_alone(tmp_path: Path, opener: type[Book]) -> None:
    path = made(tmp_path / "new.book")
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
        connection.commit()
        connection.execute("PRAGMA journal_mode = DELETE")
    before = path.read_bytes()
    with pytest.raises(StoreError, match=r"0999, newer than this program.*Update Boughwright"):
        opener(path)
    assert path.read_bytes() == before


@OPENERS
def test_a_folder_is_not_a_book(tmp_path: Path, opener: type[Book]) -> None:
    with pytest.raises(StoreError, match="this is a folder"):
        opener(tmp_path)


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened or made here"):
        Book.open(tmp_path / "no" / "such" / "garden.book", create=True)


@OPENERS
def test_a_book_broken_on_its_first_page_is_told(tmp_path: Path, opener: type[Book]) -> None:
    path = made(tmp_path / "garden.book")
    content = bytearray(path.read_bytes())
    content[100:4000] = b"\x5a" * 3900
    path.write_bytes(content)
    with pytest.raises(StoreError, match="broken"):
        opener(path)


@OPENERS
def test_a_book_broken_further_in_is_told_when_it_is_read(
    tmp_path: Path, opener: type[Book]
) -> None:
    path = made(tmp_path / "garden.book", 3000)
    content = bytearray(path.read_bytes())
    # Every page but the first is spoiled; the tables are still listed on the first.
    content[4096:] = b"\x5a" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(StoreError, match="broken"), opener(path) as book:
        book.events()


@pytest.mark.parametrize(
    ("body", "error"),
    [("{not json", StoreError), ('{"text": 5}', RecordError), ("[]", RecordError)],
)
def test_a_spoiled_event_is_named(tmp_path: Path, body: str, error: type[Exception]) -> None:
    path = made(tmp_path / "garden.book", 1)
    spoiled = "01890000-0000-7000-8000-000000000001"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "INSERT INTO event (id, kind, version, on_day, who, recorded, body) VALUES "
            "(?, 'note', 1, '2026-01-01', '', '2026-01-01T00:00:00+00:00', ?)",
            (spoiled, body),
        )
        connection.commit()
    for opener in (Book.open, Reader.open):
        with pytest.raises(error, match=spoiled), opener(path) as book:
            book.events()


def test_a_locked_book_says_that_another_program_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made(tmp_path / "garden.book")
    monkeypatch.setattr("boughwright.store.book.BUSY_S", 0.05)
    with Book.open(path) as book, closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert book.position() == 3
        with pytest.raises(StoreError, match="another program is writing"):
            book.append(notes(1))
        other.rollback()
        assert book.append(notes(1)) == 1


def test_the_header_names_the_program(tmp_path: Path) -> None:
    # SQLite's file format keeps the application id big-endian at byte 68.
    header = made(tmp_path / "garden.book").read_bytes()[:100]
    assert int.from_bytes(header[68:72], "big") == APPLICATION_ID


@pytest.fixture
def unwritable() -> Iterator[Path]:
    """Return a folder with a book in it, both of which this process may only read."""
    if sys.platform == "win32":
        pytest.skip("folders are not closed by mode bits here")
    folder = Path(tempfile.mkdtemp())
    user = os.geteuid()
    try:
        made(folder / "garden.book")
        (folder / "garden.book").chmod(0o444)
        folder.chmod(0o555)
        if user == 0:
            # The superuser may write anywhere: be nobody for a moment.
            os.seteuid(65534)
        yield folder
    finally:
        if user == 0:
            os.seteuid(0)
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_book_in_a_closed_folder_can_be_read_but_not_written(unwritable: Path) -> None:
    path = unwritable / "garden.book"
    with Reader.open(path) as reader:
        assert reader.position() == 3
        assert len(reader.events()) == 3
    with pytest.raises(StoreError, match="cannot be"), Book.open(path) as book:
        book.append(notes(1))
    with pytest.raises(StoreError, match="cannot be opened or made here"):
        Book.open(unwritable / "new.book", create=True)
    assert [file.name for file in unwritable.iterdir()] == ["garden.book"]
