"""A tree's photos: by side and day, one with its marks, two at one scale, and the files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Depends, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from uuid6 import uuid7

from boughwright.errors import RecordError
from boughwright.journal.events import PhotoMarked, PhotoScaled
from boughwright.journal.fields import PHOTO_CLOCK, PHOTO_SIDES
from boughwright.units import MM_PER_INCH, parse_length_mm
from boughwright.usecases.photo_entry import Added, Shot, add, date_it, mark, scale, take_back
from boughwright.usecases.photo_pairs import Pair, pair_of, ruler
from boughwright.usecases.photos import LARGE_PX, SMALL_PX, is_photo, known_height, picture
from boughwright.web.photo_forms import day_of, file_in, must_have, photos_here, photos_on, place_of
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from boughwright.tree.model import Tree
    from boughwright.usecases.photos import Photo, TreePhotos

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Word = Annotated[str, Form(max_length=200)]
Words = Annotated[str, Form(max_length=2000)]
Number = Annotated[str, Form(max_length=20)]
HASH = r"^[0-9a-f]{64}$"
FOR_EVER = "private, max-age=31536000, immutable"
"""A name is made from what is in the picture, so what it names never changes."""
RULER_GAP = 0.23
"""Room for the ruler between the two photos, times the width of one."""
RULER_SHARE = 0.97
"""How much of the height above the soil the ruler reaches, so that its top label has room."""
FEW_TICKS = 4
"""Labels of the ruler that a phone has room for."""


# --- the files -----------------------------------------------------------------------------------


@router.get("/photos/{name}")
def whole_picture(request: Request, name: str, bench: AtBench) -> Response:
    """Send a photo."""
    return _sent(request, bench, name, None)


@router.get("/photos/{name}/320")
def small_picture(request: Request, name: str, bench: AtBench) -> Response:
    """Send a small copy of a photo."""
    return _sent(request, bench, name, SMALL_PX)


@router.get("/photos/{name}/1200")
def large_picture(request: Request, name: str, bench: AtBench) -> Response:
    """Send a copy of a photo large enough for a screen."""
    return _sent(request, bench, name, LARGE_PX)


def _sent(request: Request, bench: Bench, name: str, side_px: int | None) -> Response:
    data, kind = picture(bench.book, name, side_px=side_px)
    tag = f'"{name}-{side_px or "whole"}"'
    headers = {"Cache-Control": FOR_EVER, "ETag": tag, "X-Content-Type-Options": "nosniff"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(data, media_type=kind, headers=headers)


# --- all photos of a tree ------------------------------------------------------------------------


@router.get("/trees/{tree}/photos")
def list_photos(
    request: Request,
    tree: str,
    bench: AtBench,
    back: Annotated[str, Query(max_length=64)] = "",
) -> HTMLResponse:
    """Show a tree's photos by side and day, and take new ones; ``back`` was just taken back."""
    found = photos_here(bench, tree)
    return bench.render(
        request,
        "photos/list.html",
        found=found,
        sides=[(side, photos, _choice(photos)) for side, photos in found.by_side],
        choices=PHOTO_SIDES,
        hours=PHOTO_CLOCK,
        device_id=uuid7(),
        back=back if is_photo(back) else "",
    )


def _choice(photos: tuple[Photo, ...]) -> tuple[Photo, Photo] | None:
    """Return the oldest and the newest photo of a side, those with a scale first."""
    ready = [photo for photo in photos if _ready(photo)]
    offered = ready if len(ready) > 1 else list(photos)
    return (offered[-1], offered[0]) if len(offered) > 1 else None


def _ready(photo: Photo) -> bool:
    """Tell whether a photo can stand beside another."""
    return photo.scale is not None and photo.scale.soil is not None


@router.post("/trees/{tree}/photos")
def take_photo(
    tree: str,
    bench: AtBench,
    file: Annotated[UploadFile | None, File()] = None,
    side: Word = "",
    on: Word = "",
    note: Words = "",
    id: Annotated[UUID | None, Form()] = None,  # noqa: A002  # the field's own name
) -> Response:
    """Keep a photo; one that has no day leads on to a page that asks for it."""
    here = tree_day(bench, tree).tree.id
    shot = _shot(bench, side, on, note, id)
    answer = add(bench.book, here, file_in(file).file, shot, today=bench.today)
    return _onward(answer, shot)


def _shot(bench: Bench, side: str, on: str, note: str, sent: UUID | None) -> Shot:
    return Shot(side, day_of(on), bench.settings.who, note, id=sent or uuid7())


