"""Which devices may come in, and the keys the server signs with: a folder beside the book.

Nothing here is part of the book: it is not journalled, copied out, saved or backed up. Every file
is for its owner alone. Of a device's secret, a one-time link and a short code only the hash is
kept.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from boughwright.errors import StoreError
from boughwright.store.faults import told

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

KEYS_SUFFIX = ".keys"
_WAIT_S = 5.0
_LAYOUT = """
CREATE TABLE IF NOT EXISTS device (
    id TEXT PRIMARY KEY, name TEXT NOT NULL, secret_hash TEXT NOT NULL,
    paired_on TEXT NOT NULL, seen_on TEXT NOT NULL, let_out_on TEXT
) STRICT;
CREATE TABLE IF NOT EXISTS invitation (
    token_hash TEXT PRIMARY KEY, code_hash TEXT NOT NULL, until_s INTEGER NOT NULL,
    tries_left INTEGER NOT NULL
) STRICT;
"""
_DEVICE = "SELECT id, name, secret_hash, paired_on, seen_on, let_out_on FROM device"


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was let in. ``let_out_on`` is the day it lost that; None while it is in."""

    id: str
    name: str
    secret_hash: str
    paired_on: date
    seen_on: date
    let_out_on: date | None

    @property
    def may_enter(self) -> bool:
        """True while the device is let in."""
        return self.let_out_on is None


def keys_folder(book: Path) -> Path:
    """Return the folder beside a book where its keys lie. It may not be there yet."""
    return book.with_name(book.name + KEYS_SUFFIX)


def secret_file(folder: Path, name: str, make: Callable[[], bytes]) -> bytes:
    """Return a key file's bytes; the first caller makes it, all others read the same.

    Raises
    ------
    StoreError
        When it cannot be read or written.
    """
    path = folder / name
    with told(path):
        _open_folder(folder)
        with suppress(FileNotFoundError):
            return _read_own(path)
        half = _write_half(path, make())
        try:
            os.link(half, path)  # fails when another was quicker: its key then stands
        except FileExistsError:
            pass
        except OSError:  # a disk without hard links
            half.replace(path)
        half.unlink(missing_ok=True)
        return _read_own(path)


def write_secret(folder: Path, name: str, data: bytes) -> None:
    """Write a key file whole, in the place of one that was there.

    Raises
    ------
    StoreError
        When it cannot be written.
    """
    path = folder / name
    with told(path):
        _open_folder(folder)
        _write_half(path, data).replace(path)


def _open_folder(folder: Path) -> None:
    folder.mkdir(mode=0o700, exist_ok=True)
    if os.name == "posix" and folder.stat().st_mode & 0o077:
        folder.chmod(0o700)


def _read_own(path: Path) -> bytes:
    data = path.read_bytes()
    if not data:
        raise StoreError("this key file is empty", where=str(path),
                         todo="Delete it; a new one is made, and devices pair again")  # fmt: skip
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)
    return data


def _write_half(path: Path, data: bytes) -> Path:
    half = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}")
    half.unlink(missing_ok=True)
    with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    return half


class DeviceList:
    """The list of devices, open for as long as the server runs. Safe to use from any thread."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Lock()
        with told(path):
            _open_folder(path.parent)
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
            self._connection = sqlite3.connect(
                path, timeout=_WAIT_S, check_same_thread=False, isolation_level=None
            )
            try:
                self._connection.executescript(_LAYOUT)
            except BaseException:
                self._connection.close()
                raise

    def close(self) -> None:
        """Close the list."""
        with self._lock:
            self._connection.close()

    def _run(self, sql: str, values: tuple[object, ...] = ()) -> tuple[list[tuple[str, ...]], int]:
        with self._lock, told(self.path):
            cursor = self._connection.execute(sql, values)
            return cursor.fetchall(), cursor.rowcount

    def add(self, device: Device) -> None:
        """Write down a new device."""
        self._run(
            "INSERT INTO device (id, name, secret_hash, paired_on, seen_on) VALUES (?, ?, ?, ?, ?)",
            (device.id, device.name, device.secret_hash,
             device.paired_on.isoformat(), device.seen_on.isoformat()),
        )  # fmt: skip

    def find(self, device: str) -> Device | None:
        """Return a device by its id, let in or not."""
        rows, _ = self._run(f"{_DEVICE} WHERE id = ?", (device,))
        return _device(rows[0]) if rows else None

    def all(self) -> list[Device]:
        """Return every device, those let in first, then by name."""
        rows, _ = self._run(f"{_DEVICE} ORDER BY let_out_on IS NOT NULL, lower(name), id")
        return [_device(row) for row in rows]

    def seen(self, device: str, on: date) -> None:
        """Write down the last day a device was here."""
        self._run("UPDATE device SET seen_on = ? WHERE id = ?", (on.isoformat(), device))

    def rename(self, device: str, name: str) -> bool:
        """Give a device another name; False when there is no such device."""
        return self._run("UPDATE device SET name = ? WHERE id = ?", (name, device))[1] == 1

    def let_out(self, device: str, on: date) -> bool:
        """Let a device in no longer; False when it was not let in."""
        return self._run(
            "UPDATE device SET let_out_on = ? WHERE id = ? AND let_out_on IS NULL",
            (on.isoformat(), device),
        )[1] == 1  # fmt: skip

    def forget(self, device: str) -> bool:
        """Strike a device that is let in no longer off the list."""
        return self._run(
            "DELETE FROM device WHERE id = ? AND let_out_on IS NOT NULL", (device,)
        )[1] == 1  # fmt: skip

    def invite(self, token_hash: str, code_hash: str, until_s: int, tries: int) -> None:
        """Write down the one open invitation; one that stood before is void."""
        with self._lock, told(self.path), self._connection as connection:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("DELETE FROM invitation")
            connection.execute(
                "INSERT INTO invitation VALUES (?, ?, ?, ?)",
                (token_hash, code_hash, until_s, tries),
            )

    def invitation(self) -> tuple[str, str, int, int] | None:
        """Return the open invitation: hash of the link, hash of the code, end [s], tries left."""
        rows, _ = self._run("SELECT token_hash, code_hash, until_s, tries_left FROM invitation")
        return (rows[0][0], rows[0][1], int(rows[0][2]), int(rows[0][3])) if rows else None

    def use_up(self, token_hash: str) -> bool:
        """Use up an invitation; True for one caller only, however many come at once."""
        return self._run("DELETE FROM invitation WHERE token_hash = ?", (token_hash,))[1] == 1

    def take_try(self) -> bool:
        """Take one of the tries at the short code; False when none is left."""
        return self._run(
            "UPDATE invitation SET tries_left = tries_left - 1 WHERE tries_left > 0"
        )[1] == 1  # fmt: skip


def _device(row: tuple[str, ...]) -> Device:
    id_, name, secret_hash, paired, seen, out = row
    return Device(
        id_, name, secret_hash, date.fromisoformat(paired), date.fromisoformat(seen),
        date.fromisoformat(out) if out else None,
    )  # fmt: skip
