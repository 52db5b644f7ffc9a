"""Copy the book, checked, and put a copy back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from boughwright.store.backup import backup, restore
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.store.backup import Held
    from boughwright.usecases.shapes import Json


def copy_out(path: Path, target: Path, *, force: bool = False) -> Held:
    """Copy the book to a file; it is read back and counted before this returns.

    Raises
    ------
    StoreError
        When the target exists and ``force`` is not given, or the book is broken.
    """
    return backup(path, target, force=force)


def put_back(source: Path, path: Path, *, force: bool = False) -> tuple[Held, Path | None]:
    """Put a copy in the book's place; the book that was there is kept beside it.

    Raises
    ------
    StoreError
        When the copy is foreign or broken, or there is a book and ``force`` is not given.
    """
    return restore(source, path, force=force)


def held_shape(name: str, held: Held, kept: Path | None = None) -> dict[str, Json]:
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
            "first": held.first,
            "last": held.last,
            "kept_beside": None if kept is None else str(kept),
        },
    )
