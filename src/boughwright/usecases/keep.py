"""Copy the book and its pictures, checked, and put a copy back."""

from __future__ import annotations

import zipfile
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from boughwright.store.backup import Held, backup, restore
from boughwright.store.photos import copy_all
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.store.photos import Copied
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class HeldWhole(Held):
    """What a copy holds, its pictures too.

    ``photos`` counts the pictures beside it; ``photos_broken`` names those whose contents do not
    fit their name. They were not copied.
    """

    photos: int = 0
    photos_broken: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return one line for the grower."""
        line = Held.__str__(self)
        if self.photos:
            line += f"; photos {self.photos}"
        if self.photos_broken:
            line += f"; photos left out because they are broken {len(self.photos_broken)}"
        return line


def copy_out(path: Path, target: Path, *, force: bool = False) -> HeldWhole:
    """Copy the book to a file; it is read back and counted before this returns.

    Its pictures go to a folder beside the copy. They follow the book: one that the copy speaks of
    was on the disk before the book spoke of it.

    Raises
    ------
    StoreError
        When the target exists and ``force`` is not given, or the book is broken.
    """
    held = backup(path, target, force=force)
    return _whole(held, copy_all(path, target))


def copy_to_hand_out(path: Path, folder: Path, name: str) -> tuple[HeldWhole, Path]:
    """Copy the book into an empty folder as one file to hand out, its pictures with it.

    Without pictures that is the copy itself; with them a zip of the copy and their folder.

    Parameters
    ----------
    path : Path
        The book.
    folder : Path
        An empty folder.
    name : str
        What to call the copy, without its ending.

    Raises
    ------
    StoreError
        When the book is broken, or the disk refuses.
    """
    held = copy_out(path, folder / f"{name}.book")
    if not held.photos:
        return held, held.path
    packed = folder / f"{name}.zip"
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as made:
        for file in sorted(folder.rglob("*")):
            if file.is_file() and file != packed:
                made.write(file, file.relative_to(folder).as_posix())
    return held, packed


def put_back(source: Path, path: Path, *, force: bool = False) -> tuple[HeldWhole, Path | None]:
    """Put a copy in the book's place; the book that was there is kept beside it.

    Pictures are only ever added. They come before the book, so that it never speaks of one that
    is not there yet.

    Raises
    ------
    StoreError
        When the copy is foreign or broken, or there is a book and ``force`` is not given.
    """
    may = source != path and (force or not path.exists())
    copied = copy_all(source, path) if may else None
    held, kept = restore(source, path, force=force)
    return _whole(held, copied), kept


def _whole(held: Held, copied: Copied | None) -> HeldWhole:
    given = {one.name: getattr(held, one.name) for one in fields(Held)}
    if copied is None:
        return HeldWhole(**given)
    return HeldWhole(**given, photos=copied.new + copied.same, photos_broken=copied.broken)


def held_shape(name: str, held: HeldWhole, kept: Path | None = None) -> dict[str, Json]:
    """Return what a copy holds in its JSON shape."""
    return shaped(
        f"boughwright/{name}",
        1,
        {
            "file": str(held.path),
            "events": held.events,
            "trees": held.trees,
            "stations": held.stations,
            "weather_days": held.weather_days,
            "photos": held.photos,
            "photos_broken": held.photos_broken,
            "first": held.first,
            "last": held.last,
            "kept_beside": None if kept is None else str(kept),
        },
    )
