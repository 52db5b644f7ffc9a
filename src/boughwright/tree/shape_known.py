"""What is known of each part's place, length, direction, angle and base, and what stands for it.

Every array has one entry a row of the tree. What is not measured is filled with what is likely
and marked so in ``inferred``. The shares and angles used to fill are starting values, set by eye.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from boughwright.journal.names import BranchName, is_name, parse_name
from boughwright.journal.terms import Job, Kind
from boughwright.tree.naming import clock_now

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Ints, Tree

PARTS = ("place", "length", "direction", "angle", "base")
"""Columns of what may be drawn and not measured."""
PLACE, LENGTH, DIRECTION, ANGLE, BASE = range(5)

LOWEST_MM = 10.0
"""Heights under this tell nothing of how tall a tree is."""

FRACTIONS = 8
"""Numbers between 0 and 1 made from each identity."""

NODE_ONE_SHARE = 0.12
"""How far along its room's length a branch's first node stands from the trunk, unmeasured."""

SIDE_AZIMUTH = {"L": 90.0, "R": -90.0, "B": 180.0, "F": 0.0}
_SCAR_SIDE = {"left": 90.0, "right": -90.0, "back": 180.0, "front": 0.0}

_KINDS = tuple(Kind)
_SACRIFICE = tuple(Job).index(Job.SACRIFICE)
GOLDEN_DEG = 137.5
"""Turn between parts of unknown side, so that no two stand over each other."""


@dataclass(frozen=True, slots=True)
class Known:
    """What the lines are drawn from. All arrays are (N,) unless said otherwise.

    ``depth`` counts parts from the trunk, so that its children are at 1. ``place_mm`` is the
    height on the trunk for those, else the distance along the parent. ``free`` parts may pass the
    agreed outline: running ones, sacrifices, those measured to do so, and what grows from them.
    ``fraction`` is (N, 8), 0..1, made from the identities.
    """

    parent: Ints
    depth: Ints
    drawn: npt.NDArray[np.bool_]
    scar: npt.NDArray[np.bool_]
    top: npt.NDArray[np.bool_]
    root: npt.NDArray[np.bool_]
    place_mm: Floats
    length_mm: Floats
    azimuth_deg: Floats
    azimuth_of_parent: npt.NDArray[np.bool_]
    """True where ``azimuth_deg`` is counted from the parent's line."""
    elevation_deg: Floats
    elevation_of_parent: npt.NDArray[np.bool_]
    base_mm: Floats
    open_mm: Floats
    free: npt.NDArray[np.bool_]
    inferred: npt.NDArray[np.bool_]
    fraction: Floats
    outline_mm: float
    outline_known: bool
    ceiling_mm: float
    trunk_radius_mm: float


def known_of(tree: Tree) -> Known:
    """Gather what is known of every part and fill what is not."""
    rows = tree.branches
    count = len(rows)
    kind = {one: rows.kind == _KINDS.index(one) for one in Kind}
    names = [parse_name(name) if is_name(name) else BranchName() for name in rows.names]
    fraction = fractions(tree.id, rows.ids)
    depth = _depths(rows.parent)
    on_trunk = depth == 1
    outline, outline_known = _outline(tree)
    inferred = np.zeros((count, len(PARTS)), bool)
    place = _places(tree, names, on_trunk, outline, inferred)
    trunk_radius = _trunk_radius(tree, outline)
    base = np.where(np.isnan(rows.base_mm), rows.exit_mm, rows.base_mm)
    inferred[:, BASE] = np.isnan(base)
    azimuth, by_parent = _azimuths(tree, names, on_trunk, fraction, inferred)
    elevation, rising = _elevations(tree, names, kind, place / outline, fraction, inferred)
    highest = float(np.nanmax(np.where(on_trunk & ~rows.gone, place, 0.0), initial=0.0))
    length = _lengths(tree, kind, depth, place, base, outline, inferred)
    free = (rows.running == 1) | (rows.job == _SACRIFICE)
    free |= ~inferred[:, LENGTH] & ~inferred[:, ANGLE]
    for row in range(1, count):
        free[row] |= rows.parent[row] > 0 and free[rows.parent[row]]
    return Known(
        parent=rows.parent, depth=depth, drawn=~rows.gone, scar=kind[Kind.SCAR],
        top=kind[Kind.TOP], root=kind[Kind.ROOT], place_mm=place, length_mm=length,
        azimuth_deg=azimuth, azimuth_of_parent=by_parent, elevation_deg=elevation,
        elevation_of_parent=rising, base_mm=base, open_mm=rows.open_mm, free=free,
        inferred=inferred, fraction=fraction, outline_mm=outline, outline_known=outline_known,
        ceiling_mm=max(outline, highest * 1.03), trunk_radius_mm=trunk_radius,
    )  # fmt: skip


