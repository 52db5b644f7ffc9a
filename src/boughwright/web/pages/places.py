"""Places, their shelves and their weather; and how far a long work has come."""

from __future__ import annotations

import asyncio
import json
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, Protocol

from fastapi import APIRouter, Depends, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, Response, StreamingResponse

from boughwright.errors import BoughwrightError, FileError, TextError, UnknownNameError
from boughwright.usecases.enter import enter_place, enter_shelf
from boughwright.usecases.entry import FieldFault
from boughwright.usecases.weather import load_weather
from boughwright.web.forms import (
    Sent,
    briefly,
    faulty,
    given,
    groups_of,
    see,
    sent_form,
    told_plainly,
    writer_of,
)
from boughwright.web.naming import places_here
from boughwright.web.state import Bench, bench
from boughwright.web.works import MIDDLE, Work, works_of

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from boughwright.usecases.places import PlaceLook, Places, ShelfLook
    from boughwright.usecases.weather import WeatherTaken
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Sending = Annotated[Sent, Depends(sent_form)]
Saved = Annotated[str, Query(max_length=20)]
EVERY_S: Final = 0.2
"""How often a page is told how far a work is. [s]"""
LONGEST_S: Final = 300
"""After this the page asks anew. [s]"""
ROWS_TOLD: Final = 40
"""How many refused rows are shown; all are counted."""
ORDERS: Final = ("dmy", "mdy")


# --- places ---------------------------------------------------------------------------------------


@router.get("/places")
def all_places(request: Request, bench: AtBench) -> Response:
    """Show all places."""
    if not bench.has_book:
        return see("/start")
    found = places_here(bench)
    words = bench.speaker()
    if not found.places:
        sentence = words.t("places.none")
    else:
        short = [one for one in found.places if not one.weather.days]
        weather = (
            words.t("places.no_weather", n=len(short))
            if short
            else words.t("places.fed", n=len(found.places))
        )
        sentence = words.t("places.sentence", n=len(found.places), weather=weather)
    return bench.render(request, "places/list.html", found=found, sentence=sentence)


@router.get("/places/new")
def ask_place(request: Request, bench: AtBench) -> Response:
    """Show the form of a new place."""
    if not bench.has_book:
        return see("/start/place")
    return _place_form(request, bench, places_here(bench), None)


@router.post("/places/new")
def add_place(request: Request, bench: AtBench, sent: Sending) -> Response:
    """Enter a new place."""
    if not bench.has_book:
        return see("/start/place")
    entered = enter_place(bench.book, None, given("place", sent, bench.speaker()), writer_of(bench))
    if not entered.ok:
        return _place_form(request, bench, places_here(bench), None, sent, entered.faults)
    return see(f"/places/{entered.key}?saved=new")


@router.get("/places/{place}")
def show_place(request: Request, place: str, bench: AtBench, saved: Saved = "") -> HTMLResponse:
    """Show a place: its facts, its shelves and its weather."""
    found = places_here(bench)
    return _place_form(request, bench, found, found.place(place), saved=saved)


@router.post("/places/{place}")
def change_place(request: Request, place: str, bench: AtBench, sent: Sending) -> Response:
    """Enter new facts of a place."""
    found = places_here(bench)
    here = found.place(place)
    fields = given("place", sent, bench.speaker())
    entered = enter_place(bench.book, here.key, fields, writer_of(bench))
    if not entered.ok:
        return _place_form(request, bench, found, here, sent, entered.faults)
    return see(f"/places/{here.key}?saved=facts")


def _place_form(
    request: Request, bench: Bench, found: Places, here: PlaceLook | None,
    sent: Sent | None = None, faults: tuple[FieldFault, ...] = (), *, saved: str = "",
) -> HTMLResponse:  # fmt: skip
    words = bench.speaker()
    groups = groups_of(
        "place", words, known=None if here is None else here.fields, sent=sent, faults=faults,
        required=("name", "latitude"), offers={"weather": "station-offers"},
    )  # fmt: skip
    return bench.render(
        request,
        "places/place.html" if here is not None else "places/new.html",
        status=422 if faults else 200,
        place=here,
        sentence="" if here is None else _weather_told(here, words.t, words.day_short),
        groups=groups,
        faulty=faulty(groups),
        stations=found.stations,
        saved=saved if saved in ("new", "facts", "shelf") else "",
    )


