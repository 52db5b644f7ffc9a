"""The marks of a drawing: what is to be done, drawn as part of the branch's line.

Each mark is a few plain path texts in the colour of its branch. A mark that crosses the ink has a
thin edge of paper, so that it reads on the dark line too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.report.drawing_model import Mark
from boughwright.report.drawing_paths import centre, dashes, polyline

if TYPE_CHECKING:
    from collections.abc import Callable

    from boughwright.report.drawing_model import DrawnBranch
    from boughwright.report.drawing_paths import Stroke
    from boughwright.tree.model import Floats

UP = np.asarray([0.0, -1.0])
LINE = 2.0
"""Thickness of a mark's line. [px]"""
EDGE = 1.1
"""Paper on each side of it. [px]"""


def mark_paths(branch: DrawnBranch, stroke: Stroke) -> str:
    """Return the mark of a branch as markup; empty for the plain line."""
    make = _MAKERS.get(branch.mark)
    return make(stroke) if make else ""


def bar(stroke: Stroke) -> str:
    """Return the small bar beside a branch that must not be touched."""
    point, way, radius = stroke.at(0.4)
    side = _under(way)
    middle = point + side * (radius + 4.5)
    half = way * 6.5
    return _path(polyline(np.stack([middle - half, middle + half])), 3.2)


def reached_line(stroke: Stroke, reached: float) -> str:
    """Return the finer second line beside a branch, as long as the share its base has reached.

    A tick stands at the end of the line, another where all of it would be.
    """
    share = float(np.clip(reached, 0.0, 1.0))
    shares = np.append(np.linspace(0.04, max(0.96 * share, 0.05), 8), [0.5, 0.96])
    points, ways, radii = stroke.along(shares)
    side = -_under(ways[8])
    beside = points + side * (radii + 3.0)[:, None]
    goal = np.stack([beside[9] - side * 1.6, beside[9] + side * 2.4])
    return f'<path d="{polyline(beside[:8])}"/><path d="{polyline(goal)}"/>'


def _path(text: str, width: float = LINE, more: str = "") -> str:
    return (
        f'<path class="under" d="{text}" stroke="#fff" stroke-width="{width + 2 * EDGE:g}"/>'
        f'<path d="{text}" stroke-width="{width:g}"{more}/>'
    )


def _under(way: Floats) -> Floats:
    """Return the unit vector across a direction that points down the page."""
    side = np.asarray([-way[1], way[0]])
    return side if side[1] > 0 else -side


def _run(stroke: Stroke) -> str:
    tip, way, radius = stroke.at(1.0)
    way = way + 0.35 * UP
    way /= np.hypot(*way)
    size = float(np.clip(0.4 * stroke.length, 24.0, 46.0))
    bend = tip + way * size * 0.55
    end = tip + way * size * 0.9 + UP * size * 0.22
    text = f"M{tip[0]:.1f} {tip[1]:.1f}Q{bend[0]:.1f} {bend[1]:.1f} {end[0]:.1f} {end[1]:.1f}"
    return _path(text, max(1.9, min(2.0 * radius, 3.0)), ' stroke-dasharray="5 4"')


def _cut(stroke: Stroke) -> str:
    point, way, radius = stroke.at(1.0)
    # The stroke stands at the last wood left, across the line, leaning as a blade would.
    across = np.asarray([-way[1], way[0]]) + 0.25 * way
    across /= np.hypot(*across)
    half = across * (radius + 6.5)
    return _path(polyline(np.stack([point - half, point + half])), 2.6)


def _coil(stroke: Stroke, shares: Floats) -> str:
    points, ways, radii = stroke.along(shares)
    across = np.stack([-ways[:, 1], ways[:, 0]], axis=1)
    half = across * (radii + 2.8)[:, None] + ways * 2.4
    return _path(dashes(np.stack([points - half, points + half], axis=1)), 1.7)


def _rounds(stroke: Stroke) -> Floats:
    count = int(np.clip(stroke.length / 8.0, 3, 13))
    return np.linspace(0.14, 0.78, count)


def _wire_on(stroke: Stroke) -> str:
    return _coil(stroke, _rounds(stroke))


def _wire_off(stroke: Stroke) -> str:
    shares = _rounds(stroke)
    if len(shares) < 6:
        return _coil(stroke, shares[[0, -1]]) + _loose(stroke, float(shares.mean()))
    third = len(shares) // 3
    kept = np.concatenate([shares[:third], shares[-third:]])
    return _coil(stroke, kept) + _loose(stroke, float(shares.mean()))


