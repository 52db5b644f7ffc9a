"""One day of the whole garden: what every question of the grower is answered from."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from boughwright.benchwork.fit import fit
from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.growth.branches import branch_growth
from boughwright.journal.events import TreeSet, standing
from boughwright.journal.garden import Garden, garden_of
from boughwright.journal.terms import Sign, Work
from boughwright.season.alarms import alarms
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import season_first, season_last, site_clock
from boughwright.season.fill import as_known_on
from boughwright.season.normals import normals_from
from boughwright.season.outlook import ten_days
from boughwright.season.record import Weather
from boughwright.season.spring import learned_factor, logged_leaf_out
from boughwright.settings import Settings, settings_of
from boughwright.species.tables import find, with_overrides
from boughwright.store.layout import EVENT_COLUMNS
from boughwright.store.reader import Reader
from boughwright.store.rows import row_event
from boughwright.tree.looks import found
from boughwright.tree.measures import measure
from boughwright.tree.moves import moved_on
from boughwright.tree.replay import replay
from boughwright.usecases.called import folded, named
from boughwright.verdicts.assemble import facts_of
from boughwright.verdicts.precedence import decide_all
from boughwright.verdicts.reading import unweaned
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.wire.inputs import WiredTree
from boughwright.wire.register import collection_windows

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from boughwright.growth.branches import BranchGrowth
    from boughwright.journal.events import Event, FieldValue
    from boughwright.season.normals import Normals
    from boughwright.season.record import SiteClock
    from boughwright.season.spring import LeafOutFactor
    from boughwright.season.stages import Alarm, TreeCalendar
    from boughwright.species.model import Species
    from boughwright.store.layout import Row
    from boughwright.tree.measures import Measures
    from boughwright.tree.model import Tree
    from boughwright.verdicts.facts import BranchFacts, TreeFacts
    from boughwright.verdicts.verdict import Verdict
    from boughwright.wire.window import WireWindow

LEAF_WORKS = frozenset({Work.CUT, Work.LEAF_FULL})
"""Works after which a tree in leaf pushes again."""

KIND, TREE = EVENT_COLUMNS.index("kind"), EVENT_COLUMNS.index("tree")
TREE_SET = "tree"
"""Kind under which a tree's facts are stored."""
ALARM_DAYS = 7
"""How far ahead alarms look: the week of the call-up. [d]"""
REST_KNOWN_DAYS = 200
"""A spring is learned from only when the weather of the rest before it is on record. [d]"""
MOVED = (
    "It was moved this season. Its dates take the weather of where it stands now for the "
    "whole season; what is logged on it puts them right."
)
FRESH_ROOT_DAYS = 28
BARE_BARK_DAYS = 14


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
class TreeDay:
    """One tree on the day: structure, clock, forecasts, facts and verdicts."""

    tree: Tree
    species: Species | None
    species_doubt: str
    """Why the species is not known, in words; empty when it is."""
    shelf: Shelf
    clock: SiteClock
    calendar: TreeCalendar
    alarms: tuple[Alarm, ...]
    measures: Measures
    growth: BranchGrowth | None
    windows: tuple[WireWindow, ...]
    facts: TreeFacts
    branches: list[BranchFacts]
    verdicts: tuple[Verdict, ...]
    """One a living branch, passed through toll, pairs and order."""
    whole: tuple[Verdict, ...]
    """Verdicts on the tree as a whole."""


@dataclass(frozen=True, slots=True)
class GardenDay:
    """The whole garden on the day."""

    today: date
    garden: Garden
    settings: Settings
    trees: tuple[TreeDay, ...]

    def tree(self, name: str) -> TreeDay:
        """Return the tree of that name, tag or id.

        Raises
        ------
        UnknownNameError, AmbiguousNameError
        """
        return self.trees[named(name, [day.tree for day in self.trees])]


@dataclass
class _Clocks:
    """Clocks of a day by shelf, made once each."""

    reader: Reader
    today: date
    records: dict[str, Weather] = field(default_factory=dict)
    usual: dict[str, Normals] = field(default_factory=dict)
    made: dict[tuple[str, str, date], SiteClock] = field(default_factory=dict)

    def of(self, shelf: Shelf, season: date) -> SiteClock:
        """Return the clock of the season that holds a day, at a shelf."""
        latitude = _latitude(shelf)
        first = season_first(season, south=latitude < 0)
        key = (shelf.place, shelf.shelf, first)
        if key not in self.made:
            station = str(shelf.place_fields.get("weather") or shelf.place)
            if station not in self.records:
                self.records[station] = self.reader.weather(station) or _no_record(
                    station, self.today
                )
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


def quiet(_share: float) -> None:
    """Take no note of how far a work has come."""


