"""May I? Any work on any tree or branch, on any day: yes, not now or never, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from boughwright.errors import BoughwrightError, StoreError
from boughwright.journal.terms import Amount, Work
from boughwright.report.drawing_model import Mark
from boughwright.usecases.may_i import Asked, ask_of
from boughwright.usecases.sheet import sheet_of
from boughwright.verdicts.answer import Say
from boughwright.verdicts.cautions import caution_text
from boughwright.web.photo_forms import day_of
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.usecases.day import GardenDay
    from boughwright.web.speech import Speaker

router = APIRouter()
Text = Annotated[str, Query(max_length=120)]
Phrase = Annotated[str, Query(max_length=600)]

GROUPS: Final[tuple[tuple[str, tuple[Work, ...]], ...]] = (
    ("wire", (Work.WIRE_ON, Work.WIRE_OFF, Work.GUY_ON, Work.GUY_OFF)),
    ("cut", (Work.CUT, Work.PINCH, Work.TWO, Work.RUB, Work.BUD_SELECT)),
    ("leaf", (Work.LEAF_CLEAR, Work.LEAF_THIN, Work.LEAF_PAIR, Work.LEAF_FULL)),
    ("run", (Work.LET_RUN, Work.RAISE, Work.LOWER)),
    ("graft", (Work.GRAFT_IN, Work.GRAFT_ON, Work.NOTCH, Work.SEVER, Work.RIM)),
    ("root", (Work.REPOT, Work.FEED)),
    ("care", (Work.FRUIT_OFF, Work.SPRAY, Work.SHADE, Work.COVER, Work.TURN)),
)
"""Every work, in the groups a grower thinks of them."""
ZONES: Final = ("low", "mid", "apex")
"""Parts of a tree that may be asked for as one."""
WHOLE: Final = "all"
"""The place that means the whole tree, where a phrase has to say so."""

ROLES: Final = {Say.YES: "ink", Say.NOT_NOW: "look", Say.NEVER: "harm"}
_SIGNS: Final[dict[Work, Mark]] = {
    Work.WIRE_ON: Mark.WIRE_ON, Work.WIRE_OFF: Mark.WIRE_OFF, Work.GUY_ON: Mark.GUY,
    Work.CUT: Mark.CUT, Work.PINCH: Mark.CUT, Work.TWO: Mark.TWO, Work.LET_RUN: Mark.RUN,
    Work.RAISE: Mark.RAISE, Work.LEAF_CLEAR: Mark.THIN, Work.LEAF_THIN: Mark.THIN,
    Work.LEAF_PAIR: Mark.THIN, Work.LEAF_FULL: Mark.THIN, Work.GRAFT_IN: Mark.GRAFT,
    Work.GRAFT_ON: Mark.GRAFT, Work.RIM: Mark.RIM,
}  # fmt: skip
"""The mark of a work on a drawn branch; the plain line for the others."""


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked, as it was typed or chosen."""

    tree: str = ""
    place: str = ""
    work: str = ""
    amount: str = ""
    day: str = ""
    phrase: str = ""

    def said(self, work: str = "") -> str:
        """Return the bench phrase of the question, for its own work or another one."""
        if self.phrase.strip() and not work:
            return self.phrase.strip()
        named = work or self.work
        amount = "" if work else self.amount
        place = self.place.strip() or (WHOLE if amount else "")
        return " ".join(part for part in (place, named, amount) if part)

    def href(self, **changes: str) -> str:
        """Return the address of this question with some of it changed."""
        told = asdict(self) | changes
        return "/may-i?" + urlencode({name: value for name, value in told.items() if value})


