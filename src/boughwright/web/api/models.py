"""What each answer of the web holds: the parts many share, and the answers of the commands.

The answers themselves are made by the use cases; these say their keys to whoever writes a program
against them, in the OpenAPI document. Every key is always there; unknown is null. Lengths are mm.
What each key means stands in ``docs/json-shapes.md``, and a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import Enum
from typing import Annotated, Any, Literal, TypeAlias

from pydantic import BaseModel, ConfigDict, Field

from boughwright.benchwork.order import STEPS
from boughwright.journal.terms import (
    Amount,
    Bend,
    Kind,
    Metal,
    Phase,
    Quantity,
    Vigour,
    Work,
    Zone,
)
from boughwright.season.stages import AlarmKind, Stage
from boughwright.sources import Grade
from boughwright.usecases.shapes import plain
from boughwright.verdicts.answer import Say
from boughwright.verdicts.verdict import Act, Harm, Sureness


class Model(BaseModel):
    """One object of an answer."""

    model_config = ConfigDict(defer_build=True)


def one_of(words: type[Enum]) -> Any:
    """Return what limits a text to the words of an enumeration, as answers write them."""
    return Field(json_schema_extra={"enum": [plain(member) for member in words]})


AWord: TypeAlias = str
AnAct = Annotated[AWord, one_of(Act)]
AGrade = Annotated[AWord, one_of(Grade)]
AHarm = Annotated[AWord, one_of(Harm)]
AKind = Annotated[AWord, one_of(Kind)]
AMetal = Annotated[AWord, one_of(Metal)]
APhase = Annotated[AWord, one_of(Phase)]
AQuantity = Annotated[AWord, one_of(Quantity)]
ASay = Annotated[AWord, one_of(Say)]
AStage = Annotated[AWord, one_of(Stage)]
ASureness = Annotated[AWord, one_of(Sureness)]
AVigour = Annotated[AWord, one_of(Vigour)]
AWork = Annotated[AWord, one_of(Work)]
AZone = Annotated[AWord, one_of(Zone)]
AShare = Annotated[float, Field(ge=0)]
ACount = Annotated[int, Field(ge=0)]
AGradeOfWire = Annotated[int, Field(ge=0, le=5)]
Version1 = Literal[1]
Pair = tuple[float, float]
Three = tuple[float, float, float]


# --- what is refused ------------------------------------------------------------------------------


class Fault(Model):
    """What is wrong with a request, and what to do. ``slug`` is for programs and never changes."""

    slug: str
    what: str
    where: str
    allowed: str
    todo: str


class Refusal(Model):
    """The answer to a request that was not done: nothing was changed."""

    error: Fault


_REFUSED: Mapping[int, str] = {
    400: "The request cannot be read, or its Host is not one of this server",
    401: "This device is not let in",
    403: "The request was not meant: no token, or it came from another page",
    404: "No tree, branch or thing of that name",
    405: "This address is not asked in that way",
    408: "The body stopped coming",
    413: "The body is too long",
    422: "A value is missing, out of its range or not understood",
    429: "Too many requests; Retry-After says when to ask again",
    503: "There is no book yet, it cannot be read, or its first day is still being worked out",
}
_SHAPE = {"application/json": {"schema": {"$ref": "#/components/schemas/Refusal"}}}
REFUSALS: dict[int | str, dict[str, Any]] = {
    status: {"description": told, "content": _SHAPE} for status, told in _REFUSED.items()
}
REFUSALS[422] = {"description": _REFUSED[422], "model": Refusal}
"""What every address under ``/api`` may answer instead, as FastAPI takes it."""


def documented(answer: type[Model]) -> dict[str, Any]:
    """Return what a route that gives a ready dict says of its answer: keys for its decorator."""
    told = (answer.__doc__ or "").partition("\n")[0]
    return {"response_model": None, "responses": {200: {"model": answer, "description": told}}}


# --- parts that many answers share ----------------------------------------------------------------


class TreeName(Model):
    """A tree: its lasting key and its name."""

    id: str
    name: str


class Dates(Model):
    """When something happens, as a forecast or as seen."""

    early: date | None
    likely: date | None
    late: date | None
    not_this_season: AShare | None
    grade: AGrade
    seen: bool


class Reason(Model):
    """Why, with the measure behind it."""

    text: str
    measure: str
    value: float | None
    limit: float | None
    unit: str
    source: str
    grade: AGrade


class Note(Model):
    """Something else true of a branch that does not lead."""

    act: AnAct
    text: str
    works: list[AWork]
    harm: AHarm
    earliest: date | None
    latest: date | None
    minutes: float
    share: AShare
    structural: bool
    grade: AGrade


class Verdict(Model):
    """What to do with a branch or a tree, why, and what would change it."""

    act: AnAct
    where: str
    earliest: date | None
    latest: date | None
    minutes: float
    reasons: list[Reason]
    sureness: ASureness
    harm: AHarm
    flip: str
    never: list[str]
    notes: list[Note]
    caution: str
    next_look: date | None


class Job(Model):
    """One act on one tree, on all its branches together."""

    act: AnAct
    places: str
    how: str
    earliest: date | None
    latest: date | None
    minutes: float
    reason: str
    grade: AGrade
    sureness: ASureness
    harm: AHarm
    step: Annotated[int, Field(ge=min(STEPS), le=max(STEPS))]
    toll: float
    never: list[str]
    caution: str
    missed: str


class TreeCall(Model):
    """One tree's place in the call-up."""

    tree: str
    name: str
    harm: AHarm
    act_by: date | None
    minutes: float
    setup_minutes: float
    toll_left: float | None
    toll_season: float | None
    branches: ACount
    leave_alone: ACount
    headline: str
    jobs: list[Job]


