"""Where trees stand, and the weather of a season there: clocks made once for each shelf."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import UnknownNameError
from boughwright.season.clock import season_first, site_clock
from boughwright.season.fill import as_known_on
from boughwright.season.normals import normals_from
from boughwright.season.record import Weather

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from datetime import date

    from boughwright.journal.events import FieldValue
    from boughwright.journal.garden import Garden
    from boughwright.season.normals import Normals
    from boughwright.season.record import SiteClock
    from boughwright.tree.model import Tree


@dataclass(frozen=True, slots=True)
class Shelf:
    """A place and shelf as the clock needs them."""

    place: str
    shelf: str
    place_fields: Mapping[str, FieldValue]
    shelf_fields: Mapping[str, FieldValue]

    def number(self, name: str) -> float | None:
        """Return a number of the shelf, else of the place, None when unknown."""
        value = self.shelf_fields.get(name, self.place_fields.get(name))
        return None if value is None else float(value)  # type: ignore[arg-type]

    @property
    def name(self) -> str:
        """The shelf's plain name, or the place's when it stands on none."""
        return str(self.shelf_fields.get("name") or self.place_fields.get("name") or self.place)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A tree that stands at no known place, or at one without a latitude: it has no clock."""

    tree: Tree
    error: UnknownNameError

    @property
    def note(self) -> str:
        """What the reader of a list without this tree is told."""
        return f"{self.error.what}. {self.tree.name} is left out until then. {self.error.todo}."


@dataclass
class Clocks:
    """Clocks of one day by shelf, made once each.

    ``weather`` gives the record of a station, None when it has no day.
    """

    weather: Callable[[str], Weather | None]
    today: date
    records: dict[str, Weather] = field(default_factory=dict)
    usual: dict[str, Normals] = field(default_factory=dict)
    made: dict[tuple[str, str, date], SiteClock] = field(default_factory=dict)

    def of(self, shelf: Shelf, season: date) -> SiteClock:
        """Return the clock of the season that holds a day, at a shelf."""
        latitude = latitude_of(shelf)
        first = season_first(season, south=latitude < 0)
        key = (shelf.place, shelf.shelf, first)
        if key not in self.made:
            station = str(shelf.place_fields.get("weather") or shelf.place)
            if station not in self.records:
                self.records[station] = self.weather(station) or _no_record(station, self.today)
            record = self.records[station]
            if shelf.place not in self.usual:
                # The usual weather, too, is that of the days up to today and no later one.
                known = as_known_on(record, self.today)
                self.usual[shelf.place] = normals_from(
                    known, latitude_deg=latitude, elevation_m=shelf.number("elevation_m")
                )
            store = bool(shelf.shelf_fields.get("store"))
            self.made[key] = site_clock(
                record,
                latitude_deg=latitude,
                today=self.today,
                offset_c=shelf.number("offset_c") or 0.0,
                frost_pocket_c=shelf.number("frost_pocket_c") or 0.0,
                store_low_c=shelf.number("low_c") if store else None,
                elevation_m=shelf.number("elevation_m"),
                season_start=first,
                normals=self.usual[shelf.place],
            )
        return self.made[key]


def placed(trees: Iterable[Tree], garden: Garden) -> tuple[list[Tree], list[LeftOut]]:
    """Part the trees that stand at a place with a latitude from those that do not."""
    stand: list[Tree] = []
    left_out: list[LeftOut] = []
    for tree in trees:
        try:
            latitude_of(shelf_of(tree, garden))
        except UnknownNameError as error:
            left_out.append(LeftOut(tree, error))
        else:
            stand.append(tree)
    return stand, left_out


def shelf_of(tree: Tree, garden: Garden) -> Shelf:
    """Return where a tree stands.

    Raises
    ------
    UnknownNameError
        When it stands at no place of the garden.
    """
    place = place_of(tree, garden)
    if place not in garden.places:
        raise UnknownNameError(
            f"{tree.name} stands at no known place",
            allowed=", ".join(garden.places) or "a place with its latitude",
            todo="Give the garden a place (places.csv) and the tree its place",
        )
    shelf = str(tree.facts.get("shelf") or "")
    return Shelf(place, shelf, garden.places[place], garden.shelves.get((place, shelf), {}))


def place_of(tree: Tree | None, garden: Garden) -> str:
    """Return the key of a tree's place: its own, the garden's home or only one; else empty."""
    own = None if tree is None else tree.facts.get("place")
    only = next(iter(garden.places)) if len(garden.places) == 1 else ""
    return str(own or garden.fields.get("home") or only)


def latitude_of(shelf: Shelf) -> float:
    """Return the latitude of a shelf's place in degrees, south negative.

    Raises
    ------
    UnknownNameError
        When the place has none.
    """
    latitude = shelf.number("latitude")
    if latitude is None:
        raise UnknownNameError(
            f"the place {shelf.place} has no latitude",
            allowed="degrees, south negative",
            todo="Give it one in places.csv and load the folder",
        )
    return latitude


def _no_record(station: str, today: date) -> Weather:
    """Return a record without a day: the clock then runs on the usual weather, and says so."""
    none = np.zeros(0)
    return Weather(station, today, none, none, none, none, none, none, none.astype(np.int8), none)
