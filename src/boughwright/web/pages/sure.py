"""How sure the answers are: what they rest on, and which reading would help most."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup, escape

from boughwright.usecases.sureness import Rests, Sure, sureness_of
from boughwright.web.pages.session import Blanks, capped
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.web.speech import Speaker

router = APIRouter()
MOST_TREES = 30
"""Trees that the page shows at once; the rest is one link away."""
TALL = 14
"""Height of a bar. [px]"""


@router.get("/sure")
def how_sure(
    request: Request,
    bench: Annotated[Bench, Depends(bench)],
    every: Annotated[bool, Query()] = False,
) -> HTMLResponse:
    """Show what the answers of the garden rest on; the first trees, unless every one is wanted."""
    answer, words = sureness_of(bench.day()), bench.speaker()
    return bench.render(
        request,
        "sure.html",
        answer=answer,
        shown=answer.trees if every else answer.trees[:MOST_TREES],
        more=0 if every else max(len(answer.trees) - MOST_TREES, 0),
        sentence=_sentence(answer, words),
        forecasts=[(one, _bar(one, words)) for one in answer.forecasts if one.total],
        form=Blanks(words),
        capped=capped,
    )


def _sentence(answer: Sure, words: Speaker) -> str:
    total = sum(one.total for one in answer.forecasts)
    if not total:
        return words.t("sure.empty")
    guess = sum(one.guess for one in answer.forecasts)
    asks = sum(len(tree.asks) for tree in answer.trees)
    settle = words.t("sure.settle_n", n=asks) if asks else words.t("sure.settle_none")
    return words.t("sure.sentence", share=words.percent(guess / total), n=total, settle=settle)


def _bar(one: Rests, words: Speaker) -> Markup:
    """Return how much is measured (full), borrowed (hatched) and guessed (open), as a bar."""
    label = words.t("sure.bar", measured=one.measured, borrowed=one.borrowed, guess=one.guess)
    edges = (one.measured, one.measured + one.borrowed, one.total)
    parts, left = [], 0.0
    for kind, edge in zip(("measured", "borrowed", "guess"), edges, strict=True):
        right = 100.0 * edge / one.total
        if right > left:
            parts.append(
                f'<rect class="rests {kind}" x="{left:.2f}%" y="1" width="{right - left:.2f}%" '
                f'height="{TALL - 2}"/>'
            )
        left = right
    return Markup(  # noqa: S704  # our own picture, its text escaped
        f'<svg class="rests-bar" role="img" aria-label="{escape(label)}" width="100%" '
        f'height="{TALL}" preserveAspectRatio="none">{"".join(parts)}</svg>'
    )