def fractions(tree: str, ids: tuple[str, ...]) -> Floats:
    """Return numbers between 0 and 1 that depend on the identities alone.

    Returns
    -------
    (N, 8) float
    """
    digests = b"".join(
        hashlib.blake2b(f"{tree}/{one}".encode(), digest_size=2 * FRACTIONS).digest() for one in ids
    )
    return np.frombuffer(digests, np.uint16).reshape(-1, FRACTIONS) / 65535.0


def _depths(parent: Ints) -> Ints:
    depth = [0] * len(parent)
    for row, up in enumerate(parent.tolist()):
        depth[row] = 0 if up < 0 else depth[up] + 1
    return np.asarray(depth, np.int32)


def _outline(tree: Tree) -> tuple[float, bool]:
    """Return the agreed outline, else what the heights or the trunk make likely."""
    given = tree.facts.get("height_mm")
    if isinstance(given, int | float) and given >= 1.0:
        return float(given), True
    heights = tree.branches.height_mm
    if (heights >= LOWEST_MM).any():
        return float(np.nanmax(heights)) * 1.18, False
    trunk = tree.facts.get("trunk_mm")
    return (max(60.0, 7.0 * float(trunk)) if isinstance(trunk, int | float) else 400.0), False


def _trunk_radius(tree: Tree, outline: float) -> float:
    read = [float(v) for v in [tree.facts.get("trunk_mm")] if isinstance(v, int | float)]
    beside = tree.branches.trunk_mm[tree.branches.parent == 0]
    beside = beside[~np.isnan(beside)]
    if not read and len(beside):
        read = [1.08 * float(beside.max())]
    return (read[0] if read else outline / 8.0) / 2.0


# --- where each part starts ----------------------------------------------------------------------


def _places(
    tree: Tree,
    names: list[BranchName],
    on_trunk: npt.NDArray[np.bool_],
    outline: float,
    inferred: npt.NDArray[np.bool_],
) -> Floats:
    """Return heights of parts on the trunk and distances along of the others."""
    rows = tree.branches
    place = np.where(on_trunk, rows.height_mm, rows.along_mm)
    inferred[:, PLACE] = np.isnan(place)
    inferred[0, PLACE] = False
    place[0] = 0.0
    number = np.asarray([np.nan if name.number is None else name.number for name in names])
    told = on_trunk & ~np.isnan(place) & ~np.isnan(number)
    top = rows.kind == _KINDS.index(Kind.TOP)
    spread = on_trunk & np.isnan(place) & ~top
    if spread.any():
        place[spread] = _spread_heights(number, told, spread, place, outline)
    place[on_trunk & np.isnan(place)] = 0.0
    highest = max(float(place[on_trunk].max(initial=0.0)), 0.75 * outline)
    untold_top = top & on_trunk & inferred[:, PLACE]
    place[untold_top] = min(highest * 1.06, max(0.94 * outline, highest))
    place[(rows.kind == _KINDS.index(Kind.ROOT)) & inferred[:, PLACE]] = 0.0
    return place


def _spread_heights(
    number: Floats,
    told: npt.NDArray[np.bool_],
    spread: npt.NDArray[np.bool_],
    place: Floats,
    outline: float,
) -> Floats:
    """Set heights that were not told by number between those that were, else evenly."""
    low, high = 0.2 * outline, 0.86 * outline
    rank = np.flatnonzero(spread)
    order = np.where(np.isnan(number[rank]), np.arange(len(rank)) + 1.0, number[rank])
    last = max(float(order.max()), float(np.nanmax(number[told], initial=1.0))) + 1.0
    known = np.flatnonzero(told)[np.argsort(number[told], kind="stable")]
    at = np.concatenate([[0.0], number[known], [last]])
    heights = np.maximum.accumulate(np.concatenate([[0.0], place[known], [0.0]]))
    heights[0] = min(low, heights[1]) if len(known) else low
    heights[-1] = max(high, heights[-2])
    return np.interp(order, at, heights)


# --- which way it goes ---------------------------------------------------------------------------


