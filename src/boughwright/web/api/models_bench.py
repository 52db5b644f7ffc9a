"""What each answer of the web holds that no command gives: tasks at the bench.

See `boughwright.web.api.models`.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from boughwright.usecases.promises import From, State
from boughwright.web.api.models import (
    ACount,
    AGrade,
    AHarm,
    AMetal,
    AnAct,
    APhase,
    AQuantity,
    AStage,
    ASureness,
    AVigour,
    AWord,
    AWork,
    Model,
    Reason,
    SheetBranch,
    TreeName,
    Version1,
    one_of,
)

ARatio = Annotated[float, Field(ge=0, le=1)]


# --- trees and branches ---------------------------------------------------------------------------


class TreeLine(Model):
    """One tree in the list of all."""

    tree: str
    name: str
    species: str | None
    place: str
    shelf: str
    stage: AStage
    vigour: AVigour | None
    phase: APhase | None
    branches: ACount
    wants: AnAct | None
    where: str
    by: date | None
    why: str


class Trees(Model):
    """All trees by name within their place, each with what it wants most."""

    shape: Literal["boughwright/trees"]
    version: Version1
    on: date
    total: ACount
    alone: ACount
    trees: list[TreeLine]


class Branch(SheetBranch):
    """One branch: where it stands, its measures and its verdict."""

    shape: Literal["boughwright/branch"]
    version: Version1
    on: date
    tree: TreeName
    id: str
    order: ACount
    parent: str | None
    aliases: list[str]


class Measurement(Model):
    """One reading on record."""

    on: date
    branch: str | None
    place: str
    what: AQuantity
    value: float
    unit: Literal["mm", "s", "g"]
    sd: float | None
    how: str
    who: str
    record: str


class Measurements(Model):
    """Every reading of a tree or of one of its branches, oldest first."""

    shape: Literal["boughwright/measurements"]
    version: Version1
    on: date
    tree: TreeName
    place: str
    measurements: list[Measurement]


# --- one tree on the bench ------------------------------------------------------------------------


class Ask(Model):
    """One reading worth taking today, because it may turn a verdict."""

    branch: str
    place: str
    what: list[AQuantity]
    phrase: str
    act: AnAct
    instead: AnAct | None
    chance: ARatio
    turns_at_mm: float | None
    last_mm: float | None
    likely_mm: float | None
    sd_mm: float | None
    read_on: date | None
    harm: AHarm
    why: str


class Spot(Model):
    """One branch on a line of the session."""

    branch: str
    name: str
    why: str
    reasons: list[Reason]
    also: list[str]
    latest: date | None
    minutes: float
    sureness: ASureness
    grade: AGrade
    phrase: str
    answers: list[str]
    field: str


class SessionLine(Model):
    """One act, on the branches it is just the same for."""

    act: AnAct
    where: str
    earliest: date | None
    latest: date | None
    minutes: float
    harm: AHarm
    never: list[str]
    caution: str
    why: str
    phrase: str
    works: list[AWork]
    spots: list[Spot]


class SessionStep(Model):
    """One step of the session."""

    step: int
    title: str
    phrases: list[str]
    lines: list[SessionLine]


class HandsOff(Model):
    """A branch to be let be."""

    branch: str
    name: str
    act: AnAct
    where: str
    why: str
    never: list[str]


class Session(Model):
    """One tree on the bench today: what to read first, each step in order, and when to stop."""

    shape: Literal["boughwright/session"]
    version: Version1
    on: date
    tree: TreeName
    asks: list[Ask]
    steps: list[SessionStep]
    stop: list[Reason]
    hands_off: list[HandsOff]
    later: list[SessionLine]
    look_again: date
    look_at: str
    setup_minutes: float
    minutes: float
    toll: float
    toll_left: float | None


# --- promises, wire in stock, sureness ------------------------------------------------------------


class Expected(Model):
    """When the sign of a promise is expected."""

    on: date | None
    seasons: tuple[float, float, float | None] | None
    season_end: date | None


class Held(Model):
    """One promise and its sign."""

    tree: str
    name: str
    branch: str
    place: str
    kind: Annotated[AWord, one_of(From)]
    words: str
    sign: str
    since: date | None
    state: Annotated[AWord, one_of(State)]
    expected: Expected
    value: float | None
    limit: float | None
    unit: str
    record: str | None
    because: str


class Promises(Model):
    """What was promised, those whose sign has come first."""

    shape: Literal["boughwright/promises"]
    version: Version1
    on: date
    now: list[Held]
    soon: list[Held]
    waiting: list[Held]


class Metres(Model):
    """A length of wire."""

    low: float
    high: float | None
    unknown: ACount


class Use(Model):
    """Wire that one branch took, or that it needs."""

    tree: str
    place: str
    on: date
    length: Metres


class StockLine(Model):
    """Wire of one gauge and metal."""

    metal: AMetal
    gauge_mm: float
    grams_a_metre: float
    counted_on: date | None
    counted_m: float | None
    used: Metres
    left_low_m: float | None
    left_high_m: float | None
    need: Metres
    short_m: float | None
    order_by: date | None
    uses: list[Use]
    needs: list[Use]


class Stock(Model):
    """Wire in stock against what the next six weeks ask for."""

    shape: Literal["boughwright/stock"]
    version: Version1
    on: date
    until: date
    wires: list[StockLine]
    unsaid: ACount
    guys: ACount


class Rests(Model):
    """What one kind of forecast rests on, counted."""

    what: str
    of: Literal["trees", "branches", "wires", "alarms"]
    measured: ACount
    borrowed: ACount
    guess: ACount


class ActRests(Model):
    """How sure the verdicts of one act are, counted."""

    act: AnAct
    sure: ACount
    likely: ACount
    doubtful: ACount
    measured: ACount
    borrowed: ACount
    guess: ACount


class Input(Model):
    """What is weak in a tree's answers, and what would mend it."""

    what: str
    todo: str


