"""One tree head to foot: its drawing, every branch's verdict, and the card of a branch."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from boughwright.errors import UnknownNameError
from boughwright.usecases.sheet import Line, Sheet, sheet_of
from boughwright.usecases.taps import taps_for
from boughwright.verdicts.cautions import caution_text
from boughwright.verdicts.verdict import Act
from boughwright.web.branch_card import card_of
from boughwright.web.state import Bench, bench, tree_day
from boughwright.web.views import CALM, mark_of, role_of

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay
    from boughwright.web.speech import Speaker

router = APIRouter()
WIDE, TALL = 380, 400
"""Size of the line drawing: as wide as a phone, so that its letters stay large. [px]"""
NARROW = 380
"""Size of the drawing beside a branch's card. [px]"""


@router.get("/trees/{tree}")
def head_to_foot(
    request: Request,
    tree: str,
    bench: Annotated[Bench, Depends(bench)],
    turn: Annotated[float, Query(ge=-360, le=720)] = 0.0,
) -> HTMLResponse:
    """Show a tree from the apex to the root."""
    day = tree_day(bench, tree)
    answer = sheet_of(bench.day(), day.facts.tree)
    drawn = bench.pictures.drawing(day)
    words = bench.speaker()
    return bench.render(
        request,
        "tree.html",
        **_common(bench, day),
        sentence=_sentence(answer, words),
        whole=answer.whole,
        lines=[_Row(line, day) for line in answer.lines],
        cautions=answer.cautions,
        drawing=bench.pictures.lines(day, words, turn=turn, width=WIDE, height=TALL),
        turn=round(turn),
        inferred=any(branch.inferred for branch in drawn.branches),
        row=-1,
        taps=taps_for(day, -1),
    )


@router.get("/trees/{tree}/branches/{branch}")
def branch_card(
    request: Request,
    tree: str,
    branch: str,
    bench: Annotated[Bench, Depends(bench)],
    part: Annotated[str, Query(max_length=10)] = "",
) -> HTMLResponse:
    """Show why a branch has its verdict, and all that is known of it."""
    day = tree_day(bench, tree)
    line = _line(sheet_of(bench.day(), day.facts.tree), day, branch)
    words = bench.speaker()
    context = {
        **_common(bench, day),
        **card_of(bench, day, line, words),
        "id": branch,
        "row": line.branch.row,
        "taps": taps_for(day, line.branch.row),
    }
    if part == "card":
        return bench.render(request, "parts/branch_card.html", **context)
    word = words.word(line.verdict.act)
    return bench.render(
        request,
        "branch.html",
        **context,
        sentence=words.t("card.sentence", branch=line.branch.name, act=word),
        drawing=bench.pictures.lines(day, words, width=NARROW, height=NARROW, highlight=branch),
    )


@router.get("/trees/{tree}/acts")
def acts(
    request: Request,
    tree: str,
    bench: Annotated[Bench, Depends(bench)],
    branch: Annotated[str, Query(max_length=80)] = "",
) -> HTMLResponse:
    """Show the acts likeliest now for a branch, or for the tree."""
    day = tree_day(bench, tree)
    row = _row(day, branch) if branch else -1
    return bench.render(
        request, "parts/acts.html", **_common(bench, day), row=row, taps=taps_for(day, row)
    )


class _Row:
    """One branch in the list, with its lasting id."""

    def __init__(self, line: Line, day: TreeDay) -> None:
        self.branch = line.branch
        self.verdict = line.verdict
        self.id = day.tree.branches.ids[line.branch.row]


def _common(bench: Bench, day: TreeDay) -> dict[str, Any]:
    return {
        "facts": day.facts,
        "species": day.species,
        "calendar": day.calendar,
        "names": day.tree.branches.names,
        "ids": day.tree.branches.ids,
        "role_of": role_of,
        "mark_of": mark_of,
        "caution_text": caution_text,
    }


def _row(day: TreeDay, branch: str) -> int:
    try:
        return day.tree.branches.ids.index(branch)
    except ValueError:
        raise UnknownNameError(
            f"{day.facts.name} has no branch with the key {branch!r}",
            allowed="a branch of its list",
            todo="Open the tree and choose one",
        ) from None


def _line(answer: Sheet, day: TreeDay, branch: str) -> Line:
    row = _row(day, branch)
    for line in answer.lines:
        if line.branch.row == row:
            return line
    raise UnknownNameError(
        f"{day.tree.branches.names[row]} of {day.facts.name} is gone",
        allowed="a living branch",
        todo="Read its records instead",
    )


def _sentence(answer: Sheet, words: Speaker) -> str:
    """Return the page's answer in a sentence: what wants doing, by when, and what rests."""
    every = (*answer.whole, *(line.verdict for line in answer.lines))
    busy = [v for v in every if v.act not in CALM]
    name = answer.day.facts.name
    if not busy:
        return words.t("tree.calm", tree=name, n=len(answer.lines))
    opens = [v for v in busy if v.earliest is None or v.earliest <= answer.today]
    latest = min((v.latest for v in opens if v.latest is not None), default=None)
    rest = sum(line.verdict.act is Act.LEAVE for line in answer.lines)
    when = words.t("tree.by", day=words.day(latest)) if latest else words.t("tree.no_hurry")
    return words.t("tree.sentence", tree=name, n=len(opens), when=when,
                   rest=words.t("tree.rest", n=rest))  # fmt: skip