# --- what the commands answer ---------------------------------------------------------------------


class Slip(Model):
    """A job that does not fit the hours."""

    tree: str
    name: str
    job: Job
    to: date | None
    days: int | None
    cost: str


class CalmTree(Model):
    """A tree that needs nothing in the span."""

    tree: str
    name: str
    headline: str


class CallUp(Model):
    """What needs the bench, against the hours at hand."""

    shape: Literal["boughwright/call-up"]
    version: Version1
    on: date
    until: date
    garden: str | None
    hours: float
    hours_wanted: float
    hours_planned: float
    over_hours: float
    trees: list[TreeCall]
    slips: list[Slip]
    calm: list[CalmTree]
    later: list[TreeCall]
    notes: list[str]


class SheetBranch(Model):
    """One branch: its measures and its verdict."""

    name: str
    kind: AKind
    zone: AZone | None
    phase: APhase | None
    vigour: AVigour | None
    base_mm: float | None
    trunk_mm: float | None
    step: float | None
    target_step: float | None
    target_base_mm: float | None
    reached: float | None
    node_mm: float | None
    room_mm: float | None
    internode_share: float | None
    season_end_mm: Three | None
    seasons_to_target: float | None
    verdict: Verdict


class Sheet(Model):
    """One tree head to foot."""

    shape: Literal["boughwright/sheet"]
    version: Version1
    on: date
    tree: TreeName
    species: str | None
    stage: AStage
    vigour: AVigour | None
    vigour_why: str
    phase: APhase | None
    contradictions: list[str]
    whole: list[Verdict]
    branches: list[SheetBranch]
    cautions: list[str]


class WireOn(Model):
    """One wire that is on."""

    tree: str
    tree_id: str
    branch: str
    place: str
    gauge_mm: float | None
    metal: AMetal | None
    strands: int
    put_on: date
    look_by: date | None
    off_by: date | None
    first_line: Dates
    allowed_sink: Dates
    bitten: Dates
    set: Dates
    hold_from: date | None
    share_used: tuple[float | None, float | None, float | None]
    seen_grade: AGradeOfWire | None
    seen_on: date | None
    likely_grade: AGradeOfWire | None
    wirings: int | None
    grade: AGrade


class AllWire(Model):
    """All wire that is on, what must come off first on top."""

    shape: Literal["boughwright/wire"]
    version: Version1
    on: date
    wires: list[WireOn]


class Alarm(Model):
    """What the weather threatens."""

    kind: Annotated[AWord, one_of(AlarmKind)]
    first: date
    last: date
    value: float
    limit: float
    reason: str
    source: str
    grade: AGrade
    todo: str


class TreeStage(Model):
    """Where one tree is in its year."""

    tree: str
    shelf: str
    season: str
    stage: AStage
    since: Dates
    known: AGrade
    next: AStage | None
    next_starts: Dates | None
    starts: dict[str, Dates]
    leaf_out: Dates
    warmth_cd: float | None
    filled_days: ACount
    notes: list[str]
    alarms: list[Alarm]


class Stages(Model):
    """Where each tree is in its year, and what the weather threatens."""

    shape: Literal["boughwright/stages"]
    version: Version1
    on: date
    trees: list[TreeStage]


class MayI(Model):
    """Whether a work may be done."""

    shape: Literal["boughwright/may-i"]
    version: Version1
    on: date
    day: date
    tree: str
    places: list[str]
    work: AWork
    amount: Annotated[AWord, one_of(Amount)] | None
    answer: ASay
    from_: date | None = Field(alias="from")
    condition: str
    reasons: list[Reason]
    instead: str
    caution: str


class Gauge(Model):
    """Which wire holds a bend on a branch."""

    shape: Literal["boughwright/gauge"]
    version: Version1
    on: date
    tree: str
    place: str
    base_mm: float
    bend: Annotated[AWord, one_of(Bend)]
    guy: bool
    metal: AMetal
    gauge_mm: float | None
    strands: ACount
    hold: float | None
    over_bend: float | None
    steady_gauge_mm: float
    trade_gauge_mm: Pair
    trade_over_bend: Pair
    coil_deg: Pair
    length_mm: float | None
    mass_g: float | None
    safe_radius_mm: float
    warnings: list[str]
    cautions: list[str]
    grade: AGrade
    now: ASay
    now_reasons: list[Reason]
    now_from: date | None


class SpeciesValue(Model):
    """One value reckoned for a species."""

    name: str
    meaning: str
    value: bool | float | str
    low: float | None
    high: float | None
    unit: str
    grade: AGrade
    source: str


class Species(Model):
    """What is reckoned for a species, and where each value comes from."""

    shape: Literal["boughwright/species"]
    version: Version1
    species: str
    plain: str
    values: list[SpeciesValue]


class Record(Model):
    """One record in plain words."""

    on: date
    who: str
    place: str
    words: str
    id: str


class Records(Model):
    """What is written of a tree or a branch, oldest first."""

    shape: Literal["boughwright/records"]
    version: Version1
    on: date
    tree: str
    place: str
    records: list[Record]


class Doubt(Model):
    """Records that cannot both be right."""

    tree: str
    place: str
    kind: str
    what: str
    todo: str
    events: list[str]


class Doubts(Model):
    """All records that cannot both be right."""

    shape: Literal["boughwright/doubts"]
    version: Version1
    doubts: list[Doubt]
