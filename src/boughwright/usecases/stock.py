"""Wire in stock: what was counted, what went since, what is left, what the next weeks need.

Lengths come from the branches' own lengths, the angle of the coil, one anchor turn and a tenth of
waste. A branch whose length nobody measured makes the sum unknown, not small.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError
from boughwright.journal.check import check
from boughwright.journal.events import Event, StockCounted
from boughwright.journal.receipt import receipt
from boughwright.journal.terms import Bend, Metal
from boughwright.store.book import Book
from boughwright.usecases.gauge import BRITTLE_STAGES
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.verdict import Act
from boughwright.wire.choice import choose
from boughwright.wire.metals import COIL_DEG, cut_length_mm, mass_g_per_m

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime
    from pathlib import Path
    from typing import TypeAlias

    from boughwright.journal.garden import Counted
    from boughwright.tree.model import Wire
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts

    Key: TypeAlias = tuple[Metal, float]

AHEAD_DAYS: Final = 42
"""How far ahead wire is planned: six weeks. [d]"""
DELIVERY_DAYS: Final = 7
"""Wire is ordered so long before it is needed. Starting value. [d]"""
TIMED_ID: Final = 7
"""Version of an id that carries the time at which it was made."""


@dataclass(frozen=True, slots=True)
class Metres:
    """A length of wire. [m].

    ``low`` and ``high`` by the angle of the coil, 45 to 55°; ``unknown`` counts the branches
    whose length is not known, so that ``high`` is then None.
    """

    low: float = 0.0
    high: float | None = 0.0
    unknown: int = 0

    def plus(self, other: Metres) -> Metres:
        """Return the sum; unknown when either is."""
        high = None if self.high is None or other.high is None else self.high + other.high
        return Metres(self.low + other.low, high, self.unknown + other.unknown)


@dataclass(frozen=True, slots=True)
class Use:
    """Wire that went on one branch, or that a verdict asks for."""

    tree: str
    place: str
    on: date
    length: Metres


@dataclass(frozen=True, slots=True)
class StockLine:
    """Wire of one gauge and metal.

    Parameters
    ----------
    metal, gauge_mm
    grams_a_metre : float
    counted_on : date or None
        None when it was never counted.
    counted_m : float or None
        As measured, or from its weight.
    used : Metres
        Since the count; since records began when there was none.
    left_low_m, left_high_m : float or None
        What is left; None while unknown.
    need : Metres
        Of the next six weeks.
    short_m : float or None
        Metres missing at the most careful reckoning; None while unknown, 0 when there is enough.
    order_by : date or None
        The day to order by; None when there is enough or when that is unknown.
    uses, needs : tuple of Use
    """

    metal: Metal
    gauge_mm: float
    grams_a_metre: float
    counted_on: date | None
    counted_m: float | None
    used: Metres
    left_low_m: float | None
    left_high_m: float | None
    need: Metres
    short_m: float | None
    order_by: date | None
    uses: tuple[Use, ...]
    needs: tuple[Use, ...]


@dataclass(frozen=True, slots=True)
class Stock:
    """All wire, aluminium before copper and thin before thick.

    ``unsaid`` counts wirings since the first count whose gauge or metal is not on record;
    ``guys`` branches that the next weeks pull by a guy instead.
    """

    today: date
    until: date
    lines: tuple[StockLine, ...]
    unsaid: int
    guys: int


def stock_of(garden: GardenDay) -> Stock:
    """Return the wire in stock against what went on and what the next six weeks ask for."""
    counts = {(c.what.metal, c.what.gauge_mm): c for c in garden.garden.stock}
    plan = _Plan(garden, counts)
    for day in garden.trees:
        plan.count_uses(day)
        plan.count_needs(day)
    keys = sorted({*counts, *plan.needs, *(key for key in plan.uses if key in counts)})
    lines = tuple(
        _line(garden, key, counts.get(key), plan.uses[key], plan.needs[key]) for key in keys
    )
    until = garden.today + timedelta(days=AHEAD_DAYS)
    return Stock(garden.today, until, lines, plan.unsaid, plan.guys)


@dataclass(slots=True)
class _Plan:
    """Uses and needs by wire, gathered tree by tree."""

    garden: GardenDay
    counts: dict[Key, Counted]
    uses: dict[Key, list[Use]] = field(default_factory=lambda: defaultdict(list))
    needs: dict[Key, list[Use]] = field(default_factory=lambda: defaultdict(list))
    unsaid: int = 0
    guys: int = 0

    def count_uses(self, day: TreeDay) -> None:
        """Count the wire that went on since each count."""
        first = min((c.on for c in self.counts.values()), default=None)
        for wire in day.tree.wires:
            if wire.metal is None or math.isnan(wire.gauge_mm):
                self.unsaid += first is not None and wire.on >= first
                continue
            key = (wire.metal, wire.gauge_mm)
            counted = self.counts.get(key)
            if counted is not None and not _after(wire, counted):
                continue
            self.uses[key].append(_use(day, wire))

    def count_needs(self, day: TreeDay) -> None:
        """Count the wire that verdicts ask for in the next six weeks."""
        until = self.garden.today + timedelta(days=AHEAD_DAYS)
        by_row = {branch.row: branch for branch in day.branches}
        for row, earliest in _wire_on(day):
            on = max(earliest or self.garden.today, self.garden.today)
            branch = by_row.get(row)
            if on > until or branch is None or branch.base_mm is None:
                continue
            picked = _picked(day, branch)
            if picked is None:
                self.guys += 1
                continue
            gauge, strands = picked
            length = _scaled(_length(day, row, branch.base_mm), strands)
            use = Use(day.facts.name, branch.name, on, length)
            self.needs[Metal.ALUMINIUM, gauge].append(use)


def _after(wire: Wire, counted: Counted) -> bool:
    """Tell whether wire went on after a count; on the same day the ids tell which came first.

    What was entered from a table has no time of its own: on the day of the count it is taken to
    have gone on before.
    """
    if wire.on != counted.on:
        return wire.on > counted.on
    both = wire.event.version == TIMED_ID and counted.event.version == TIMED_ID
    return both and wire.event > counted.event


def _use(day: TreeDay, wire: Wire) -> Use:
    rows = day.tree.branches
    if wire.branch < 0:
        return Use(day.facts.name, wire.zone or "whole tree", wire.on, Metres(0.0, None, 1))
    base = wire.base_mm if not math.isnan(wire.base_mm) else float(rows.base_mm[wire.branch])
    anchor = None if math.isnan(base) else base
    length = _scaled(_length(day, wire.branch, anchor), wire.strands)
    return Use(day.facts.name, rows.names[wire.branch], wire.on, length)


def _length(day: TreeDay, row: int, anchor_mm: float | None) -> Metres:
    """Return the wire one strand takes on a branch.

    The branch is as long as was measured; else between its first node and its first node with the
    room beyond it. Unknown when neither is on record, or when its thickness is not.
    """
    rows = day.tree.branches
    long = float(rows.length_mm[row])
    node, room = float(rows.node_mm[row]), float(rows.room_mm[row])
    low, high = (long, long) if not math.isnan(long) else (node, node + room)
    if anchor_mm is None or math.isnan(high):
        return Metres(0.0, None, 1)
    steep, flat = COIL_DEG[1], COIL_DEG[0]
    return Metres(
        cut_length_mm((low,), anchor_mm, angle_deg=flat) / 1000.0,
        cut_length_mm((high,), anchor_mm, angle_deg=steep) / 1000.0,
    )


def _scaled(length: Metres, strands: int) -> Metres:
    high = None if length.high is None else strands * length.high
    return replace(length, low=strands * length.low, high=high)


def _wire_on(day: TreeDay) -> Iterator[tuple[int, date | None]]:
    """Yield the branches to be wired and the first day for it."""
    for verdict in day.verdicts:
        if verdict.act is Act.WIRE_ON:
            yield verdict.row, verdict.earliest
        for note in verdict.notes:
            if note.act is Act.WIRE_ON and note.works:
                yield verdict.row, note.earliest


def _picked(day: TreeDay, branch: BranchFacts) -> tuple[float, int] | None:
    """Return the gauge and strands for a branch, None when it is pulled by a guy."""
    assert branch.base_mm is not None
    stage = day.facts.calendar.stage
    choice = choose(branch.base_mm, bend=Bend.MODERATE, species=day.species,
                    in_flush=stage in BRITTLE_STAGES)  # fmt: skip
    return None if choice.gauge_mm is None else (choice.gauge_mm, choice.strands)


def _line(
    garden: GardenDay, key: Key, counted: Counted | None, uses: list[Use], needs: list[Use]
) -> StockLine:
    metal, gauge = key
    per_metre = mass_g_per_m(gauge, metal)
    used, need = Metres(), Metres()
    for use in uses:
        used = used.plus(use.length)
    for use in needs:
        need = need.plus(use.length)
    there = None if counted is None else _counted_m(counted.what, per_metre)
    low = None if there is None or used.high is None else max(there - used.high, 0.0)
    high = None if there is None else max(there - used.low, 0.0)
    short, first = _short(needs, low)
    order = None
    if first is not None:
        order = max(first - timedelta(days=DELIVERY_DAYS), garden.today)
    return StockLine(
        metal, gauge, per_metre, None if counted is None else counted.on, there, used, low, high,
        need, short, order, tuple(sorted(uses, key=lambda u: u.on)),
        tuple(sorted(needs, key=lambda u: u.on)),
    )  # fmt: skip


def _counted_m(what: StockCounted, grams_a_metre: float) -> float | None:
    if what.metres is not None:
        return what.metres
    return None if what.grams is None else what.grams / grams_a_metre


def _short(needs: list[Use], left: float | None) -> tuple[float | None, date | None]:
    """Return how much is missing and the day from which it is, unknown where anything is."""
    if not needs:
        return 0.0, None
    if left is None or any(use.length.high is None for use in needs):
        return None, None
    first, gone = None, 0.0
    for use in sorted(needs, key=lambda u: u.on):
        gone += use.length.high or 0.0
        if first is None and gone > left + 1e-9:
            first = use.on
    return max(gone - left, 0.0), first


# --- counting -------------------------------------------------------------------------------------


def count_wire(
    path: Path,
    gauge_mm: float,
    metal: Metal,
    *,
    on: date,
    metres: float | None = None,
    grams: float | None = None,
    who: str = "",
    now: datetime | None = None,
) -> str:
    """Write down a count of wire of one gauge and metal, and return what was taken in words.

    Parameters
    ----------
    metres, grams : float, optional
        One of them: the length that is there, or its weight without the spool.

    Raises
    ------
    RangeError, RecordError
        When a number cannot be right, or neither length nor weight is given.
    StoreError
        When the book cannot be written.
    """
    body = StockCounted(gauge_mm, metal, metres, grams)
    event = Event(body, on, who=who) if now is None else Event(body, on, who=who, recorded=now)
    try:
        check(event)
    except BoughwrightError as error:
        raise error.at("wire stock") from None
    with Book.open(path) as book:
        book.append([event])
    return receipt(body, "", on=on, today=on)


def stock_shape(answer: Stock) -> dict[str, Json]:
    """Return the stock in its JSON shape."""
    return shaped(
        "boughwright/stock",
        1,
        {
            "on": answer.today,
            "until": answer.until,
            "wires": answer.lines,
            "unsaid": answer.unsaid,
            "guys": answer.guys,
        },
    )
