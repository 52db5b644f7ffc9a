"""All that is written of a tree or a branch: read it, take a record back, mend its day, export."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Annotated, Literal
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Depends, Form, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from boughwright.errors import BoughwrightError, TextError, UnknownNameError
from boughwright.usecases.history import (
    History,
    Sort,
    Told,
    found_in,
    history_csv,
    history_of,
    redate,
)
from boughwright.usecases.say import withdraw
from boughwright.web.pages.session import capped
from boughwright.web.photo_forms import day_of
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.day import TreeDay
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
A_PAGE = 100
"""Records on one page."""


class Wanted:
    """Which records are wanted: of a branch, of a kind, and the page of them."""

    def __init__(
        self,
        branch: Annotated[str, Query(max_length=80)] = "",
        kind: Annotated[Sort | Literal[""], Query()] = "",
        page: Annotated[int, Query(ge=1, le=10_000)] = 1,
    ) -> None:
        self.branch = branch
        self.sort = kind or None
        self.page = page

    def query(self, page: int = 0) -> str:
        """Return the same wish as it stands in an address, for another page of it."""
        given = {"branch": self.branch, "kind": self.sort.value if self.sort else ""}
        told = {key: value for key, value in given.items() if value}
        return urlencode(told | ({"page": page} if page > 1 else {}))


Wish = Annotated[Wanted, Depends(Wanted)]


@dataclass(frozen=True, slots=True)
class Day:
    """Records of one day: those of one place that follow each other stand together."""

    on: date
    who: str
    """Who wrote them all; empty when several did, or nobody is named."""
    places: tuple[tuple[str, str, tuple[Told, ...]], ...]


def _history(bench: Bench, day: TreeDay, wish: Wanted) -> History:
    own = bench.kept.events(day.facts.tree)
    return history_of(day.tree, own, wish.branch, wish.sort, today=bench.today,
                      units=bench.settings.units)  # fmt: skip


def _seasons(lines: tuple[Told, ...], words: Speaker) -> list[tuple[str, list[Day]]]:
    """Return records by season and day, each told once."""
    days = [_day(on, list(some)) for on, some in groupby(lines, key=lambda one: one.on)]
    return [(season, list(some)) for season, some in groupby(days, lambda d: words.season(d.on))]


def _day(on: date, lines: list[Told]) -> Day:
    who = {one.who for one in lines}
    return Day(on, who.pop() if len(who) == 1 else "", _places(lines))


def _placeless(record: Told, words: Speaker) -> str:
    """Return a record's words without its place, which stands beside them."""
    told = words.say(record.words)
    _, colon, rest = told.partition(": ")
    return capped(type(told)(rest)) if colon else told


def _places(lines: list[Told]) -> tuple[tuple[str, str, tuple[Told, ...]], ...]:
    grouped = groupby(lines, key=lambda one: (one.branch, one.place))
    return tuple((branch, place, tuple(some)) for (branch, place), some in grouped)


