"""One day of the whole garden: what every question of the grower is answered from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from boughwright.benchwork.callup import tree_call
from boughwright.benchwork.fit import fit
from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.growth.branches import branch_growth
from boughwright.journal.events import Noted, TreeSet, standing
from boughwright.journal.garden import Garden, garden_of
from boughwright.journal.terms import Sign, Work
from boughwright.season.alarms import alarms
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import season_first, season_last
from boughwright.season.outlook import ten_days
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
from boughwright.usecases.bench_phrases import CLEANED
from boughwright.usecases.called import folded, named
from boughwright.usecases.clocks import Clocks, LeftOut, Shelf, place_of, placed, shelf_of
from boughwright.verdicts.assemble import facts_of
from boughwright.verdicts.precedence import decide_all
from boughwright.verdicts.reading import unweaned
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.wire.inputs import WiredTree
from boughwright.wire.register import collection_windows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from pathlib import Path

    from boughwright.benchwork.jobs import TreeCall
    from boughwright.growth.branches import BranchGrowth
    from boughwright.journal.events import Event
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
ALARM_DAYS = 10
"""How far ahead alarms look. [d]"""
CALL_DAYS = 7
"""Alarms that begin within so many days ask for a job of the week. [d]"""
REST_KNOWN_DAYS = 200
"""A spring is learned from only when the weather of the rest before it is on record. [d]"""
MOVED = (
    "It was moved this season. Its dates take the weather of where it stands now for the "
    "whole season; what is logged on it puts them right."
)
FRESH_ROOT_DAYS = 28
BARE_BARK_DAYS = 14


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
    call: TreeCall
    """All of them as jobs, in bench order."""


@dataclass(frozen=True, slots=True)
class GardenDay:
    """The whole garden on the day."""

    today: date
    garden: Garden
    settings: Settings
    trees: tuple[TreeDay, ...]
    left_out: tuple[LeftOut, ...] = ()
    """Trees that no day can be worked out for."""

    def tree(self, name: str) -> TreeDay:
        """Return the tree of that name, tag or id.

        Raises
        ------
        UnknownNameError, AmbiguousNameError
            When the name fits no tree or more than one, or the tree is left out of the day.
        """
        every = [*(day.tree for day in self.trees), *(one.tree for one in self.left_out)]
        found = named(name, every)
        if found >= len(self.trees):
            raise self.left_out[found - len(self.trees)].error
        return self.trees[found]


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
        When there is no such tree, or the one wanted stands at no place with a latitude. Of the
        whole garden, such trees are left out of the day and named.
    """
    with Reader.open(path) as reader:
        by_tree = _events_of(reader, only)
        garden, today = garden_on(by_tree[None], on)
        trees = _living(by_tree, garden, today)
        if only is not None:
            trees = [trees[named(only, trees)]]
        trees, left_out = placed(trees, garden)
        if only is not None and left_out:
            raise left_out[0].error
        clocks = Clocks(reader.weather, today)
        days = tree_days(trees, by_tree, garden, clocks, lambda share: progress(0.3 + 0.7 * share))
    return GardenDay(today, garden, settings_of(garden.fields), tuple(days), tuple(left_out))


def tree_days(
    trees: Sequence[Tree],
    by_tree: Mapping[str | None, Sequence[Event]],
    garden: Garden,
    clocks: Clocks,
    progress: Callable[[float], object] = quiet,
) -> list[TreeDay]:
    """Work out the day of trees, each by itself: no tree's day rests on another tree.

    Parameters
    ----------
    trees : sequence of Tree
        As they stand on the day of the clocks.
    by_tree : mapping
        Everything written of each.
    garden : Garden
    clocks : Clocks
        Of the day wanted.
    progress : callable
        Told the share done, 0..1.

    Raises
    ------
    UnknownNameError
        When a tree stands at no known place, or at one without a latitude.
    """
    today = clocks.today
    started = []
    for number, tree in enumerate(trees):
        progress(0.4 * number / len(trees))
        moved = moved_on(tree.id, by_tree[tree.id], today)
        cleaned = _cleaned_on(by_tree[tree.id], today)
        started.append(_start(tree, garden, clocks, today, moved, cleaned))
    windows = collection_windows([s.wired for s in started])
    days = []
    for number, (one, wires) in enumerate(zip(started, windows, strict=True)):
        progress(0.4 + 0.6 * number / len(trees))
        days.append(_finish(one, wires, today))
    return days


