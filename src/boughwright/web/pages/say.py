"""Writing down what was done or seen: by one phrase, or by branch, act and amount."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import RedirectResponse, Response
from uuid6 import uuid7

from boughwright.errors import BoughwrightError, TextError, UnknownNameError
from boughwright.journal.names import head_to_foot
from boughwright.journal.terms import Kind
from boughwright.usecases.logged import last_lines, line_said, take_back_moment
from boughwright.usecases.reading import reading_of
from boughwright.usecases.say import Phrase, say, withdraw_line
from boughwright.usecases.taps import LOOK_DAYS, complete, free_places, taps_for
from boughwright.web.api.write import MOST_LETTERS, device_of
from boughwright.web.state import Bench, StillWorking, bench, tree_day

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.taps import Tap
    from boughwright.usecases.writing import Said
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Key = Annotated[str, Form(max_length=200)]
Words = Annotated[str, Form(max_length=4000)]
LineId = Annotated[UUID | None, Form()]
MOST_NUMBERS, MOST_BRANCHES = 12, 400

ZONES = ("all", "low", "mid", "apex")
"""Places of the bar while no branch is chosen."""
HEIGHTS = ("low", "mid", "apex")
FLANKS = ("left", "right", "front", "back", "inner", "outer")

EXAMPLES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("wire", ("{one} wire on 2 al", "{one} wire off bite 3 unwound", "{one} bite 1")),
    (
        "cut",
        (
            "{one} cut to pair 1",
            "{one} let run until base 14",
            "{one} will cut past later because base",
        ),
    ),
    ("leaf", ("apex leaf thin most; low leaf thin none", "{one} pinch to leaf 2")),
    ("measure", ("{one} base 9.2", "{one} node 12 room 40")),
    ("saw", ("low ok look 10 d", "low left spots some; curl few", "{one} weak")),
    ("tree", ("feed half", "repot light", "running")),
    ("fix", ("same {two}", "all pinch except {one}", "{one} rub yesterday")),
)
"""Phrases that are taken, by kind; ``{one}`` and ``{two}`` are branches of the tree at hand."""


# --- the phrase -----------------------------------------------------------------------------------


@router.get("/say")
def phrase_page(
    request: Request,
    bench: AtBench,
    tree: Annotated[str, Query(max_length=200)] = "",
    text: Annotated[str, Query(max_length=MOST_LETTERS)] = "",
    back: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Show the box, what can be said, and the last lines."""
    if not bench.has_book:
        return _to("/start")
    return _phrase_page(request, bench, tree=tree, text=text, back=back)


def _phrase_page(
    request: Request,
    bench: Bench,
    *,
    tree: str,
    text: str = "",
    back: str = "",
    fault: str = "",
    status: int = 200,
) -> Response:
    garden = bench.day()
    hand = next((day for day in garden.trees if tree in (day.tree.id, day.tree.name)), None)
    example = hand or next(iter(garden.trees), None)
    lines = last_lines(bench.kept, garden, now=datetime.now().astimezone())
    return bench.render(
        request,
        "say.html",
        status=status,
        trees=[(day.tree.id, day.tree.name) for day in garden.trees],
        tree=hand.tree.id if hand else "",
        tree_name=hand.tree.name if hand else "",
        text=text,
        back=_local(back, ""),
        fault=fault,
        lines=lines,
        examples=_examples(bench, example, bench.speaker()) if example else [],
        example_tree=example.tree if example else None,
    )


@dataclass(frozen=True, slots=True)
class Example:
    """A phrase and what it would write down."""

    phrase: str
    told: tuple[str, ...]


def _examples(
    bench: Bench, day: TreeDay, words: Speaker
) -> list[tuple[str, list[Example]]]:  # fmt: skip
    """Return phrases of each kind for a tree, each with what it would write down."""
    names = _names(day)
    one, two = (*names, "1L", "2R")[:2]
    garden, found = bench.day(), []
    for kind, phrases in EXAMPLES:
        each = []
        for phrase in phrases:
            text = phrase.format(one=one, two=two)
            read = reading_of(garden, text, day.tree.id, garden.today)
            each.append(Example(text, tuple(words.say(told) for told in read.receipts)))
        found.append((kind, each))
    return found


def _names(day: TreeDay) -> list[str]:
    """Return the names of the living branches on the trunk, from the soil up."""
    names = [one.name for one in day.branches
             if one.kind is Kind.BRANCH and one.order == 1 and not one.gone]  # fmt: skip
    return sorted(names, key=head_to_foot, reverse=True)


