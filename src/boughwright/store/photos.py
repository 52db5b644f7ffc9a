"""The folder of pictures beside the book: each under the SHA-256 of what is in it.

A picture is written whole or not at all, and never changed, so a name always means the same
picture. Names come from the contents alone; whatever is asked for under another name is not there.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from boughwright.errors import UnknownNameError
from boughwright.store.faults import told

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

FOLDER = ".photos"
"""Added to the name of the book."""
NAME = re.compile(r"[0-9a-f]{64}")
_KEPT = re.compile(r"([0-9a-f]{64})\.jpg")
_PART = ".part"
_LEFT_S = 3600.0
_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


@dataclass(frozen=True, slots=True)
class Copied:
    """What came of copying pictures.

    ``new`` were copied, ``same`` were there already, ``broken`` names those whose contents do not
    fit their name and which were left where they are.
    """

    new: int
    same: int
    broken: tuple[str, ...]


def folder_of(book: Path) -> Path:
    """Return the folder of pictures of a book, whether it is there or not."""
    return book.with_name(book.name + FOLDER)


def is_name(name: str) -> bool:
    """Tell whether a text may name a picture."""
    return NAME.fullmatch(name) is not None


def keep(book: Path, data: bytes, *, name: str = "", side_px: int | None = None) -> str:
    """Write a picture, or a small copy of one, unless it is there whole.

    Parameters
    ----------
    book : Path
    data : bytes
        The picture as it is to be kept.
    name : str
        Name of the picture that a small copy is of; a picture itself gets the SHA-256 of its data.
    side_px : int, optional
        Longest side of a small copy. [px]

    Returns
    -------
    str
        Its name. It is on the disk when this returns.

    Raises
    ------
    UnknownNameError
        When the name of a small copy's picture is none.
    StoreError
        When the disk refuses. Nothing is left half written then.
    """
    if side_px is None:
        name = hashlib.sha256(data).hexdigest()
    path = _path(book, name, side_px)
    with told(path):
        if not _is_file(path) or path.read_bytes() != data:
            _write(path, data)
    return name


def read(book: Path, name: str, *, side_px: int | None = None) -> bytes:
    """Return a picture, or a small copy of one.

    Raises
    ------
    UnknownNameError
        When there is none of that name.
    StoreError
        When the disk refuses.
    """
    path = _path(book, name, side_px)
    with told(path):
        try:
            handle = os.open(path, os.O_RDONLY | _NO_LINK)
        except OSError as error:
            if error.errno in {errno.ENOENT, errno.ELOOP, errno.ENOTDIR}:
                raise _missing(name) from error
            raise
        with os.fdopen(handle, "rb") as file:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise _missing(name)
            return file.read()


def has(book: Path, name: str, *, side_px: int | None = None) -> bool:
    """Tell whether a picture, or a small copy of it, is there."""
    return is_name(name) and _is_file(_path(book, name, side_px))


def names(book: Path) -> list[str]:
    """Return the names of all pictures that are there, sorted.

    Raises
    ------
    StoreError
        When the folder is there and cannot be read.
    """
    folder = folder_of(book)
    with told(folder):
        return sorted(_found(folder)) if folder.exists() else []


def copy_all(book: Path, to: Path) -> Copied:
    """Copy the pictures of one book to the folder of another; each is tested first.

    Small copies are left out: they are made again when they are wanted.

    Raises
    ------
    StoreError
        When the disk refuses.
    """
    new, same, broken = 0, 0, []
    for name in names(book):
        if has(to, name):
            same += 1
            continue
        data = read(book, name)
        if hashlib.sha256(data).hexdigest() != name:
            broken.append(name)
            continue
        keep(to, data)
        new += 1
    return Copied(new, same, tuple(broken))


def _path(book: Path, name: str, side_px: int | None) -> Path:
    if not is_name(name):
        raise _missing(name)
    ending = "jpg" if side_px is None else f"{int(side_px)}.webp"
    return folder_of(book) / name[:2] / f"{name}.{ending}"


def _missing(name: str) -> UnknownNameError:
    return UnknownNameError(
        f"there is no picture {name[:12]!r}",
        allowed="a picture that is in the book's folder of photos",
        todo="Put the folder back from a backup, or add the photo again",
    )


def _is_file(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def _found(folder: Path) -> Iterator[str]:
    for shelf in [one for one in os.scandir(folder) if one.is_dir(follow_symlinks=False)]:
        for entry in os.scandir(shelf):
            match = _KEPT.fullmatch(entry.name)
            if match and match[1].startswith(shelf.name) and entry.is_file(follow_symlinks=False):
                yield match[1]


def _write(path: Path, data: bytes) -> None:
    """Write a file beside its place and move it there when it is whole and on the disk."""
    path.parent.mkdir(parents=True, exist_ok=True)
    _clear(path.parent)
    part = path.with_name(f"{path.name}.{uuid4().hex}{_PART}")
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except BaseException:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise
    for folder in (path.parent, path.parent.parent, path.parent.parent.parent):
        _sync(folder)


def _clear(folder: Path) -> None:
    """Take away what a crash long ago left half written."""
    with suppress(OSError):
        for left in folder.glob(f"*{_PART}"):
            if time.time() - left.stat().st_mtime > _LEFT_S:
                left.unlink()


def _sync(folder: Path) -> None:
    """Make new names in a folder last, where the system lets a folder be synced."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
