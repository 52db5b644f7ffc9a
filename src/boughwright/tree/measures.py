"""The measures of the trade, worked out for every branch at once, and the readings behind them.

Every array has one entry a row and is nan (or -1) where a reading it needs is missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import UnknownNameError
from boughwright.journal.terms import Job, Kind, Quantity, Work, Zone
from boughwright.tree.readings import by_day, latest
from boughwright.tree.strahler import horton_ratios, node_tree, strahler
from boughwright.tree.vigour import norm_of, recovering, vigour_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from uuid import UUID

    import numpy.typing as npt

    from boughwright.tree.model import Codes, Floats, Ints, Tree
    from boughwright.tree.readings import DayReading, Index

__all__ = ["Measures", "guyed", "measure", "met", "recovering", "rests_on", "vigour_of"]

THICK_ENOUGH, NEARLY = 0.95, 0.85
"""Base reached, in shares of its target. Common practice."""

TOO_THICK = {Zone.LOWER: 0.50, Zone.MIDDLE: 0.45, Zone.APEX: 0.40}
"""Step over which a primary is too thick for its zone. Common practice."""

BACK = 0.02
"""How far below a line a value must fall before what was met counts as not met again."""

ARMS_WITHIN_MM = 10.0
"""Two shoots that start this close on one branch are arms of one fork. Starting value."""

THICK_WORDS = ("thin", "nearly", "thick enough", "too thick")
"""What the codes of `Measures.thick` say."""

_KINDS = tuple(Kind)
_CROWN = [_KINDS.index(kind) for kind in (Kind.BRANCH, Kind.TOP, Kind.GRAFT)]
_SACRIFICE = tuple(Job).index(Job.SACRIFICE)


@dataclass(frozen=True, slots=True)
class Measures:
    """Measures of one tree. Arrays are (N,) unless said otherwise.

    Parameters
    ----------
    step : float
        Base over the trunk beside it.
    step_was, reached_was : float
        The same before the latest reading of base or trunk; nan when it was not known then.
    target_base_mm : float
        The base at which it reaches its target step. [mm]
    reached : float
        Base over that target; 1 is all of it.
    thick : int
        Position in `THICK_WORDS`, -1 unknown. Once met, a line is lost only 2 points below it.
        ``too thick`` is said of primaries only.
    internode_share : float
        First internode in doubt over its room.
    fork_step : float
        Of shoots on a branch: base over the parent's diameter, read beside it, else the parent's
        base.
    arms : float
        Thinner over thicker of the two arms of a fork, 0..1.
    extension_ratio : float
        Free shoot of the latest flush over the tree's norm.
    leaf_share : float
        Base area over the summed base areas of the primaries read; stands in for leaf.
    leaf_known : float
        Share of living primaries whose base is known, for all rows alike (a scalar).
    fork_order : int
        Forks passed from base to tip: as entered, else counted where shoots on it are recorded;
        -1 unknown.
    strahler : int
        Order by Strahler's rule over the recorded branches, -1 where gone. A hint only.
    bifurcation : (orders - 1,) float
        Horton's ratio of the numbers of each order and the next. A hint only.
    primary_ratio : float
        Of primaries: base over that of the next living primary below; 0.75 to 0.95 is good.
        Unweaned grafts, leaders, sacrifices and unwanted branches are passed over.
    below : int
        Row of that primary, -1 when there is none.
    arm : int
        Row of the other arm of the fork, -1 when there is none.
    """

    step: Floats
    step_was: Floats
    target_base_mm: Floats
    reached: Floats
    reached_was: Floats
    thick: Codes
    internode_share: Floats
    fork_step: Floats
    arms: Floats
    extension_ratio: Floats
    leaf_share: Floats
    leaf_known: float
    fork_order: Ints
    strahler: Ints
    bifurcation: Floats
    primary_ratio: Floats
    below: Ints
    arm: Ints


def measure(tree: Tree) -> Measures:
    """Work out the measures of a tree from its latest readings."""
    rows = tree.branches
    index = by_day(tree.measures)
    crown = np.isin(rows.kind, _CROWN)
    living = crown & ~rows.gone
    step = rows.base_mm / rows.trunk_mm
    step_was = _step_before(index, len(rows))
    reached, reached_was = step / rows.target_step, step_was / rows.target_step
    area = rows.base_mm**2
    primary = living & (rows.order == 1) & ~_unweaned(tree)
    known = primary & ~np.isnan(area)
    total = area[known].sum() if known.any() else np.nan
    below = _below(tree, primary)
    arm = _other_arm(tree, living)
    shoot = crown & (rows.order >= 2)
    beside = np.where(np.isnan(rows.trunk_mm), rows.base_mm[rows.parent], rows.trunk_mm)
    orders, bifurcation = _orders(tree)
    norm = norm_of(tree)[0]
    return Measures(
        step=step,
        step_was=step_was,
        target_base_mm=rows.trunk_mm * rows.target_step,
        reached=reached,
        reached_was=reached_was,
        thick=_thick(tree, step, step_was, reached, reached_was),
        internode_share=rows.node_mm / np.where(rows.room_mm > 0, rows.room_mm, np.nan),
        fork_step=np.where(shoot, rows.base_mm / beside, np.nan),
        arms=_arms(rows.base_mm, arm),
        extension_ratio=rows.extension_mm / norm,
        leaf_share=np.where(living, area / total, np.nan),
        leaf_known=float(known.sum() / primary.sum()) if primary.any() else float("nan"),
        fork_order=_fork_order(tree, living),
        strahler=orders,
        bifurcation=bifurcation,
        primary_ratio=np.where(below >= 0, rows.base_mm / rows.base_mm[below], np.nan),
        below=below,
        arm=arm,
    )


def met(now: Floats, was: Floats, line: float | Floats) -> npt.NDArray[np.bool_]:
    """Tell where a line is met, 2 points kindly where it was met at the reading before.

    Parameters
    ----------
    now, was : (N,) float
        The value and the one before; nan counts as not met.
    line : float or (N,) float
        The line, met unrounded.
    """
    return (now >= line) | ((was >= line) & (now >= line - BACK))


_HOLDS = {Work.GUY_ON: True, Work.RAISE: True, Work.GUY_OFF: False, Work.LOWER: False}


def guyed(tree: Tree) -> npt.NDArray[np.bool_]:
    """Tell which rows are held by a guy, or raised: put on and not taken off or lowered since."""
    held = np.zeros(len(tree.branches), bool)
    for work in tree.works:
        if work.branch >= 0 and work.what.work in _HOLDS:
            held[work.branch] = _HOLDS[work.what.work]
    return held & ~tree.branches.gone


def _unweaned(tree: Tree) -> npt.NDArray[np.bool_]:
    """Tell which rows are grafts still fed from elsewhere: no primaries of the tree yet."""
    rows = tree.branches
    unweaned: npt.NDArray[np.bool_] = (rows.kind == _KINDS.index(Kind.GRAFT)) & (rows.weaned != 1)
    return unweaned


# --- parts of a measure --------------------------------------------------------------------------


def _step_before(index: Index, count: int) -> Floats:
    """Return the step as it was before the latest reading of base or trunk."""
    was = np.full(count, np.nan)
    for row in range(1, count):
        pair = _pair_before(index, row)
        if pair is not None:
            was[row] = pair[0].value / pair[1].value
    return was


def _pair_before(index: Index, row: int) -> tuple[DayReading, DayReading] | None:
    base, trunk = latest(index, Quantity.BASE, row), latest(index, Quantity.TRUNK, row)
    if base is None or trunk is None:
        return None
    day = max(base.day, trunk.day)
    base, trunk = latest(index, Quantity.BASE, row, day), latest(index, Quantity.TRUNK, row, day)
    return None if base is None or trunk is None else (base, trunk)


def _thick(
    tree: Tree, step: Floats, step_was: Floats, reached: Floats, reached_was: Floats
) -> Codes:
    rows = tree.branches
    over = np.asarray([*TOO_THICK.values(), np.nan])[rows.zone]  # -1 picks the last
    thick = np.where(np.isnan(reached), -1, 0)
    thick[met(reached, reached_was, NEARLY)] = 1
    thick[met(reached, reached_was, THICK_ENOUGH)] = 2
    # Over the line, not on it: the next number above the line is the first too thick.
    above = np.nextafter(over, np.inf)
    thick[met(step, step_was, above) & (rows.order == 1) & ~np.isnan(rows.target_step)] = 3
    return thick.astype(np.int8)


def _below(tree: Tree, primary: npt.NDArray[np.bool_]) -> Ints:
    """Return the next living primary below each; leaders, sacrifices and unwanted ones left out."""
    rows = tree.branches
    kind = rows.kind == _KINDS.index(Kind.TOP)
    ranked = primary & ~kind & (rows.job != _SACRIFICE) & (rows.wanted != 0)
    ranked &= ~np.isnan(rows.height_mm)
    by_height = np.flatnonzero(ranked)[np.argsort(rows.height_mm[ranked], kind="stable")]
    below = np.full(len(rows), -1, np.int32)
    below[by_height[1:]] = by_height[:-1]
    return below


def _other_arm(tree: Tree, living: npt.NDArray[np.bool_]) -> Ints:
    """Return the other arm of each fork: the nearest start on its branch, or the only other."""
    rows = tree.branches
    arm = np.full(len(rows), -1, np.int32)
    shoots = np.flatnonzero(living & (rows.order >= 2))
    if len(shoots) < 2:
        return arm
    sort = shoots[np.lexsort((rows.along_mm[shoots], rows.parent[shoots]))]
    same = rows.parent[sort[1:]] == rows.parent[sort[:-1]]
    gap = np.where(same, np.abs(np.diff(rows.along_mm[sort])), np.inf)
    alone = np.bincount(rows.parent[shoots], minlength=len(rows))[rows.parent[sort]] == 2
    gap = np.where(np.isnan(gap) & alone[1:], 0.0, gap)  # two shoots and no more: one fork
    gap = np.where(np.isnan(gap) | (gap > ARMS_WITHIN_MM), np.inf, gap)
    after, before = np.append(gap, np.inf), np.insert(gap, 0, np.inf)
    nearest = np.where(after <= before, np.roll(sort, -1), np.roll(sort, 1))
    arm[sort] = np.where(np.isinf(np.minimum(after, before)), -1, nearest)
    return arm


def _arms(base_mm: Floats, arm: Ints) -> Floats:
    other = np.where(arm >= 0, base_mm[arm], np.nan)
    return np.minimum(base_mm, other) / np.maximum(base_mm, other)


def _fork_order(tree: Tree, living: npt.NDArray[np.bool_]) -> Ints:
    """Return forks from base to tip: as entered, or one for each level of living shoots below."""
    rows = tree.branches
    up, stands = rows.parent.tolist(), living.tolist()
    passed = [0] * len(rows)
    for row in range(len(rows) - 1, 0, -1):
        if stands[row]:
            passed[up[row]] = max(passed[up[row]], passed[row] + 1)
    counted = np.asarray(passed, np.int32)
    counted[counted == 0] = -1
    return np.where(rows.fork_order >= 0, rows.fork_order, counted)


def _orders(tree: Tree) -> tuple[Ints, Floats]:
    rows = tree.branches
    trunk = rows.kind == _KINDS.index(Kind.TRUNK)
    keep = (np.isin(rows.kind, _CROWN) | trunk) & ~rows.gone
    for row in np.flatnonzero(keep & (rows.parent >= 0)):  # shoots said to grow from a scar or root
        keep[row] = keep[rows.parent[row]]
    if not keep.any():
        return np.full(len(rows), -1, np.int32), np.empty(0)
    nodes, base = node_tree(rows.parent, rows.along_mm, keep)
    orders = strahler(nodes)
    return np.where(base >= 0, orders[base], -1).astype(np.int32), horton_ratios(nodes, orders)


# --- what a measure rests on ---------------------------------------------------------------------

_OWN: dict[str, tuple[Quantity, ...]] = {
    "step": (Quantity.BASE, Quantity.TRUNK),
    "reached": (Quantity.BASE, Quantity.TRUNK),
    "target_base_mm": (Quantity.TRUNK,),
    "internode_share": (Quantity.NODE, Quantity.ROOM),
    "extension_ratio": (Quantity.EXTENSION,),
}
_STRUCTURE = frozenset({"fork_order", "strahler", "bifurcation", "below", "arm"})


def rests_on(tree: Tree, row: int, name: str, *, known: Measures | None = None) -> tuple[UUID, ...]:
    """Return the readings that one measure of one row was worked out from.

    Parameters
    ----------
    tree : Tree
        The tree.
    row : int
        Row of the branch.
    name : str
        A field of `Measures`. Those of structure alone rest on no reading.
    known : Measures, optional
        Its measures, when already at hand.

    Raises
    ------
    UnknownNameError
        When no measure has that name.
    """
    if name not in Measures.__dataclass_fields__:
        raise UnknownNameError(
            f"no measure is called {name!r}",
            allowed=", ".join(Measures.__dataclass_fields__),
            todo="Use one of those",
        )
    if name in _STRUCTURE:
        return ()
    index = by_day(tree.measures)
    if name in {"leaf_share", "leaf_known"}:
        return _leaf_rests_on(tree, index, row if name == "leaf_share" else -1)
    if name == "thick":
        return tuple(
            dict.fromkeys(rests_on(tree, row, "reached") + rests_on(tree, row, "reached_was"))
        )
    norm = norm_of(tree)[1] if name == "extension_ratio" else ()
    return _ids(_readings_of(tree, index, row, name, known)) + norm


def _readings_of(
    tree: Tree, index: Index, row: int, name: str, known: Measures | None
) -> Iterable[DayReading | None]:
    if name in _OWN:
        return [latest(index, what, row) for what in _OWN[name]]
    if name in {"step_was", "reached_was"}:
        return _pair_before(index, row) or ()
    base = latest(index, Quantity.BASE, row)
    if name == "fork_step":
        beside = latest(index, Quantity.TRUNK, row)
        return [base, beside or latest(index, Quantity.BASE, int(tree.branches.parent[row]))]
    known = known or measure(tree)
    other = int((known.arm if name == "arms" else known.below)[row])
    return [base, latest(index, Quantity.BASE, other)] if other >= 0 else ()


def _leaf_rests_on(tree: Tree, index: Index, row: int) -> tuple[UUID, ...]:
    rows = tree.branches
    living = np.isin(rows.kind, _CROWN) & ~rows.gone
    primaries = np.flatnonzero(living & (rows.order == 1) & ~_unweaned(tree)).tolist()
    every = dict.fromkeys([*([row] if row >= 0 else []), *primaries])
    return _ids([latest(index, Quantity.BASE, one) for one in every])


def _ids(readings: Iterable[DayReading | None]) -> tuple[UUID, ...]:
    return tuple(event for one in readings if one is not None for event in one.events)
