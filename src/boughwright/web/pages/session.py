"""One tree on the bench: read the few numbers, do the steps in order, tick each as it is done."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from boughwright.usecases.bench_phrases import BLANK
from boughwright.usecases.blanks import GAUGE, Blank, blanks_of
from boughwright.usecases.session import PHOTO_AFTER, PHOTO_BEFORE, SEALS, Session, session_of
from boughwright.usecases.session_done import READ, Done, done_of
from boughwright.web.state import Bench, bench, tree_day
from boughwright.web.views import mark_of, role_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.usecases.history import Told
    from boughwright.usecases.session import SessionStep
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
WIDE, TALL = 380, 280
"""Size of the small drawing on top. [px]"""
BITE = f"bite {BLANK}"
GRADES = range(6)


@router.get("/trees/{tree}/bench")
def bench_session(
    request: Request,
    tree: str,
    bench: AtBench,
    step: Annotated[int, Query(ge=0, le=15)] = 0,
) -> HTMLResponse:
    """Show a tree's session of today; ``step`` is the one that the drawing shows."""
    day = tree_day(bench, tree)
    here = day.facts.tree
    own, words = bench.kept.events(here), bench.speaker()
    session = session_of(bench.day(), here)
    done = done_of(day, own, units=words.units)
    shown = _shown(session, step)
    drawing = bench.pictures.lines(day, words, width=WIDE, height=TALL)
    return bench.render(
        request,
        "session.html",
        facts=day.facts,
        species=day.species,
        session=session,
        steps=steps_of(session, done, words),
        done=done,
        left=count_of(session),
        sentence=sentence(session, words),
        shown=shown,
        drawing=meant(drawing, _branches(session, shown)),
        form=Blanks(words),
        line_role=role_of,
        line_mark=mark_of,
        READ=READ,
        PHOTOS=(PHOTO_BEFORE, PHOTO_AFTER),
        SEALS=SEALS,
        GRADES=GRADES,
    )


def count_of(session: Session) -> int:
    """Return how many things there are to do: readings and lines."""
    return len(session.asks) + sum(len(step.lines) for step in session.steps)


def sentence(session: Session, words: Speaker) -> str:
    """Return the page's answer: how much there is to do, and when to look again."""
    look = words.t("session.look_again", day=words.day(session.look_again))
    if session.calm:
        return f"{words.t('session.calm', tree=session.name)} {look}"
    told = words.t("session.sentence", tree=session.name, n=count_of(session),
                   time=words.minutes(session.minutes))  # fmt: skip
    return f"{told} {look}"


def steps_of(
    session: Session, done: Done, words: Speaker
) -> list[tuple[int, str, SessionStep | None, tuple[Told, ...]]]:
    """Return the steps in order as (number, title, step, done today), those only done as well."""
    from boughwright.benchwork.order import STEPS  # noqa: PLC0415  # titles of steps that are over

    open_ = {step.number: step for step in session.steps}
    numbers = sorted({*open_, *done.by_step, *([READ] if session.asks else [])})
    return [
        (n, capped(words.say(STEPS[n])), open_.get(n), done.by_step.get(n, ())) for n in numbers
    ]


def capped(text: str) -> str:
    """Return a text with a capital at its start."""
    return type(text)(text[:1].upper() + text[1:])


def _shown(session: Session, wanted: int) -> int:
    """Return the step that the drawing shows: the one wanted, else the first with branches."""
    with_branches = [step.number for step in session.steps if _branches(session, step.number)]
    if session.asks:
        with_branches.insert(0, READ)
    return wanted if wanted in with_branches else min(with_branches, default=0)


def _branches(session: Session, number: int) -> set[str]:
    """Return the lasting ids of the branches of a step."""
    lines = [line for step in session.steps if step.number == number for line in step.lines]
    spots = {spot.branch for line in lines for spot in line.spots if spot.branch}
    return spots | ({ask.branch for ask in session.asks} if number == READ else set())


def meant(drawing: Markup, branches: Iterable[str]) -> Markup:
    """Return a drawing with some branches made to stand out."""
    text = str(drawing)
    for branch in branches:
        here = f'data-branch="{escape(branch)}"'
        text = text.replace(here, f'{here} data-meant=""')
    return Markup(text)  # noqa: S704  # our own picture, the ids escaped as they stand there


class Blanks:
    """How the numbers of a phrase are asked for in the grower's words."""

    def __init__(self, words: Speaker) -> None:
        self._words = words

    def of(self, phrase: str) -> tuple[Blank, ...]:
        """Return the numbers that a phrase asks for."""
        return blanks_of(phrase)

    def unit(self, phrase: str) -> str:
        """Return the unit of the numbers of a phrase; wire is in mm everywhere."""
        units = self._words.units
        return next((blank.unit(units) for blank in blanks_of(phrase)), units)

    def asks_number(self, phrase: str) -> bool:
        """Tell whether a phrase has a blank that takes a length."""
        return BLANK in phrase and BITE not in phrase

    def asks_grade(self, phrase: str) -> bool:
        """Tell whether a phrase asks how deep a wire sits."""
        return BITE in phrase

    def graded(self, phrase: str, grade: int) -> str:
        """Return the phrase with its grade."""
        return phrase.replace(BLANK, str(grade))

    def label(self, blank: Blank) -> str:
        """Return what a number is: ``base``, ``first node``, ``gauge``."""
        if blank.word == GAUGE:
            return self._words.t("session.gauge")
        return self._words.t(f"session.read_{blank.word}")

    def sign(self, phrase: str, place: str) -> str:
        """Return what a phrase says was seen, without its place."""
        sign, _, amount = phrase.removeprefix(place).strip().partition(" ")
        told = self._words.word(sign, "sign")
        return self._words.t("session.none_of", sign=told) if amount == "none" else told
