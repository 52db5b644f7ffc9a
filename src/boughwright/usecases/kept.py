"""A book kept open by a program that runs on: each question is answered from memory.

Decoded events, the clocks of a day and the day of every tree stay in memory. A question first asks
the book whether anything was written since; then only new rows are read, and only trees that
something new was written of are worked out again. Every figure equals that of
`boughwright.usecases.day.open_day`.
"""

from __future__ import annotations

import gc
import threading
from collections import OrderedDict
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from boughwright.journal.events import GardenSet, Noted, StockCounted
from boughwright.settings import settings_of
from boughwright.store.reader import Reader
from boughwright.store.rows import row_event
from boughwright.usecases.bench import last_line_of
from boughwright.usecases.clocks import Clocks, placed
from boughwright.usecases.day import (
    GardenDay,
    by_name,
    garden_on,
    living_tree,
    quiet,
    tree_days,
)
from boughwright.usecases.records import records_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from boughwright.journal.events import Event
    from boughwright.usecases.clocks import LeftOut
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.records import Records

DAYS_KEPT = 2
"""How many days are kept worked out: today, and one more that somebody looks at."""

MANY_TREES = 20
"""From so many trees worked out at once, what is made is kept out of the search for garbage."""

WHERE_TREES_STAND = "home"
"""The one garden setting that trees rest on."""


class KeptBook:
    """A book kept open for reading. Threads may share it: one works, the others wait.

    Parameters
    ----------
    path : Path
        The book.
    today : callable, optional
        Gives the calendar's today; the clock of the machine when left out. A garden with a
        standing date keeps to that.
    """

    def __init__(self, path: Path, today: Callable[[], date] | None = None) -> None:
        self.path = path
        self._calendar = today or date.today
        self._lock = threading.RLock()
        self._memory: _Memory | None = None
        self._days: OrderedDict[date, _DayKept] = OrderedDict()

    def day(self, on: date | None = None, progress: Callable[[float], object] = quiet) -> GardenDay:
        """Return one day of the whole garden, the same object while nothing has changed.

        Parameters
        ----------
        on : date, optional
            See `boughwright.usecases.day.open_day`.
        progress : callable
            Told the share done, 0..1, while trees are worked out.

        Raises
        ------
        StoreError
            When the book cannot be read.
        """
        with self._lock:
            memory = self._look()
            today = on or memory.standing_date() or self._calendar()
            kept = self._days.get(today)
            if kept is None or kept.ground != memory.ground:
                kept = _DayKept(memory.ground, Clocks(memory.reader.weather, today))
            kept.bring_up_to_date(memory, progress)
            self._days[today] = kept
            self._days.move_to_end(today)
            while len(self._days) > DAYS_KEPT:
                self._days.popitem(last=False)
            return kept.answer()

    def events(self, tree: str) -> tuple[Event, ...]:
        """Return everything written of a tree, by its lasting id, in the order it arrived.

        Raises
        ------
        StoreError
        """
        with self._lock:
            return tuple(self._look().by_tree.get(tree, ()))

    def garden_events(self) -> tuple[Event, ...]:
        """Return everything written of the garden as a whole, in the order it arrived.

        Raises
        ------
        StoreError
        """
        with self._lock:
            return tuple(self._look().by_tree[None])

    def records(
        self,
        tree: str,
        place: str = "",
        *,
        on: date | None = None,
        facts: bool = False,
        units: str | None = None,
    ) -> Records:
        """Return the history of a tree, or of one of its branches.

        See `boughwright.usecases.records.records`.

        Raises
        ------
        UnknownNameError, AmbiguousNameError, StoreError
        """
        with self._lock:
            garden = self.day(on)
            here = garden.tree(tree).tree
            assert self._memory is not None
            own = tuple(self._memory.by_tree[here.id])
        return records_of(here, own, place, today=garden.today,
                          units=units or garden.settings.units, facts=facts)  # fmt: skip

    def last_line(self, tree: str, who: str = "") -> tuple[Event, ...]:
        """Return the standing events of the line written last of a tree, by its lasting id.

        See `boughwright.usecases.reading.reading_of`.

        Raises
        ------
        StoreError
        """
        return tuple(last_line_of(self.events(tree), who))

    def close(self) -> None:
        """Let go of the book and forget it; the next question opens it again."""
        with self._lock:
            if self._memory is not None:
                self._memory.reader.close()
            self._memory = None
            self._days.clear()

    @contextmanager
    def let_go(self) -> Iterator[None]:
        """Keep the book closed inside the block, so that its file can be replaced.

        Questions of other threads wait until the block ends.
        """
        with self._lock:
            self.close()
            yield

    def _look(self) -> _Memory:
        """Return the memory with everything in it that is in the book now."""
        identity = _identity(self.path)
        if self._memory is None or self._memory.identity != identity:
            self.close()
            self._memory = _Memory(Reader.open(self.path), identity)
        self._memory.catch_up()
        return self._memory


