"""The first steps of a new garden, what a first verdict still lacks, and finding a species."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError
from boughwright.species.tables import all_names
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.called import folded
from boughwright.usecases.day import open_day
from boughwright.usecases.enter import enter_garden, enter_place, needed
from boughwright.usecases.entry import Entered, read_given
from boughwright.usecases.garden import read_garden
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date
    from pathlib import Path

    from boughwright.journal.events import FieldValue
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.entry import Given, Writer
    from boughwright.usecases.shapes import Json

FIRST_BRANCHES: Final = 3
"""Branches from which a tree has something to tell."""
NEAR: Final = 0.6
"""How like a name must be to be offered for a misspelt one, 0..1."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step: a plain key for the page, whether it is done, what it is and what to do."""

    key: str
    done: bool
    what: str
    todo: str


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """How far a new garden has come. ``tree`` is the tree furthest on, empty when there is none."""

    steps: tuple[Step, ...]
    tree: str

    @property
    def done(self) -> bool:
        """True when every step is done."""
        return all(step.done for step in self.steps)

    @property
    def next(self) -> Step | None:
        """The first step that is not done; None when all are."""
        return next((step for step in self.steps if not step.done), None)


def begin(path: Path) -> bool:
    """Make an empty book when there is none; tell whether one was made.

    Raises
    ------
    StoreError
        When what is there is no book, or the place cannot be written.
    """
    was = path.exists()
    path.parent.mkdir(parents=True, exist_ok=True)
    with Book.open(path, create=True):
        return not was


def first_place(
    path: Path, place: Given, garden: Given, writer: Writer
) -> Entered:  # fmt: skip
    """Enter the first place, and with it how the garden reads; the book is made for it.

    Parameters
    ----------
    path : Path
        The book; made when there is none and nothing is wrong.
    place, garden : mapping of str to value
        Fields of the place, and of the garden's settings.
    writer : Writer

    Raises
    ------
    StoreError
        When the book cannot be made or written.
    """
    units = str(garden.get("units") or "mm")
    values, faults = read_given("place", place, units=units, order=None, today=writer.on)
    faults += read_given("garden", garden, units=units, order=None, today=writer.on)[1]
    wrong = {one.field for one in faults}
    needs = {"name": "its name", "latitude": "degrees north"}
    faults += [one for one in needed(values, {}, needs) if one.field not in wrong]
    if faults:
        return Entered("", tuple(faults))
    begin(path)
    enter_garden(path, garden, writer)
    return enter_place(path, None, place, writer)


def first_steps(
    path: Path, *, on: date | None = None, garden: GardenDay | None = None
) -> FirstSteps:  # fmt: skip
    """Tell which of the first steps are done: place, weather, tree, three branches, a verdict.

    Parameters
    ----------
    path : Path
        The book; it may not be there yet.
    on : date, optional
        The day to take as today.
    garden : GardenDay, optional
        The day, when it is worked out already.

    Raises
    ------
    StoreError
        When what is there cannot be read.
    """
    if not path.exists():
        return FirstSteps(_steps({}, garden=None, weather=False), "")
    places, stations = _ground(path)
    placed = any(fields.get("latitude") is not None for fields in places.values())
    used = {str(fields.get("weather") or key) for key, fields in places.items()}
    day = garden or (_day(path, on) if placed else None)
    return FirstSteps(_steps(places, garden=day, weather=bool(used & stations)), _furthest(day))


def _ground(path: Path) -> tuple[Mapping[str, Mapping[str, FieldValue]], set[str]]:
    places = read_garden(path)[0].places
    with Reader.open(path) as reader:
        return places, set(reader.stations())


def _day(path: Path, on: date | None) -> GardenDay | None:
    """Return the day, None while the book has too little for one."""
    try:
        return open_day(path, on=on)
    except BoughwrightError:
        return None


def _steps(
    places: Mapping[str, Mapping[str, FieldValue]], *, garden: GardenDay | None, weather: bool
) -> tuple[Step, ...]:
    trees = garden.trees if garden is not None else ()
    named = any(day.species is not None for day in trees)
    branches = max((_primaries(day) for day in trees), default=0)
    told = any(v.act not in (Act.LOOK_FIRST, Act.LEAVE) for day in trees for v in day.verdicts)
    placed = any(fields.get("latitude") is not None for fields in places.values())
    return (
        Step("place", placed, "Where the trees stand", "Give the place a name and its latitude"),
        Step("weather", weather, "Its weather", "Load a daily weather file, or read it by hand"),
        Step("tree", named, "A first tree", "Give it a name and its species"),
        Step("branches", branches >= FIRST_BRANCHES, "Three branches",
             "Name them from the soil up and caliper their bases"),
        Step("verdict", told, "A first verdict", "Add the base and the trunk beside it"),
    )  # fmt: skip


def _primaries(day: TreeDay) -> int:
    return sum(branch.order == 1 for branch in day.branches)


def _furthest(garden: GardenDay | None) -> str:
    """Return the tree with most branches, the first by name of those alike."""
    trees = garden.trees if garden is not None else ()
    best = max(trees, key=_primaries, default=None)
    return "" if best is None else best.facts.tree


# --- finding a species ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SpeciesMatch:
    """One species that a grower may mean; ``by`` is the name that fits."""

    key: str
    botanical: str
    plain: str
    by: str


def species_matches(typed: str, *, limit: int = 8) -> tuple[SpeciesMatch, ...]:
    """Return the species that a few letters may mean: names that begin so first, then any part.

    A misspelt name is met by the names most like it. Nothing typed gives all, by plain name.

    Parameters
    ----------
    typed : str
        Letters of a botanical, plain or common name.
    limit : int
        How many at most.
    """
    wanted = folded(typed)
    ranked = sorted(_ranked(wanted), key=lambda pair: (pair[0], pair[1].plain.casefold()))
    found: dict[str, SpeciesMatch] = {}
    for _, match in ranked:
        found.setdefault(match.key, match)
    if not found and wanted:
        found = {match.key: match for match in _alike(wanted)}
    return tuple(found.values())[:limit]


def _called() -> Iterator[SpeciesMatch]:
    for key, names in all_names().items():
        for name in (names.plain, names.botanical, *names.common, *names.synonyms):
            yield SpeciesMatch(key, names.botanical, names.plain, name)


def _ranked(wanted: str) -> Iterator[tuple[int, SpeciesMatch]]:
    for match in _called():
        name = folded(match.by)
        if name == wanted:
            yield 0, match
        elif name.startswith(wanted):
            yield 1, match
        elif f" {wanted}" in name:
            yield 2, match
        elif wanted in name:
            yield 3, match


def _alike(wanted: str) -> Iterator[SpeciesMatch]:
    by_name = {folded(match.by): match for match in _called()}
    for name in difflib.get_close_matches(wanted, by_name, n=8, cutoff=NEAR):
        yield by_name[name]


def first_steps_shape(answer: FirstSteps) -> dict[str, Json]:
    """Return the first steps in their JSON shape."""
    return shaped(
        "boughwright/first-steps",
        1,
        {"done": answer.done, "steps": answer.steps, "tree": answer.tree},
    )


def species_matches_shape(answer: tuple[SpeciesMatch, ...]) -> dict[str, Json]:
    """Return the species found in their JSON shape."""
    return shaped("boughwright/species-matches", 1, {"species": answer})
