"""Write pictures down: add them with their day and side, mark branches, set their scale."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from math import hypot
from typing import TYPE_CHECKING, BinaryIO
from uuid import UUID

from uuid6 import uuid7

from boughwright.errors import RangeError, RecordError, StoreError, TextError, UnknownNameError
from boughwright.intake.photos import THUMB_SIDES_PX, CleanPhoto, clean, reread, thumbnail
from boughwright.journal.check import check
from boughwright.journal.events import (
    Event,
    Photographed,
    PhotoMarked,
    PhotoScaled,
    Withdrawn,
    standing,
)
from boughwright.journal.receipt import receipt
from boughwright.store import photos as folder
from boughwright.store.book import Book
from boughwright.usecases.photos import ONE_AT_A_TIME, SIDES, photos_of
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from boughwright.tree.model import Tree
    from boughwright.usecases.shapes import Json

LEAST_SPAN = 0.1
"""Ends of a known length closer than this share of the picture give no scale worth the name."""


@dataclass(frozen=True, slots=True)
class Shot:
    """What is said of a picture when it is added.

    Parameters
    ----------
    side : str
        One of `SIDES`.
    on : date, optional
        The day it was taken; None: the day in the picture.
    sent_on : date, optional
        The day a device took it in, for when neither the grower nor the picture says one.
    who, note : str
    id : UUID
        Made on the device, once for each picture: sent again, it counts once.
    """

    side: str
    on: date | None = None
    who: str = ""
    note: str = ""
    sent_on: date | None = None
    id: UUID = field(default_factory=uuid7)


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a picture.

    ``photo`` is its name, ``event`` the record's id, ``on`` its day, ``receipt`` a plain sentence;
    ``known`` tells that it was there before. While its day is not known, ``on`` and ``event`` are
    None: the picture is kept, nothing is written, and it waits for `date_it`.
    """

    photo: str
    tree: str
    side: str
    on: date | None
    event: UUID | None
    receipt: str
    known: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """A mark or a scale that was written down, or what was taken back, in plain sentences."""

    events: tuple[UUID, ...]
    receipts: tuple[str, ...]


# --- adding --------------------------------------------------------------------------------------


def add(
    book: Path,
    tree: str,
    upload: bytes | BinaryIO,
    shot: Shot,
    *,
    today: date,
    now: datetime | None = None,
    units: str = "mm",
) -> Added:
    """Keep a picture, and write down its day and side.

    Parameters
    ----------
    book : Path
    tree : str
        Lasting id of the tree.
    upload : bytes or binary file
        As it came from the camera; its own name is never used.
    shot : Shot
    today : date
        No picture is of a later day.

    Returns
    -------
    Added
        Without a day when neither the grower nor the picture says one that can be right.

    Raises
    ------
    FileError
        When the upload is no picture that can be kept.
    UnknownNameError, RangeError, TextError, StoreError
    """
    _judge(shot, today)
    with Book.open(book) as opened:
        known = _of_id(_events(opened, tree), shot.id)
        if known is not None:
            return _added(known, today, units, known=True)
        with ONE_AT_A_TIME:
            photo = clean(upload)
            _keep(book, photo)
        return _enter(opened, tree, photo, shot, today=today, now=now, units=units)


def date_it(
    book: Path,
    tree: str,
    photo: str,
    shot: Shot,
    *,
    today: date,
    now: datetime | None = None,
    units: str = "mm",
) -> Added:
    """Write down a picture that `add` kept and that waits for its day.

    Raises
    ------
    UnknownNameError
        When no such picture is kept.
    FileError, RangeError, TextError, StoreError
    """
    _judge(shot, today)
    kept = reread(folder.read(book, photo), photo)
    with Book.open(book) as opened:
        return _enter(opened, tree, kept, shot, today=today, now=now, units=units)


