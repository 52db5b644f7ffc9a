"""Facts of every part of a tree, read off its arrays and records in one pass.

Arrays become plain lists once; unknown becomes ``None``. Nothing is judged here.
"""

from __future__ import annotations

import math
from datetime import date
from enum import Enum
from typing import TYPE_CHECKING, Any, Final, TypeVar

import numpy as np

from boughwright.health.signs import active_by_branch
from boughwright.journal.terms import (
    Bark,
    GraftKind,
    Job,
    Kind,
    Phase,
    Quantity,
    Vigour,
    Zone,
)
from boughwright.tree.measures import guyed
from boughwright.verdicts.facts import BranchFacts, Inner
from boughwright.verdicts.outdated import last_cuts, node_gone, not_cut_out

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    import numpy.typing as npt

    from boughwright.species.model import Species
    from boughwright.tree.measures import Measures
    from boughwright.tree.model import Branches, Tree, Wire
    from boughwright.wire.window import WireWindow

_Word = TypeVar("_Word", bound=Enum)
_YES_NO: Final = (False, True, None)
SCAR_APART_DAYS: Final = 250
"""Two widths of a scar say something of its rate when read this far apart."""
RELEASED_DAYS: Final = 365
"""Bark is said to be just let out of its wire this long: the lips need a season to level."""
BITTEN: Final = 3
"""Grade from which wire has bitten."""
BITTEN_DAYS: Final = 60
"""How long a bite asks for a look at the other wire of its day (starting value)."""
SAME_HEIGHT: Final = 0.03
"""Two primaries stand at one height when closer than this share of the tree's height."""
OPPOSITE_CLOCK_H: Final = (5.0, 7.0)
_BRANCH: Final = tuple(Kind).index(Kind.BRANCH)
_GRAFT: Final = tuple(Kind).index(Kind.GRAFT)


def _floats(values: npt.NDArray[np.float64]) -> list[float | None]:
    out: list[float | None] = values.tolist()
    for row in np.flatnonzero(np.isnan(values)).tolist():
        out[row] = None
    return out


def _counts(values: npt.NDArray[Any]) -> list[int | None]:
    return [None if value < 0 else value for value in values.tolist()]


def _words(codes: npt.NDArray[Any], enum: type[_Word]) -> list[_Word | None]:
    words: tuple[_Word | None, ...] = (*enum, None)
    return [words[code] for code in codes.tolist()]


def _truths(codes: npt.NDArray[Any]) -> list[bool | None]:
    return [_YES_NO[code] for code in codes.tolist()]


def _dates(ordinals: npt.NDArray[Any]) -> list[date | None]:
    return [date.fromordinal(day) if day > 0 else None for day in ordinals.tolist()]


def primaries(rows: Branches) -> npt.NDArray[np.bool_]:
    """Return which rows are living primaries."""
    found: npt.NDArray[np.bool_] = (rows.order == 1) & (rows.kind == _BRANCH) & ~rows.gone
    return found


def unweaned(rows: Branches) -> npt.NDArray[np.bool_]:
    """Return which rows are living grafts that are not weaned."""
    found: npt.NDArray[np.bool_] = (rows.kind == _GRAFT) & (rows.weaned != 1) & ~rows.gone
    return found


def branch_facts(
    tree: Tree,
    measures: Measures,
    *,
    today: date,
    species: Species | None,
    windows: Sequence[WireWindow] = (),
    base_forecast: npt.NDArray[np.float64] | None = None,
    seasons_to_target: npt.NDArray[np.float64] | None = None,
) -> list[BranchFacts]:
    """Return the facts of every part of a tree, in the order of its rows.

    Parameters
    ----------
    tree, measures
        Of one tree, N rows.
    today : date
    species : Species, optional
        For bark where none was given.
    windows : sequence of WireWindow
        Of the wires that are on.
    base_forecast : (N, 3) float, optional
        p10, p50, p90 of the base at the end of this season if it runs. [mm]
    seasons_to_target : (N,) float, optional
    """
    columns = _columns(tree, measures, today, species, windows)
    count = len(tree.branches)
    columns["base_forecast_mm"] = _triples(base_forecast, count)
    seasons = np.full(count, np.nan) if seasons_to_target is None else seasons_to_target
    columns["seasons_to_target"] = _floats(seasons)
    fields = BranchFacts.__dataclass_fields__
    return [BranchFacts(*row) for row in zip(*(columns[name] for name in fields), strict=True)]


def _triples(
    values: npt.NDArray[np.float64] | None, count: int
) -> list[tuple[float, float, float] | None]:
    if values is None:
        return [None] * count
    return [None if math.isnan(row[1]) else (row[0], row[1], row[2]) for row in values.tolist()]


