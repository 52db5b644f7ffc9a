"""May this work be done on this tree or branch on this day?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.benchwork.fit import is_hard
from boughwright.benchwork.may_i import load_of, may_i
from boughwright.benchwork.toll import points
from boughwright.errors import TextError
from boughwright.journal.events import Worked
from boughwright.journal.phrases import parse
from boughwright.journal.terms import AMOUNT_SHARE, Amount, Work
from boughwright.tree.naming import find
from boughwright.usecases.day import open_day
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.answer import strictest
from boughwright.verdicts.asking import never, not_now
from boughwright.verdicts.cautions import caution_text
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.answer import Answer
    from boughwright.verdicts.facts import BranchFacts


FINE = ("pair", "leaf")
"""Cuts to the outline, which shape no branch for good."""
FINE_SHARE = 0.25
"""Leaf of a branch that a cut to a pair or a leaf takes, as a light trim does (starting value)."""
OFF = ("base", "collar")
FEW_LEAVES = 2
UNSAID = not_now(
    "A cut on the whole tree may be a trim or a chop",
    condition="you say how much goes, or to where: all cut light, all cut to leaf 2",
)
"""The answer to a bare *cut* on the whole tree: it asks what exactly is meant."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The question as it was understood, and the answer."""

    tree: str
    places: tuple[str, ...]
    work: Worked
    on: date
    today: date
    units: str
    answer: Answer


def ask(path: Path, tree: str, phrase: str, *, on: date | None = None,
        day: date | None = None) -> Asked:  # fmt: skip
    """Answer whether a work may be done.

    Parameters
    ----------
    path : Path
        The book.
    tree : str
        Name, tag or id of the tree.
    phrase : str
        Place and work in a bench phrase: ``2R cut to pair 1``, ``leaf full``, ``repot hard``.
    on : date, optional
        The day to take as today.
    day : date, optional
        The day the work would be done; None: today.

    Raises
    ------
    TextError
        When the phrase names no work, or has words in it that are not understood.
    UnknownNameError, AmbiguousNameError
        When the tree or branch is not found.
    """
    return ask_of(open_day(path, on=on, only=tree), tree, phrase, day)


def ask_of(garden: GardenDay, tree: str, phrase: str, day: date | None = None) -> Asked:
    """Answer whether a work may be done, from a garden already worked out; see `ask`.

    Raises
    ------
    TextError, UnknownNameError, AmbiguousNameError
    """
    here = garden.tree(tree)
    line = parse(phrase, today=garden.today, units=garden.settings.units)
    works = [(e, b) for e in line.entries for b in e.bodies if isinstance(b, Worked)]
    if not works:
        raise TextError(
            f"{phrase!r} names no work",
            allowed="a work in bench words: " + ", ".join(work.value for work in Work),
            todo="Say the place and the work, as in 2R cut to pair 1",
        )
    if line.unread:
        raise TextError(
            f"{' '.join(line.unread)!r} is not understood, and half a question gets no answer",
            allowed="a place on the tree, a work and its details",
            todo="Say it again, as in 2R cut to pair 1",
        )
    when = day or garden.today
    answers = []
    for entry, body in works:
        for branch in _branches(entry.places, here):
            answers.append(_answer(here, branch, body, when))
    places = tuple(dict.fromkeys(place for entry, _ in works for place in entry.places))
    return Asked(
        here.facts.name, places, works[0][1], when, garden.today, garden.settings.units,
        strictest(answers),
    )  # fmt: skip


def _branches(places: tuple[str, ...], here: TreeDay) -> list[BranchFacts | None]:
    by_row = {branch.row: branch for branch in here.branches}
    found: list[BranchFacts | None] = []
    for place in places:
        where = find(here.tree, place)
        if where.match == "all":
            return [None]
        found += [by_row[row] for row in where.rows if row in by_row]
    return found or [None]


def _answer(here: TreeDay, branch: BranchFacts | None, body: Worked, when: date) -> Answer:
    share = body.share
    if share is None and body.amount is not None:
        share = AMOUNT_SHARE[body.amount]
    hard = body.amount is Amount.HARD
    if body.work is not Work.CUT:
        return may_i(here.facts, branch, body.work, when, share=share, hard=hard)
    if branch is None and _is_unsaid(body):
        return UNSAID
    fine = body.to.startswith(FINE)
    cost = points(load_of(branch, Work.CUT, FINE_SHARE)) if fine and share is None else None
    wide = branch is not None and body.to in OFF and is_hard(branch, Act.REMOVE, 1.0)
    told = may_i(here.facts, branch, body.work, when, share=share, hard=hard or wide,
                 structural=bool(body.to) and not fine, cost=cost)  # fmt: skip
    against = None if branch is None else _against(here, branch, body)
    return told if against is None else strictest([told, against])


def _is_unsaid(body: Worked) -> bool:
    """Tell whether a cut on the whole tree says neither how much nor to where."""
    return not body.to and body.amount is None and body.share is None


def _against(here: TreeDay, branch: BranchFacts, body: Worked) -> Answer | None:
    """Return what the exact place of a cut runs up against on this branch."""
    if body.to.startswith("pair") and here.facts.opposite is False:
        return never("Its buds do not stand in pairs", instead="cut to a leaf")
    if body.to.startswith("past") and branch.bud_inside is False:
        return not_now(
            "No live bud shows at the node inside",
            condition="a live bud shows there",
            instead="trim beyond it and let light onto it",
        )
    if body.to.startswith(FINE) and branch.leaves is not None and branch.leaves <= FEW_LEAVES:
        return not_now("It has two leaves or fewer", condition="it has grown on")
    return None


def ask_shape(answer: Asked) -> dict[str, Json]:
    """Return the answer in its JSON shape."""
    told = answer.answer
    return shaped(
        "boughwright/may-i",
        1,
        {
            "on": answer.today,
            "day": answer.on,
            "tree": answer.tree,
            "places": answer.places,
            "work": answer.work.work,
            "amount": answer.work.amount,
            "answer": told.say,
            "from": told.from_date,
            "condition": told.condition,
            "reasons": told.reasons,
            "instead": told.instead,
            "caution": "; ".join(caution_text(k) for k in told.caution.split("; ") if k),
        },
    )