def _onward(answer: Added, shot: Shot) -> Response:
    if answer.on is not None:
        return _to(f"/trees/{answer.tree}/photos/{answer.photo}")
    asked = urlencode({"side": shot.side, "note": shot.note, "id": str(shot.id)})
    return _to(f"/trees/{answer.tree}/photos/{answer.photo}/day?{asked}")


def _to(path: str) -> Response:
    return RedirectResponse(path, status_code=303)


# --- two at one scale ----------------------------------------------------------------------------


@router.get("/trees/{tree}/photos/pair")
def show_pair(
    request: Request,
    tree: str,
    bench: AtBench,
    one: Annotated[str, Query(pattern=HASH)],
    other: Annotated[str, Query(pattern=HASH)],
) -> HTMLResponse:
    """Show two photos of one side at one scale on one soil line."""
    found = photos_here(bench, tree)
    first, last = found.photo(one), found.photo(other)
    try:
        pair = pair_of(first, last, bench.kept.events(found.tree))
    except RecordError as error:
        return bench.render(
            request,
            "photos/unready.html",
            found=found,
            fault=error,
            missing=[] if first.side != last.side else [p for p in (first, last) if not _ready(p)],
            back=str(request.url.query),
        )
    return bench.render(
        request, "photos/pair.html", found=found, pair=pair, **_view(pair, bench.settings.units)
    )


