"""The book's troubles told in plain words, and the first look at a file before it is trusted."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.errors import StoreError
from boughwright.store.layout import APPLICATION_ID, BUSY_S, REVISIONS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_MAGIC = b"SQLite format 3\x00"

# By the start of SQLite's own name for the fault: what it means, what to do.
_TOLD = {
    "SQLITE_NOTADB": ("this is not a book, or its first page is broken",
                      "Restore the book from a backup"),
    "SQLITE_CORRUPT": ("the book is broken", "Restore it from a backup; keep the broken file"),
    "SQLITE_READONLY": ("the book or its folder cannot be written",
                        "Give yourself the right to write there, or copy the book elsewhere"),
    "SQLITE_CANTOPEN": ("the book cannot be opened or made here",
                        "Check that the folder is there and that you may write in it"),
    "SQLITE_BUSY": ("another program is writing to the book",
                    "Close the other program or try again in a moment"),
    "SQLITE_LOCKED": ("another program is writing to the book",
                      "Close the other program or try again in a moment"),
    "SQLITE_FULL": ("the disk is full; nothing was written", "Make room and do it again"),
    "SQLITE_IOERR": ("the disk does not answer; nothing was written",
                     "Check the disk, then do it again"),
    "SQLITE_CONSTRAINT": ("the book refuses this row; nothing was written",
                          "Enter it again without that value"),
    "SQLITE_PERM": ("you may not open this book", "Ask its owner for the right to read and write"),
    "SQLITE_AUTH": ("you may not open this book", "Ask its owner for the right to read and write"),
}  # fmt: skip


def explain(path: Path, error: BaseException) -> StoreError:
    """Turn a fault of SQLite into one of ours."""
    name = getattr(error, "sqlite_errorname", "")
    for start, (what, todo) in _TOLD.items():
        if name.startswith(start):
            detail = f" ({error})" if start in ("SQLITE_CONSTRAINT", "SQLITE_IOERR") else ""
            return StoreError(what + detail, where=str(path), todo=todo)
    return StoreError(f"the book does not answer ({error})", where=str(path),
                      todo="Close other programs that use it, then try again")  # fmt: skip


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Tell every fault of SQLite or the disk inside the block as a `StoreError`."""
    try:
        yield
    except sqlite3.Error as error:
        raise explain(path, error) from error
    except OSError as error:
        raise StoreError(
            f"the disk refuses: {error.strerror or error}",
            where=str(error.filename or path),
            todo="Check the path, your rights there and the room left",
        ) from error


@dataclass(frozen=True, slots=True)
class Look:
    """A first look at a file: ``blank`` holds nothing yet, ``revision`` is its layout."""

    blank: bool
    revision: str = ""

    @property
    def current(self) -> bool:
        """Tell whether the layout is the one this program writes."""
        return self.revision == REVISIONS[-1]


BLANK = Look(blank=True)


def connect_to_read(path: Path) -> sqlite3.Connection:
    """Open a book for reading only; threads may share the connection, one at a time.

    A book in a folder that cannot be written is read all the same, when no half-folded log lies
    beside it.
    """
    uri = path.absolute().as_uri()
    connection = sqlite3.connect(
        f"{uri}?mode=ro", uri=True, timeout=BUSY_S, check_same_thread=False
    )
    try:
        connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()
    except sqlite3.OperationalError as error:
        connection.close()
        log = path.with_name(path.name + "-wal")
        cannot_write = error.sqlite_errorname.startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY"))
        if not cannot_write or (log.exists() and log.stat().st_size > 0):
            raise
        connection = sqlite3.connect(
            f"{uri}?mode=ro&immutable=1", uri=True, check_same_thread=False
        )
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def look_at(path: Path) -> Look:
    """Look at a file without changing it.

    Returns
    -------
    Look
        Blank when there is no file yet or nothing is in it.

    Raises
    ------
    StoreError
        When it is a folder, not a database, another program's database or a newer layout.
    """
    with told(path):
        if path.is_dir():
            raise StoreError("this is a folder, not a book", where=str(path),
                             todo="Name a file in it")  # fmt: skip
        if not path.exists() or path.stat().st_size == 0:
            return BLANK
        with path.open("rb") as file:
            if file.read(len(_MAGIC)) != _MAGIC:
                raise StoreError("this file is not a book", where=str(path),
                                 allowed="a file made by Boughwright",
                                 todo="Name the book; tables and weather are imported instead",
                                 )  # fmt: skip
        with closing(connect_to_read(path)) as connection:
            return _look_inside(path, connection)


def _look_inside(path: Path, connection: sqlite3.Connection) -> Look:
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    if not tables:
        return BLANK
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    if application != APPLICATION_ID or "alembic_version" not in tables:
        raise StoreError("this database belongs to another program", where=str(path),
                         allowed="a book made by Boughwright", todo="Name another file",
                         )  # fmt: skip
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    revision = str(row[0]) if row else ""
    if revision not in REVISIONS:
        raise StoreError(f"this book has layout {revision or 'unknown'}, newer than this program",
                         where=str(path), allowed=f"layouts up to {REVISIONS[-1]}",
                         todo="Update Boughwright; the book was not touched")  # fmt: skip
    return Look(blank=False, revision=revision)


def require_book(path: Path) -> Look:
    """Return the look at a book that must hold something.

    Raises
    ------
    StoreError
        When there is no file, or nothing in it.
    """
    look = look_at(path)
    if look.blank:
        missing = not path.exists()
        raise StoreError("there is no book here" if missing else "this file is empty",
                         where=str(path), allowed="a book made by Boughwright",
                         todo="Load a garden to make one, or restore it from a backup",
                         )  # fmt: skip
    return look
