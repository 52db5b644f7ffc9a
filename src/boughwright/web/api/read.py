"""Everything that can be read, as JSON: the same shapes that the commands print."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query
from fastapi.responses import JSONResponse
from pydantic import BeforeValidator, WithJsonSchema

from boughwright.journal.terms import Bend, Metal
from boughwright.usecases.branch import branch_of, branch_shape
from boughwright.usecases.call_up import call_up_of, call_up_shape
from boughwright.usecases.day import GardenDay
from boughwright.usecases.doubts import doubts_of, doubts_shape
from boughwright.usecases.drawing import drawing_of, drawing_shape
from boughwright.usecases.field_forms import form_of, form_shape
from boughwright.usecases.gauge import gauge_of, gauge_shape
from boughwright.usecases.may_i import ask_of, ask_shape
from boughwright.usecases.measurements import measurements_of, measurements_shape
from boughwright.usecases.promises import promises_of, promises_shape
from boughwright.usecases.records import records_shape
from boughwright.usecases.session import session_of, session_shape
from boughwright.usecases.sheet import sheet_of, sheet_shape
from boughwright.usecases.species import species_shape, species_values
from boughwright.usecases.stages import stage_shape, strip_of
from boughwright.usecases.start import (
    first_steps,
    first_steps_shape,
    species_matches,
    species_matches_shape,
)
from boughwright.usecases.stock import stock_of, stock_shape
from boughwright.usecases.sureness import sureness_of, sureness_shape
from boughwright.usecases.trees import trees_of, trees_shape
from boughwright.usecases.wires import all_wire_of, all_wire_shape
from boughwright.web.api import models, models_bench, models_pictures
from boughwright.web.api.models import documented
from boughwright.web.state import Bench, bench

router = APIRouter(tags=["read"])

FIRST_DAY, LAST_DAY = date(1700, 1, 1), date(2199, 12, 31)
"""Days that may be asked about; those of the commands."""
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


def read_day(text: Any) -> Any:
    """Return a day of the calendar from its ISO text alone.

    Raises
    ------
    ValueError
        When it is written in another way, no such day exists, or it lies centuries away.
    """
    if not (isinstance(text, str) and _DAY.fullmatch(text)):
        raise ValueError("a day is written as in 2026-06-09")
    day = date.fromisoformat(text)
    if not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError(f"from {FIRST_DAY} to {LAST_DAY}")
    return day


Day = Annotated[
    date,
    BeforeValidator(read_day),
    WithJsonSchema({"type": "string", "format": "date", "examples": ["2026-06-09"]}),
]
On = Annotated[Day | None, Query(description="The day to take as today; else the garden's.")]
Word = Annotated[str, Query(min_length=1, max_length=200)]
Name = Annotated[str, Path(min_length=1, max_length=200, description="Lasting key, name or tag.")]
OneTree = Annotated[
    str | None, Query(min_length=1, max_length=200, description="Key, name or tag of one tree.")
]
AtBench = Annotated[Bench, Depends(bench)]


def garden_on(bench: AtBench, on: On = None) -> GardenDay:
    """Return the garden today, or on the day that is asked for."""
    today = bench.day()
    return today if on is None else bench.kept.day(on)


OnTheDay = Annotated[GardenDay, Depends(garden_on)]


# --- the garden -----------------------------------------------------------------------------------


@router.get("/call-up", **documented(models.CallUp))
def call_up(
    garden: OnTheDay,
    hours: Annotated[float | None, Query(ge=0, le=112, description="Bench hours at hand.")] = None,
    days: Annotated[int, Query(ge=1, le=60, description="How many days to look ahead.")] = 7,
) -> JSONResponse:
    """Say what needs the bench, against the hours at hand."""
    return JSONResponse(call_up_shape(call_up_of(garden, hours, days)))


@router.get("/trees", **documented(models_bench.Trees))
def trees(
    garden: OnTheDay,
    find: Annotated[
        str, Query(max_length=200, description="Part of a name, tag, species, place or shelf.")
    ] = "",
) -> JSONResponse:
    """List all trees or those that a word finds, each with what it wants most."""
    return JSONResponse(trees_shape(trees_of(garden, find), garden.today))


@router.get("/wire", **documented(models.AllWire))
def wire(garden: OnTheDay, tree: OneTree = None) -> JSONResponse:
    """List all wire that is on, or that of one tree, what must come off first on top."""
    return JSONResponse(all_wire_shape(all_wire_of(garden, tree)))


@router.get("/stages", **documented(models.Stages))
def stages(garden: OnTheDay) -> JSONResponse:
    """Say where each tree is in its year, and what the weather threatens."""
    return JSONResponse(stage_shape(strip_of(garden)))


@router.get("/promises", **documented(models_bench.Promises))
def promises(garden: OnTheDay, tree: OneTree = None) -> JSONResponse:
    """List what was promised, those whose sign has come first."""
    return JSONResponse(promises_shape(promises_of(garden, tree)))


@router.get("/stock", **documented(models_bench.Stock))
def stock(garden: OnTheDay) -> JSONResponse:
    """Hold the wire in stock against what the next six weeks ask for."""
    return JSONResponse(stock_shape(stock_of(garden)))


@router.get("/sureness", **documented(models_bench.Sureness))
def sureness(garden: OnTheDay, tree: OneTree = None) -> JSONResponse:
    """Say what the answers of the garden, or of one tree, rest on."""
    return JSONResponse(sureness_shape(sureness_of(garden, tree)))


@router.get("/doubts", **documented(models.Doubts))
def doubts(garden: OnTheDay) -> JSONResponse:
    """List records that cannot both be right."""
    return JSONResponse(doubts_shape(doubts_of(day.tree for day in garden.trees)))


# --- one tree -------------------------------------------------------------------------------------


@router.get("/trees/{tree}/sheet", **documented(models.Sheet))
def sheet(tree: Name, garden: OnTheDay) -> JSONResponse:
    """Give one tree head to foot: every branch, what to do and why."""
    return JSONResponse(sheet_shape(sheet_of(garden, tree)))


@router.get("/trees/{tree}/branches/{branch}", **documented(models_bench.Branch))
def branch(tree: Name, branch: Name, garden: OnTheDay) -> JSONResponse:
    """Give one branch: where it stands, its measures and its verdict."""
    return JSONResponse(branch_shape(branch_of(garden, tree, branch)))


@router.get("/trees/{tree}/drawing", **documented(models_pictures.Drawing))
def drawing(tree: Name, garden: OnTheDay, bench: AtBench, on: On = None) -> JSONResponse:
    """Give a tree's lines in space, with the verdict of each branch."""
    day = garden.tree(tree)
    made = bench.pictures.drawing(day) if on is None else drawing_of(day)
    return JSONResponse(drawing_shape(made))


