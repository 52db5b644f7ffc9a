"""Copies of the book that can be trusted, and the way back from them."""

from __future__ import annotations

import glob
import os
import shutil
import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.errors import StoreError
from boughwright.store.faults import connect_to_read, require_book, told
from boughwright.store.layout import BUSY_S
from boughwright.store.rows import day_span

if TYPE_CHECKING:
    from datetime import date

_LOGS = ("-wal", "-shm", "-journal")
_LEFT_S = 3600.0
_IN_USE = ("SQLITE_BUSY", "SQLITE_LOCKED")


@dataclass(frozen=True, slots=True)
class Held:
    """What a book or a backup holds.

    ``first`` and ``last`` are the first and last day of its events; None without any.
    """

    path: Path
    revision: str
    events: int
    trees: int
    stations: int
    weather_days: int
    first: date | None
    last: date | None

    def __str__(self) -> str:
        """Return one line for the grower."""
        span = f", {self.first} to {self.last}" if self.first and self.last else ""
        return (
            f"events {self.events}, trees {self.trees}{span}; "
            f"weather days {self.weather_days}, stations {self.stations}"
        )


def holds(path: Path | str) -> Held:
    """Say what a book or a backup holds, after testing every page of it.

    Raises
    ------
    StoreError
        When it is missing, empty, foreign, broken or newer than this program.
    """
    path = Path(path)
    look = require_book(path)
    with told(path), closing(connect_to_read(path)) as connection:
        faults = [text for (text,) in connection.execute("PRAGMA integrity_check(5)")]
        if faults != ["ok"]:
            raise StoreError(f"the book is broken: {faults[0]}", where=str(path),
                             todo="Restore it from a backup; keep the broken file")  # fmt: skip
        (events, trees) = connection.execute(
            "SELECT count(*), count(DISTINCT tree) FROM event"
        ).fetchone()
        (days, stations) = connection.execute(
            "SELECT count(*), count(DISTINCT station) FROM weather_day"
        ).fetchone()
        span = day_span(connection.execute("SELECT min(on_day), max(on_day) FROM event"))
    first, last = span or (None, None)
    return Held(path, look.revision, events, trees, stations, days, first, last)


def backup(path: Path | str, target: Path | str, *, force: bool = False) -> Held:
    """Copy a book while it may be in use, test the copy, then give it its name.

    The copy is one file. It has its name only when it is whole.

    Parameters
    ----------
    path, target : path
    force : bool
        Overwrite a file that is already there.

    Returns
    -------
    Held
        What the copy holds.

    Raises
    ------
    StoreError
        When the book is missing or broken, the target exists, or it cannot be written.
    """
    path, target = Path(path), Path(target)
    require_book(path)
    if target.is_dir():
        raise StoreError("this is a folder", where=str(target), todo="Name a file in it")
    if target.exists() and (path.samefile(target) or not force):
        raise StoreError("there is already a file here", where=str(target),
                         todo="Choose another name, or say that it may be overwritten",
                         )  # fmt: skip
    part = _part(target)
    held = _copy_tested(path, part)
    with told(target):
        os.replace(part, target)
        _sync_folder(target)
    return replace(held, path=target)


def restore(
    source: Path | str, path: Path | str, *, force: bool = False
) -> tuple[Held, Path | None]:
    """Put a backup in the place of a book. The replaced book is kept beside it.

    Parameters
    ----------
    source : path
        A backup or another book. It is not changed.
    path : path
        Where the book is to be.
    force : bool
        Replace a book that is already there.

    Returns
    -------
    Held
        What the book now holds.
    Path or None
        Where the replaced book is kept.

    Raises
    ------
    StoreError
        When the source is broken, foreign or newer, when a book is there and ``force`` is not
        given, or when another program has it open.
    """
    source, path = Path(source), Path(path)
    held = holds(source)
    if path.is_dir():
        raise StoreError("this is a folder", where=str(path), todo="Name a file in it")
    if path.exists() and (path.samefile(source) or not force):
        raise StoreError("there is already a book here", where=str(path),
                         todo=f"Use force to replace it. The backup holds {held}",
                         )  # fmt: skip
    part = _part(path)
    restored = _copy_tested(source, part)
    kept = _set_aside(path) if path.exists() else None
    with told(path):
        os.replace(part, path)
        _sync_folder(path)
    return replace(restored, path=path), kept


def copy_beside(path: Path, word: str) -> Path:
    """Back a book up beside itself under a free name that holds ``word``."""
    target = _free_name(path, word)
    backup(path, target)
    return target


def _part(target: Path) -> Path:
    """Return a name for a copy in the making; those left by a crash long ago are cleared."""
    with suppress(OSError):
        for left in target.parent.glob(f"{glob.escape(target.name)}.*.part*"):
            if time.time() - left.stat().st_mtime > _LEFT_S:
                left.unlink()
    return target.with_name(f"{target.name}.{os.getpid()}.part")


def _copy_tested(source: Path, part: Path) -> Held:
    """Copy by SQLite's online backup, fold the log away, test the copy against the source."""
    try:
        with told(part):
            part.unlink(missing_ok=True)
            with closing(connect_to_read(source)) as old, closing(sqlite3.connect(part)) as new:
                (before,) = old.execute("SELECT count(*) FROM event").fetchone()
                old.backup(new)
                new.execute("PRAGMA journal_mode = DELETE")
            with part.open("rb+") as file:
                os.fsync(file.fileno())
        held = holds(part)
        # Events are only ever added, so a copy of a book in use has as many or more.
        if held.events < before:
            raise StoreError(f"the copy holds {held.events} of {before} events", where=str(part),
                             todo="Do it again on another disk")  # fmt: skip
    except BaseException:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise
    return held


def _set_aside(path: Path) -> Path:
    """Keep the book that is to be replaced, and leave no log that would spoil the next one."""
    kept = _free_name(path, "replaced")
    with told(path):
        # Before anything opens it: SQLite throws away the log of a book it cannot read.
        logs = [_copy(path, kept, ending) for ending in _LOGS if _beside(path, ending).exists()]
        try:
            with closing(sqlite3.connect(path, timeout=BUSY_S / 10)) as connection:
                # Folding the log away fails while anybody else has the book open.
                (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
        except sqlite3.DatabaseError as error:
            mode = "in use" if error.sqlite_errorname.startswith(_IN_USE) else "broken"
        if mode != "broken":
            for log in logs:
                log.unlink()
        if mode not in ("delete", "broken"):
            raise StoreError("another program has the book open", where=str(path),
                             todo="Close it and restore again")  # fmt: skip
        try:
            os.link(path, kept)
        except OSError:
            # Not every disk can give one file two names.
            shutil.copy2(path, kept)
        for ending in _LOGS:
            _beside(path, ending).unlink(missing_ok=True)
    return kept


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


def _copy(path: Path, kept: Path, ending: str) -> Path:
    return Path(shutil.copy2(_beside(path, ending), _beside(kept, ending)))


def _free_name(path: Path, word: str) -> Path:
    name = path.with_name(f"{path.name}.{word}")
    number = 2
    while name.exists():
        name = path.with_name(f"{path.name}.{word}-{number}")
        number += 1
    return name


def _sync_folder(path: Path) -> None:
    """Make the new name itself last, where the system lets a folder be synced."""
    with suppress(OSError):
        folder = os.open(path.absolute().parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
