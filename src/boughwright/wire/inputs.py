"""What the dates of wire rest on: trees, species, weather and looks read into plain arrays.

Dates are day numbers (``date.toordinal()``), `NEVER` where there is none. Shapes: N rows of a
tree, W wires that are on, L looks at them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from boughwright.growth.increment import prior
from boughwright.growth.ring import RingCurve, curve_for, ring_share
from boughwright.journal.terms import Bark, Bend, Fit, Phase, Zone
from boughwright.season.clock import season_first
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.wire.bite import (
    ALLOWED_SINK,
    BARK_FACTOR,
    SLACK_LOG_SD,
    SLACK_LOG_SD_UNKNOWN,
    SLACK_MM,
)
from boughwright.wire.draws import Floats, Looks, Wires
from boughwright.wire.mechanics import BENDS

if TYPE_CHECKING:
    from boughwright.growth.increment import Increment
    from boughwright.season.record import SiteClock
    from boughwright.season.stages import TreeCalendar
    from boughwright.species.model import Species
    from boughwright.tree.model import Tree, Wire

Days = npt.NDArray[np.int64]

NEVER = 10**9
"""Day number that stands for no date."""

SEEN_LEAF_OUT_SD_DAYS = 1.0
"""Error of a leaf-out the grower logged. Starting value."""

P10_TO_P50 = 1.2816
"""Standard deviations from p10 to p50."""

_SINKS = np.array([ALLOWED_SINK[phase] for phase in Phase] + [ALLOWED_SINK[None]])
_BARKS = np.array([BARK_FACTOR[bark] for bark in Bark])
_ZONE_WORDS = {"apex": Zone.APEX, "mid": Zone.MIDDLE, "low": Zone.LOWER}


@dataclass(frozen=True, slots=True)
class WiredTree:
    """One tree and what its wires' dates rest on.

    Parameters
    ----------
    tree : Tree
    species : Species, optional
        Unknown: no growth can be told; only the looks every wire gets are dated.
    clock : SiteClock
        This season at the tree's shelf, to its last day.
    calendar : TreeCalendar
        Of the day the windows are wanted for.
    increment : Increment, optional
        Of the tree's N rows, learned from readings; None: the starting values of the species.
    before : SiteClock, optional
        The season before. None: this season's course stands for it, when wire of last year is
        asked how much ring was still laid under it.
    leaf_out_before : date, optional
        Leaf-out of the season before. None: after as many effective days as this season.
    """

    tree: Tree
    species: Species | None
    clock: SiteClock
    calendar: TreeCalendar
    increment: Increment | None = None
    before: SiteClock | None = None
    leaf_out_before: date | None = None


@dataclass(frozen=True, slots=True)
class Known:
    """The wires of one tree as arrays, (W,), and its looks, (L,)."""

    wires: Wires
    looks: Looks
    on: Days
    """Day it went on."""
    grade: npt.NDArray[np.int64]
    row: npt.NDArray[np.int64]
    seen: npt.NDArray[np.int64]
    """Worst grade seen, -1 none."""
    seen_on: Days
    last_look: Days
    caps: Days
    """(W, 6): first day of the season, burst, swell on ring-porous trees, hard, late thickening,
    last day of the season."""


def ordinal(day: date | None) -> int:
    """Return the day number of a date, `NEVER` for none."""
    return NEVER if day is None else day.toordinal()


def known(wired: WiredTree, on: tuple[Wire, ...]) -> Known:
    """Return one tree's wires as arrays."""
    clock, size = wired.clock, len(on)
    days = np.array([wire.on.toordinal() for wire in on], dtype=np.int64)
    leaf_out, early_sd, late_sd = _leaf_out_ed(wired)
    rates = _rates(wired)
    row, sink, bark = _places(wired, on, rates)
    curve = _curves(wired, row, leaf_out)
    rings = _rings_before(wired, curve, leaf_out, days)
    today = float(_ed_on(clock, np.array([wired.calendar.today.toordinal()]))[0])
    fits = [_fit(wire.fit) for wire in on]
    bends = [BENDS[wire.bend or Bend.MODERATE] for wire in on]
    wires = Wires(
        log_rate=rates.log_mean[row],
        log_rate_sd=rates.log_sd[row],
        curve=curve,
        leaf_out_ed=np.full(size, leaf_out),
        leaf_out_early_sd_ed=np.full(size, early_sd),
        leaf_out_late_sd_ed=np.full(size, late_sd),
        wired_ed=_ed_on(clock, days),
        rings_before=rings,
        slack_mm=np.array([slack for slack, _, _ in fits]),
        slack_log_sd=np.array([spread for _, spread, _ in fits]),
        gauge_mm=np.array([wire.gauge_mm for wire in on], dtype=np.float64),
        bark_factor=bark,
        sink_share=sink,
        base_mm=np.array([wire.base_mm for wire in on], dtype=np.float64),
        elastic=np.array([bend.elastic for bend in bends]),
        creep=np.array([bend.creep for bend in bends]),
        today_ed=np.full(size, today),
        end_ed=np.full(size, clock.effective_days[-1]),
    )
    grade = np.maximum(
        np.maximum(rates.grade[row].astype(np.int64), int(wired.calendar.leaf_out.grade)),
        [max(grade, Grade.GUESS if np.isnan(w.gauge_mm) else 0)
         for w, (_, _, grade) in zip(on, fits, strict=True)],
    )  # fmt: skip
    rows = np.array([wire.branch for wire in on], dtype=np.int64)
    looks = _looks(wired, on, curve, leaf_out, rings)
    caps = np.tile(_caps(wired), (size, 1))
    return Known(wires, looks, days, grade, rows, *_seen(on), caps)


