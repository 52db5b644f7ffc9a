"""The garden as its events tell it: settings, places, shelves and the wire in stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.events import GardenSet, PlaceSet, ShelfSet, StockCounted, TraitSet

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from uuid import UUID

    from boughwright.journal.events import Event, FieldValue
    from boughwright.journal.terms import Metal


@dataclass(frozen=True, slots=True)
class Counted:
    """The last count of wire of one gauge and metal, with its day and its event."""

    on: date
    event: UUID
    what: StockCounted


@dataclass(frozen=True, slots=True)
class Garden:
    """Latest known value of every field of the garden, its places and their shelves.

    ``traits`` are species values overridden for the whole garden: species key, then trait.
    """

    fields: Mapping[str, FieldValue]
    places: Mapping[str, Mapping[str, FieldValue]]
    shelves: Mapping[tuple[str, str], Mapping[str, FieldValue]]
    traits: Mapping[str, Mapping[str, FieldValue]]
    stock: tuple[Counted, ...] = ()
    """The last count of each wire, aluminium before copper, thin before thick."""


def garden_of(events: Iterable[Event], *, until: date | None = None) -> Garden:
    """Fold garden events, already standing and in replay order, into a `Garden`.

    Events of single trees are passed over. ``until`` leaves out what happened after that day.
    """
    fields: dict[str, FieldValue] = {}
    places: dict[str, dict[str, FieldValue]] = {}
    shelves: dict[tuple[str, str], dict[str, FieldValue]] = {}
    traits: dict[str, dict[str, FieldValue]] = {}
    stock: dict[tuple[Metal, float], Counted] = {}
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
            case StockCounted() as counted:
                key = (counted.metal, counted.gauge_mm)
                stock[key] = Counted(event.on, event.id, counted)
            case _:
                pass
    by_wire = tuple(stock[key] for key in sorted(stock))
    return Garden(fields, places, shelves, traits, by_wire)