def _judge(shot: Shot, today: date) -> None:
    """Refuse what is said of a picture before the picture itself is read."""
    if shot.side not in SIDES:
        raise TextError(
            f"{shot.side!r} is no side of a tree",
            allowed=", ".join(SIDES),
            todo="Choose the side that the photo shows",
        )
    if shot.on is not None and shot.on > today:
        raise RangeError(
            f"{shot.on.isoformat()} is yet to come",
            allowed=f"up to {today.isoformat()}",
            todo="Give the day the photo was taken",
        )


def _keep(book: Path, photo: CleanPhoto) -> None:
    folder.keep(book, photo.data)
    for side_px in THUMB_SIDES_PX:
        if not folder.has(book, photo.name, side_px=side_px):
            folder.keep(book, thumbnail(photo.data, side_px), name=photo.name, side_px=side_px)


def _enter(
    book: Book, tree: str, photo: CleanPhoto, shot: Shot, *, today: date, now: datetime | None,
    units: str,
) -> Added:  # fmt: skip
    camera = photo.taken if photo.taken is not None and photo.taken <= today else None
    days = ((shot.on, "said"), (camera, "camera"), (shot.sent_on, "sent"))
    on, dated = next(((day, how) for day, how in days if day is not None), (None, ""))
    before = _events(book, tree)
    if on is None:
        return Added(photo.name, tree, shot.side, None, None, "")
    body = Photographed(
        photo.name, photo.width, photo.height, shot.side,
        dated=dated, note=shot.note.strip(),
    )  # fmt: skip
    known = _of_id(before, shot.id) or _same(before, body, on)
    event = Event(body, on, tree=tree, who=shot.who, recorded=_moment(now), id=_as_kept(shot.id))
    if known is None:
        known = _append(book, event)
    return _added(known or event, today, units, known=known is not None)


def _append(book: Book, event: Event) -> Event | None:
    """Write an event; return the one of its id that another sender wrote in the meantime."""
    check(event, imported=True)
    try:
        book.append([event])
    except StoreError:
        other = _of_id(book.events(), event.id)
        if other is None:
            raise
        if other.tree != event.tree or type(other.body) is not type(event.body):
            raise _used(event.id) from None
        return other
    return None


def _used(id_: UUID) -> RecordError:
    return RecordError(
        f"the id {id_} is already used by another record",
        allowed="a new id for a new photo",
        todo="Send the photo again from a page opened afresh",
    )


def _of_id(events: Iterable[Event], sent: UUID) -> Event | None:
    wanted = _as_kept(sent)
    return next((event for event in events if event.id == wanted), None)


def _same(events: Iterable[Event], body: Photographed, on: date) -> Event | None:
    """Return the standing record that already says all this of the same picture."""
    said = [e for e in standing(events) if isinstance(e.body, Photographed)]
    of_it = [e for e in said if getattr(e.body, "photo", "") == body.photo]
    last = of_it[-1] if of_it else None
    return last if last is not None and (last.body, last.on) == (body, on) else None


def _added(event: Event, today: date, units: str, *, known: bool) -> Added:
    body = event.body
    if not isinstance(body, Photographed):
        raise _used(event.id)
    words = receipt(body, "", on=event.on, today=today, units=units)
    return Added(body.photo, event.tree or "", body.side, event.on, event.id, words, known)


def _as_kept(sent: UUID) -> UUID:
    """Return the record's id for one made on a device, of whatever version that was.

    It is of version 8, made from another id: only records said at the bench are of version 7, and
    ``same`` and ``undo`` go by those.
    """
    bits = sent.int & ~(0xF << 76) & ~(0x3 << 62)
    return UUID(int=bits | 0x8 << 76 | 0x2 << 62)


def _moment(now: datetime | None) -> datetime:
    return now or datetime.now(UTC)


def _events(book: Book, tree: str) -> list[Event]:
    events = book.events(tree)
    if not events:
        raise UnknownNameError(
            f"there is no tree with the key {tree!r}",
            allowed="a tree of the book",
            todo="Open the list of trees and choose one",
        )
    return events


# --- marks and scale -----------------------------------------------------------------------------