@router.get("/may-i")
def may_i(
    request: Request,
    bench: Annotated[Bench, Depends(bench)],
    tree: Text = "",
    place: Text = "",
    work: Text = "",
    amount: Text = "",
    day: Text = "",
    phrase: Phrase = "",
) -> HTMLResponse:
    """Answer a question, or list what may be done on a tree or branch."""
    garden, words = bench.day(), bench.speaker()
    asked = Question(tree, place, work, amount, day, phrase)
    found: dict[str, Any] = {"answer": None, "works": [], "fault": None}
    try:
        found |= _answered(garden, asked, words)
    except StoreError:
        raise
    except BoughwrightError as error:
        found["fault"] = error
    found["sentence"] = found.get("sentence") or words.t("may_i.ask")
    return bench.render(
        request,
        "may_i.html",
        asked=asked,
        chosen=_tree_id(garden, tree),
        trees=[(d.facts.tree, d.facts.name) for d in garden.trees],
        places=_places(garden, asked),
        groups=[(key, works) for key, works in GROUPS],
        amounts=tuple(Amount),
        zones=ZONES,
        caution_text=caution_text,
        **found,
    )


def _answered(garden: GardenDay, asked: Question, words: Speaker) -> dict[str, Any]:
    """Return the answer, or for a tree alone the list of all works."""
    if not asked.tree:
        return {}
    here = garden.tree(asked.tree).facts
    on = day_of(asked.day) or garden.today
    if asked.work or asked.phrase.strip():
        answer = _Told(ask_of(garden, here.tree, asked.said(), on), asked, words)
        return {"answer": answer, "sentence": answer.sentence}
    works = [
        (key, [_Told(ask_of(garden, here.tree, asked.said(work.value), on), asked, words)
               for work in group])
        for key, group in GROUPS
    ]  # fmt: skip
    every = [told for _, group in works for told in group]
    free = sum(told.answer.say is Say.YES for told in every)
    where = _where((asked.place,) if asked.place else (), here.name, words)
    sentence = words.t("may_i.overview", n=free, of=len(every), where=where, day=words.day(on))
    return {"works": works, "sentence": sentence}


class _Told:
    """One answer in words."""

    def __init__(self, found: Asked, asked: Question, words: Speaker) -> None:
        self.answer, self.work = found.answer, found.work.work
        self.word = words.t(f"may_i.say_{self.answer.say.name.lower()}")
        self.role = ROLES[self.answer.say]
        self.sign = _SIGNS.get(self.work, Mark.LEAVE)
        self.name = words.t(f"may_i.work_{self.work.name.lower()}")
        self.when = self._when(found.today, words)
        self.href = asked.href(work=self.work.value, phrase="")
        free = self.answer.from_date
        self.later = asked.href(day=free.isoformat()) if free else ""
        self.cautions = [key for key in self.answer.caution.split("; ") if key]
        amount = found.work.amount
        name = self.name if amount is None else words.t(
            "may_i.with_amount", work=self.name, amount=words.word(amount)
        )  # fmt: skip
        self.sentence = words.t(
            "may_i.sentence", say=self.word[:1].upper() + self.word[1:], work=name,
            where=_where(found.places, found.tree, words), day=words.day(found.on),
        )  # fmt: skip

    def _when(self, today: date, words: Speaker) -> str:
        free = self.answer.from_date
        return words.t("when.from", day=words.day(free)) if free and free > today else ""


def _where(places: Sequence[str], tree: str, words: Speaker) -> str:
    """Return where a work would be done: places of a tree, or the whole of it."""
    named = [words.place(place) for place in places if place != WHOLE]
    if not named:
        return words.t("may_i.whole_of", tree=tree)
    return words.t("may_i.place_of", place=", ".join(named), tree=tree)


def _tree_id(garden: GardenDay, tree: str) -> str:
    """Return the lasting id of the tree that was asked for; empty when none fits."""
    try:
        return garden.tree(tree).facts.tree if tree else ""
    except BoughwrightError:
        return ""


def _places(garden: GardenDay, asked: Question) -> list[str]:
    """Return the branches to choose from, apex first; with what was asked for when it is none."""
    tree = _tree_id(garden, asked.tree)
    if not tree:
        return [asked.place] if asked.place else []
    names = [line.branch.name for line in sheet_of(garden, tree).lines]
    known = (*names, *ZONES, "")
    return names if asked.place in known else [asked.place, *names]