def _view(pair: Pair, units: str) -> dict[str, Any]:
    """Return what the drawing of a pair needs beside the pair: its box, ruler and sizes."""
    left, top, width, height = pair.view
    ticks = ruler(-top * RULER_SHARE, units)
    each = max(1, -(-len(ticks) // FEW_TICKS))
    return {
        "box": f"{left:.1f} {top:.1f} {width:.1f} {height:.1f}",
        "top": top,
        "wide": width,
        "gap": width * RULER_GAP,
        "left": left,
        "right": left + width,
        "tall": height,
        "unit": MM_PER_INCH if units == "in" else 1.0,
        "ticks": ticks,
        "few": ticks[::each],
    }


# --- one photo -----------------------------------------------------------------------------------


@router.get("/trees/{tree}/photos/{name}")
def show_photo(request: Request, tree: str, name: str, bench: AtBench) -> HTMLResponse:
    """Show one photo with its marks, and mark a branch on it."""
    here = tree_day(bench, tree).tree
    found, branches = photos_on(bench, here), here.branches
    return bench.render(
        request,
        "photos/photo.html",
        found=found,
        photo=found.photo(name),
        branches=[
            (branch, called)
            for branch, called, gone in zip(
                branches.ids, branches.names, branches.gone.tolist(), strict=True
            )
            if not gone
        ],
        device_id=uuid7(),
    )


@router.post("/trees/{tree}/photos/{name}/mark")
def mark_branch(
    tree: str,
    name: str,
    bench: AtBench,
    branch: Word = "",
    label: Word = "",
    x: Number = "",
    y: Number = "",
    x2: Number = "",
    y2: Number = "",
    id: Annotated[UUID | None, Form()] = None,  # noqa: A002  # the field's own name
) -> Response:
    """Mark a branch on a photo."""
    here = tree_day(bench, tree).tree
    from_x, from_y = must_have(place_of(x, y, "the first end"), "the first end")
    to_x, to_y = place_of(x2, y2, "the other end") or (None, None)
    body = PhotoMarked(name, from_x, from_y, to_x, to_y, "" if branch else label.strip())
    mark(bench.book, here, body, branch=branch, today=bench.today, who=bench.settings.who, id=id)
    return _to(f"/trees/{here.id}/photos/{name}")


@router.get("/trees/{tree}/photos/{name}/scale")
def show_scale(
    request: Request,
    tree: str,
    name: str,
    bench: AtBench,
    one: Annotated[str, Query(max_length=64)] = "",
    other: Annotated[str, Query(max_length=64)] = "",
) -> HTMLResponse:
    """Show the form that sets the scale of a photo; ``one`` and ``other`` lead back to a pair."""
    here = tree_day(bench, tree).tree
    found = photos_on(bench, here)
    photo = found.photo(name)
    return bench.render(
        request,
        "photos/scale.html",
        found=found,
        photo=photo,
        height=known_height(here, photo.on),
        one=one,
        other=other,
        device_id=uuid7(),
    )


@router.post("/trees/{tree}/photos/{name}/scale")
def set_scale(
    tree: str,
    name: str,
    bench: AtBench,
    x1: Number = "",
    y1: Number = "",
    x2: Number = "",
    y2: Number = "",
    soil: Word = "",
    soil_x: Number = "",
    soil_y: Number = "",
    known: Annotated[str, Form(max_length=40)] = "",
    one: Annotated[str, Form(max_length=64)] = "",
    other: Annotated[str, Form(max_length=64)] = "",
    id: Annotated[UUID | None, Form()] = None,  # noqa: A002  # the field's own name
) -> Response:
    """Set the scale of a photo; then go on to the pair it was wanted for, when there is one."""
    here = tree_day(bench, tree).tree
    found = photos_on(bench, here)
    first = must_have(place_of(x1, y1, "the first end"), "the first end")
    last = must_have(place_of(x2, y2, "the other end"), "the other end")
    foot = first if soil else place_of(soil_x, soil_y, "the soil")
    length, how = _length(known, here, found.photo(name), bench.settings.units)
    body = PhotoScaled(
        name, first[0], first[1], last[0], last[1], length,
        soil_x=foot[0] if foot else None, soil_y=foot[1] if foot else None, how=how,
    )  # fmt: skip
    scale(bench.book, here, body, today=bench.today, who=bench.settings.who, id=id)
    return _after_scale(photos_on(bench, here), name, one, other)


def _length(text: str, tree: Tree, photo: Photo, units: str) -> tuple[float, str]:
    """Return the known length [mm] and how it is known: by the form, else the tree's height."""
    if text.strip():
        given = parse_length_mm(text, bare=units)
        height = known_height(tree, photo.on)
        same = height is not None and abs(height[0] - given) < (0.5 if units == "mm" else 0.15)
        return (given, height[1]) if same and height is not None else (given, "measured")
    height = known_height(tree, photo.on)
    if height is None:
        raise RecordError(f"the height of {tree.name} is not known", allowed="a length",
                          todo="Measure what you marked and give its length")  # fmt: skip
    return height


def _after_scale(found: TreePhotos, name: str, one: str, other: str) -> Response:
    """Go back to the photo, or on to the pair it was wanted for, by way of the other's scale."""
    if not (one and other):
        return _to(f"/trees/{found.tree}/photos/{name}")
    for wanted in (one, other):
        if not _ready(found.photo(wanted)):
            asked = urlencode({"one": one, "other": other})
            return _to(f"/trees/{found.tree}/photos/{wanted}/scale?{asked}")
    return _to(f"/trees/{found.tree}/photos/pair?{urlencode({'one': one, 'other': other})}")


@router.get("/trees/{tree}/photos/{name}/day")
def ask_day(
    request: Request,
    tree: str,
    name: str,
    bench: AtBench,
    side: Annotated[str, Query(max_length=20)] = "",
    note: Annotated[str, Query(max_length=2000)] = "",
    id: Annotated[UUID | None, Query()] = None,  # noqa: A002  # the field's own name
) -> HTMLResponse:
    """Ask for the day and the side of a photo: of a new one without a day, or to mend them."""
    found = photos_here(bench, tree)
    known = _or_none(found, name)
    if known is None:
        picture(bench.book, name, side_px=SMALL_PX)
    return bench.render(
        request,
        "photos/day.html",
        found=found,
        name=name,
        known=known,
        side=known.side if known else side,
        note=known.note if known else note,
        choices=PHOTO_SIDES,
        hours=PHOTO_CLOCK,
        device_id=id or uuid7(),
    )


def _or_none(found: TreePhotos, name: str) -> Photo | None:
    return next((photo for photo in found.photos if photo.name == name), None)


@router.post("/trees/{tree}/photos/{name}/day")
def set_day(
    tree: str,
    name: str,
    bench: AtBench,
    side: Word = "",
    on: Word = "",
    note: Words = "",
    id: Annotated[UUID | None, Form()] = None,  # noqa: A002  # the field's own name
) -> Response:
    """Write down the day and side of a photo that is kept."""
    here = tree_day(bench, tree).tree.id
    shot = _shot(bench, side, on, note, id)
    return _onward(date_it(bench.book, here, name, shot, today=bench.today), shot)


@router.post("/trees/{tree}/photos/{name}/back")
def take_photo_back(
    tree: str,
    name: str,
    bench: AtBench,
    record: Annotated[UUID | None, Form()] = None,
) -> Response:
    """Take back a photo with all its marks, or one mark or scale alone."""
    here = tree_day(bench, tree).tree
    take_back(bench.book, here, name, today=bench.today, who=bench.settings.who, record=record)
    still = _or_none(photos_on(bench, here), name) is not None
    return _to(f"/trees/{here.id}/photos{'/' if still else '?back='}{name}")
