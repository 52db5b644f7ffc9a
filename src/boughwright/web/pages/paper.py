"""One tree on paper: its line drawing in ink, its session with boxes to tick, and its measures."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from boughwright.usecases.paper import ASK_FIRST, PUPIL_TIME, paper_of
from boughwright.usecases.session_done import READ
from boughwright.web.pages.session import Blanks, capped, count_of
from boughwright.web.state import Bench, bench, tree_day

router = APIRouter()
WIDE, TALL = 700, 520
"""Size of the drawing: the width of the page, under half its height. [px]"""


@router.get("/trees/{tree}/paper")
def on_paper(
    request: Request,
    tree: str,
    bench: Annotated[Bench, Depends(bench)],
    reader: Annotated[Literal["own", "pupil"], Query(alias="for")] = "own",
) -> HTMLResponse:
    """Show the sheet of one tree, for the grower or for a pupil."""
    day, words = tree_day(bench, tree), bench.speaker()
    paper = paper_of(bench.day(), day.facts.tree)
    return bench.render(
        request,
        "paper.html",
        facts=day.facts,
        species=day.species,
        stage=day.calendar.stage,
        paper=paper,
        session=paper.session,
        left=count_of(paper.session),
        drawing=bench.pictures.lines(day, words, width=WIDE, height=TALL, ink_only=True),
        pupil=reader == "pupil",
        asks_first=lambda act: reader == "pupil" and act in ASK_FIRST,
        pupil_minutes=paper.session.minutes * PUPIL_TIME,
        form=Blanks(words),
        capped=capped,
        READ=READ,
    )
