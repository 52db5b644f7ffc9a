"""What was promised: what comes due, what a reading would settle, and what waits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse

from boughwright.usecases.blanks import blanks_of
from boughwright.usecases.promises import From, Held, Promises, promises_of
from boughwright.web.pages.session import Blanks
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.web.speech import Speaker

router = APIRouter()
LONG = 50.0
"""From so many seasons on only that is told."""


@router.get("/promises")
def what_was_promised(request: Request, bench: Annotated[Bench, Depends(bench)]) -> HTMLResponse:
    """Show all promises, provisional choices, jobs and looks."""
    answer, words = promises_of(bench.day()), bench.speaker()
    groups = (("now", answer.now), ("soon", answer.soon), ("waiting", answer.waiting))
    return bench.render(
        request,
        "promises.html",
        sentence=_sentence(answer, words),
        groups=[(name, [_Shown(held, words) for held in some]) for name, some in groups if some],
        form=Blanks(words),
    )


def _sentence(answer: Promises, words: Speaker) -> str:
    now, soon, waiting = len(answer.now), len(answer.soon), len(answer.waiting)
    if not now + soon + waiting:
        return words.t("promises.none")
    told = {
        "now": words.t("promises.now_n", n=now) if now else words.t("promises.now_none"),
        "soon": words.t("promises.soon_n", n=soon),
        "waiting": words.t("promises.waiting_n", n=waiting)
        if waiting
        else words.t("promises.none_waiting"),
    }
    return words.t("promises.sentence_soon" if soon else "promises.sentence", **told)


class _Shown:
    """One promise with its numbers told."""

    def __init__(self, held: Held, words: Speaker) -> None:
        self.held = held
        self.value = _value(held, words)
        self.expected = _expected(held, words)
        self.reading = f"{held.place} base __" if held.state.value == "read it" else ""
        assert not self.reading or len(blanks_of(self.reading)) == 1

    @property
    def is_job(self) -> bool:
        """True for a job, which is changed among the facts of its branch."""
        return self.held.kind is From.JOB and bool(self.held.branch)


def _value(held: Held, words: Speaker) -> str:
    if held.value is None or held.limit is None:
        return ""
    if held.unit != "mm":
        return words.t("promises.share", value=words.percent(held.value),
                       limit=words.percent(held.limit))  # fmt: skip
    if held.limit == 0.0:
        return words.t("promises.closing", value=words.length(held.value))
    return words.t("promises.value", value=words.length(held.value),
                   limit=words.length(held.limit))  # fmt: skip


def _expected(held: Held, words: Speaker) -> str:
    expected = held.expected
    if expected.on is not None:
        return words.t("promises.on", day=words.day(expected.on))
    if expected.season_end is not None:
        return words.t("promises.season_end", day=words.day(expected.season_end))
    if expected.seasons is not None:
        low, likely, high = expected.seasons
        if high is None:
            return words.t("promises.seasons_open", likely=_seasons(likely, words))
        return words.t("promises.seasons", likely=_seasons(likely, words),
                       low=_seasons(low, words), high=_seasons(high, words))  # fmt: skip
    key = {"unknown": "promises.unknown", "standing": "promises.standing"}.get(held.state.value)
    return words.t(key) if key else ""


def _seasons(number: float, words: Speaker) -> str:
    if number > LONG:
        return words.t("promises.long", n=round(LONG))
    return words.number(number, 1 if number < 10 else 0)
