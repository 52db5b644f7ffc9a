"""The hold window of every wire that is on: when to look, when it must be off, when it has set.

Dates are worked as day numbers, for all wires of all trees at once; only reading the wires of a
tree and writing the answers go wire by wire.
"""

from __future__ import annotations

from datetime import date
from math import isnan
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from boughwright.season.stages import DateRange
from boughwright.sources import Grade
from boughwright.wire.bite import allowed_mm
from boughwright.wire.draws import NODES, Floats
from boughwright.wire.inputs import NEVER, Days, Known, WiredTree, joined, known, ordinal
from boughwright.wire.mechanics import set_thickening
from boughwright.wire.window import WireWindow
from boughwright.wire.windows import ALLOWED, LINE, SET, Forecast, forecast

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.season.record import SiteClock
    from boughwright.tree.model import Wire

AUTUMN_LOOK_DAYS = 21
"""After burst; wire put on before it is looked at by then, whatever the forecast says."""

AUTUMN_LOOK_COUNTS_DAYS = 14
"""A look this long after burst, or later, is that look."""

RING_POROUS_LOOK_DAYS = 10
"""Between looks on ring-porous trees from swell until the leaves are hard."""

LATE_LOOK_DAYS = 14
"""After late thickening starts; all wire is looked at by then."""

LOOK_GAP_DAYS = 7
"""Between looks at one wire. What may pass its limit sooner is taken off, not looked at again;
once a line shows it is looked at this often. Starting value."""

BITTEN_GRADE = 3
"""A grade from which a look is harm now, on any branch in any phase."""

_GRADES = tuple(Grade)
_NO_DATES = DateRange(None, None, None, float("nan"))


def wire_windows(wired: WiredTree, *, count: int = NODES) -> tuple[WireWindow, ...]:
    """Return the hold windows of one tree's wires that are on, in the order they went on."""
    return collection_windows((wired,), count=count)[0]


def collection_windows(
    trees: Sequence[WiredTree], *, count: int = NODES
) -> list[tuple[WireWindow, ...]]:
    """Return the hold windows of all wires that are on, tree by tree.

    Parameters
    ----------
    trees : sequence of WiredTree
        In any order; the answer has the same.
    count : int
        Nodes for a wire, see `boughwright.wire.draws`.

    Returns
    -------
    list of tuple of WireWindow
        For each tree its wires that are on, as the tree lists them; empty without any.
    """
    on = [tuple(w for w in t.tree.wires if w.off is None) for t in trees]
    busy = [i for i, wires in enumerate(on) if wires]
    if not busy:
        return [() for _ in trees]
    each = [known(trees[i], on[i]) for i in busy]
    sizes = np.array([len(part.on) for part in each])
    everything = joined(each)
    found = forecast(everything.wires, everything.looks, count=count)
    days = _days(found, [trees[i].clock for i in busy], sizes)
    made = _write(everything, found, days, [wire for i in busy for wire in on[i]])
    ends = np.cumsum(sizes).tolist()
    parts = {i: tuple(made[end - len(on[i]) : end]) for i, end in zip(busy, ends, strict=True)}
    return [parts.get(i, ()) for i in range(len(trees))]


def strongest_first(windows: Sequence[WireWindow]) -> tuple[WireWindow, ...]:
    """Return windows in the order to go round the tree: what bites first is looked at first."""

    def key(window: WireWindow) -> tuple[int, int, int]:
        likely = window.line.likely
        return (ordinal(window.off_by), ordinal(window.look_by), ordinal(likely))

    return tuple(sorted(windows, key=key))


def _days(found: Forecast, clocks: list[SiteClock], sizes: npt.NDArray[np.int64]) -> Days:
    """Return the forecast's effective days as day numbers, (3, T, W); `NEVER` where none."""
    owner = np.repeat(np.arange(len(clocks)), sizes)
    kinds = {id(clock): clock for clock in clocks}
    kind_of = np.array([id(clock) for clock in clocks])[owner]
    days = np.full(found.ed.shape, NEVER, dtype=np.int64)
    for mark, clock in kinds.items():
        mine = kind_of == mark
        ed = found.ed[:, :, mine]
        place = np.searchsorted(clock.effective_days, ed - 1e-9, side="left")
        place = np.where(np.isfinite(ed) & (place < len(clock.effective_days)),
                         place + clock.first.toordinal(), NEVER)  # fmt: skip
        days[:, :, mine] = place
    return days


