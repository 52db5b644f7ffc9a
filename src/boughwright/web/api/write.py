"""Writing down by JSON: lines that a device kept, a line taken back, a line still being typed."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated, Literal
from uuid import UUID

from fastapi import APIRouter, Depends, Query, Request
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from boughwright.errors import BoughwrightError, TextError
from boughwright.usecases.lines import SentLine, take_lines
from boughwright.usecases.reading import completions, reading_of
from boughwright.usecases.say import withdraw_line
from boughwright.web.api.models import REFUSALS
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.usecases.lines import LineAnswer
    from boughwright.usecases.writing import Said
    from boughwright.web.speech import Speaker

router = APIRouter(tags=["write"], responses=REFUSALS)
AtBench = Annotated[Bench, Depends(bench)]
MOST_LINES = 200
"""Most lines that one request may bring."""
MOST_LETTERS = 600
"""Longest phrase that is taken. [letters]"""
MOST_NAME = 100
Name = Annotated[str, Field(max_length=MOST_NAME)]


def _moment_text(value: object) -> object:
    """Take a moment as text only: a bare number could be seconds or thousandths of one."""
    if not isinstance(value, str):
        raise ValueError("a moment is text, such as 2026-06-09T18:30:00+02:00")
    return value


def _on_the_calendar(value: datetime) -> datetime:
    """Refuse a moment that lies beyond the ends of the calendar once its time zone is put off."""
    try:
        value.astimezone(UTC)
    except OverflowError:
        raise ValueError("this moment lies beyond the calendar") from None
    return value


Moment = Annotated[
    datetime,
    BeforeValidator(_moment_text, json_schema_input_type=str),
    AfterValidator(_on_the_calendar),
]


class LineIn(BaseModel):
    """One line as a device kept it: said, or taking another back.

    ``id`` was made on the device, version 4 or 7. ``said`` bears the device's time zone. ``after``
    is the line before it on the device.
    """

    model_config = ConfigDict(extra="forbid")
    id: UUID
    said: Moment
    tree: Name = ""
    text: Annotated[str, Field(max_length=MOST_LETTERS)] = ""
    withdraws: UUID | None = None
    after: UUID | None = None


class LinesIn(BaseModel):
    """What a device kept; ``sent`` is its clock now, which mends a clock that is wrong."""

    model_config = ConfigDict(extra="forbid")
    sent: Moment
    device: Name = ""
    lines: Annotated[list[LineIn], Field(max_length=MOST_LINES)]


class AnswerOut(BaseModel):
    """What became of one line.

    ``stored``: it is on the disk. ``known``: it had come before and is answered as it was then.
    ``refused``: it was not taken, and ``error`` says why. Unless refused, the device may forget it.
    """

    id: UUID
    state: Literal["stored", "known", "refused"]
    receipts: list[str]
    doubts: list[str]
    unread: list[str]
    note: str
    error: str


class AnswersOut(BaseModel):
    """One answer a line, in the order sent."""

    shape: Literal["boughwright/answers"] = "boughwright/answers"
    version: Literal[1] = 1
    answers: list[AnswerOut]


class WithdrawIn(BaseModel):
    """The line to take back; ``id`` is that of the taking back, made on the device."""

    model_config = ConfigDict(extra="forbid")
    line: UUID
    id: UUID | None = None


class TakenBackOut(BaseModel):
    """What no longer counts; ``withdrawn`` is how many records that are."""

    shape: Literal["boughwright/taken-back"] = "boughwright/taken-back"
    version: Literal[1] = 1
    line: UUID
    receipts: list[str]
    doubts: list[str]
    withdrawn: int


class ReadingOut(BaseModel):
    """What a line would do; ``branches`` are the lasting ids of those it means."""

    shape: Literal["boughwright/reading-told"] = "boughwright/reading-told"
    version: Literal[1] = 1
    tree: str | None
    receipts: list[str]
    doubts: list[str]
    unread: list[str]
    branches: list[str]
    ready: bool


class CompletionsOut(BaseModel):
    """Words that may come next, the likeliest first."""

    shape: Literal["boughwright/completions"] = "boughwright/completions"
    version: Literal[1] = 1
    completions: list[str]


Text = Annotated[str, Query(max_length=MOST_LETTERS)]
Tree = Annotated[str, Query(max_length=MOST_NAME)]


@router.post("/lines")
def take(request: Request, given: LinesIn, bench: AtBench) -> AnswersOut:
    """Write down the lines of a device, each by itself. Sent again they change nothing."""
    lines = [
        SentLine(one.id, one.said, one.text, one.withdraws, one.tree or None, one.after)
        for one in given.lines
    ]
    answers = take_lines(
        bench.book, lines, sent=given.sent, now=datetime.now(UTC),
        device=device_of(request) or given.device,
    )  # fmt: skip
    words = bench.speaker()
    return AnswersOut(answers=[_answer(one, words) for one in answers])


def device_of(request: Request) -> str:
    """Return the name of the device that asks, empty for the computer itself."""
    visitor = getattr(request.state, "visitor", None)
    return "" if visitor is None else str(visitor.name)


def _answer(answer: LineAnswer, words: Speaker) -> AnswerOut:
    said = answer.said
    state: Literal["stored", "known", "refused"] = "known" if answer.known else "stored"
    return AnswerOut(
        id=answer.id,
        state=state if answer.kept else "refused",
        receipts=_told(said.receipts if said else (), words),
        doubts=_told(said.doubts if said else (), words),
        unread=list(said.unread) if said else [],
        note=_in(answer.note, words),
        error=_in(answer.error, words),
    )


def _told(sentences: tuple[str, ...], words: Speaker) -> list[str]:
    return [_in(text, words) for text in sentences]


def _in(text: str, words: Speaker) -> str:
    return str(words.say(text)) if text else ""


@router.post("/withdraw")
def take_back(request: Request, given: WithdrawIn, bench: AtBench) -> TakenBackOut:
    """Take back a whole line by its id. Sent again it changes nothing."""
    said = withdraw_line(
        bench.book, given.line, on=bench.today, id=given.id, device=device_of(request)
    )
    return _taken_back(given.line, said, bench.speaker())


def _taken_back(line: UUID, said: Said, words: Speaker) -> TakenBackOut:
    return TakenBackOut(
        line=line,
        receipts=_told(said.receipts, words),
        doubts=_told(said.doubts, words),
        withdrawn=said.withdrawn,
    )


@router.get("/reading")
def read(bench: AtBench, text: Text = "", tree: Tree = "") -> ReadingOut:
    """Tell what a line would do if it were said now; nothing is written."""
    garden = bench.day()
    last = bench.kept.last_line(_hand(bench, tree), bench.settings.who) if tree else ()
    found = reading_of(garden, text, tree or None, garden.today, last=last)
    words = bench.speaker()
    return ReadingOut(
        tree=found.tree_id or None,
        receipts=_told(found.receipts, words),
        doubts=_told(found.doubts, words),
        unread=list(found.unread),
        branches=list(found.branches),
        ready=found.ready,
    )


def _hand(bench: Bench, tree: str) -> str:
    """Return the lasting id of the tree at hand; what was given when there is none such."""
    try:
        return bench.day().tree(tree).tree.id
    except BoughwrightError:
        return tree


@router.get("/completions")
def complete(bench: AtBench, text: Text = "", tree: Tree = "") -> CompletionsOut:
    """List words that may come next in a line; each stands for the word being typed."""
    try:
        found = completions(bench.day(), text, tree or None)
    except TextError:
        found = []
    return CompletionsOut(completions=found)
