"""A garden folder as one zip file: out of the book, and into it without trusting what it says.

Names in a zip are never used as paths. A file is taken only when its name is one that a garden
folder has, and it is then written under our own name for it.
"""

from __future__ import annotations

import stat
import tempfile
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Final

from boughwright.errors import FileError
from boughwright.journal.columns import (
    GARDEN_FILE,
    RECORDS_FILE,
    TABLES,
    WEATHER_FOLDER,
    station_file,
    station_of,
)
from boughwright.usecases.folder import load, save

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from boughwright.usecases.folder import FolderTaken

MOST_FILES: Final = 400
MOST_BYTES: Final = 300_000_000
"""Most that a zip may hold, unpacked. [bytes]"""
MOST_RATIO: Final = 200
"""Most that a file may grow when it is unpacked. Plain tables grow ten to thirty times."""
SMALL_BYTES: Final = 1_000_000
"""A file up to this size may have been packed tighter than that. [bytes]"""
LONGEST_NAME: Final = 120
_PIECE: Final = 1 << 18
_PASSED: Final = frozenset({"__MACOSX", ".DS_Store", "Thumbs.db"})
_TOP: Final = frozenset({GARDEN_FILE, RECORDS_FILE, *(table.file for table in TABLES)})


def pack(path: Path, target: Path) -> Path:
    """Write the whole book out as a garden folder in one zip file.

    Parameters
    ----------
    path : Path
        The book.
    target : Path
        The zip file to make.

    Raises
    ------
    FileError, StoreError
        When the book cannot be read, or the disk refuses.
    """
    with tempfile.TemporaryDirectory() as beside:
        folder = Path(beside) / "garden"
        files = save(path, folder)
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
            for file in files:
                packed.write(file, f"garden/{file.relative_to(folder).as_posix()}")
    return target


def load_zip(
    path: Path,
    source: Path,
    *,
    units: str = "mm",
    who: str = "",
    on: date | None = None,
    progress: Callable[[float], object] = lambda _share: None,
) -> FolderTaken:
    """Take a zipped garden folder into the book; bad rows are left out and listed.

    Raises
    ------
    FileError
        When it is no zip that may be taken, or holds no garden folder.
    StoreError
        When the book cannot be written.
    """
    with tempfile.TemporaryDirectory() as beside:
        folder = Path(beside) / "garden"
        unpack(source, folder)
        progress(0.2)
        try:
            taken = load(path, folder, units=units, who=who, on=on)
        except FileError as error:
            # Where it lies on this machine says nothing to whoever sent it.
            raise FileError(error.what, allowed=error.allowed, todo=error.todo) from error
        progress(0.6)
        return taken


def unpack(source: Path, target: Path) -> tuple[Path, ...]:
    """Unpack the files of a garden folder from a zip; anything else in it is passed over.

    Parameters
    ----------
    source : Path
        The zip file.
    target : Path
        A folder that is not there yet.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    FileError
        When it is no zip, is locked or damaged, too large, has a name that leads elsewhere, or
        holds no file of a garden folder.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            return _unpacked(packed, target)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise FileError("this is no zip file, or it is damaged", allowed="a zip of a garden folder",
                        todo="Make the zip again") from error  # fmt: skip
    except RuntimeError as error:  # how zipfile tells of a password
        raise _locked() from error


def _unpacked(packed: zipfile.ZipFile, target: Path) -> tuple[Path, ...]:
    members = _checked(packed)
    places = _places(members)
    if not places:
        raise FileError("there is no garden folder in it", allowed=", ".join(sorted(_TOP)),
                        todo="Zip the folder that holds garden.toml")  # fmt: skip
    (target / WEATHER_FOLDER).mkdir(parents=True)
    left = MOST_BYTES
    for name, member in places.items():
        left -= _write(packed, member, target / name, left)
    return tuple(target / name for name in places)


def _checked(packed: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    """Return the files of a zip once their number, names and told sizes are in order."""
    every = packed.infolist()
    if len(every) > MOST_FILES:
        raise FileError(f"the zip holds {len(every)} files", allowed=f"up to {MOST_FILES}",
                        todo="Zip the garden folder alone")  # fmt: skip
    members = [one for one in every if not one.is_dir()]
    for one in members:
        if one.flag_bits & 0x1:
            raise _locked()
        if stat.S_ISLNK(one.external_attr >> 16) or _leads_out(one.filename):
            raise FileError(f"the zip holds the name {one.filename[:LONGEST_NAME]!r}",
                            allowed="names inside the folder",
                            todo="Zip the garden folder alone")  # fmt: skip
        if one.file_size > max(SMALL_BYTES, MOST_RATIO * one.compress_size):
            raise _too_large()
    if sum(one.file_size for one in members) > MOST_BYTES:
        raise _too_large()
    return members


def _leads_out(name: str) -> bool:
    """Tell whether a name could lead out of the folder it is unpacked to."""
    plain = name.replace("\\", "/")
    return plain.startswith("/") or ":" in plain or ".." in plain.split("/") or "\0" in plain


def _places(members: list[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    """Return, by our own name for it, each file that a garden folder has.

    The folder may lie at the top of the zip or in one folder of it.
    """
    paths = [PurePosixPath(one.filename.replace("\\", "/")) for one in members]
    tops = [path.parent for path in paths if path.name in _TOP and not _PASSED & set(path.parts)]
    top = min(tops, key=lambda folder: len(folder.parts), default=None)
    found: dict[str, zipfile.ZipInfo] = {}
    for path, member in zip(paths, members, strict=True):
        name = "" if top is None or _PASSED & set(path.parts) else _own_name(path, top)
        if name and name.casefold() in {one.casefold() for one in found}:
            raise FileError(f"the zip holds {name} twice", allowed="each file once",
                            todo="Make the zip again")  # fmt: skip
        if name:
            found[name] = member
    return found


def _own_name(path: PurePosixPath, top: PurePosixPath) -> str:
    """Return our own name for a file of a garden folder; empty when it is none."""
    if path.parent == top and path.name in _TOP:
        return path.name
    weather = path.parent == top / WEATHER_FOLDER and path.suffix == ".csv"
    if not weather or len(path.name) > LONGEST_NAME:
        return ""
    safe = station_file(station_of(path.name))
    return f"{WEATHER_FOLDER}/{safe}" if len(safe) <= 2 * LONGEST_NAME else ""


def _write(packed: zipfile.ZipFile, member: zipfile.ZipInfo, to: Path, left: int) -> int:
    """Unpack one file piece by piece; what it says of its size is not believed."""
    written = 0
    with packed.open(member) as source, to.open("xb") as file:
        while piece := source.read(_PIECE):
            written += len(piece)
            if written > left:
                raise _too_large()
            file.write(piece)
    return written


def _too_large() -> FileError:
    return FileError("the zip is too large when it is unpacked",
                     allowed=f"up to {MOST_BYTES // 1_000_000} MB of plain tables",
                     todo="Load the folder with the command: boughwright load FOLDER")  # fmt: skip


def _locked() -> FileError:
    return FileError("the zip is locked with a password", allowed="a plain zip",
                     todo="Make it again without a password")  # fmt: skip