def open_day(
    path: Path,
    *,
    on: date | None = None,
    only: str | None = None,
    progress: Callable[[float], object] = quiet,
) -> GardenDay:
    """Read the book and work out one day of the garden.

    Parameters
    ----------
    path : Path
        The book.
    on : date, optional
        The day to take as today; nothing entered as happening later is used. None: the garden's
        standing date when it has one (a demonstration garden), else the calendar's today.
    only : str, optional
        Name of the one tree wanted.
    progress : callable
        Told the share done, 0..1.

    Raises
    ------
    StoreError
        When the book cannot be read.
    UnknownNameError
        When there is no such tree, or a tree stands at a place without a latitude.
    """
    with Reader.open(path) as reader:
        by_tree = _events_of(reader, only)
        garden, today = _garden_on(by_tree[None], on)
        trees = _living(by_tree, garden, today)
        if only is not None:
            trees = [trees[named(only, trees)]]
        clocks = _Clocks(reader, today)
        started = []
        for number, tree in enumerate(trees):
            progress(0.3 + 0.3 * number / len(trees))
            moved = moved_on(tree.id, by_tree[tree.id], today)
            started.append(_start(tree, garden, clocks, today, moved))
    windows = collection_windows([s.wired for s in started])
    days = []
    for number, (one, wires) in enumerate(zip(started, windows, strict=True)):
        progress(0.6 + 0.4 * number / len(trees))
        days.append(_finish(one, wires, today))
    return GardenDay(today, garden, settings_of(garden.fields), tuple(days))


def read_trees(path: Path, *, on: date | None = None) -> tuple[Garden, date, list[Tree]]:
    """Return the garden, the day and its trees, without clocks or verdicts."""
    with Reader.open(path) as reader:
        by_tree = _events_of(reader, None)
    garden, today = _garden_on(by_tree[None], on)
    return garden, today, _living(by_tree, garden, today)


@dataclass(frozen=True, slots=True)
class _Started:
    """A tree with its clock and growth, before the windows of its wires are known."""

    wired: WiredTree
    shelf: Shelf
    doubt: str
    measures: Measures
    growth: BranchGrowth | None


def _events_of(reader: Reader, only: str | None) -> dict[str | None, list[Event]]:
    """Return events by tree; of one tree when its name fits just one of the book's."""
    by_tree: dict[str | None, list[Event]] = {None: []}
    rows = reader.raw_events()
    wanted = None if only is None else _one_of(rows, only)
    for row in rows:
        if wanted is None or row[TREE] in (None, wanted):
            event = row_event(row)
            by_tree.setdefault(event.tree, []).append(event)
    return by_tree


def _one_of(rows: Sequence[Row], name: str) -> str | None:
    """Return the id of the only tree whose entered names fit; None when that is not plain."""
    wanted = folded(name)
    exact: set[str] = set()
    near: set[str] = set()
    for row in rows:
        if row[TREE] is None or row[KIND] != TREE_SET:
            continue
        event = row_event(row)
        if event.tree is None or not isinstance(event.body, TreeSet):
            continue
        fields = event.body.fields
        called = [folded(w) for w in (event.tree, fields.get("name"), fields.get("tag"))]
        if wanted in called:
            exact.add(event.tree)
        if any(wanted in word for word in called):
            near.add(event.tree)
    fit_ = exact or near
    return fit_.pop() if wanted and len(fit_) == 1 else None


def _garden_on(events: Sequence[Event], on: date | None) -> tuple[Garden, date]:
    counted = standing(list(events))
    set_for = garden_of(counted).fields.get("standing_date")
    today = on or (set_for if isinstance(set_for, date) else date.today())
    return garden_of(counted, until=today), today


def _living(by_tree: Mapping[str | None, list[Event]], garden: Garden, today: date) -> list[Tree]:
    shared = by_tree.get(None, [])
    home_south = _is_south(_place_of(None, garden), garden)
    trees = []
    for tree_id, events in by_tree.items():
        if tree_id is None:
            continue
        every = [*shared, *events]
        tree = replay(tree_id, every, until=today, south=home_south)
        south = _is_south(_place_of(tree, garden), garden)
        if south != home_south:
            tree = replay(tree_id, every, until=today, south=south)
        gone = tree.facts.get("gone_on")
        if tree.facts and not (isinstance(gone, date) and gone <= today):
            trees.append(tree)
    return sorted(trees, key=lambda t: t.name.casefold())


def _is_south(place: str, garden: Garden) -> bool:
    latitude = garden.places.get(place, {}).get("latitude")
    return isinstance(latitude, (int, float)) and latitude < 0


def _start(
    tree: Tree, garden: Garden, clocks: _Clocks, today: date, moved: date | None
) -> _Started:
    shelf = _shelf_of(tree, garden)
    species, doubt = _species_of(tree, garden)
    clock = clocks.of(shelf, today)
    looks = [(seen.on, seen.sign) for seen in found(tree.seen) if seen.branch < 0 and not seen.zone]
    calendar = tree_calendar(
        clock,
        species,
        looks,
        today=today,
        cut_on=_last_leafy_cut(tree, clock),
        factor=_own_factor(looks, species, shelf, clocks, clock),
    )
    if moved is not None and moved >= clock.first:
        calendar = replace(calendar, notes=(*calendar.notes, MOVED))
    known = measure(tree)
    grown = (
        None
        if species is None
        else branch_growth(tree, species, clock, calendar, target_base_mm=known.target_base_mm)
    )
    before = clocks.of(shelf, clock.first - timedelta(days=1)) if tree.wires else None
    wired = WiredTree(
        tree, species, clock, calendar, increment=grown.increment if grown else None, before=before
    )
    return _Started(wired, shelf, doubt, known, grown)