def _azimuths(
    tree: Tree,
    names: list[BranchName],
    on_trunk: npt.NDArray[np.bool_],
    fraction: Floats,
    inferred: npt.NDArray[np.bool_],
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return azimuths, and where they are counted from the parent's line."""
    rows = tree.branches
    azimuth = (clock_now(tree) - 6.0) * 30.0
    unknown = np.isnan(azimuth)
    inferred[:, DIRECTION] = unknown & np.isnan(rows.plan_angle_deg)
    sides = [SIDE_AZIMUTH.get(n.side, _SCAR_SIDE.get(n.word[5:], np.nan)) for n in names]
    sided = np.where(on_trunk, np.asarray(sides), np.nan) - tree.front_deg
    sided += 36.0 * (fraction[:, 0] - 0.5)
    turned = GOLDEN_DEG * np.arange(len(names)) + 360.0 * fraction[0, 1] - tree.front_deg
    azimuth = np.where(unknown, np.where(np.isnan(sided), turned, sided), azimuth)
    top = rows.kind == _KINDS.index(Kind.TOP)
    azimuth = np.where(unknown & top, 30.0 * (fraction[:, 0] - 0.5) - tree.front_deg, azimuth)
    by_parent = unknown & ~on_trunk & ~top
    by_parent[0] = False
    angle = np.where(np.isnan(rows.plan_angle_deg), 38.0 + 16.0 * fraction[:, 1],
                     rows.plan_angle_deg)  # fmt: skip
    way = np.asarray([_way(name, fraction[row, 2]) for row, name in enumerate(names)])
    return np.where(by_parent, way * angle, azimuth), by_parent


def _way(name: BranchName, fraction: float) -> float:
    """Return 1 for the right looking out, -1 for the left; by turns where the name does not say."""
    step = name.path[-1] if name.path else ""
    if step.endswith(("l", "r")):
        return 1.0 if step.endswith("r") else -1.0
    if step.endswith(("u", "d")) or step == "end":
        return 0.25 if fraction > 0.5 else -0.25
    digits = step.rstrip("lrud")
    odd = int(digits) % 2 == 1 if digits.isdigit() else fraction > 0.5
    return -1.0 if odd else 1.0


def _elevations(
    tree: Tree,
    names: list[BranchName],
    kind: dict[Kind, npt.NDArray[np.bool_]],
    share: Floats,
    fraction: Floats,
    inferred: npt.NDArray[np.bool_],
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return angles above level, and where they are counted from the parent's own angle."""
    rows = tree.branches
    unknown = np.isnan(rows.elevation_deg)
    inferred[:, ANGLE] = unknown
    wander = fraction[:, 3] - 0.5
    share = np.clip(np.where(np.isnan(share), 0.5, share), 0.0, 1.0)
    likely = 13.0 + 38.0 * share**1.4 + 12.0 * wander
    likely[kind[Kind.TOP]] = 80.0 + 8.0 * wander[kind[Kind.TOP]]
    likely[kind[Kind.ROOT]] = -4.0
    steps = [name.path[-1] if name.path else "" for name in names]
    lift = np.asarray([48.0 if s.endswith("u") else -14.0 if s.endswith("d") else 7.0
                       for s in steps])  # fmt: skip
    rising = unknown & (rows.parent > 0) & ~kind[Kind.TOP] & ~kind[Kind.ROOT]
    likely = np.where(rising, lift + 30.0 * wander, likely)
    return np.where(unknown, likely, rows.elevation_deg), rising


# --- how long it is ------------------------------------------------------------------------------

CROWN_SHARE = 0.52
"""Reach of a branch at the soil over the height of the outline, where nothing is measured."""
TOP_SHARE = 0.78
"""How far a leader goes up to the outline; fine twigs fill the rest."""
SHORTEST_MM = 0.5
"""A line shorter than this is drawn so long, that it has a direction. [mm]"""
SLENDER, LEAST_SLENDER = 34.0, 9.0
"""Length over base: no guess is longer or shorter than so."""


def _lengths(
    tree: Tree,
    kind: dict[Kind, npt.NDArray[np.bool_]],
    depth: Ints,
    place: Floats,
    base: Floats,
    outline: float,
    inferred: npt.NDArray[np.bool_],
) -> Floats:
    """Return lengths: read, else from the room to the outline, else from the crown's width."""
    rows = tree.branches
    from_room = rows.room_mm * (1.0 + NODE_ONE_SHARE)
    length = np.where(np.isnan(rows.length_mm), from_room, rows.length_mm)
    length = np.where(length > 0, length, np.nan)
    inferred[:, LENGTH] = np.isnan(rows.length_mm)
    least = np.zeros(len(rows))
    shoots = (depth > 1) & ~rows.gone & ~np.isnan(rows.along_mm)
    np.maximum.at(least, rows.parent[shoots], rows.along_mm[shoots] * 1.15)
    share = np.clip(place / outline, 0.0, 0.97)
    reach = CROWN_SHARE * outline * (1.0 - share) ** 0.75
    crown = (depth == 1) & ~kind[Kind.SCAR] & ~kind[Kind.ROOT] & ~kind[Kind.TOP]
    both = crown & ~np.isnan(length) & ~rows.gone
    width = float(np.clip(np.median((length / reach)[both]), 0.5, 2.0)) if both.any() else 1.0
    likely = _primary_lengths(tree, kind, reach * width, place, base, outline)
    for level in range(2, int(depth.max(initial=0)) + 1):
        here = depth == level
        known = np.where(np.isnan(length), np.maximum(likely, least), length)
        likely[here] = _shoot_lengths(known, rows.parent, place, base, here, inferred)[here]
    running = (rows.running == 1) & np.isnan(length)
    further = np.where(np.isnan(rows.extension_mm), 0.25 * likely, rows.extension_mm)
    likely = np.where(running, likely + further, likely)
    length = np.where(np.isnan(length), np.maximum(np.maximum(likely, least), 4.0), length)
    return np.maximum(length, SHORTEST_MM)


def _primary_lengths(
    tree: Tree,
    kind: dict[Kind, npt.NDArray[np.bool_]],
    reach: Floats,
    place: Floats,
    base: Floats,
    outline: float,
) -> Floats:
    rows = tree.branches
    likely = np.clip(reach, LEAST_SLENDER * np.nan_to_num(base), np.where(
        np.isnan(base), np.inf, SLENDER * base))  # fmt: skip
    room_up = np.maximum(outline - place, 0.06 * outline)
    likely = np.where(kind[Kind.TOP], TOP_SHARE * room_up, likely)
    likely = np.where(kind[Kind.ROOT], 0.22 * outline, likely)
    sacrifice = rows.job == _SACRIFICE
    long = np.clip(SLENDER * np.where(np.isnan(base), 0.02 * outline, base), 0.0, 0.75 * outline)
    return np.where(sacrifice, np.maximum(likely, long), likely)


def _shoot_lengths(
    length: Floats,
    parent: Ints,
    place: Floats,
    base: Floats,
    here: npt.NDArray[np.bool_],
    inferred: npt.NDArray[np.bool_],
) -> Floats:
    """Return lengths of side shoots: what is left of the branch beyond them, by their thickness."""
    whole = length[parent]
    told = np.where(np.isnan(place), 0.55 * whole, np.minimum(place, 0.97 * whole))
    place[here] = np.where(inferred[here, PLACE], _spread_along(parent, whole, here)[here],
                           told[here])  # fmt: skip
    left = np.maximum(whole - place, 0.0)
    thick = np.clip(0.55 + 0.9 * np.nan_to_num(base / base[parent], nan=0.5), 0.6, 1.25)
    likely = (0.6 * left + 0.14 * whole) * thick
    likely = np.maximum(likely, np.minimum(LEAST_SLENDER * np.nan_to_num(base), 0.8 * whole))
    return np.minimum(likely, np.where(np.isnan(base), np.inf, SLENDER * base))


def _spread_along(parent: Ints, whole: Floats, here: npt.NDArray[np.bool_]) -> Floats:
    """Return starts spread evenly along the branch, in the order of the shoots."""
    rows = np.flatnonzero(here)
    up = parent[rows]
    order = np.argsort(up, kind="stable")
    sorted_up = up[order]
    fresh = np.flatnonzero(np.r_[True, sorted_up[1:] != sorted_up[:-1]])
    sizes = np.diff(np.r_[fresh, len(rows)])
    rank = np.empty(len(rows))
    rank[order] = np.arange(len(rows)) - np.repeat(fresh, sizes)
    of = np.empty(len(rows))
    of[order] = np.repeat(sizes, sizes)
    at = np.full(len(parent), np.nan)
    at[rows] = whole[rows] * (0.24 + 0.64 * (rank + 0.5) / of)
    return at
