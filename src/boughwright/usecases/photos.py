"""Pictures of a tree as its records tell them: by day and side, with their marks and scale."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

from boughwright.errors import UnknownNameError
from boughwright.intake.photos import THUMB_SIDES_PX, thumbnail
from boughwright.journal.events import Photographed, PhotoMarked, PhotoScaled, standing
from boughwright.journal.fields import PHOTO_CLOCK, PHOTO_SIDES
from boughwright.journal.receipt import side_words
from boughwright.journal.terms import Quantity
from boughwright.sources import Grade
from boughwright.store import photos as folder
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path
    from uuid import UUID

    from boughwright.journal.events import Event
    from boughwright.tree.model import Tree
    from boughwright.usecases.shapes import Json

SIDES = (*PHOTO_SIDES, *PHOTO_CLOCK)
"""Sides a picture may show, in the order they are listed."""
SMALL_PX, LARGE_PX = THUMB_SIDES_PX
ONE_AT_A_TIME = threading.Lock()
"""Held while a picture is unpacked, so that many at once never fill the memory."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A stroke on a picture. Places are shares of its width and height, 0..1 from upper left."""

    event: UUID
    branch: str | None
    name: str
    x: float
    y: float
    x2: float | None
    y2: float | None


@dataclass(frozen=True, slots=True)
class Scale:
    """How large things on a picture are.

    ``ends`` are the two ends of the known length (x1, y1, x2, y2), ``soil`` is where the trunk
    stands in the soil (x, y), all as shares of the picture; None where they were not marked.
    """

    event: UUID
    mm_per_px: float
    length_mm: float | None
    how: str
    ends: tuple[float, float, float, float] | None
    soil: tuple[float, float] | None
    grade: Grade


@dataclass(frozen=True, slots=True)
class Photo:
    """One picture of a tree.

    ``view`` is its side in plain words; ``here`` tells whether its file is in the folder of photos.
    """

    name: str
    event: UUID
    on: date
    side: str
    view: str
    width: int
    height: int
    dated: str
    who: str
    note: str
    here: bool
    marks: tuple[Mark, ...]
    scale: Scale | None


@dataclass(frozen=True, slots=True)
class TreePhotos:
    """The pictures of one tree, newest first."""

    tree: str
    name: str
    today: date
    photos: tuple[Photo, ...]

    def photo(self, name: str) -> Photo:
        """Return one picture.

        Raises
        ------
        UnknownNameError
            When the tree has no such picture.
        """
        for photo in self.photos:
            if photo.name == name:
                return photo
        raise UnknownNameError(
            f"{self.name} has no photo {name[:12]!r}",
            allowed="a photo on its page",
            todo="Open the tree's photos and choose one",
        )

    @property
    def by_side(self) -> tuple[tuple[str, tuple[Photo, ...]], ...]:
        """The pictures by side, in the order of `SIDES`; sides without one are left out."""
        rows = ((side, tuple(p for p in self.photos if p.side == side)) for side in SIDES)
        return tuple((side, found) for side, found in rows if found)


def photos_of(
    events: Iterable[Event], tree: Tree, *, today: date, book: Path | None = None
) -> TreePhotos:
    """Return the pictures of a tree as its records tell them.

    A picture added again takes the newer day and side; a branch marked again on one picture moves.

    Parameters
    ----------
    events : iterable of Event
        Those of the tree, in any order.
    today : date
        Later days do not count.
    book : Path, optional
        Where to look whether the files are there; None: taken to be there.
    """
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    shots: dict[str, Event] = {}
    marks: dict[str, dict[str, Mark]] = {}
    scales: dict[str, Event] = {}
    for event in standing(events):
        body = event.body
        if event.on > today or event.tree != tree.id:
            continue
        if isinstance(body, Photographed):
            shots[body.photo] = _later(shots.get(body.photo), event)
        elif isinstance(body, PhotoMarked):
            called = names.get(event.branch or "", body.label or event.branch or "")
            own = marks.setdefault(body.photo, {})
            own[event.branch or f" {body.label}"] = Mark(
                event.id, event.branch, called, body.x, body.y, body.x2, body.y2
            )
        elif isinstance(body, PhotoScaled):
            scales[body.photo] = event
    found = [
        _photo(event, tuple(marks.get(name, {}).values()), scales.get(name), book)
        for name, event in shots.items()
    ]
    found.sort(key=lambda photo: (photo.on.toordinal(), photo.event.int), reverse=True)
    return TreePhotos(tree.id, tree.name, today, tuple(found))