def _weather_told(
    here: PlaceLook, t: Callable[..., str], day: Callable[..., str]
) -> str:  # fmt: skip
    known = here.weather
    if known.first is None or known.last is None:
        return t("places.place_none", place=here.name)
    if not known.missing_days:
        return t("places.place_whole", place=here.name, n=known.days)
    return t("places.place_gaps", place=here.name, n=known.missing_days, last=day(known.last))


# --- shelves --------------------------------------------------------------------------------------


@router.get("/places/{place}/shelves/new")
def ask_shelf(request: Request, place: str, bench: AtBench) -> HTMLResponse:
    """Show the form of a new shelf."""
    return _shelf_form(request, bench, places_here(bench).place(place), None)


@router.post("/places/{place}/shelves/new")
def add_shelf(request: Request, place: str, bench: AtBench, sent: Sending) -> Response:
    """Enter a new shelf."""
    return _take_shelf(request, bench, places_here(bench).place(place), None, sent)


@router.get("/places/{place}/shelves/{shelf}")
def show_shelf(request: Request, place: str, shelf: str, bench: AtBench) -> HTMLResponse:
    """Show a shelf's facts."""
    here = places_here(bench).place(place)
    return _shelf_form(request, bench, here, _shelf(here, shelf))


@router.post("/places/{place}/shelves/{shelf}")
def change_shelf(
    request: Request, place: str, shelf: str, bench: AtBench, sent: Sending
) -> Response:  # fmt: skip
    """Enter new facts of a shelf."""
    here = places_here(bench).place(place)
    return _take_shelf(request, bench, here, _shelf(here, shelf), sent)


def _shelf(place: PlaceLook, key: str) -> ShelfLook:
    for one in place.shelves:
        if one.key == key:
            return one
    raise UnknownNameError(
        f"there is no shelf with the key {key!r}",
        allowed=", ".join(one.name for one in place.shelves) or "none yet",
        todo="Choose one, or make a new shelf",
    )


def _take_shelf(
    request: Request, bench: Bench, place: PlaceLook, shelf: ShelfLook | None, sent: Sent
) -> Response:
    fields = given("shelf", sent, bench.speaker())
    key = None if shelf is None else shelf.key
    entered = enter_shelf(bench.book, place.key, key, fields, writer_of(bench))
    if not entered.ok:
        return _shelf_form(request, bench, place, shelf, sent, entered.faults)
    return see(f"/places/{place.key}?saved=shelf")


def _shelf_form(
    request: Request, bench: Bench, place: PlaceLook, shelf: ShelfLook | None,
    sent: Sent | None = None, faults: tuple[FieldFault, ...] = (),
) -> HTMLResponse:  # fmt: skip
    groups = groups_of(
        "shelf", bench.speaker(), known=None if shelf is None else shelf.fields, sent=sent,
        faults=faults, required=("name",),
    )  # fmt: skip
    return bench.render(
        request, "places/shelf.html", status=422 if faults else 200, place=place, shelf=shelf,
        groups=groups, faulty=faulty(groups),
    )  # fmt: skip


# --- a weather file -------------------------------------------------------------------------------


@router.post("/weather/load/{place}")
def take_weather(
    request: Request,
    place: str,
    bench: AtBench,
    file: Annotated[UploadFile | None, File()] = None,
    order: Annotated[str, Form(max_length=3)] = "",
    onward: Annotated[Literal["", "start"], Form()] = "",
) -> Response:
    """Take a weather file for a place, in the background when it is long."""
    here = places_here(bench).place(place)
    if file is None or not file.size:
        raise FileError("no file was chosen", allowed="a table of days as CSV",
                        todo="Go back and choose the weather file")  # fmt: skip
    folder = Path(tempfile.mkdtemp(prefix="boughwright-"))
    kept = keep_upload(file, folder / "weather.csv")
    station, today = here.weather.station, bench.today
    told_order = order if order in ORDERS else None

    def job(told: Callable[[float], None]) -> WeatherTaken:
        try:
            taken = load_weather(
                bench.book, station, kept, today=today, date_order=told_order,
                progress=lambda share: told(MIDDLE * share),
            )  # fmt: skip
        except (FileError, TextError) as error:
            # Where it lies on this machine says nothing to whoever sent it.
            where = error.where.rpartition("weather.csv, ")[2] if "row" in error.where else ""
            raise type(error)(error.what, where=where, allowed=error.allowed,
                              todo=error.todo) from error  # fmt: skip
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        look_again(bench, told)
        return taken

    work = works_of(request).start("weather", job, place=here.key, name=here.name, onward=onward)
    work.wait()
    return see(f"/works/{work.id}")


