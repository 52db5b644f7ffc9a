"""What is reckoned for a species, and where each value comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.sources import all_sources, source
from boughwright.species.tables import all_species, find, trait_meanings
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from boughwright.sources import Source
    from boughwright.species.model import Species, Trait
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class TraitLine:
    """One value with its meaning and the text of its source."""

    name: str
    meaning: str
    trait: Trait
    source: str


def species_values(name: str) -> tuple[Species, tuple[TraitLine, ...]]:
    """Return a species with all its values.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no species or more than one.
    """
    species = find(name)
    meanings = trait_meanings()
    lines = tuple(
        TraitLine(key, meanings[key].means, trait, source(trait.source).text)
        for key, trait in species.traits.items()
    )
    return species, lines


def list_species() -> tuple[Species, ...]:
    """Return every species that is reckoned with."""
    return tuple(all_species())


def list_sources() -> tuple[Source, ...]:
    """Return every source of a value or a rule."""
    return tuple(all_sources().values())


def species_shape(species: Species, lines: tuple[TraitLine, ...]) -> dict[str, Json]:
    """Return the values in their JSON shape."""
    return shaped(
        "boughwright/species",
        1,
        {
            "species": species.botanical,
            "plain": species.plain,
            "values": [
                {
                    "name": line.name,
                    "meaning": line.meaning,
                    "value": line.trait.value,
                    "low": line.trait.low,
                    "high": line.trait.high,
                    "unit": line.trait.unit,
                    "grade": line.trait.grade,
                    "source": line.source,
                }
                for line in lines
            ],
        },
    )
