"""What forms offer to choose from: species, places, shelves, branches and weather records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError
from boughwright.usecases.places import places_of
from boughwright.usecases.start import species_matches

if TYPE_CHECKING:
    from boughwright.journal.garden import Garden
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.places import Places
    from boughwright.usecases.start import SpeciesMatch
    from boughwright.web.forms import Choices
    from boughwright.web.speech import Speaker
    from boughwright.web.state import Bench

ALL: Final = 1000


def species_offers() -> tuple[SpeciesMatch, ...]:
    """Return every species in the tables, by plain name."""
    return species_matches("", limit=ALL)


def places_here(bench: Bench) -> Places:
    """Return every place of the book.

    It is asked for where a day may fail: a place without a latitude is mended on its own page.
    """
    try:
        day = bench.kept.day()
    except BoughwrightError:
        return places_of(bench.book)
    return places_of(bench.book, day=day)


def place_choices(garden: Garden) -> Choices:
    """Return the places by key, each with its name."""
    return [(key, str(fields.get("name") or key)) for key, fields in garden.places.items()]


def where_choices(garden: Garden, words: Speaker) -> dict[str, Choices]:
    """Return the choices of the fields that say where a tree stands.

    Shelves carry the name of their place when there is more than one place.
    """
    several = len(garden.places) > 1
    shelves = []
    for (place, shelf), fields in garden.shelves.items():
        name = str(fields.get("name") or shelf)
        at = str(garden.places.get(place, {}).get("name") or place)
        label = words.t("facts.shelf_at", shelf=name, place=at) if several else name
        shelves.append((shelf, label))
    return {"place": place_choices(garden), "shelf": shelves}


def branch_choices(tree: Tree, but: str = "") -> Choices:
    """Return a tree's living branches by key, each with its name; ``but`` is left out."""
    rows = tree.branches
    return [
        (key, name)
        for key, name, gone in zip(rows.ids, rows.names, rows.gone.tolist(), strict=True)
        if not gone and key != but
    ]


def unknown_species(day: TreeDay) -> dict[str, object]:
    """Return a species that is not in the tables, as it was entered, and what it may mean."""
    typed = day.tree.facts.get("species")
    if day.species is not None or typed is None:
        return {"strange": "", "near": ()}
    return {"strange": str(typed), "near": species_matches(str(typed))}