@router.post("/say")
def write_down(
    request: Request,
    bench: AtBench,
    text: Words = "",
    tree: Key = "",
    back: Key = "",
    number: Annotated[list[str] | None, Form(max_length=MOST_NUMBERS)] = None,
    way: Key = "",
    why: Key = "",
    then: Key = "",
    id: LineId = None,  # noqa: A002  # the field's own name
    after: LineId = None,
) -> Response:
    """Write a line down; ``way``, ``why`` and ``then`` go to its end, ``number`` in its blanks."""
    if not bench.has_book:
        return _to("/start")
    line = id or uuid7()
    try:
        whole = complete(
            text, number or (), units=bench.settings.units, way=way, why=why, then=then
        )
        said = _written(request, bench, whole, tree, line=line, after=after)
    except BoughwrightError as error:
        return _refused(request, bench, error, text=text, tree=tree, back=back)
    return _answered(request, bench, said, line, back)


def _written(
    request: Request, bench: Bench, text: str, tree: str, *, line: UUID, after: UUID | None
) -> Said:
    if len(text) > MOST_LETTERS:
        raise TextError(
            f"the line has {len(text)} letters",
            allowed=f"up to {MOST_LETTERS}",
            todo="Say it in several lines",
        )
    # A page shows which tree is chosen; without one the line itself must name it.
    phrase = Phrase(text, bench.today, tree or None, bench.settings.who, id=line, after=after,
                    alone=not tree, device=device_of(request))  # fmt: skip
    return say(bench.book, [phrase])[0]


def _answered(request: Request, bench: Bench, said: Said, line: UUID, back: str) -> Response:
    """Return to a page that shows the receipt; a page part for who asks for parts."""
    if "hx-request" in request.headers:
        return bench.render(request, "parts/receipt.html", said=said, line=line, back=back)
    return _to(f"/said/{line}?{urlencode({'back': _local(back, '/')})}")


def _refused(
    request: Request, bench: Bench, error: BoughwrightError, *, text: str, tree: str, back: str
) -> Response:
    """Show why a line was not taken, at the box, with what was typed still in it."""
    fault = fault_text(error, bench.speaker())
    if "hx-request" in request.headers:
        return bench.render(request, "parts/receipt.html", status=422, said=None, fault=fault)
    return _phrase_page(request, bench, tree=tree, text=text[:MOST_LETTERS], back=back,
                        fault=fault, status=422)  # fmt: skip


def fault_text(error: BoughwrightError, words: Speaker) -> str:
    """Return what was wrong and what to do, in the grower's words."""
    told = [str(words.say(part)).rstrip(".") for part in (error.what, error.todo) if part]
    return ". ".join(part[:1].upper() + part[1:] for part in told) + "."


# --- the receipt, and putting it right ------------------------------------------------------------