def _fit(fit: Fit | None) -> tuple[float, float, int]:
    """Return median slack, its log-spread and the grade of a noted or unknown fit."""
    if fit is None:
        return SLACK_MM[Fit.NORMAL], SLACK_LOG_SD_UNKNOWN, int(Grade.GUESS)
    return SLACK_MM[fit], SLACK_LOG_SD, int(Grade.BORROWED)


@dataclass(frozen=True, slots=True)
class _Rates:
    """Log-normal of the radial increment of every row and, last, of a part nothing is known of."""

    log_mean: Floats
    log_sd: Floats
    grade: npt.NDArray[np.int8]


def _rates(wired: WiredTree) -> _Rates:
    branches, size = wired.tree.branches, len(wired.tree.branches)
    if wired.species is None:
        unknown = np.full(size + 1, np.nan)
        return _Rates(unknown, unknown, np.full(size + 1, int(Grade.GUESS), dtype=np.int8))
    if wired.increment is not None:
        rest = prior(wired.species, phase=-1, vigour=-1, outer=-1, running=-1)
        known = wired.increment
        return _Rates(
            np.append(known.log_mean, rest.log_mean),
            np.append(known.log_sd, rest.log_sd),
            np.append(known.grade, rest.grade),
        )
    codes = (branches.phase, branches.vigour, branches.outer, branches.running)
    phase, vigour, outer, running = (np.append(code.astype(np.int64), -1) for code in codes)
    expected = prior(wired.species, phase=phase, vigour=vigour, outer=outer, running=running)
    return _Rates(expected.log_mean, expected.log_sd, expected.grade)


def _places(
    wired: WiredTree, on: tuple[Wire, ...], expected: _Rates
) -> tuple[npt.NDArray[np.int64], Floats, Floats]:
    """Return the row whose growth counts, the allowed sink and the bark factor of each wire.

    Wire noted for a zone is judged by the zone's fastest branch, strictest phase and thinnest bark.
    """
    branches, size = wired.tree.branches, len(wired.tree.branches)
    bark = np.where(branches.bark >= 0, _BARKS[branches.bark], _species_bark(wired.species))
    barks = np.append(bark, _species_bark(wired.species))
    sinks = np.append(_SINKS[branches.phase], ALLOWED_SINK[None])
    rows = np.array([wire.branch for wire in on], dtype=np.int64)
    sink, factor = sinks[rows], barks[rows]
    rates = expected.log_mean[:size]
    for place in np.flatnonzero(rows < 0):
        inside = _zone_rows(wired.tree, on[place].zone)
        if inside.size:
            fastest = int(np.argmax(np.nan_to_num(rates[inside], nan=-np.inf)))
            rows[place] = inside[fastest]
            sink[place], factor[place] = sinks[inside].min(), barks[inside].min()
    return rows, sink, factor