def _look_by(every: Known, days: Days, off: Days) -> Days:
    """Return the day of the next look at each wire."""
    first, burst, swell, hard, late, end = every.caps.T
    seen, last, on = every.seen, every.last_look, every.on
    weekly = np.where(off < NEVER, last + LOOK_GAP_DAYS, NEVER)
    next_mark = np.where(seen < 2, days[0, LINE], weekly)
    in_autumn = (on < first) | (on < burst)
    checked = last >= burst + AUTUMN_LOOK_COUNTS_DAYS
    autumn = np.where(in_autumn & ~checked & (burst < NEVER), burst + AUTUMN_LOOK_DAYS, NEVER)
    since = np.maximum(np.where(last >= swell, last, -1), np.where(on >= swell, on, -1))
    ring = np.where(since >= 0, since + RING_POROUS_LOOK_DAYS, swell)
    ring = np.where(ring < hard, ring, NEVER)
    unseen_late = (late < NEVER) & (last < late) & (on < late)
    autumn_look = np.where(unseen_late, late + LATE_LOOK_DAYS, NEVER)
    soonest = np.where(last >= 0, last + LOOK_GAP_DAYS, 0)
    look = np.maximum(np.minimum.reduce([next_mark, autumn, ring, autumn_look]), soonest)
    return np.minimum(np.where(look > end, NEVER, look), off)


def _wirings(every: Known, set_on: Days, off: Days) -> npt.NDArray[np.int64]:
    """Return how many wirings each bend needs in all; -1 where the base is unknown."""
    w = every.wires
    ratio = np.array([set_thickening(e, c) for e, c in zip(w.elastic, w.creep, strict=True)])
    sink = allowed_mm(w.gauge_mm, w.bark_factor, w.sink_share)
    with np.errstate(invalid="ignore"):
        asked = np.ceil(0.5 * (ratio - 1.0) * w.base_mm / (w.slack_mm + sink))
    many = np.where(set_on > off, np.maximum(asked, 2.0), 1.0)
    return np.where(np.isnan(asked), -1.0, many).astype(np.int64)


def _write(every: Known, found: Forecast, days: Days, on: Sequence[Wire]) -> list[WireWindow]:
    """Return a window for each wire."""
    # What a look has not seen yet comes after it; nothing comes before the wire was on.
    floor = np.maximum(every.on, every.caps[:, 0])
    starts = np.stack([every.seen < grade for grade in (2, 2, 3, 4)])
    after = np.where(starts, np.maximum(floor, every.last_look), floor)
    days[:, :SET] = np.maximum(days[:, :SET], after)
    days[:, SET] = np.maximum(days[:, SET], floor)
    harm = every.seen >= BITTEN_GRADE
    off = np.where(harm, np.minimum(days[0, ALLOWED], every.seen_on), days[0, ALLOWED])
    look = _look_by(every, days, off)
    wirings = _wirings(every, days[1, SET], off)
    ranges = [_ranges(days[:, kind], found.never[kind], every.grade) for kind in range(5)]
    grades = [_GRADES[grade] for grade in every.grade.tolist()]
    columns = zip(
        on, every.row.tolist(), _dates(look), _dates(off), *ranges, _dates(days[1, SET]),
        zip(*found.used.tolist(), strict=True), every.seen.tolist(), _dates(every.seen_on),
        found.likely_grade.tolist(), wirings.tolist(), every.wires.sink_share.tolist(),
        grades, found.disagree.tolist(), strict=True,
    )  # fmt: skip
    return [
        WireWindow(
            wire=wire.event, row=row, look_by=look_by, off_by=off_by, line=line, allowed=allowed,
            bitten=bitten, deep=deep, set=done, hold_from=hold_from, share_used=used,
            seen_grade=seen, seen_on=seen_on, likely_grade=max(likely, seen), wirings=many,
            allowed_sink=sink, grade=grade, disagree=disagree,
        )
        for (wire, row, look_by, off_by, line, allowed, bitten, deep, done, hold_from, used, seen,
             seen_on, likely, many, sink, grade, disagree) in columns
    ]  # fmt: skip


def _ranges(days: Days, never: Floats, grade: npt.NDArray[np.int64]) -> list[DateRange]:
    """Return the date ranges of one kind for all wires."""
    grades = [_GRADES[g] for g in grade.tolist()]
    early, likely, late = (_dates(row) for row in days)
    return [
        _NO_DATES if isnan(share) else DateRange(first, middle, last, share, g)
        for first, middle, last, share, g in zip(
            early, likely, late, never.tolist(), grades, strict=True
        )
    ]


def _dates(days: Days) -> list[date | None]:
    """Return day numbers as dates."""
    made = {day: date.fromordinal(day) for day in np.unique(days).tolist() if 0 < day < NEVER}
    return [made.get(day) for day in days.tolist()]
