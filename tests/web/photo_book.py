"""A small book with one tree, and pictures of trees drawn for tests."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw

from boughwright.journal.events import BranchSet, Event, FrontTurned, Measured, TreeSet
from boughwright.journal.terms import Quantity
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.tree.replay import replay
from boughwright.usecases.photos import TreePhotos, photos_of

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.tree.model import Tree

TODAY = date(2026, 6, 9)
START = date(2020, 1, 1)
TREE = "gate-hornbeam"


def new_book(folder: Path, *, height_mm: float | None = None) -> Path:
    """Make a book with one tree of two branches."""
    facts = {"name": "Gate hornbeam", "species": "Carpinus betulus"}
    with Book.open(folder / "garden.book", create=True) as book:
        book.append(
            [
                Event(
                    TreeSet(facts | ({"height_mm": height_mm} if height_mm else {})), START, TREE
                ),
                Event(BranchSet({"name": "1L", "kind": "branch"}), START, TREE, "b-1"),
                Event(BranchSet({"name": "2R", "kind": "branch"}), START, TREE, "b-2"),
                Event(TreeSet({"name": "Ditch field maple"}), START, "ditch"),
            ]
        )
    return folder / "garden.book"


def tree_in(path: Path, tree: str = TREE) -> Tree:
    """Return a tree of the book."""
    with Reader.open(path) as reader:
        return replay(tree, reader.events(tree))


def events_in(path: Path, tree: str = TREE) -> list[Event]:
    """Return the events of a tree."""
    with Reader.open(path) as reader:
        return reader.events(tree)


def listed(path: Path, tree: str = TREE, *, today: date = TODAY) -> TreePhotos:
    """Return the pictures of a tree."""
    return photos_of(events_in(path, tree), tree_in(path, tree), today=today, book=path)


def write(path: Path, *events: Event) -> None:
    """Write events into the book."""
    with Book.open(path) as book:
        book.append(events)


def height_read(mm: float, on: date) -> Event:
    """Return a reading of the tree's height."""
    return Event(Measured(Quantity.HEIGHT, mm), on, TREE)


def front_turned(degrees: float, on: date) -> Event:
    """Return a turn of the tree's front."""
    return Event(FrontTurned(degrees), on, TREE)


@dataclass(frozen=True)
class Camera:
    """How a picture was taken: pixels for a mm at the tree, and where the trunk's foot lies.

    The foot lies at ``foot`` [px from upper left] in a picture of ``size``.
    """

    px_per_mm: float
    foot: tuple[float, float]
    size: tuple[int, int]

    def at(self, x_mm: float, up_mm: float) -> tuple[float, float]:
        """Return the pixel of a place: mm to the right of the foot and above the soil."""
        return (self.foot[0] + x_mm * self.px_per_mm, self.foot[1] - up_mm * self.px_per_mm)

    def share(self, x_mm: float, up_mm: float) -> tuple[float, float]:
        """Return a place as shares of the picture."""
        x, y = self.at(x_mm, up_mm)
        return x / self.size[0], y / self.size[1]


HEIGHT_MM = 420.0
BRANCHES = ((110.0, -150.0, 190.0), (200.0, 140.0, 260.0), (290.0, -90.0, 330.0))
"""Height on the trunk, and where the branch ends: mm to the right, mm above the soil."""


def drawn(camera: Camera) -> Image.Image:
    """Draw a bare tree in black on paper, a pot below it, as this camera sees it."""
    picture = Image.new("RGB", camera.size, (235, 235, 230))
    pen = ImageDraw.Draw(picture)
    scale = camera.px_per_mm
    trunk = [camera.at(-16, 0), camera.at(16, 0), camera.at(3, HEIGHT_MM), camera.at(-3, HEIGHT_MM)]
    pen.polygon(trunk, fill=(20, 20, 20))
    for start, x_mm, up_mm in BRANCHES:
        pen.line([camera.at(0, start), camera.at(x_mm, up_mm)], (20, 20, 20), round(9 * scale))
    pen.rectangle([camera.at(-130, 0), camera.at(130, -60)], fill=(150, 90, 60))
    return picture


def as_file(picture: Image.Image, **options: object) -> bytes:
    """Return a picture as a JPEG."""
    made = io.BytesIO()
    picture.save(made, "JPEG", quality=92, **options)
    return made.getvalue()
