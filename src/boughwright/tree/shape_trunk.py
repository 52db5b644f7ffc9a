"""The trunk's line: taper through the readings beside its branches, and a gentle movement.

The trunk leans towards each branch where it leaves, as the outside of a bend is where branches
stand. How far is a starting value, set by eye.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.tree.shape_lines import Line, heading

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Tree
    from boughwright.tree.shape_known import Known

POINTS = 49
FLARE = 0.9
"""How much wider than the trunk the root flare is drawn at the soil."""
TIP_SHARE = 0.08
"""Thickness at the end of a trunk without a leader, over its thickness at the foot."""


def trunk_line(tree: Tree, known: Known) -> Line:
    """Return the line of the trunk, from the soil to its leader or to the outline.

    The radius never grows upward. A reading that stands far off both its neighbours is passed
    over; readings that still rise upward are evened out between them.
    """
    end, tip = _end(known)
    height = end * np.linspace(0.0, 1.0, POINTS) ** 1.15
    radius = _taper(tree, known, height, end, tip)
    out = height / (known.trunk_radius_mm + 1e-9)
    flare = 1.0 + FLARE * (0.62 * np.exp(-out / 0.5) + 0.38 * np.exp(-out / 0.12))
    x, z = _movement(tree, known, height, radius)
    points = np.stack([x, height, z], axis=1)
    return Line(np.zeros(1, np.int32), points[None], (radius * flare)[None], np.zeros(1))


def _end(known: Known) -> tuple[float, float]:
    """Return the height where the trunk ends and its radius there, nan when no leader tells it."""
    tops = np.flatnonzero(known.top & known.drawn & (known.depth == 1))
    others = known.drawn & (known.depth == 1) & ~known.top & ~known.root
    highest = float(np.max(known.place_mm[others], initial=0.0))
    if len(tops):
        top = tops[np.argmax(known.place_mm[tops])]
        end = max(float(known.place_mm[top]), highest)
        return max(end, 1.0), float(known.base_mm[top]) / 2.0
    end = max(highest, 0.96 * known.outline_mm)
    return max(end, 1.0), TIP_SHARE * known.trunk_radius_mm


def _taper(tree: Tree, known: Known, height: Floats, end: float, tip: float) -> Floats:
    rows = tree.branches
    told = known.drawn & (known.depth == 1) & ~np.isnan(rows.trunk_mm)
    order = np.argsort(known.place_mm[told], kind="stable")
    at, read = known.place_mm[told][order], rows.trunk_mm[told][order] / 2.0
    at, read = np.r_[0.0, at], np.r_[known.trunk_radius_mm, read]
    read = np.minimum(falling(without_strays(read)), read[0])
    last = float(read[-1])
    tip = min(0.9 * last if np.isnan(tip) else tip, last)
    if at[-1] < end - 1e-6:
        at, read = np.r_[at, end], np.r_[read, tip]
    radius = np.interp(height, at, read)
    # The last stretch, two diameters, closes down to the base of the leader.
    near = np.clip((height - (end - 4.0 * last)) / (4.0 * last + 1e-9), 0.0, 1.0) ** 2
    radius = np.minimum(radius, radius + (tip - last) * near)
    smooth = np.convolve(np.pad(radius, 2, mode="edge"), np.ones(5) / 5.0, mode="valid")
    return np.minimum.accumulate(np.maximum(smooth, 0.3))


def without_strays(read: Floats) -> Floats:
    """Return readings up the trunk with each that stands off both neighbours put between them.

    A reading strays when it is over an eighth more than the one below, or under the one above by
    as much.
    """
    mended = read.copy()
    for place in range(1, len(read) - 1):
        below, above = mended[place - 1], read[place + 1]
        strays = read[place] > 1.125 * below or read[place] < above / 1.125
        if strays and above <= below:
            mended[place] = (below + above) / 2.0
    return mended


def falling(values: Floats) -> Floats:
    """Return the nearest values that never rise, by pooling neighbours that do (least squares)."""
    means: list[float] = []
    sizes: list[int] = []
    for value in values.tolist():
        means.append(value)
        sizes.append(1)
        while len(means) > 1 and means[-2] < means[-1]:
            size = sizes[-2] + sizes[-1]
            means[-2:] = [(means[-2] * sizes[-2] + means[-1] * sizes[-1]) / size]
            sizes[-2:] = [size]
    return np.repeat(np.asarray(means, np.float64), sizes)


def _movement(tree: Tree, known: Known, height: Floats, radius: Floats) -> tuple[Floats, Floats]:
    """Return how far the trunk stands off the plumb line, to the right and to the viewer, in mm."""
    on = known.drawn & (known.depth == 1) & ~known.scar & ~known.root & ~known.top
    tall = known.outline_mm
    pull = np.zeros((2, len(height)))
    if on.any():
        at, towards = known.place_mm[on], heading(known.azimuth_deg[on], 0.0 * known.place_mm[on])
        strength = 0.62 * np.interp(at, height, radius)
        near = np.exp(-0.5 * ((height[:, None] - at[None]) / (0.055 * tall)) ** 2)
        weight = near / (near.sum(axis=1, keepdims=True) + 0.35)
        pull = np.stack([weight @ (strength * towards[:, 0]), weight @ (strength * towards[:, 2])])
    first, second = known.fraction[0, 2], known.fraction[0, 3]
    share = height / tall
    swing = 0.036 * tall * np.sin(2.0 * np.pi * (0.95 * share + first)) * np.sqrt(share)
    aside = np.asarray(90.0 + 60.0 * (second - 0.5) - tree.front_deg)
    way = heading(aside, np.zeros(()))
    x, z = pull[0] + swing * way[0], pull[1] + swing * way[2]
    rooted = 1.0 - np.exp(-((height / (0.08 * tall)) ** 2))
    return (x - x[0]) * rooted, (z - z[0]) * rooted
