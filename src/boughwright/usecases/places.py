"""Where trees stand: places with their shelves, and what is known of the weather there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.errors import UnknownNameError
from boughwright.season.record import Origin
from boughwright.store.reader import Reader
from boughwright.usecases.day import read_trees

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from boughwright.journal.events import FieldValue
    from boughwright.journal.garden import Garden
    from boughwright.season.record import Weather
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import GardenDay

SPANS_TOLD: Final = 6
"""How many spans of missing days are listed, the latest first."""


@dataclass(frozen=True, slots=True)
class WeatherKnown:
    """What a weather record holds up to today.

    ``days`` have both temperatures read. ``missing`` are the latest spans, first and last day, in
    which one is not known, newest first; ``missing_days`` counts every such day since ``first``,
    those between the last one read and yesterday too. ``ahead`` counts forecast days from today.
    """

    station: str
    first: date | None = None
    last: date | None = None
    days: int = 0
    missing_days: int = 0
    missing: tuple[tuple[date, date], ...] = ()
    ahead: int = 0


@dataclass(frozen=True, slots=True)
class ShelfLook:
    """One shelf and how many trees stand on it."""

    key: str
    name: str
    fields: Mapping[str, FieldValue]
    trees: int


@dataclass(frozen=True, slots=True)
class PlaceLook:
    """One place with its shelves, its trees and its weather."""

    key: str
    name: str
    fields: Mapping[str, FieldValue]
    home: bool
    shelves: tuple[ShelfLook, ...]
    trees: int
    weather: WeatherKnown


@dataclass(frozen=True, slots=True)
class Places:
    """All places, and the names of all weather records."""

    places: tuple[PlaceLook, ...]
    stations: tuple[str, ...]

    def place(self, key: str) -> PlaceLook:
        """Return the place of that key.

        Raises
        ------
        UnknownNameError
        """
        for one in self.places:
            if one.key == key:
                return one
        raise UnknownNameError(
            f"there is no place with the key {key!r}",
            allowed=", ".join(one.name for one in self.places) or "none yet",
            todo="Choose one, or make a new place",
        )


def places_of(path: Path, *, on: date | None = None, day: GardenDay | None = None) -> Places:
    """Return every place of a book.

    Parameters
    ----------
    path : Path
        The book.
    on : date, optional
        The day to take as today.
    day : GardenDay, optional
        The day, when it is worked out already; else the trees are read for it.

    Raises
    ------
    StoreError
        When the book cannot be read.
    """
    if day is None:
        garden, today, trees = read_trees(path, on=on)
    else:
        garden, today, trees = day.garden, day.today, [one.tree for one in day.trees]
    with Reader.open(path) as reader:
        stations = tuple(reader.stations())
        used = {str(f.get("weather") or key) for key, f in garden.places.items()}
        known = {name: known_of(name, reader.weather(name), today) for name in used}
    home = str(garden.fields.get("home") or next(iter(garden.places), ""))
    looks = tuple(
        _look(key, garden, trees, home, known[str(fields.get("weather") or key)])
        for key, fields in garden.places.items()
    )
    return Places(looks, stations)


def _look(
    key: str, garden: Garden, trees: list[Tree], home: str, weather: WeatherKnown
) -> PlaceLook:
    fields = garden.places[key]
    here = [tree for tree in trees if (tree.facts.get("place") or home) == key]
    shelves = tuple(
        ShelfLook(
            shelf,
            str(own.get("name") or shelf),
            own,
            sum(tree.facts.get("shelf") == shelf for tree in here),
        )
        for (at, shelf), own in garden.shelves.items()
        if at == key
    )
    name = str(fields.get("name") or key)
    return PlaceLook(key, name, fields, key == home, shelves, len(here), weather)


def known_of(station: str, record: Weather | None, today: date) -> WeatherKnown:
    """Return what a record holds up to today.

    Parameters
    ----------
    station : str
    record : Weather, optional
        None when the station has no day.
    today : date
    """
    if record is None or not len(record):
        return WeatherKnown(station)
    read = ~(np.isnan(record.t_min_c) | np.isnan(record.t_max_c))
    rows = np.arange(len(record))
    now = record.day(today)
    seen = read & (record.origin <= Origin.BENCH) & (rows <= now)
    ahead = int(np.sum(read & (record.origin == Origin.FORECAST) & (rows >= now)))
    if not seen.any():
        return WeatherKnown(station, ahead=ahead)
    first, last = int(np.flatnonzero(seen)[0]), int(np.flatnonzero(seen)[-1])
    wanted = np.zeros(max(now, last + 1) - first, dtype=bool)
    have = seen[first : first + len(wanted)]
    wanted[: len(have)] = have
    day = record.start + timedelta(days=first)
    return WeatherKnown(
        station,
        day,
        record.start + timedelta(days=last),
        int(seen.sum()),
        int((~wanted).sum()),
        _spans(~wanted, day)[:SPANS_TOLD],
        ahead,
    )


def _spans(missing: np.ndarray[tuple[int], np.dtype[np.bool_]], first: date) -> tuple[
    tuple[date, date], ...
]:  # fmt: skip
    """Return the runs of missing days as first and last day, the latest run first."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], missing, [False])).astype(np.int8)))
    runs = [
        (first + timedelta(days=int(a)), first + timedelta(days=int(b) - 1))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    return tuple(reversed(runs))
