"""How sure the answers are: what each forecast rests on, where it is guessed, what would help most.

Only what is on record is told. How often past forecasts came true is not kept yet, so no figure of
that kind is shown.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.sources import Grade, weakest
from boughwright.usecases.asks import ask_body, asks_of
from boughwright.usecases.bench_phrases import look_form
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.verdict import Act, Sureness

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from boughwright.usecases.asks import Ask
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json

NO_RECORD: Final = (
    "No record of past forecasts is kept yet, so nobody can say how often they came true"
)
SHOWN_INPUTS: Final = 4
"""Weakest inputs told of each tree."""


@dataclass(frozen=True, slots=True)
class Rests:
    """What one kind of forecast or verdict rests on, counted over the garden.

    ``of`` is what was counted: trees, branches, wires or alarms.
    """

    what: str
    of: str
    measured: int
    borrowed: int
    guess: int

    @property
    def total(self) -> int:
        """How many there are."""
        return self.measured + self.borrowed + self.guess


@dataclass(frozen=True, slots=True)
class ActRests:
    """How sure the verdicts of one act are, and what their reasons rest on."""

    act: Act
    sure: int
    likely: int
    doubtful: int
    measured: int
    borrowed: int
    guess: int


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a tree's answers that is weak, and what would mend it."""

    what: str
    todo: str


@dataclass(frozen=True, slots=True)
class Missing:
    """A fact whose absence makes a verdict wait: how it is asked for and how it is answered."""

    branch: str
    place: str
    how: str
    phrases: tuple[str, ...]
    field: str


@dataclass(frozen=True, slots=True)
class TreeSure:
    """One tree: its doubts, the readings worth most and the facts that are missing.

    ``filled_days`` weather of this season that had to be filled in [d]; ``doubtful`` of its
    ``branches`` have a doubtful verdict; ``weakest`` is the weakest grade among its forecasts.
    """

    tree: str
    name: str
    branches: int
    doubtful: int
    weakest: Grade
    filled_days: int
    species_doubt: str
    contradictions: tuple[str, ...]
    inputs: tuple[Input, ...]
    asks: tuple[Ask, ...]
    missing: tuple[Missing, ...]


@dataclass(frozen=True, slots=True)
class Sure:
    """The whole garden; trees with most doubtful verdicts first."""

    today: date
    forecasts: tuple[Rests, ...]
    acts: tuple[ActRests, ...]
    trees: tuple[TreeSure, ...]
    record: str