def _columns(
    tree: Tree,
    measures: Measures,
    today: date,
    species: Species | None,
    windows: Sequence[WireWindow],
) -> dict[str, list[Any]]:
    rows = tree.branches
    jobs = _words(rows.job, Job)
    age = [today.toordinal() - day if day > 0 else None for day in rows.base_on.tolist()]
    base = _floats(rows.base_mm)
    old = node_gone(tree)
    columns: dict[str, list[Any]] = {
        "row": list(range(len(rows))),
        "name": list(rows.names),
        "kind": _words(rows.kind, Kind),
        "order": rows.order.tolist(),
        "zone": _words(rows.zone, Zone),
        "outer": _truths(rows.outer),
        "phase": _words(rows.phase, Phase),
        "vigour": _words(rows.vigour, Vigour),
        "wanted": _truths(rows.wanted),
        "gone": rows.gone.tolist(),
        "base_mm": base,
        "base_sd_mm": _floats(rows.base_sd_mm),
        "base_age_days": age,
        "trunk_mm": _floats(rows.trunk_mm),
        "target_step": _floats(rows.target_step),
        "target_set": _target_set(tree),
        "step": _steps(measures, rows),
        "reached": _floats(measures.reached),
        "reached_was": _floats(measures.reached_was),
        "target_base_mm": _floats(measures.target_base_mm),
        "node_mm": _floats(np.where(old, np.nan, rows.node_mm)),
        "room_mm": _floats(np.where(old, np.nan, rows.room_mm)),
        "internode_share": _floats(np.where(old, np.nan, measures.internode_share)),
        "extension_mm": _floats(rows.extension_mm),
        "leaves": _counts(rows.leaves),
        "leaf_share": _floats(measures.leaf_share),
        "running": _truths(rows.running),
        "job": jobs,
        "job_until_base_mm": _floats(rows.job_until_base_mm),
        "elevation_deg": _floats(rows.elevation_deg),
        "plan_angle_deg": _floats(rows.plan_angle_deg),
        "bud_inside": _truths(rows.bud_inside),
        "pair_level": _truths(rows.pair_level),
        "cluster": _counts(rows.cluster),
        "clusters": _counts(rows.clusters),
        "knuckle": _floats(rows.knuckle),
        "fork_order": _counts(measures.fork_order),
        "bark": _barks(rows, species),
        "guyed": guyed(tree).tolist(),
        "graft_kind": _words(rows.graft_kind, GraftKind),
        "grafted_on": _dates(rows.grafted_on),
        "exit_mm": _floats(rows.exit_mm),
        "entry_mm": _floats(rows.entry_mm),
        "union_moves": _truths(rows.union_moves),
        "union_gap": _truths(rows.union_gap),
        "lips_joined": _truths(rows.lips_joined),
        "weaned": _truths(rows.weaned),
        "open_mm": _floats(rows.open_mm),
        "provisional_since": _dates(rows.provisional_since),
    }
    return (
        columns
        | _named(rows, measures)
        | _jobs(rows, jobs)
        | _wires(tree, windows, today)
        | _records(tree, today)
    )


def _steps(measures: Measures, rows: Branches) -> list[float | None]:
    """Return base over trunk, for side branches base over parent."""
    return _floats(np.where(rows.order > 1, measures.fork_step, measures.step))


def _target_set(tree: Tree) -> list[bool]:
    """Return where the grower set the target: it differs from that of the zone."""
    rows = tree.branches
    usual = np.asarray([0.35, 0.30, 0.25, np.nan])[rows.zone]
    known = ~np.isnan(rows.target_step)
    set_by_hand: list[bool] = (
        known & (np.nan_to_num(usual, nan=-1.0) != rows.target_step)
    ).tolist()
    return set_by_hand


def _barks(rows: Branches, species: Species | None) -> list[Bark | None]:
    usual = Bark(species.word("bark")) if species is not None else None
    return [bark or usual for bark in _words(rows.bark, Bark)]


def _named(rows: Branches, measures: Measures) -> dict[str, list[Any]]:
    """Return columns that name other branches: shade, the one below, inner shoots, rivals."""
    names, count = rows.names, len(rows)
    gone = rows.gone.tolist()
    shaded = [names[by] if by >= 0 and not gone[by] else None for by in rows.shaded_by.tolist()]
    shades: list[tuple[str, ...]] = [()] * count
    for row in np.flatnonzero((rows.shaded_by >= 0) & ~rows.gone).tolist():
        by = int(rows.shaded_by[row])
        shades[by] = (*shades[by], names[row])
    below = measures.below.tolist()
    base = _floats(rows.base_mm)
    return {
        "shaded_by": shaded,
        "shades": shades,
        "below_name": [names[row] if row >= 0 else None for row in below],
        "below_base_mm": [base[row] if row >= 0 else None for row in below],
        "inner": _inner(rows, measures),
        "rival": _rivals(rows),
    }