@router.get("/trees/{tree}/records")
def list_records(
    request: Request,
    tree: str,
    bench: AtBench,
    wish: Wish,
    gone: UUID | None = None,
    moved: Annotated[bool, Query()] = False,
) -> HTMLResponse:
    """Show the records, newest first; ``gone`` was just taken back."""
    day = tree_day(bench, tree)
    found = _history(bench, day, wish)
    words = replace(bench.speaker(), south=day.calendar.south)
    pages = max(1, -(-len(found.lines) // A_PAGE))
    page = min(wish.page, pages)
    here = found.lines[(page - 1) * A_PAGE : page * A_PAGE]
    return bench.render(
        request,
        "records/list.html",
        facts=day.facts,
        found=found,
        wish=wish,
        sentence=_sentence(day, found, words),
        seasons=_seasons(here, words),
        told=lambda record: _placeless(record, words),
        names=_names(day),
        sorts=[sort for sort in Sort if found.counts.get(sort)],
        page=page,
        pages=pages,
        receipt=_gone(bench, day, gone) if gone else words.t("records.moved") if moved else "",
    )


def _sentence(day: TreeDay, found: History, words: Speaker) -> str:
    place = f"{day.facts.name}, {found.place}" if found.place else day.facts.name
    if found.lines:
        return words.t("records.sentence", place=place, n=len(found.lines),
                       day=words.day(found.lines[0].on, year=True))  # fmt: skip
    return words.t("records.none_kind" if found.sort else "records.none", place=place)


def _names(day: TreeDay) -> list[str]:
    """Return the names that records can be chosen by, the branches that are gone last."""
    rows = day.tree.branches
    named = zip(rows.names, rows.gone.tolist(), strict=True)
    return list(dict.fromkeys(name for name, _ in sorted(named, key=lambda one: one[1])))


def _gone(bench: Bench, day: TreeDay, record: UUID) -> str:
    """Return what was just taken back, in words; nothing when it still counts."""
    own = bench.kept.events(day.facts.tree)
    event = next((event for event in own if event.id == record), None)
    if event is None or found_in(own, record) is not None:
        return ""
    words = bench.speaker()
    told = history_of(day.tree, [event], today=max(bench.today, event.on), units=words.units)
    what = "; ".join(str(words.say(one.words)) for one in told.lines)
    return words.t("records.gone", what=what) if what else ""


@router.get("/trees/{tree}/records.csv")
def export(tree: str, bench: AtBench, wish: Wish) -> Response:
    """Send the records as a table."""
    day = tree_day(bench, tree)
    found = _history(bench, day, wish)
    name = "".join(c if c.isascii() and c.isalnum() else "-" for c in day.facts.tree)
    return Response(
        history_csv(found),
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="records-{name}.csv"'},
    )


@router.get("/trees/{tree}/records/{record}")
def one_record(
    request: Request,
    tree: str,
    record: UUID,
    bench: AtBench,
    to: Literal["records", "bench", "promises"] = "records",
) -> HTMLResponse:
    """Show one record, to take it back or to mend its day."""
    return _record_page(request, bench, tree, record, to=to)


def _record_page(
    request: Request,
    bench: Bench,
    tree: str,
    record: UUID,
    *,
    to: str = "records",
    status: int = 200,
    typed: str = "",
    fault: str = "",
) -> HTMLResponse:
    day = tree_day(bench, tree)
    return bench.render(
        request,
        "records/one.html",
        status=status,
        facts=day.facts,
        one=_one(bench, day, record),
        to=to,
        typed=typed,
        fault=fault,
    )


def _one(bench: Bench, day: TreeDay, record: UUID) -> Told:
    """Return one record that counts; no such page when there is none."""
    own = bench.kept.events(day.facts.tree)
    for sort in (None, Sort.FACT):
        lines = history_of(day.tree, own, "", sort, today=bench.today,
                           units=bench.settings.units).lines  # fmt: skip
        for one in lines:
            if one.id == record:
                return one
    raise HTTPException(404)


@router.post("/trees/{tree}/records/{record}/back")
def take_back(
    tree: str,
    record: UUID,
    bench: AtBench,
    to: Annotated[Literal["records", "bench", "promises"], Form()] = "records",
) -> Response:
    """Take one record back."""
    day = tree_day(bench, tree)
    if not _one(bench, day, record).mendable:
        raise HTTPException(422)
    here = day.facts.tree
    withdraw(bench.book, here, record.hex, on=bench.today, who=bench.settings.who)
    ways = {
        "records": f"/trees/{here}/records?gone={record}",
        "bench": f"/trees/{here}/bench",
        "promises": "/promises",
    }
    return RedirectResponse(ways[to], status_code=303)


@router.post("/trees/{tree}/records/{record}/day")
def mend_day(
    request: Request,
    tree: str,
    record: UUID,
    bench: AtBench,
    on: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """Move one record to the day it happened."""
    day, words = tree_day(bench, tree), bench.speaker()
    if not _one(bench, day, record).mendable:
        raise HTTPException(422)
    here = day.facts.tree
    try:
        given = day_of(on)
        fault = words.t("records.day_none") if given is None else ""
        if given is not None and given > bench.today:
            fault = words.t("records.day_ahead")
        if given is not None and not fault:
            redate(bench.book, here, record, given, today=bench.today, who=bench.settings.who)
            return RedirectResponse(f"/trees/{here}/records?moved=true", status_code=303)
    except TextError:
        fault = words.t("records.day_none")
    except UnknownNameError:
        raise
    except BoughwrightError as error:
        fault = str(words.say(error.what))
    return _record_page(request, bench, tree, record, status=422, typed=on, fault=fault)