@router.get("/said/{line}")
def receipt(
    request: Request,
    line: UUID,
    bench: AtBench,
    back: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Show what a line wrote down, with one tap to put it right."""
    said = line_said(bench.book, line)
    day = next((one for one in bench.day().trees if one.tree.id == said.tree), None)
    return bench.render(
        request,
        "said.html",
        said=said,
        line=line,
        back=_local(back, "/"),
        branches=_names_all(day) if day else [],
    )


def _names_all(day: TreeDay) -> list[str]:
    names = [one.name for one in day.branches if not one.gone]
    return sorted(names, key=lambda name: ("-" in name, head_to_foot(name)))


@router.post("/undo")
def undo(
    request: Request,
    bench: AtBench,
    line: LineId = None,
    tree: Key = "",
    moment: Annotated[datetime | None, Form()] = None,
    who: Key = "",
    back: Key = "",
) -> Response:
    """Take back a line by its id, or by the moment it was said; without either, the last one."""
    on, own = bench.today, bench.settings.who
    if line is not None:
        said = withdraw_line(bench.book, line, on=on, who=own, device=device_of(request))
    elif moment is not None and moment.tzinfo is not None:
        said = take_back_moment(bench.book, tree, moment, by=who, on=on, who=own)
    else:
        try:
            last = uuid7()
            said = _written(request, bench, "undo", tree, line=last, after=None)
        except BoughwrightError as error:
            return _refused(request, bench, error, text="undo", tree=tree, back=back)
        return _answered(request, bench, said, last, back)
    if "hx-request" in request.headers:
        return bench.render(request, "parts/receipt.html", said=said, line=None, back=back)
    return _to(f"/said/{line}?{urlencode({'back': _local(back, '/')})}" if line else
               _local(back, "/say"))  # fmt: skip


@router.post("/again")
def again(
    request: Request,
    bench: AtBench,
    place: Annotated[list[str] | None, Form(max_length=MOST_BRANCHES)] = None,
    spared: Annotated[list[str] | None, Form(max_length=MOST_BRANCHES)] = None,
    tree: Key = "",
    back: Key = "",
    after: LineId = None,
) -> Response:
    """Write down the same as a line before, on other branches."""
    places, out = (", ".join(p for p in given or () if p.strip()) for given in (place, spared))
    text = f"same {places}" + (f" except {out}" if out else "") if places else "same"
    new = uuid7()
    try:
        if not places:
            raise TextError("no branch is chosen", allowed="one or more", todo="Choose one")
        said = _written(request, bench, text, tree, line=new, after=after)
    except BoughwrightError as error:
        return _refused(request, bench, error, text=text, tree=tree, back=back)
    return _answered(request, bench, said, new, back)


# --- by taps --------------------------------------------------------------------------------------


@router.get("/trees/{tree}/log")
def log_page(
    request: Request,
    tree: str,
    bench: AtBench,
    branch: Annotated[str, Query(max_length=80)] = "",
    place: Annotated[str, Query(max_length=40)] = "",
    act: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """Show every act for a branch or a zone; with ``act``, its amounts."""
    day = tree_day(bench, tree)
    row, zone = _where(day, branch, place)
    taps = taps_for(day, row, "" if zone == "all" else zone)
    chosen = next((tap for tap in taps if tap.key == act), None)
    if act and chosen is None:
        raise UnknownNameError(f"there is no act {act!r} here", allowed="an act of the list",
                               todo="Choose one")  # fmt: skip
    return bench.render(
        request,
        "say_acts.html",
        **_acts(day, row, zone, taps),
        chosen=chosen,
        days=LOOK_DAYS,
        branch=branch,
        branches=[(day.tree.branches.ids[one.row], one.name, one.order) for one in day.branches
                  if not one.gone],
        free=free_places(day),
        heights=HEIGHTS,
        flanks=FLANKS,
    )  # fmt: skip


@router.get("/trees/{tree}/log/acts")
def zone_bar(
    request: Request,
    tree: str,
    bench: AtBench,
    place: Annotated[str, Query(max_length=40)] = "",
) -> Response:
    """Show the acts likeliest now for a zone, as the bar of a page."""
    day = tree_day(bench, tree)
    row, zone = _where(day, "", place)
    taps = taps_for(day, row, "" if zone == "all" else zone)
    return bench.render(request, "parts/acts.html", **_acts(day, row, zone, taps))


def _acts(day: TreeDay, row: int, zone: str, taps: tuple[Tap, ...]) -> dict[str, Any]:
    return {
        "facts": day.facts,
        "names": day.tree.branches.names,
        "ids": day.tree.branches.ids,
        "row": row,
        "zone": zone,
        "taps": taps,
    }


def _where(day: TreeDay, branch: str, place: str) -> tuple[int, str]:
    """Return the branch's row, else -1 and the zone or the new place that is meant.

    Raises
    ------
    UnknownNameError
        When there is no such branch or place.
    """
    if branch:
        rows = {day.tree.branches.ids[one.row]: one.row for one in day.branches if not one.gone}
        if branch not in rows:
            raise UnknownNameError(
                f"{day.facts.name} has no living branch with the key {branch!r}",
                allowed="a branch of its list",
                todo="Open the tree and choose one",
            )
        return rows[branch], ""
    if place and place not in ZONES and place not in zones() and place not in free_places(day):
        raise UnknownNameError(f"there is no place {place!r} on {day.facts.name}",
                               allowed=", ".join(ZONES), todo="Choose one")  # fmt: skip
    return -1, place or "all"


def zones() -> tuple[str, ...]:
    """Return the zones that can be chosen: heights, sides, and both together."""
    return (*HEIGHTS, *FLANKS, *(f"{height} {flank}" for height in HEIGHTS for flank in FLANKS))


# --- without a signal -----------------------------------------------------------------------------


@router.get("/offline")
def offline(request: Request, bench: AtBench) -> Response:
    """Show what to do when a page is not kept on the device; it keeps the box itself."""
    try:
        trees = [(day.tree.id, day.tree.name) for day in bench.day().trees]
    except (StillWorking, BoughwrightError):
        trees = []
    return bench.render(request, "say_offline.html", trees=trees)


def _to(path: str) -> Response:
    return RedirectResponse(path, status_code=303)


def _local(back: str, otherwise: str) -> str:
    """Return a path of these pages to go back to; any other address is dropped."""
    plain = back.startswith("/") and not back.startswith("//") and back.isprintable()
    return back if plain and "\\" not in back else otherwise
