"""The garden as its events tell it: settings, places and shelves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.events import GardenSet, PlaceSet, ShelfSet, TraitSet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from boughwright.journal.events import Event, FieldValue


@dataclass(frozen=True, slots=True)
class Garden:
    """Latest known value of every field of the garden, its places and their shelves.

    ``traits`` are species values overridden for the whole garden: species key, then trait.
    """

    fields: Mapping[str, FieldValue]
    places: Mapping[str, Mapping[str, FieldValue]]
    shelves: Mapping[tuple[str, str], Mapping[str, FieldValue]]
    traits: Mapping[str, Mapping[str, FieldValue]]


def garden_of(events: Iterable[Event], *, until: date | None = None) -> Garden:
    """Fold garden events, already standing and in replay order, into a `Garden`.

    Events of single trees are passed over. ``until`` leaves out what happened after that day.
    """
    fields: dict[str, FieldValue] = {}
    places: dict[str, dict[str, FieldValue]] = {}
    shelves: dict[tuple[str, str], dict[str, FieldValue]] = {}
    traits: dict[str, dict[str, FieldValue]] = {}
    for event in events:
        if event.tree is not None or (until is not None and event.on > until):
            continue
        match event.body:
            case GardenSet(new):
                fields.update(new)
            case PlaceSet(place, new):
                places.setdefault(place, {}).update(new)
            case ShelfSet(place, shelf, new):
                shelves.setdefault((place, shelf), {}).update(new)
            case TraitSet(species, trait, value):
                traits.setdefault(species, {})[trait] = value
            case _:
                pass
    return Garden(fields, places, shelves, traits)
