"""All trees, a line each; a new tree; trees that are gone."""

from __future__ import annotations

from hashlib import blake2b
from typing import TYPE_CHECKING, Annotated, Final, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from boughwright.usecases.enter import enter_tree
from boughwright.usecases.tidy import tree_back
from boughwright.usecases.trees import AllTrees, TreeLine, gone_trees, trees_of
from boughwright.web.forms import Sent, faulty, given, groups_of, see, sent_form, writer_of
from boughwright.web.naming import species_offers, where_choices
from boughwright.web.state import Bench, bench, tree_day
from boughwright.web.views import mark_of, role_of

if TYPE_CHECKING:
    from boughwright.usecases.entry import FieldFault
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Form = Annotated[Sent, Depends(sent_form)]
INK: Final = {"day": "#1b1d20", "night": "#e6e8e6"}
"""Colour of a small drawing by the light of the page."""
FEW: Final = 3
"""Up to so many branches are named; more are counted."""
SEARCH_FROM: Final = 8
"""From so many trees on, the page offers a search."""


@router.get("/trees")
def all_trees(
    request: Request, bench: AtBench, find: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """Show all trees, or those a word finds."""
    if not bench.has_book:
        return see("/start")
    garden = bench.day()
    found = trees_of(garden, find)
    words = bench.speaker()
    return bench.render(
        request,
        "trees/list.html",
        found=found,
        find=find,
        search=found.total >= SEARCH_FROM or bool(find.strip()),
        sentence=_sentence(found, find.strip(), words),
        wants=lambda line: _wants(line, words),
        role_of=role_of,
        mark_of=mark_of,
    )


def _sentence(found: AllTrees, find: str, words: Speaker) -> str:
    if not found.total:
        return words.t("trees.none")
    if find:
        return words.t("trees.found", n=found.found, find=find)
    alone = (
        words.t("trees.alone", n=found.alone)
        if found.alone
        else words.t("trees.all_want", n=found.total)
    )
    return words.t("trees.sentence", n=found.total, alone=alone)


def _wants(line: TreeLine, words: Speaker) -> str:
    """Return where a tree's leading job is and by when; nothing for a tree without one."""
    job = line.wants
    if job is None:
        return ""
    rows = [row for row in job.rows if row >= 0]
    many = words.t("trees.on_branches", n=len(rows))
    where = many if len(rows) > FEW else words.place(job.places)
    if job.latest is None:
        when = words.t("trees.no_hurry")
    elif job.latest <= line.day.facts.today:
        when = words.t("trees.now")
    else:
        when = words.t("trees.by", day=words.day(job.latest))
    return words.t("trees.wants", where=where, when=when)


@router.get("/trees/new")
def new_tree(request: Request, bench: AtBench) -> Response:
    """Show the form of a new tree."""
    if not bench.has_book:
        return see("/start")
    return _form(request, bench)


@router.post("/trees/new")
def add_tree(request: Request, bench: AtBench, sent: Form) -> Response:
    """Enter a new tree and go on to its facts."""
    entered = enter_tree(bench.book, None, given("tree", sent, bench.speaker()), writer_of(bench))
    if not entered.ok:
        return _form(request, bench, sent, entered.faults)
    return see(f"/trees/{entered.key}/facts?saved=new")


def _form(
    request: Request, bench: Bench, sent: Sent | None = None, faults: tuple[FieldFault, ...] = ()
) -> HTMLResponse:
    words = bench.speaker()
    groups = groups_of(
        "tree", words, sent=sent, faults=faults, required=("name",),
        choices=where_choices(bench.day().garden, words), offers={"species": "species-offers"},
    )  # fmt: skip
    return bench.render(
        request,
        "trees/new.html",
        status=422 if faults else 200,
        groups=groups,
        faulty=faulty(groups),
        species=species_offers(),
    )


@router.get("/trees/all")
def show_gone(request: Request, bench: AtBench) -> Response:
    """Show the trees that are gone. No tree has the key ``all``."""
    if not bench.has_book:
        return see("/start")
    return bench.render(request, "trees/gone.html", gone=gone_trees(bench.book, bench.today))


@router.post("/trees/{tree}/back")
def put_back(tree: str, bench: AtBench) -> Response:
    """Take back that a tree is gone."""
    tree_back(bench.book, tree, writer_of(bench))
    return see(f"/trees/{tree}/facts?saved=back")


@router.get("/trees/{tree}/thumb.svg")
def small_drawing(
    request: Request, tree: str, bench: AtBench,
    light: Annotated[Literal["day", "night"], Query()] = "day",
) -> Response:  # fmt: skip
    """Send a tree's small drawing, in ink for day or night."""
    drawn = str(bench.pictures.thumb(tree_day(bench, tree)))
    text = drawn.replace("<svg ", f'<svg color="{INK[light]}" stroke="currentColor" ', 1)
    headers = {
        "ETag": f'"{blake2b(text.encode(), digest_size=12).hexdigest()}"',
        "Cache-Control": "private, no-cache",
    }
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    return Response(text, media_type="image/svg+xml", headers=headers)