def _identity(path: Path) -> tuple[int, int] | None:
    """Return what tells one file from another of the same name; None when there is none."""
    with suppress(OSError):
        found = path.stat()
        return found.st_dev, found.st_ino
    return None


@dataclass
class _Memory:
    """The book as it was read so far.

    ``ground`` changes whenever something was written that every tree rests on.
    """

    reader: Reader
    identity: tuple[int, int] | None
    by_tree: dict[str | None, list[Event]] = field(default_factory=lambda: {None: []})
    ground: tuple[int, int] = (0, 0)
    _position: int = 0
    _version: int | None = None
    _standing: tuple[int, date | None] = (-1, None)

    def catch_up(self) -> None:
        """Read what was written since; nothing is taken when a row cannot be read."""
        version = self.reader.data_version()
        if version == self._version:
            return
        rows = self.reader.raw_events(after_seq=self._position or None)
        weather = self.reader.weather_count()
        new = [row_event(row) for row in rows]
        for event in new:
            self.by_tree.setdefault(event.tree, []).append(event)
        shared = self.ground[0] + any(_concerns_all(event) for event in new)
        self.ground = (shared, weather)
        self._position = rows[-1][0] if rows else self._position
        self._version = version

    def standing_date(self) -> date | None:
        """Return the day a demonstration garden takes as today, None for any other."""
        own = self.by_tree[None]
        if self._standing[0] != len(own):
            day = garden_on(own, date.max)[0].fields.get("standing_date")
            self._standing = (len(own), day if isinstance(day, date) else None)
        return self._standing[1]


def _concerns_all(event: Event) -> bool:
    """Tell whether every tree may have to be worked out again for an event of the garden."""
    if event.tree is not None:
        return False
    body = event.body
    if isinstance(body, GardenSet):
        return WHERE_TREES_STAND in body.fields
    return not isinstance(body, (Noted, StockCounted))


@contextmanager
def _made_to_last(trees: int) -> Iterator[None]:
    """Keep the search for garbage off what is made inside the block, when that is a lot.

    Millions of objects that stay would be searched again and again, 0.1 s each time.
    """
    if trees < MANY_TREES or not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.collect()
        gc.freeze()


@dataclass
class _DayKept:
    """One day worked out; ``sizes`` are how many events of each tree it rests on."""

    ground: tuple[int, int]
    clocks: Clocks
    days: dict[str, TreeDay | None] = field(default_factory=dict)
    left_out: dict[str, LeftOut | None] = field(default_factory=dict)
    sizes: dict[str | None, int] = field(default_factory=dict)
    _answer: GardenDay | None = None

    def answer(self) -> GardenDay:
        """Return the day; it must have been brought up to date before."""
        assert self._answer is not None
        return self._answer

    def bring_up_to_date(self, memory: _Memory, progress: Callable[[float], object]) -> None:
        """Work out again what something new was written of; all or nothing."""
        by_tree, today = memory.by_tree, self.clocks.today
        sizes = {tree: len(events) for tree, events in by_tree.items()}
        if self._answer is not None and sizes == self.sizes:
            return
        garden, _ = garden_on(by_tree[None], today)
        stale = [t for t, n in sizes.items() if t is not None and self.sizes.get(t) != n]
        with _made_to_last(len(stale)):
            found = [
                living_tree(tree, [*by_tree[None], *by_tree[tree]], garden, today) for tree in stale
            ]
            living, out = placed((tree for tree in found if tree is not None), garden)
            made = tree_days(living, by_tree, garden, self.clocks, progress)
        self.days |= dict.fromkeys(stale) | {day.tree.id: day for day in made}
        self.left_out |= dict.fromkeys(stale) | {one.tree.id: one for one in out}
        self.sizes = sizes
        # In the order of arrival first, as trees of one name then stand.
        here = [day for tree in sizes if tree and (day := self.days[tree]) is not None]
        here.sort(key=lambda day: by_name(day.tree))
        gone = [one for tree in sizes if tree and (one := self.left_out[tree]) is not None]
        gone.sort(key=lambda one: by_name(one.tree))
        settings = settings_of(garden.fields)
        self._answer = GardenDay(today, garden, settings, tuple(here), tuple(gone))