def _species_bark(species: Species | None) -> float:
    """Return the bark factor of a species; the strictest when it is unknown."""
    if species is None or "bark" not in species.traits:
        return BARK_FACTOR[Bark.SMOOTH]
    return BARK_FACTOR[Bark(species.word("bark"))]


def _zone_rows(tree: Tree, zone: str) -> npt.NDArray[np.int64]:
    """Return the living rows a zone's words may mean; all where they name no height."""
    branches = tree.branches
    wanted = [list(Zone).index(z) for word, z in _ZONE_WORDS.items() if word in zone.lower()]
    living = ~branches.gone & (branches.order > 0)
    if wanted:
        living &= np.isin(branches.zone, [*wanted, -1])
    return np.flatnonzero(living).astype(np.int64)


def _leaf_out_ed(wired: WiredTree) -> tuple[float, float, float]:
    """Return the effective day of leaf-out and its errors, early and late; nan when unknown."""
    said, clock = wired.calendar.leaf_out, wired.clock
    if said.likely is None:
        return np.nan, np.nan, np.nan
    likely = said.likely.toordinal()
    if said.seen:
        before, at, after = _ed_on(clock, likely + np.array([-1, 0, 1]))
        width = float(after - before) / 2.0 * SEEN_LEAF_OUT_SD_DAYS
        return float(at), width, width
    last = clock.first.toordinal() + len(clock.effective_days) - 1
    ends = [min(ordinal(day), last) for day in (said.early, said.likely, said.late)]
    before, at, after = _ed_on(clock, np.array(ends))
    return float(at), float(max(at - before, 0.0) / P10_TO_P50), float((after - at) / P10_TO_P50)


def _ed_on(clock: SiteClock, days: Days) -> Floats:
    """Return the effective days of a season by the end of some days; 0 before it began."""
    place = days - clock.first.toordinal()
    laid = clock.effective_days[np.clip(place, 0, len(clock.effective_days) - 1)]
    return np.where(place < 0, 0.0, laid)


def _curves(wired: WiredTree, row: npt.NDArray[np.int64], leaf_out: float) -> RingCurve:
    """Return the ring curve of each wire's branch, of (W,) arrays."""
    species = wired.species
    running = np.append(wired.tree.branches.running, -1)[row]
    many = species is not None and species.word("flushes") != "one"
    starts = wired.calendar.starts
    push = starts[Stage.SECOND_PUSH].likely if Stage.SECOND_PUSH in starts else None
    push_ed = None
    if push is not None and many:
        since = float(_ed_on(wired.clock, np.array([push.toordinal()]))[0]) - leaf_out
        push_ed = np.where(running >= 0, since, np.nan)
    swell = starts.get(Stage.SWELL)
    swell_ed = None
    if swell is not None and swell.seen and swell.likely is not None:
        swell_ed = float(_ed_on(wired.clock, np.array([swell.likely.toordinal()]))[0]) - leaf_out
    wood = "diffuse" if species is None else species.word("wood")
    curve = curve_for(wood, free=(running == 1) & many, second_push_ed=push_ed, swell_ed=swell_ed)
    return RingCurve(**{
        name: np.broadcast_to(np.asarray(getattr(curve, name), np.float64), row.shape)
        for name in RingCurve.__dataclass_fields__
    })  # fmt: skip


def _rings_by(wired: WiredTree, curve: RingCurve, leaf_out: float, days: Days) -> Floats:
    """Return rings laid by days of earlier seasons, counted back from this season's start.

    -0.2 on a day after which a fifth of its season's ring was still to come. 0 for days of this
    season.
    """
    clock, first = wired.clock, wired.clock.first
    began = [season_first(date.fromordinal(day), south=clock.south) for day in days.tolist()]
    back = np.array([day.year - first.year for day in began], dtype=np.int64)
    begun = np.array([day.toordinal() for day in began], dtype=np.int64)
    used, leaf = clock, leaf_out
    if wired.before is not None:
        used = wired.before
        if wired.leaf_out_before is not None:
            leaf = float(_ed_on(used, np.array([wired.leaf_out_before.toordinal()]))[0])
    ed = _ed_on(used, days - begun + used.first.toordinal())
    share = ring_share(ed - leaf, curve, season_start_ed=-leaf)
    # Whatever the season did not bring it does not lay in the winter after.
    whole = ring_share(used.effective_days[-1] - leaf, curve, season_start_ed=-leaf)
    done = np.divide(share, whole, out=np.ones_like(share), where=whole > 0.0)
    return np.where(back < 0, back + done, 0.0)


