"""The pages that are not asked for every day: their list, doubts, sources and species values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.sources import Grade
from boughwright.usecases.doubts import doubts_of
from boughwright.usecases.history import history_of
from boughwright.usecases.species import TraitLine, list_sources, list_species, species_values
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.species.model import Trait
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
GROUPS = (
    ("plan", (("promises", "/promises"), ("stock", "/stock"), ("may_i", "/may-i"))),
    (
        "keep",
        (
            ("sure", "/sure"),
            ("doubts", "/doubts"),
            ("species", "/species"),
            ("sources", "/sources"),
            ("say", "/say"),
        ),
    ),
    (
        "set",
        (
            ("places", "/places"),
            ("settings", "/settings"),
            ("devices", "/devices"),
            ("keep_page", "/keep"),
            ("parts", "/parts"),
        ),
    ),
)
"""The remaining pages by what they are for."""
KINDS = ("published", "memory", "standard", "trade", "guess")
"""Kinds of source, the firmest first."""
NAMED = frozenset({"buds", "wood", "flushes", "bark", "brittle", "full_defoliation",
                   "partial_defoliation", "leafout_model"})  # fmt: skip
"""Values of a species that are one of a few words; notes are whole sentences."""


@router.get("/more")
def more(request: Request, bench: AtBench) -> HTMLResponse:
    """Show the remaining pages, each with what it answers."""
    return bench.render(request, "more.html", groups=GROUPS)


# --- doubts ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Shown:
    """One contradiction, with its records that still count: id, day and words."""

    tree: str
    name: str
    place: str
    what: str
    todo: str
    records: tuple[tuple[UUID, date, str], ...]


@router.get("/doubts")
def show_doubts(request: Request, bench: AtBench) -> HTMLResponse:
    """Show the records that cannot both be right."""
    words = bench.speaker()
    found = []
    for day in bench.day().trees:
        doubts = doubts_of([day.tree])
        if not doubts:
            continue
        own = bench.kept.events(day.facts.tree)
        lines = history_of(day.tree, own, today=bench.today, units=words.units).lines
        for doubt in doubts:
            here = [(one.id, one.on, one.words) for one in lines if one.id in doubt.what.events]
            found.append(
                _Shown(
                    day.facts.tree,
                    doubt.tree,
                    doubt.place,
                    doubt.what.what,
                    doubt.what.todo,
                    tuple(here),
                )
            )
    told = words.t("doubts.sentence", n=len(found)) if found else words.t("doubts.none")
    return bench.render(request, "doubts.html", found=found, sentence=told)


# --- sources --------------------------------------------------------------------------------------


@router.get("/sources")
def show_sources(request: Request, bench: AtBench) -> HTMLResponse:
    """Show every source, each with an anchor by its key."""
    every = list_sources()
    groups = [(kind, [one for one in every if one.kind == kind]) for kind in KINDS]
    return bench.render(request, "sources.html", groups=groups, n=len(every))


# --- species --------------------------------------------------------------------------------------


@router.get("/species")
def show_species(
    request: Request, bench: AtBench, name: Annotated[str, Query(max_length=80)] = ""
) -> HTMLResponse:
    """Show the species, or the values of one with their ranges, grades and sources."""
    words = bench.speaker()
    if not name.strip():
        return _all_species(request, bench, words)
    try:
        species, lines = species_values(name)
    except (UnknownNameError, AmbiguousNameError) as error:
        return _all_species(request, bench, words, wanted=name, fault=error)
    guess = sum(line.trait.grade is Grade.GUESS for line in lines)
    return bench.render(
        request,
        "species/one.html",
        species=species,
        lines=[(line, _value(line, words), _range(line.trait, words)) for line in lines],
        sentence=words.t("species.one", species=species.botanical, guess=guess, n=len(lines)),
        sources={one.text: one.key for one in list_sources()},
    )


def _all_species(
    request: Request,
    bench: Bench,
    words: Speaker,
    *,
    wanted: str = "",
    fault: UnknownNameError | AmbiguousNameError | None = None,
) -> HTMLResponse:
    every = list_species()
    here: dict[str, None] = {}
    if bench.has_book:
        here = dict.fromkeys(day.species.key for day in bench.day().trees if day.species)
    return bench.render(
        request,
        "species/list.html",
        status=404 if fault else 200,
        here=[one for one in every if one.key in here],
        every=every,
        sentence=words.t("species.sentence", n=len(every)),
        wanted=wanted,
        fault=fault,
    )


def _value(line: TraitLine, words: Speaker) -> str:
    """Return a value in the grower's units and words."""
    value = line.trait.value
    if isinstance(value, bool):
        return words.t("species.word.yes" if value else "species.word.no")
    if isinstance(value, str):
        return words.t(f"species.word.{value.replace(' ', '-')}") if line.name in NAMED else value
    return _number(float(value), line.trait, words)


def _number(value: float, trait: Trait, words: Speaker) -> str:
    if trait.unit == "mm":
        return words.length(value, decimals=None if value >= 1 or words.units == "in" else 2)
    if trait.unit == "cm":
        return words.length(value * 10.0, decimals=0)
    if trait.unit == "°C":
        return words.temp(value)
    told = words.number(value)
    units = {"cm²": f"{told} cm²", "": told}
    if trait.unit in ("portions", "weeks", "seasons"):
        return words.t(f"species.unit.{trait.unit}", n=told)
    return units.get(trait.unit, told)


def _range(trait: Trait, words: Speaker) -> str:
    if trait.low is None or trait.high is None:
        return ""
    return words.t("species.span", low=_number(trait.low, trait, words),
                   high=_number(trait.high, trait, words))  # fmt: skip
