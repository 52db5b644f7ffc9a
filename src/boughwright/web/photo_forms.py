"""What pages and answers about photos share: a tree's photos, and fields of their forms."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from boughwright.errors import FileError, RangeError, TextError
from boughwright.units import parse_number
from boughwright.usecases.photos import TreePhotos, photos_of
from boughwright.web.state import Bench, tree_day

if TYPE_CHECKING:
    from fastapi import UploadFile

    from boughwright.tree.model import Tree


def photos_here(bench: Bench, tree: str) -> TreePhotos:
    """Return the photos of a tree.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When no tree, or more than one, is meant.
    """
    return photos_on(bench, tree_day(bench, tree).tree)


def photos_on(bench: Bench, tree: Tree) -> TreePhotos:
    """Return the photos of a tree that is at hand."""
    return photos_of(bench.kept.events(tree.id), tree, today=bench.today, book=bench.book)


def day_of(text: str) -> date | None:
    """Return the day that a form gives; None for an empty field.

    Raises
    ------
    TextError
        When it is no day.
    """
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise TextError(f"{text!r} is no day", allowed="a day such as 2026-06-09",
                        todo="Mend the day, or leave it empty") from None  # fmt: skip


def file_in(upload: UploadFile | None) -> UploadFile:
    """Return the file of a form.

    Raises
    ------
    FileError
        When no file was chosen.
    """
    if upload is None or not upload.size:
        raise FileError("no photo was chosen", allowed="JPEG, PNG or WebP",
                        todo="Choose or take a photo first")  # fmt: skip
    return upload


def share_of(text: str, name: str) -> float | None:
    """Return a share, 0..1, of a field in per cent; None for an empty field.

    Raises
    ------
    TextError, RangeError
    """
    if not text.strip():
        return None
    share = parse_number(text) / 100
    if not 0 <= share <= 1:
        raise RangeError(f"{name} is {text.strip()} %", allowed="0 to 100 %",
                         todo="Mend the place on the photo")  # fmt: skip
    return share


def place_of(x: str, y: str, name: str) -> tuple[float, float] | None:
    """Return a place on a photo as shares; None when both fields are empty.

    Raises
    ------
    TextError, RangeError
        When one field is empty, no number, or beside the photo.
    """
    across, down = share_of(x, name), share_of(y, name)
    if across is None and down is None:
        return None
    if across is None or down is None:
        raise TextError(
            f"{name} has only one number",
            allowed="one from the left and one from the top",
            todo="Tap the photo, or fill in both",
        )
    return across, down


def must_have(place: tuple[float, float] | None, name: str) -> tuple[float, float]:
    """Return a place that a form cannot do without.

    Raises
    ------
    TextError
        When it was not given.
    """
    if place is None:
        raise TextError(f"{name} is not marked", allowed="a place on the photo",
                        todo="Tap the photo, or fill in both numbers")  # fmt: skip
    return place
