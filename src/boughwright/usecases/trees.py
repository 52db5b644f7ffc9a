"""All trees, a line each: where it stands, how it is, and the one thing it wants most now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from boughwright.species.tables import all_names
from boughwright.usecases.called import folded
from boughwright.usecases.entry import Writer, open_desk
from boughwright.usecases.shapes import shaped
from boughwright.usecases.week import is_feed, is_weather
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.benchwork.jobs import BenchJob
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json

AHEAD_DAYS: Final = 7
"""A job that opens later than this is not what a tree wants now. [d]"""


@dataclass(frozen=True, slots=True)
class TreeLine:
    """One tree. ``wants`` is the job that leads; None: leave it alone."""

    day: TreeDay
    place: str
    shelf: str
    wants: BenchJob | None


@dataclass(frozen=True, slots=True)
class PlaceTrees:
    """The trees of one place, by name."""

    key: str
    name: str
    lines: tuple[TreeLine, ...]


@dataclass(frozen=True, slots=True)
class AllTrees:
    """All trees by place; ``alone`` counts those that want nothing, ``found`` those shown."""

    places: tuple[PlaceTrees, ...]
    total: int
    found: int
    alone: int


@dataclass(frozen=True, slots=True)
class GoneTree:
    """A tree that is sold, given away or dead."""

    key: str
    name: str
    on: date
    how: str


def trees_of(garden: GardenDay, find: str = "") -> AllTrees:
    """Return all trees, or those that a word finds, sorted by name within their place.

    Parameters
    ----------
    garden : GardenDay
    find : str
        Part of a name, a tag, a species, a cultivar, a place or a shelf; empty finds all.
    """
    wanted = folded(find)
    lines = [_line(garden, day) for day in garden.trees]
    shown = [line for line in lines if wanted in _searched(line)]
    keys = [key for key in garden.garden.places if any(x.day.shelf.place == key for x in shown)]
    return AllTrees(
        tuple(
            PlaceTrees(
                key,
                _place_name(garden, key),
                tuple(line for line in shown if line.day.shelf.place == key),
            )
            for key in keys
        ),
        len(lines),
        len(shown),
        sum(line.wants is None for line in lines),
    )


def _line(garden: GardenDay, day: TreeDay) -> TreeLine:
    last = garden.today + timedelta(days=AHEAD_DAYS)
    jobs = [job for job in day.call.jobs if job.earliest is None or job.earliest <= last]
    shelf = day.shelf.name if day.shelf.shelf else ""
    return TreeLine(day, _place_name(garden, day.shelf.place), shelf, leading(jobs))


def leading(jobs: list[BenchJob]) -> BenchJob | None:
    """Return the job to name first: bench work before weather and feed, then by harm and day.

    A look that nothing hangs on is no wish of the tree: it is left out.
    """
    busy = [job for job in jobs if job.act is not Act.LOOK_FIRST or job.harm > Harm.COSMETIC]
    return min(
        busy,
        key=lambda job: (
            is_weather(job) or is_feed(job),
            job.harm is not Harm.IRREVERSIBLE,
            job.latest or date.max,
            -job.harm,
        ),
        default=None,
    )


def _place_name(garden: GardenDay, key: str) -> str:
    return str(garden.garden.places.get(key, {}).get("name") or key)


def _searched(line: TreeLine) -> str:
    """Return everything that finds a tree, folded, its parts kept from running together."""
    facts = line.day.tree.facts
    species = line.day.species
    names = all_names()[species.key] if species is not None else None
    words = [
        line.day.facts.name,
        facts.get("tag"),
        facts.get("cultivar"),
        facts.get("species"),
        line.place,
        line.shelf,
    ]
    if names is not None:
        words += [names.plain, names.botanical, *names.common, *names.synonyms]
    return "\n".join(folded(word) for word in words)


def gone_trees(path: Path, today: date) -> tuple[GoneTree, ...]:
    """Return the trees that are gone, the last to go first.

    Raises
    ------
    StoreError
        When the book cannot be read.
    """
    with open_desk(path, Writer(today)) as desk:
        found = [
            GoneTree(key, str(facts.get("name") or key), on, str(facts.get("gone_how") or ""))
            for key, facts in desk.trees.items()
            if isinstance(on := facts.get("gone_on"), date)
        ]
    return tuple(sorted(found, key=lambda one: (-one.on.toordinal(), one.name)))


def trees_shape(answer: AllTrees, today: date) -> dict[str, Json]:
    """Return all trees in their JSON shape, place after place."""
    lines = [(place.key, line) for place in answer.places for line in place.lines]
    return shaped(
        "boughwright/trees",
        1,
        {
            "on": today,
            "total": answer.total,
            "alone": answer.alone,
            "trees": [_line_body(key, line) for key, line in lines],
        },
    )


def _line_body(place: str, line: TreeLine) -> dict[str, object]:
    facts, wants = line.day.facts, line.wants
    return {
        "tree": facts.tree,
        "name": facts.name,
        "species": facts.species.botanical if facts.species else None,
        "place": place,
        "shelf": line.shelf,
        "stage": facts.calendar.stage,
        "vigour": facts.vigour,
        "phase": facts.phase,
        "branches": line.day.call.branches,
        "wants": wants.act if wants else None,
        "where": wants.places if wants else "",
        "by": wants.latest if wants else None,
        "why": wants.reason if wants else "",
    }
