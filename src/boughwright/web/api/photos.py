"""Photos as JSON: take one in, list a tree's, bring two to one scale."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Depends, File, Form, Query, UploadFile

from boughwright.errors import RecordError, UnknownNameError
from boughwright.usecases.photo_entry import Shot, add, added_shape
from boughwright.usecases.photo_pairs import pair_of, pair_shape
from boughwright.usecases.photos import photos_shape
from boughwright.web.api import models_pictures
from boughwright.web.api.models import documented
from boughwright.web.api.read import Name
from boughwright.web.photo_forms import day_of, photos_here
from boughwright.web.state import Bench, bench

router = APIRouter(tags=["photos"])
Key = Annotated[str, Form(max_length=200)]
Words = Annotated[str, Form(max_length=2000)]
HASH = r"^[0-9a-f]{64}$"


@router.post("/photos", **documented(models_pictures.PhotoAdded))
def take_photo(
    bench: Annotated[Bench, Depends(bench)],
    id: Annotated[UUID, Form()],  # noqa: A002  # the field's own name
    tree: Key,
    side: Annotated[str, Form(max_length=20)],
    file: Annotated[UploadFile, File()],
    said: Annotated[datetime | None, Form()] = None,
    sent: Annotated[datetime | None, Form()] = None,
    on: Annotated[str, Form(max_length=10)] = "",
    note: Words = "",
    who: Key = "",
) -> dict[str, Any]:
    """Keep a photo. Sent again with the same id it counts once.

    Its day is ``on`` when given, else the day in the picture, else that of ``said``, the moment the
    device took it in. ``sent`` is the device's clock now; it mends a ``said`` from a clock that is
    wrong. A photo without any day is kept and answered with ``on`` null: it waits for its day.
    """
    today = bench.today
    shot = Shot(
        side=side,
        on=day_of(on),
        who=who or bench.settings.who,
        note=note,
        sent_on=_sent_on(said, sent, today),
        id=id,
    )
    try:
        answer = add(bench.book, tree, file.file, shot, today=today, units=bench.settings.units)
    except UnknownNameError as error:
        # The address is right; what it was told is not. The device then stops sending it.
        raise RecordError(error.what, allowed=error.allowed, todo=error.todo) from None
    return added_shape(answer)


@router.get("/trees/{tree}/photos", **documented(models_pictures.Photos))
def list_photos(tree: Name, bench: Annotated[Bench, Depends(bench)]) -> dict[str, Any]:
    """List a tree's photos, newest first, with their marks and scale."""
    return photos_shape(photos_here(bench, tree))


@router.get("/trees/{tree}/photos/pair", **documented(models_pictures.PhotoPair))
def bring_together(
    tree: Name,
    bench: Annotated[Bench, Depends(bench)],
    one: Annotated[str, Query(pattern=HASH)],
    other: Annotated[str, Query(pattern=HASH)],
) -> dict[str, Any]:
    """Lay two photos of one side out in mm about the foot of the trunk."""
    found = photos_here(bench, tree)
    return pair_shape(pair_of(found.photo(one), found.photo(other), bench.kept.events(found.tree)))


def _sent_on(said: datetime | None, sent: datetime | None, today: date) -> date | None:
    """Return the local day a device took a picture in, by our clock and never after today."""
    if said is None:
        return None
    if said.tzinfo is None:
        said = said.replace(tzinfo=UTC)
    if sent is not None:
        sent = sent if sent.tzinfo is not None else sent.replace(tzinfo=UTC)
        try:
            said += datetime.now(UTC) - sent
        except OverflowError:
            return today
    return min(said.date(), today)