def _inner(rows: Branches, measures: Measures) -> list[tuple[Inner, ...]]:
    """Return the shoots that could take over, for parts where that is in question."""
    found: list[tuple[Inner, ...]] = [()] * len(rows)
    asked = (rows.provisional_since > 0) | ~np.isnan(measures.internode_share)
    child = (rows.kind == _BRANCH) & ~rows.gone & (rows.order >= 1) & (rows.parent >= 0)
    for row in np.flatnonzero(child & asked[rows.parent]).tolist():
        parent = int(rows.parent[row])
        ratio, angle = float(measures.fork_step[row]), float(rows.plan_angle_deg[row])
        inner = Inner(
            row,
            rows.names[row],
            None if math.isnan(ratio) else ratio,
            None if math.isnan(angle) else angle,
        )
        found[parent] = (*found[parent], inner)
    return found


def _rivals(rows: Branches) -> list[str | None]:
    """Return the living primary that stands opposite at the same height, if any."""
    found: list[str | None] = [None] * len(rows)
    ready = np.flatnonzero(primaries(rows) & ~np.isnan(rows.height_mm) & ~np.isnan(rows.clock))
    if len(ready) < 2:
        return found
    height, clock = rows.height_mm[ready], rows.clock[ready]
    near = np.abs(height[:, None] - height) <= SAME_HEIGHT * float(np.nanmax(rows.height_mm))
    apart = np.abs(clock[:, None] - clock)
    facing = (apart >= OPPOSITE_CLOCK_H[0]) & (apart <= OPPOSITE_CLOCK_H[1])
    for one, other in np.argwhere(near & facing).tolist():
        found[int(ready[one])] = rows.names[int(ready[other])]
    return found


_SERVING: Final = frozenset({Job.GRAFT_FEEDER, Job.GRAFT_WHIP, Job.SCAR_HELPER})


def _jobs(rows: Branches, jobs: list[Job | None]) -> dict[str, list[Any]]:
    """Return what each branch serves, through itself or its shoots, and whether its job is met."""
    names, parent, count = rows.names, rows.parent.tolist(), len(rows)
    job_for = rows.job_for.tolist()
    met = [
        None if job is None else _job_met(rows, row, job, job_for[row])
        for row, job in enumerate(jobs)
    ]
    feeds: list[tuple[str, ...]] = [()] * count
    serving = [
        (row, job_for[row])
        for row, job in enumerate(jobs)
        if job in _SERVING and job_for[row] >= 0 and not met[row] and not rows.gone[row]
    ]
    grafts = unweaned(rows) & (rows.donor >= 0)
    serving += [(int(rows.donor[row]), row) for row in np.flatnonzero(grafts).tolist()]
    for at, served in serving:
        row = at
        while row >= 0 and rows.order[row] >= 1:
            if names[served] not in feeds[row]:
                feeds[row] = (*feeds[row], names[served])
            row = parent[row]
    return {
        "job_for": [names[row] if row >= 0 else None for row in job_for],
        "job_met": met,
        "feeds": feeds,
    }


def _job_met(rows: Branches, row: int, job: Job, serves: int) -> bool | None:
    """Tell whether a job's end is met, None when that is not known."""
    until = float(rows.job_until_base_mm[row])
    if not math.isnan(until):
        read = serves if serves >= 0 and not math.isnan(rows.base_mm[serves]) else row
        base = float(rows.base_mm[read])
        return None if math.isnan(base) else base >= until
    if serves < 0:
        return None
    if job in (Job.GRAFT_FEEDER, Job.GRAFT_WHIP):
        return bool(rows.weaned[serves] == 1 or rows.gone[serves])
    if job is Job.SCAR_HELPER:
        open_mm = float(rows.open_mm[serves])
        return None if math.isnan(open_mm) else open_mm <= 0
    return None


def _wires(tree: Tree, windows: Sequence[WireWindow], today: date) -> dict[str, list[Any]]:
    count = len(tree.branches)
    columns: dict[str, list[Any]] = {
        "wire": [None] * count,
        "wire_gauge_mm": [None] * count,
        "wire_metal": [None] * count,
        "wire_on": [None] * count,
        "wire_shoots": [0] * count,
        "released_grade": [None] * count,
        "bitten_beside": [None] * count,
    }
    by_event = {wire.event: wire for wire in tree.wires}
    bitten = _bitten(tree, today)
    for wire in tree.wires:
        if wire.branch >= 0 and wire.off is None and wire.on in bitten:
            found, looked = bitten[wire.on], wire.looks[-1][0] if wire.looks else wire.on
            columns["bitten_beside"][wire.branch] = found if looked < found else None
    for window in windows:
        if window.row >= 0 and _sooner(window, columns["wire"][window.row]):
            _put(columns, window.row, window, by_event.get(window.wire))
    for wire in tree.wires:
        off = wire.off
        if wire.branch >= 0 and off is not None and (today - off).days < RELEASED_DAYS:
            before = columns["released_grade"][wire.branch]
            columns["released_grade"][wire.branch] = max(before or 0, _grade_off(wire))
    return columns