def _later(one: Event | None, other: Event) -> Event:
    """Return what was entered later of two records of one picture, whatever day each says."""
    if one is None:
        return other
    return max(one, other, key=lambda event: (event.recorded, event.id))


def _photo(event: Event, marks: tuple[Mark, ...], scaled: Event | None, book: Path | None) -> Photo:
    body = event.body
    assert isinstance(body, Photographed)
    return Photo(
        name=body.photo, event=event.id, on=event.on, side=body.side, view=side_words(body.side),
        width=body.width, height=body.height, dated=body.dated, who=event.who, note=body.note,
        here=book is None or folder.has(book, body.photo), marks=marks,
        scale=_scale(event, body, scaled),
    )  # fmt: skip


def _scale(event: Event, shot: Photographed, scaled: Event | None) -> Scale | None:
    if scaled is None:
        if shot.mm_per_px is None:
            return None
        return Scale(event.id, shot.mm_per_px, None, shot.scale_how, None, None, Grade.MEASURED)
    body = scaled.body
    assert isinstance(body, PhotoScaled)
    span_px = hypot((body.x2 - body.x1) * shot.width, (body.y2 - body.y1) * shot.height)
    soil = None
    if body.soil_x is not None and body.soil_y is not None:
        soil = (body.soil_x, body.soil_y)
    # The agreed outline is what the tree is meant to reach, not a measure of it.
    grade = Grade.GUESS if body.how == "outline" else Grade.MEASURED
    return Scale(scaled.id, body.length_mm / span_px, body.length_mm, body.how,
                 (body.x1, body.y1, body.x2, body.y2), soil, grade)  # fmt: skip


def is_photo(name: str) -> bool:
    """Tell whether a text may be the name of a picture."""
    return folder.is_name(name)


# --- the pictures themselves ---------------------------------------------------------------------


def picture(book: Path, name: str, *, side_px: int | None = None) -> tuple[bytes, str]:
    """Return a picture or a small copy of it, and its media type.

    A small copy that is missing is made again.

    Raises
    ------
    UnknownNameError
        When there is no such picture.
    FileError, StoreError
    """
    if side_px is None:
        return folder.read(book, name), "image/jpeg"
    if not folder.has(book, name, side_px=side_px):
        with ONE_AT_A_TIME:
            small = thumbnail(folder.read(book, name), side_px)
            folder.keep(book, small, name=name, side_px=side_px)
    return folder.read(book, name, side_px=side_px), "image/webp"


def known_height(tree: Tree, on: date) -> tuple[float, str] | None:
    """Return a tree's height [mm] about a day and how it is known.

    The reading nearest to the day, else the height of its agreed outline; None when neither is
    known.
    """
    read = [m for m in tree.measures if m.what is Quantity.HEIGHT and m.branch < 0]
    if read:
        nearest = min(read, key=lambda m: abs((m.on - on).days))
        return nearest.value, "tree height"
    outline = tree.facts.get("height_mm")
    return (float(outline), "outline") if isinstance(outline, (int, float)) and outline else None


def photos_shape(answer: TreePhotos) -> dict[str, Json]:
    """Return a tree's pictures in their JSON shape."""
    return shaped(
        "boughwright/photos",
        1,
        {"on": answer.today, "tree": answer.tree, "name": answer.name, "photos": answer.photos},
    )