def sureness_of(garden: GardenDay, tree: str | None = None) -> Sure:
    """Return what the answers of the garden, or of one tree, rest on.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    days = garden.trees if tree is None else (garden.tree(tree),)
    trees = sorted((_tree(day) for day in days), key=lambda t: (-t.doubtful, t.name.casefold()))
    return Sure(garden.today, _forecasts(days), _acts(days), tuple(trees), NO_RECORD)


# --- counts over the garden -----------------------------------------------------------------------


def _rests(what: str, of: str, grades: Iterable[Grade]) -> Rests:
    counted = Counter(grades)
    return Rests(what, of, *(counted[grade] for grade in Grade))


def _forecasts(days: Iterable[TreeDay]) -> tuple[Rests, ...]:
    days = tuple(days)
    growth = [grade for day in days for grade in _growth_grades(day)]
    return (
        _rests("stage", "trees", (day.calendar.grade for day in days)),
        _rests("leaf-out", "trees", (day.calendar.leaf_out.grade for day in days)),
        _rests("strength", "trees", (day.facts.vigour_grade for day in days)),
        _rests("growth of a base", "branches", growth),
        _rests("wire", "wires", (window.grade for day in days for window in day.windows)),
        _rests("alarms", "alarms", (alarm.grade for day in days for alarm in day.alarms)),
    )


def _growth_grades(day: TreeDay) -> list[Grade]:
    """Return the grade of growth of each living branch whose base was read."""
    if day.growth is None:
        return []
    rows = [b.row for b in day.branches if b.base_mm is not None and b.order >= 1]
    return [Grade(int(day.growth.increment.grade[row])) for row in rows]


def _acts(days: Iterable[TreeDay]) -> tuple[ActRests, ...]:
    sure: dict[Act, Counter[Sureness]] = {}
    grades: dict[Act, Counter[Grade]] = {}
    for day in days:
        for v in (*day.whole, *day.verdicts):
            sure.setdefault(v.act, Counter())[v.sureness] += 1
            grades.setdefault(v.act, Counter())[v.reasons[0].grade] += 1
    return tuple(
        ActRests(
            act,
            *(sure[act][how] for how in (Sureness.SURE, Sureness.LIKELY, Sureness.DOUBTFUL)),
            *(grades[act][grade] for grade in Grade),
        )
        for act in Act
        if act in sure
    )


# --- one tree -------------------------------------------------------------------------------------


def _tree(day: TreeDay) -> TreeSure:
    facts = day.facts
    doubtful = sum(v.sureness is Sureness.DOUBTFUL for v in day.verdicts)
    told = tuple(one.what for one in day.tree.contradictions)
    grades = [day.calendar.grade, day.calendar.leaf_out.grade, facts.vigour_grade]
    grades += [window.grade for window in day.windows]
    grades += _growth_grades(day)
    return TreeSure(
        facts.tree, facts.name, len(day.verdicts), doubtful, weakest(grades), facts.filled_days,
        day.species_doubt, told, tuple(_inputs(day))[:SHOWN_INPUTS], asks_of(day),
        tuple(_missing(day)),
    )  # fmt: skip


def _inputs(day: TreeDay) -> Iterable[Input]:
    """Yield what is weak in a tree's answers, what touches most of them first."""
    facts, calendar = day.facts, day.calendar
    if day.species is None:
        yield Input("Its species is not known", "Say its botanical name")
    if facts.vigour is None:
        yield Input("Its strength is not known", "Say how strong it grows")
    elif facts.vigour_grade is Grade.GUESS:
        yield Input("Its strength is guessed", "Say how strong it grows")
    if facts.phase is None:
        yield Input("Its phase is not known", "Say which phase most of its branches are in")
    if facts.height_mm is None:
        yield Input("Its outline is not known", "Measure it from the soil to the outline")
    if not calendar.leaf_out.seen:
        yield Input("Its leaf-out this season was not seen", "Log the first leaf next spring")
    if facts.filled_days:
        text = f"{facts.filled_days} days of its weather are missing"
        yield Input(text, "Load the missing days, or read them at the bench")
    unread = sum(b.base_mm is None for b in day.branches if b.order == 1)
    if unread:
        yield Input(f"{unread} of its main branches have no base on record", "Caliper them")


def _missing(day: TreeDay) -> Iterable[Missing]:
    """Yield the facts that verdicts wait for, in the order of the verdicts."""
    rows = day.tree.branches
    by_row = {branch.row: branch for branch in day.branches}
    for v in (*day.whole, *day.verdicts):
        if v.act is Act.LOOK_FIRST:
            branch = by_row.get(v.row)
            form = look_form(v, day.facts, branch)
            where = (rows.ids[v.row], rows.names[v.row]) if v.row >= 0 else ("", "")
            yield Missing(*where, v.where, form.phrases, form.field)


def sureness_shape(answer: Sure) -> dict[str, Json]:
    """Return what the answers rest on in its JSON shape."""
    return shaped(
        "boughwright/sureness",
        1,
        {
            "on": answer.today,
            "forecasts": answer.forecasts,
            "acts": answer.acts,
            "trees": [
                {
                    "tree": tree.tree, "name": tree.name, "branches": tree.branches,
                    "doubtful": tree.doubtful, "weakest": tree.weakest,
                    "filled_days": tree.filled_days, "species_doubt": tree.species_doubt,
                    "contradictions": tree.contradictions, "inputs": tree.inputs,
                    "asks": [ask_body(ask) for ask in tree.asks], "missing": tree.missing,
                }
                for tree in answer.trees
            ],
            "record": answer.record,
        },
    )  # fmt: skip