def _bitten(tree: Tree, today: date) -> dict[date, date]:
    """Return the days of wiring of which a wire had bitten lately, and when that was seen last."""
    found: dict[date, date] = {}
    for wire in tree.wires:
        seen = [on for on, grade in wire.looks if grade >= BITTEN]
        if wire.off is not None and _grade_off(wire) >= BITTEN:
            seen.append(wire.off)
        late = [on for on in seen if (today - on).days < BITTEN_DAYS]
        if late:
            found[wire.on] = max(*late, found.get(wire.on, date.min))
    return found


def _grade_off(wire: Wire) -> int:
    """Return the grade told when wire came off, else that of the last look while it was on."""
    if wire.off_grade is not None:
        return wire.off_grade
    return max(wire.looks[-1][1], 0) if wire.looks else 0


def _sooner(new: WireWindow, old: WireWindow | None) -> bool:
    """Of two wires on one branch, the one that must come off first is shown."""
    if old is None:
        return True
    key = (-max(new.seen_grade, 0), new.off_by or date.max)
    return key < (-max(old.seen_grade, 0), old.off_by or date.max)


def _put(columns: dict[str, list[Any]], row: int, window: WireWindow, wire: Wire | None) -> None:
    columns["wire"][row] = window
    if wire is not None:
        columns["wire_gauge_mm"][row] = _known(wire.gauge_mm)
        columns["wire_metal"][row] = wire.metal
        columns["wire_on"][row] = wire.on
        columns["wire_shoots"][row] = wire.shoots


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


def zone_wires(
    tree: Tree, windows: Iterable[WireWindow], species: Species | None
) -> tuple[BranchFacts, ...]:
    """Return the facts of every wire that was put on a zone."""
    by_event = {wire.event: wire for wire in tree.wires}
    found = []
    for window in windows:
        wire = by_event.get(window.wire)
        if window.row < 0 and wire is not None:
            found.append(zone_wire(window, wire, species))
    return tuple(found)


def zone_wire(window: WireWindow, wire: Wire, species: Species | None) -> BranchFacts:
    """Return the facts of wire on a zone, as a part of the tree with nothing else known."""
    known: dict[str, Any] = {
        "row": -1,
        "name": wire.zone or "whole tree",
        "kind": Kind.BRANCH,
        "order": 0,
        "target_set": False,
        "gone": False,
        "feeds": (),
        "guyed": False,
        "signs": {},
        "promised": "",
        "inner": (),
        "contradictions": (),
        "bark": Bark(species.word("bark")) if species is not None else None,
        "wire": window,
        "wire_gauge_mm": _known(wire.gauge_mm),
        "wire_metal": wire.metal,
        "wire_on": wire.on,
        "wire_shoots": wire.shoots,
        "shades": (),
    }
    return BranchFacts(*(known.get(name) for name in BranchFacts.__dataclass_fields__))  # type: ignore[arg-type]


def _records(tree: Tree, today: date) -> dict[str, list[Any]]:
    """Return columns of signs, promises, contradictions and the earlier width of scars."""
    count = len(tree.branches)
    signs: list[Mapping[str, date]] = [{}] * count
    cut = last_cuts(tree)
    for row, found in active_by_branch(tree.seen, today).items():
        if row >= 0:
            signs[row] = not_cut_out(found, cut.get(row))
    promised = [""] * count
    for promise in tree.promises:
        if promise.branch >= 0:
            promised[promise.branch] = promise.what.words or promise.what.what
    against: list[tuple[str, ...]] = [()] * count
    for one in tree.contradictions:
        if one.branch >= 0:
            against[one.branch] = (*against[one.branch], one.what.rstrip("."))
    was, years = _scar_before(tree, count)
    return {
        "signs": signs,
        "promised": promised,
        "contradictions": against,
        "open_was_mm": was,
        "open_years": years,
    }


def _scar_before(tree: Tree, count: int) -> tuple[list[float | None], list[float | None]]:
    was: list[float | None] = [None] * count
    years: list[float | None] = [None] * count
    widths: dict[int, list[tuple[date, float]]] = {}
    for one in tree.measures:
        if one.what is Quantity.OPEN and one.branch >= 0:
            widths.setdefault(one.branch, []).append((one.on, one.value))
    for row, read in widths.items():
        last = read[-1][0]
        before = [(on, value) for on, value in read if (last - on).days >= SCAR_APART_DAYS]
        if before:
            on, value = before[-1]
            was[row], years[row] = value, (last - on).days / 365.25
    return was, years