class Missing(Model):
    """A fact that a verdict waits for."""

    branch: str
    place: str
    how: str
    phrases: list[str]
    field: str


class TreeSure(Model):
    """What one tree's answers rest on."""

    tree: str
    name: str
    branches: ACount
    doubtful: ACount
    weakest: AGrade
    filled_days: ACount
    species_doubt: str
    contradictions: list[str]
    inputs: list[Input]
    asks: list[Ask]
    missing: list[Missing]


class Sureness(Model):
    """What the answers rest on, most doubtful trees first."""

    shape: Literal["boughwright/sureness"]
    version: Version1
    on: date
    forecasts: list[Rests]
    acts: list[ActRests]
    trees: list[TreeSure]
    record: str


# --- first steps and forms ------------------------------------------------------------------------


class Step(Model):
    """One of the first steps."""

    key: Literal["place", "weather", "tree", "branches", "verdict"]
    done: bool
    what: str
    todo: str


class FirstSteps(Model):
    """How far a new garden has come."""

    shape: Literal["boughwright/first-steps"]
    version: Version1
    done: bool
    steps: list[Step]
    tree: str


class SpeciesMatch(Model):
    """A species that fits what was typed."""

    key: str
    botanical: str
    plain: str
    by: str


class SpeciesMatches(Model):
    """Species that fit what was typed, the likeliest first."""

    shape: Literal["boughwright/species-matches"]
    version: Version1
    species: list[SpeciesMatch]


class FormField(Model):
    """One field of a form."""

    name: str
    kind: Literal["text", "number", "count", "yes-no", "date", "choice", "ref"]
    help: str
    unit: str
    choices: list[str]
    low: float | None
    high: float | None


class FormGroup(Model):
    """Fields that stand together."""

    key: str
    essential: bool
    fields: list[FormField]


class Form(Model):
    """The fields of a garden, a place, a shelf, a tree or a branch."""

    shape: Literal["boughwright/form"]
    version: Version1
    of: Literal["garden", "place", "shelf", "tree", "branch"]
    groups: list[FormGroup]
