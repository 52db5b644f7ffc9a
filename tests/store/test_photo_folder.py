"""The folder of pictures: whole or not at all, once each, and never outside."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from store_help import notes

from boughwright.errors import BoughwrightError, StoreError, UnknownNameError
from boughwright.store import photos
from boughwright.store.book import Book
from boughwright.usecases.keep import copy_out, held_shape, put_back

DATA = b"\xff\xd8\xff picture one"
NAME = hashlib.sha256(DATA).hexdigest()


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "garden.book"
    with Book.open(path, create=True) as opened:
        opened.append(notes(3))
    return path


def files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_a_picture_lies_beside_the_book_under_its_own_hash(book: Path) -> None:
    assert photos.keep(book, DATA) == NAME
    assert photos.keep(book, b"small", name=NAME, side_px=320) == NAME
    assert files(book.parent / "garden.book.photos") == [
        f"{NAME[:2]}/{NAME}.320.webp",
        f"{NAME[:2]}/{NAME}.jpg",
    ]
    assert photos.read(book, NAME) == DATA
    assert photos.read(book, NAME, side_px=320) == b"small"
    assert photos.names(book) == [NAME]


def test_the_same_picture_is_written_once(book: Path) -> None:
    photos.keep(book, DATA)
    path = photos.folder_of(book) / NAME[:2] / f"{NAME}.jpg"
    before = (path.stat().st_ino, path.stat().st_mtime_ns)
    photos.keep(book, DATA)
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == before


def test_a_spoiled_file_is_mended_by_adding_the_picture_again(book: Path) -> None:
    photos.keep(book, DATA)
    path = photos.folder_of(book) / NAME[:2] / f"{NAME}.jpg"
    path.write_bytes(DATA[:5])
    photos.keep(book, DATA)
    assert photos.read(book, NAME) == DATA


def test_a_missing_picture_is_told_plainly(book: Path) -> None:
    assert not photos.has(book, NAME)
    assert photos.names(book) == []
    with pytest.raises(UnknownNameError, match="there is no picture") as caught:
        photos.read(book, NAME)
    assert "backup" in caught.value.todo


@pytest.mark.parametrize(
    "name",
    [
        "",
        "../../etc/passwd",
        "..",
        NAME.upper(),
        NAME[:63],
        NAME + "0",
        NAME + "\n",
        f"{NAME[:60]}/../",
        "/" + NAME,
        NAME[:62] + "é1",
        "\x00" * 64,
        "a/" * 32,
    ],
)
def test_no_other_name_reaches_the_disk(
    name: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("the disk was asked")

    monkeypatch.setattr(os, "open", never)
    monkeypatch.setattr(Path, "lstat", never)
    assert not photos.has(book, name)
    with pytest.raises(UnknownNameError):
        photos.read(book, name)
    with pytest.raises(UnknownNameError):
        photos.keep(book, b"x", name=name or "-", side_px=320)


@pytest.mark.skipif(not hasattr(os, "O_NOFOLLOW"), reason="this system has no links to guard")
def test_a_link_in_the_folder_is_not_followed(book: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("not for others")
    path = photos.folder_of(book) / NAME[:2] / f"{NAME}.jpg"
    path.parent.mkdir(parents=True)
    path.symlink_to(secret)
    assert not photos.has(book, NAME)
    assert photos.names(book) == []
    with pytest.raises(UnknownNameError):
        photos.read(book, NAME)


def test_other_files_in_the_folder_are_no_pictures(book: Path) -> None:
    photos.keep(book, DATA)
    shelf = photos.folder_of(book) / NAME[:2]
    (shelf / "note.txt").write_text("x")
    (shelf / f"{NAME}.jpg.abc.part").write_text("x")
    wrong = photos.folder_of(book) / ("00" if NAME[:2] != "00" else "11")
    wrong.mkdir()
    (wrong / f"{NAME}.jpg").write_bytes(DATA)
    assert photos.names(book) == [NAME]


def test_a_disk_that_refuses_leaves_nothing_half_written(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left"):
        photos.keep(book, DATA)
    assert files(photos.folder_of(book)) == []


KILLED = """
import os, sys
from pathlib import Path
from boughwright.store import photos
sync, book = os.fsync, Path(sys.argv[1])
def stop(handle):
    os.kill(os.getpid(), 9)
os.fsync = stop
photos.keep(book, b"x" * 1000)
"""


def test_a_program_killed_while_writing_leaves_no_picture(book: Path) -> None:
    done = subprocess.run([sys.executable, "-c", KILLED, str(book)], check=False)
    assert done.returncode == -9
    name = hashlib.sha256(b"x" * 1000).hexdigest()
    assert not photos.has(book, name)
    (left,) = photos.folder_of(book).rglob("*.part")
    os.utime(left, (time.time() - 7200,) * 2)
    assert photos.keep(book, b"x" * 1000) == name
    assert files(photos.folder_of(book)) == [f"{name[:2]}/{name}.jpg"]


# --- copies --------------------------------------------------------------------------------------


def test_a_backup_takes_the_pictures_along_and_a_restore_brings_them_back(
    book: Path, tmp_path: Path
) -> None:
    photos.keep(book, DATA)
    photos.keep(book, b"small", name=NAME, side_px=320)
    photos.keep(book, b"another")
    copy = tmp_path / "copy" / "garden.backup"
    copy.parent.mkdir()
    held = copy_out(book, copy)
    assert (held.events, held.photos, held.photos_broken) == (3, 2, ())
    assert str(held).endswith("; photos 2")
    assert held_shape("backup", held)["photos"] == 2
    new = tmp_path / "elsewhere" / "garden.book"
    new.parent.mkdir()
    back, kept = put_back(copy, new)
    assert (back.photos, kept) == (2, None)
    assert photos.names(new) == photos.names(book)
    assert photos.read(new, NAME) == DATA
    # Small copies are made again when they are wanted, so they do not go along.
    assert not photos.has(new, NAME, side_px=320)


def test_a_broken_picture_is_named_and_left_out(book: Path, tmp_path: Path) -> None:
    photos.keep(book, DATA)
    other = photos.keep(book, b"another")
    (photos.folder_of(book) / NAME[:2] / f"{NAME}.jpg").write_bytes(b"spoiled")
    held = copy_out(book, tmp_path / "garden.backup")
    assert (held.photos, held.photos_broken) == (1, (NAME,))
    assert "broken 1" in str(held)
    assert photos.names(tmp_path / "garden.backup") == [other]


def test_a_book_without_pictures_is_copied_as_before(book: Path, tmp_path: Path) -> None:
    held = copy_out(book, tmp_path / "garden.backup")
    assert held.photos == 0
    assert "photo" not in str(held)
    assert not photos.folder_of(tmp_path / "garden.backup").exists()


def test_a_restore_that_is_refused_brings_no_pictures(book: Path, tmp_path: Path) -> None:
    photos.keep(book, DATA)
    copy_out(book, tmp_path / "garden.backup")
    there = tmp_path / "there.book"
    with Book.open(there, create=True) as opened:
        opened.append(notes(1))
    with pytest.raises(BoughwrightError):
        put_back(tmp_path / "garden.backup", there)
    assert photos.names(there) == []
    put_back(tmp_path / "garden.backup", there, force=True)
    assert photos.names(there) == [NAME]