def _finish(started: _Started, windows: tuple[WireWindow, ...], today: date) -> TreeDay:
    wired = started.wired
    tree, species, calendar = wired.tree, wired.species, wired.calendar
    store = bool(started.shelf.shelf_fields.get("store"))
    threats = alarms(
        wired.clock,
        calendar,
        species,
        today=today,
        fresh_roots=_lately(tree, {Work.REPOT}, today, FRESH_ROOT_DAYS),
        unweaned_graft=bool(unweaned(tree.branches).any()),
        bare_after_leaf_work=_lately(tree, {Work.LEAF_FULL, Work.LEAF_THIN}, today, BARE_BARK_DAYS),
        shelf_store=store,
        pot_volume_l=_float(tree.facts.get("pot_volume_l")),
        days_ahead=ALARM_DAYS,
    )
    growth = started.growth
    facts, branches = facts_of(
        tree,
        species=species,
        calendar=calendar,
        outlook=ten_days(wired.clock, today=today),
        alarms=threats,
        today=today,
        measures=started.measures,
        windows=windows,
        base_forecast=None if growth is None else growth.season_end_mm,
        seasons_to_target=None if growth is None else growth.seasons_to_target[:, 1],
    )
    living = [branch for branch in branches if not branch.gone]
    verdicts = fit(facts, living, (*tree_level(facts, living), *decide_all(facts, living)))
    return TreeDay(
        tree,
        species,
        started.doubt,
        started.shelf,
        wired.clock,
        calendar,
        threats,
        started.measures,
        growth,
        windows,
        facts,
        living,
        tuple(v for v in verdicts if v.row >= 0),
        tuple(v for v in verdicts if v.row < 0),
    )


def _shelf_of(tree: Tree, garden: Garden) -> Shelf:
    place = _place_of(tree, garden)
    if place not in garden.places:
        raise UnknownNameError(
            f"{tree.name} stands at no known place",
            allowed=", ".join(garden.places) or "a place with its latitude",
            todo="Give the garden a place (places.csv) and the tree its place",
        )
    shelf = str(tree.facts.get("shelf") or "")
    return Shelf(place, shelf, garden.places[place], garden.shelves.get((place, shelf), {}))


def _place_of(tree: Tree | None, garden: Garden) -> str:
    """Return the key of a tree's place: its own, the garden's home or only one; else empty."""
    own = None if tree is None else tree.facts.get("place")
    only = next(iter(garden.places)) if len(garden.places) == 1 else ""
    return str(own or garden.fields.get("home") or only)


def _latitude(shelf: Shelf) -> float:
    latitude = shelf.number("latitude")
    if latitude is None:
        raise UnknownNameError(
            f"the place {shelf.place} has no latitude",
            allowed="degrees, south negative",
            todo="Give it one in places.csv and load the folder",
        )
    return latitude


def _species_of(tree: Tree, garden: Garden) -> tuple[Species | None, str]:
    name = tree.facts.get("species")
    if name is None:
        return None, "its species is not known"
    try:
        species = find(str(name))
    except (UnknownNameError, AmbiguousNameError) as error:
        return None, str(error)
    own = {**garden.traits.get(species.key, {}), **tree.traits}
    return (with_overrides(species, own) if own else species), ""


def _own_factor(
    looks: Sequence[tuple[date, Sign]],
    species: Species | None,
    shelf: Shelf,
    clocks: _Clocks,
    clock: SiteClock,
) -> LeafOutFactor | None:
    known = clocks.records[str(shelf.place_fields.get("weather") or shelf.place)]
    seasons: dict[date, dict[Sign, date]] = {}
    for on, sign in sorted(looks):
        if known.start + timedelta(days=REST_KNOWN_DAYS) < on < clock.first:
            first = season_first(on, south=clock.south)
            seasons.setdefault(first, {}).setdefault(sign, on)
    pairs = []
    for first, seen in seasons.items():
        then = clocks.of(shelf, first)
        leaf_out = logged_leaf_out(then, seen)
        if leaf_out is not None:
            pairs.append((then, leaf_out))
    return learned_factor(pairs, species) if pairs else None


def _last_leafy_cut(tree: Tree, clock: SiteClock) -> date | None:
    last = season_last(clock.first, south=clock.south)
    days = [
        work.on
        for work in tree.works
        if work.what.work in LEAF_WORKS and clock.first <= work.on <= last
    ]
    return max(days, default=None)


def _lately(tree: Tree, works: set[Work], today: date, days: int) -> bool:
    since = today - timedelta(days=days)
    return any(work.what.work in works and work.on >= since for work in tree.works)


def _no_record(station: str, today: date) -> Weather:
    """Return a record without a day: the clock then runs on the usual weather, and says so."""
    none = np.zeros(0)
    return Weather(station, today, none, none, none, none, none, none, none.astype(np.int8), none)


def _float(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) else None