def read_trees(path: Path, *, on: date | None = None) -> tuple[Garden, date, list[Tree]]:
    """Return the garden, the day and its trees, without clocks or verdicts."""
    with Reader.open(path) as reader:
        by_tree = _events_of(reader, None)
    garden, today = garden_on(by_tree[None], on)
    return garden, today, _living(by_tree, garden, today)


@dataclass(frozen=True, slots=True)
class _Started:
    """A tree with its clock and growth, before the windows of its wires are known."""

    wired: WiredTree
    shelf: Shelf
    doubt: str
    measures: Measures
    growth: BranchGrowth | None
    cleaned_on: date | None


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


def garden_on(
    events: Iterable[Event], on: date | None, calendar: Callable[[], date] | None = None
) -> tuple[Garden, date]:
    """Return the garden as its own events tell it, and the day to take as today.

    That is ``on``, else the garden's standing date, else today by the ``calendar``.
    """
    counted = standing(events)
    set_for = garden_of(counted).fields.get("standing_date")
    today = on or (set_for if isinstance(set_for, date) else (calendar or date.today)())
    return garden_of(counted, until=today), today


def _living(by_tree: Mapping[str | None, list[Event]], garden: Garden, today: date) -> list[Tree]:
    shared = by_tree.get(None, [])
    found = [
        living_tree(tree_id, [*shared, *events], garden, today)
        for tree_id, events in by_tree.items()
        if tree_id is not None
    ]
    return sorted((tree for tree in found if tree is not None), key=by_name)


def by_name(tree: Tree) -> str:
    """Return the key that the trees of a garden are sorted by."""
    return tree.name.casefold()


def living_tree(tree_id: str, events: Sequence[Event], garden: Garden, today: date) -> Tree | None:
    """Return a tree as it stands today; None when it is gone or was never entered.

    ``events`` are the tree's own and those of the whole garden.
    """
    home_south = _is_south(place_of(None, garden), garden)
    tree = replay(tree_id, events, until=today, south=home_south)
    south = _is_south(place_of(tree, garden), garden)
    if south != home_south:
        tree = replay(tree_id, events, until=today, south=south)
    gone = tree.facts.get("gone_on")
    if not tree.facts or (isinstance(gone, date) and gone <= today):
        return None
    return tree


def _is_south(place: str, garden: Garden) -> bool:
    latitude = garden.places.get(place, {}).get("latitude")
    return isinstance(latitude, (int, float)) and latitude < 0


def _cleaned_on(events: Iterable[Event], today: date) -> date | None:
    """Return the last day of the round against disease."""
    told = list(events)
    if not any(_is_round(event) for event in told):
        return None
    days = [event.on for event in standing(told) if _is_round(event) and event.on <= today]
    return max(days, default=None)


def _is_round(event: Event) -> bool:
    return isinstance(event.body, Noted) and event.body.text == CLEANED


def _start(
    tree: Tree,
    garden: Garden,
    clocks: Clocks,
    today: date,
    moved: date | None,
    cleaned_on: date | None,
) -> _Started:
    shelf = shelf_of(tree, garden)
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
    return _Started(wired, shelf, doubt, known, grown, cleaned_on)


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
    nearest = today + timedelta(days=CALL_DAYS)
    growth = started.growth
    facts, branches = facts_of(
        tree,
        species=species,
        calendar=calendar,
        outlook=ten_days(wired.clock, today=today),
        alarms=tuple(alarm for alarm in threats if alarm.first <= nearest),
        today=today,
        measures=started.measures,
        windows=windows,
        base_forecast=None if growth is None else growth.season_end_mm,
        seasons_to_target=None if growth is None else growth.seasons_to_target[:, 1],
        cleaned_on=started.cleaned_on,
    )
    living = [branch for branch in branches if not branch.gone]
    verdicts = fit(facts, living, (*tree_level(facts, living), *decide_all(facts, living)))
    rows = tuple(v for v in verdicts if v.row >= 0)
    whole = tuple(v for v in verdicts if v.row < 0)
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
        rows,
        whole,
        tree_call(facts, living, (*whole, *rows)),
    )


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
    clocks: Clocks,
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


def _float(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) else None
