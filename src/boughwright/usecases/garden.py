"""The garden's own facts and its day, without any tree."""

from __future__ import annotations

from typing import TYPE_CHECKING

from boughwright.store.reader import Reader
from boughwright.usecases.day import garden_on

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from boughwright.journal.garden import Garden


def read_garden(path: Path, *, on: date | None = None) -> tuple[Garden, date]:
    """Return the garden, its places and shelves, and the day it is taken to be.

    Raises
    ------
    StoreError
        When the book cannot be read.
    """
    with Reader.open(path) as reader:
        return garden_on(reader.garden_events(), on)