@router.get("/session/{tree}", **documented(models_bench.Session))
def session(tree: Name, garden: OnTheDay) -> JSONResponse:
    """Give one tree's session at the bench: what to read first, each step, when to stop."""
    return JSONResponse(session_shape(session_of(garden, tree)))


@router.get("/may-i", **documented(models.MayI))
def may_i(
    garden: OnTheDay,
    tree: Word,
    phrase: Annotated[
        str,
        Query(min_length=1, max_length=600, description="Place and work, in a bench phrase."),
    ],
    day: Annotated[Day | None, Query(description="The day it would be done; else today.")] = None,
) -> JSONResponse:
    """Say whether a work may be done."""
    return JSONResponse(ask_shape(ask_of(garden, tree, phrase, day)))


@router.get("/gauge", **documented(models.Gauge))
def gauge(
    garden: OnTheDay,
    tree: Word,
    place: Word,
    bend: Annotated[Bend, Query(description="How hard it is to be bent.")] = Bend.MODERATE,
    metal: Annotated[Metal, Query()] = Metal.ALUMINIUM,
    lowering: Annotated[bool, Query(description="The branch is brought down.")] = False,
) -> JSONResponse:
    """Say which wire holds a bend on a branch."""
    found = gauge_of(garden, tree, place, bend=bend, metal=metal, lowering=lowering)
    return JSONResponse(gauge_shape(found))


@router.get("/records", **documented(models.Records))
def records(
    bench: AtBench,
    tree: Word,
    branch: Annotated[
        str, Query(max_length=200, description="A branch or zone by its name; empty for all.")
    ] = "",
    on: On = None,
    facts: Annotated[bool, Query(description="Also how tree and branches were entered.")] = False,
) -> JSONResponse:
    """List what is written of a tree or a branch, oldest first."""
    bench.day()
    return JSONResponse(records_shape(bench.kept.records(tree, branch, on=on, facts=facts)))


@router.get("/measurements", **documented(models_bench.Measurements))
def measurements(
    garden: OnTheDay,
    tree: Word,
    branch: Annotated[
        str, Query(max_length=200, description="A branch or zone by its name; empty for all.")
    ] = "",
) -> JSONResponse:
    """List every reading of a tree or of one of its branches, oldest first."""
    return JSONResponse(measurements_shape(measurements_of(garden, tree, branch)))


# --- what rests on no tree ------------------------------------------------------------------------


@router.get("/species", **documented(models.Species))
def species(name: Word) -> JSONResponse:
    """Give what is reckoned for a species, botanical or common name, with its sources."""
    return JSONResponse(species_shape(*species_values(name)))


@router.get("/species-matches", **documented(models_bench.SpeciesMatches))
def matches(typed: Annotated[str, Query(max_length=200)]) -> JSONResponse:
    """List species that fit what is typed, the likeliest first."""
    return JSONResponse(species_matches_shape(species_matches(typed)))


@router.get("/form/{of}", **documented(models_bench.Form))
def form(of: Name) -> JSONResponse:
    """List the fields of a garden, a place, a shelf, a tree or a branch, with their ranges."""
    return JSONResponse(form_shape(form_of(of)))


@router.get("/first-steps", **documented(models_bench.FirstSteps))
def steps(bench: AtBench) -> JSONResponse:
    """Say how far a new garden has come."""
    garden = bench.day() if bench.warm else None
    return JSONResponse(first_steps_shape(first_steps(bench.book, garden=garden)))