def _loose(stroke: Stroke, share: float) -> str:
    """Return the open end of a broken coil, standing off the branch."""
    point, way, radius = stroke.at(share)
    side = _under(way)
    near = point + side * (radius + 1.0) - way * 2.0
    far = point + side * (radius + 7.0) + way * 3.0
    return _path(polyline(np.stack([near, far])), 1.7)


def _raise(stroke: Stroke) -> str:
    tip, way, _ = stroke.at(1.0)
    out = 1.0 if way[0] >= 0 else -1.0
    start = tip + np.asarray([out * 5.0, 1.0])
    top = start + np.asarray([out * 5.0, -21.0])
    text = (
        f"M{start[0]:.1f} {start[1]:.1f}q{out * 9:.1f} -8 {top[0] - start[0]:.1f} -21"
        f"m{-5.5:.1f} 4.5l{5.5 + out * 0.4:.1f} -5l{5.0 - out * 0.4:.1f} 5.5"
    )
    return _path(text)


def _guy(stroke: Stroke) -> str:
    point, _, radius = stroke.at(0.6)
    foot = point + np.asarray([0.0, radius + 30.0])
    text = f"M{point[0]:.1f} {point[1]:.1f}L{foot[0]:.1f} {foot[1]:.1f}m-4 0h8"
    return _path(text, 1.4)


def _graft(stroke: Stroke) -> str:
    shares = np.append(np.linspace(0.02, 0.62, 7), [0.1, 0.2, 0.3])
    points, ways, radii = stroke.along(shares)
    side = -_under(ways[4])
    off = radii + 2.6 + 20.0 * np.maximum(shares - 0.4, 0.0)
    shoot = (points + side * off[:, None])[:7]
    near = points + side * (radii + 4.6)[:, None]
    far = points - side * (radii + 2.2)[:, None]
    ticks = np.stack([near, far], axis=1)[7:]
    return _path(polyline(shoot), 1.7) + _path(dashes(ticks), 1.5)


def _thin(stroke: Stroke) -> str:
    points, ways, radii = stroke.along(np.asarray([0.66, 0.78, 0.9]))
    side = -_under(ways[1])
    start = points + side * (radii + 2.0)[:, None]
    return _path(dashes(np.stack([start, start + side * 6.0 + ways * 3.0], axis=1)), 1.8)


def _two(stroke: Stroke) -> str:
    tip, way, _ = stroke.at(1.0)
    across = np.asarray([-way[1], way[0]])
    arms = [tip + way * 11.0 + across * 6.5 * turn for turn in (-1.0, 1.0)]
    return _path(polyline(np.stack([arms[0], tip, arms[1]])), 1.9)


def _rim(stroke: Stroke) -> str:
    way = np.gradient(stroke.xy, axis=0)
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-6)[:, None]
    across = np.stack([-way[:, 1], way[:, 0]], axis=1) * (stroke.radius + 3.5)[:, None]
    loop = np.concatenate([stroke.xy + across, (stroke.xy - across)[::-1]])
    return _path(polyline(loop) + "Z", 1.8)


def _look(stroke: Stroke) -> str:
    point, _, radius = stroke.at(0.55)
    size = max(7.0, radius + 4.0)
    x, y = point
    ring = f"M{x - size:.1f} {y:.1f}a{size:.1f} {size:.1f} 0 1 0 {2 * size:.1f} 0"
    return _path(f"{ring}a{size:.1f} {size:.1f} 0 1 0 {-2 * size:.1f} 0")


_MAKERS: dict[Mark, Callable[[Stroke], str]] = {
    Mark.RUN: _run,
    Mark.CUT: _cut,
    Mark.WIRE_ON: _wire_on,
    Mark.WIRE_OFF: _wire_off,
    Mark.RAISE: _raise,
    Mark.GUY: _guy,
    Mark.GRAFT: _graft,
    Mark.THIN: _thin,
    Mark.TWO: _two,
    Mark.RIM: _rim,
    Mark.LOOK: _look,
}


def beyond_path(stroke: Stroke) -> str:
    """Return what a cut takes off, as a thin line."""
    return (
        f'<path class="beyond" d="{centre(stroke)}" stroke="currentColor" stroke-dasharray="1 3"/>'
    )