def _rings_before(wired: WiredTree, curve: RingCurve, leaf_out: float, days: Days) -> Floats:
    """Return the rings laid under each wire before this season began."""
    if (days >= wired.clock.first.toordinal()).all():
        return np.zeros(len(days))
    return -_rings_by(wired, curve, leaf_out, days)


def _looks(
    wired: WiredTree, on: tuple[Wire, ...], curve: RingCurve, leaf_out: float, rings: Floats
) -> Looks:
    """Return every look at a wire that is on."""
    first = wired.clock.first.toordinal()
    flat = [(i, day.toordinal(), grade) for i, w in enumerate(on) for day, grade in w.looks]
    if not flat:
        none = np.zeros(0)
        return Looks(none.astype(np.intp), none, none, none.astype(np.int64))
    wire, day, grade = (np.array(column, dtype=np.int64) for column in zip(*flat, strict=True))
    of_look = RingCurve(**{
        name: np.asarray(getattr(curve, name))[wire] for name in RingCurve.__dataclass_fields__
    })  # fmt: skip
    laid = rings[wire]
    if (day < first).any():
        laid = laid + np.where(day < first, _rings_by(wired, of_look, leaf_out, day), 0.0)
    return Looks(wire.astype(np.intp), _ed_on(wired.clock, day), np.maximum(laid, 0.0), grade)


def _seen(on: tuple[Wire, ...]) -> tuple[npt.NDArray[np.int64], Days, Days]:
    """Return the worst grade seen at each wire, the day it was first seen, and the last look."""
    worst = [max((grade for _, grade in wire.looks), default=-1) for wire in on]
    first = [
        min((day.toordinal() for day, grade in wire.looks if grade == w), default=NEVER)
        for wire, w in zip(on, worst, strict=True)
    ]
    last = [max((day.toordinal() for day, _ in wire.looks), default=-1) for wire in on]
    return (np.array(worst, dtype=np.int64), np.array(first, dtype=np.int64),
            np.array(last, dtype=np.int64))  # fmt: skip


def _caps(wired: WiredTree) -> Days:
    """Return the days of `Known.caps` for one tree, (6,)."""
    starts, species = wired.calendar.starts, wired.species

    def likely(stage: Stage) -> int:
        return ordinal(starts[stage].likely) if stage in starts else NEVER

    ring = species is not None and species.word("wood") in ("ring", "semi-ring")
    swelling = likely(Stage.SWELL) if ring else NEVER
    first = wired.clock.first.toordinal()
    return np.array([first, likely(Stage.BURST), swelling, likely(Stage.HARD),
                     likely(Stage.LATE_THICKENING),
                     first + len(wired.clock.effective_days) - 1])  # fmt: skip


def joined(each: list[Known]) -> Known:
    """Return the wires of all trees as one."""
    sizes = [len(k.on) for k in each]
    shifts = np.cumsum([0, *sizes[:-1]])

    def join(parts: list[npt.NDArray[np.float64]]) -> Floats:
        return np.concatenate(parts)

    curve = RingCurve(**{
        name: join([np.asarray(getattr(k.wires.curve, name)) for k in each])
        for name in RingCurve.__dataclass_fields__
    })  # fmt: skip
    wires = Wires(curve=curve, **{
        name: join([getattr(k.wires, name) for k in each])
        for name in Wires.__dataclass_fields__
        if name != "curve"
    })  # fmt: skip
    looks = Looks(
        np.concatenate([k.looks.wire + shift for k, shift in zip(each, shifts, strict=True)]),
        join([k.looks.ed for k in each]),
        join([k.looks.rings_before for k in each]),
        np.concatenate([k.looks.grade for k in each]),
    )
    rest = {
        name: np.concatenate([getattr(k, name) for k in each])
        for name in ("on", "grade", "row", "seen", "seen_on", "last_look", "caps")
    }
    return Known(wires, looks, **rest)