def mark(
    book: Path,
    tree: Tree,
    body: PhotoMarked,
    *,
    branch: str = "",
    today: date,
    who: str = "",
    id: UUID | None = None,  # noqa: A002  # the record's own word
) -> Told:
    """Mark a branch on a picture; a branch marked before on the same picture moves there.

    Parameters
    ----------
    branch : str
        Lasting id of the branch; empty when ``body.label`` says what is marked.

    Raises
    ------
    UnknownNameError
        When the tree has no such branch or no such picture.
    RecordError, RangeError, TextError, StoreError
    """
    if branch and branch not in tree.branches.ids:
        raise UnknownNameError(
            f"{tree.name} has no branch with the key {branch!r}",
            allowed="a branch of its list",
            todo="Choose one of the tree's branches",
        )
    if not branch and not body.label.strip():
        raise RecordError("nothing is named", allowed="a branch, or words of your own",
                          todo="Choose the branch that the mark shows")  # fmt: skip
    return _write(book, tree, body, branch or None, today, who, id)


def scale(
    book: Path,
    tree: Tree,
    body: PhotoScaled,
    *,
    today: date,
    who: str = "",
    id: UUID | None = None,  # noqa: A002  # the record's own word
) -> Told:
    """Set the scale of a picture from two ends of a known length.

    Raises
    ------
    RangeError
        When the ends lie too close together to give a scale.
    UnknownNameError, TextError, StoreError
    """
    if hypot(body.x2 - body.x1, body.y2 - body.y1) < LEAST_SPAN:
        raise RangeError(
            "the two ends lie too close together",
            allowed=f"at least {LEAST_SPAN:.0%} of the picture apart",
            todo="Mark a longer length, such as the tree's height",
        )
    return _write(book, tree, body, None, today, who, id)


def take_back(book: Path, tree: Tree, photo: str, *, today: date, who: str = "",
              record: UUID | None = None) -> Told:  # fmt: skip
    """Take back a picture with all that was said of it, or one mark or scale on it.

    The file itself stays in the folder, so that taking back can be taken back.

    Raises
    ------
    UnknownNameError
        When nothing that counts is meant.
    StoreError
    """
    with Book.open(book) as opened:
        found = [
            event
            for event in standing(_events(opened, tree.id))
            if isinstance(event.body, Photographed | PhotoMarked | PhotoScaled)
            and event.body.photo == photo
            and (record is None or event.id == record)
        ]
        if not found:
            raise UnknownNameError(
                "nothing of this photo is left to take back",
                allowed="a photo or a mark that stands",
                todo="Open the tree's photos again",
            )
        moment = _moment(None)
        back = [
            Event(Withdrawn(e.id), today, tree=tree.id, who=who, recorded=moment) for e in found
        ]
        opened.append(back)
    receipts = tuple(f"Taken back: {_receipt(event, tree, today)}" for event in found)
    return Told(tuple(event.id for event in back), receipts)


def _write(
    book: Path, tree: Tree, body: PhotoMarked | PhotoScaled, branch: str | None, today: date,
    who: str, sent: UUID | None,
) -> Told:  # fmt: skip
    made = _as_kept(sent or uuid7())
    event = Event(body, today, tree=tree.id, branch=branch, who=who, id=made)
    check(event, imported=True)
    with Book.open(book) as opened:
        events = _events(opened, tree.id)
        photos_of(events, tree, today=today).photo(body.photo)
        known = _of_id(events, made) or _append(opened, event)
    return Told((made,), (_receipt(known or event, tree, today),))


def _receipt(event: Event, tree: Tree, today: date) -> str:
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    return receipt(event.body, names.get(event.branch or "", ""), on=event.on, today=today)


def added_shape(answer: Added) -> dict[str, Json]:
    """Return what became of a picture in its JSON shape."""
    return shaped(
        "boughwright/photo-added",
        1,
        {
            "photo": answer.photo,
            "tree": answer.tree,
            "side": answer.side,
            "on": answer.on,
            "event": answer.event,
            "receipt": answer.receipt,
            "known": answer.known,
        },
    )