def keep_upload(file: UploadFile, to: Path) -> Path:
    """Copy what was sent to a file of our own; its own name is not used."""
    with to.open("xb") as kept:
        shutil.copyfileobj(file.file, kept, 1 << 20)
    return to


def look_again(bench: Bench, told: Callable[[float], None]) -> None:
    """Work the day out again after much was written; the second part of a long work."""
    try:
        bench.kept.day(progress=lambda share: told(MIDDLE + (1 - MIDDLE) * share))
    except BoughwrightError:
        return  # the page that asks for the day tells what is wrong with it
    bench.warm = True


# --- how far a work is ----------------------------------------------------------------------------


@router.get("/works/{work}")
def show_work(request: Request, work: str, bench: AtBench) -> HTMLResponse:
    """Show how far a work is, or what came of it."""
    one = works_of(request).work(work)
    if not one.ended:
        return bench.render(request, "places/working.html", work=one)
    if one.fault is not None or one.broke:
        return bench.render(
            request, "places/failed.html", status=422, work=one,
            fault=_fault_told(one, bench.speaker()),
        )  # fmt: skip
    words = bench.speaker()
    shown = _weather_result if one.of == "weather" else _folder_result
    return bench.render(
        request,
        f"places/{one.of}_taken.html",
        work=one,
        brief=lambda text: briefly(text, words),
        **shown(one, words),
    )


def _weather_result(work: Work, words: Speaker) -> dict[str, Any]:
    taken: WeatherTaken = work.result
    days = taken.file.days
    return {
        "taken": taken,
        "days": len(days),
        "first": min(day.on for day in days),
        "last": max(day.on for day in days),
        "refused": [_row_told(row, words) for row in taken.file.refused[:ROWS_TOLD]],
        "more": max(0, taken.file.refused_count - ROWS_TOLD),
    }


def _folder_result(work: Work, words: Speaker) -> dict[str, Any]:
    problems = work.result.read.problems
    return {
        "taken": work.result,
        "problems": [(one, *_row_told(one, words)) for one in problems[:ROWS_TOLD]],
        "count": len(problems),
        "more": max(0, len(problems) - ROWS_TOLD),
    }


def _fault_told(work: Work, words: Speaker) -> FieldFault | None:
    error = work.fault
    if error is None:
        return None
    fault = FieldFault(error.where, error.what, error.allowed, error.todo)
    return told_plainly(None, fault, words)


class NotTaken(Protocol):
    """A row of a file that was not taken, and why."""

    @property
    def row(self) -> int: ...  # noqa: D102
    @property
    def what(self) -> str: ...  # noqa: D102
    @property
    def allowed(self) -> str: ...  # noqa: D102
    @property
    def todo(self) -> str: ...  # noqa: D102


def _row_told(row: NotTaken, words: Speaker) -> tuple[int, FieldFault]:
    """Return a row that was not taken: its number, and what is wrong in the page's words."""
    told = told_plainly(None, FieldFault("", row.what, row.allowed, row.todo), words)
    assert told is not None
    return row.row, told


@router.get("/progress/works/{work}")
def follow_work(request: Request, work: str, bench: AtBench) -> StreamingResponse:
    """Tell how far a work is until it ends."""
    one = works_of(request).work(work)
    words = bench.speaker().t(f"places.working.{one.of}")
    return StreamingResponse(_told(one, words), media_type="text/event-stream")


async def _told(work: Work, words: str) -> AsyncIterator[str]:
    for _ in range(int(LONGEST_S / EVERY_S)):
        told: dict[str, object] = {"share": round(work.share, 3), "words": words}
        if work.ended:
            told |= {"done": True, "href": f"/works/{work.id}"}
        yield f"data: {json.dumps(told)}\n\n"
        if work.ended:
            return
        await asyncio.sleep(EVERY_S)
