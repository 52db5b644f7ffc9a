"""Lines of a tree on a flat page: seen from a turn of the turntable, as filled brush strokes.

A stroke is the outline of a line's thickness, smooth on both sides. All strokes of as many points
are worked out together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.report.drawing_model import Drawing
    from boughwright.tree.model import Floats
    from boughwright.tree.shape_lines import Rows

LEAST_PX = 0.45
"""Thinnest half stroke that still prints. [px]"""
SHARES = np.asarray([0.0, 0.035, 0.09, 0.18, 0.29, 0.41, 0.54, 0.67, 0.79, 0.9, 1.0])
"""Where a stroke is sampled, close together at its collar."""
COLLAR = 0.4
"""How much wider a branch is drawn at its collar than at its base."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A tree as it is seen and laid on a page. Lengths in px, y downward.

    Parameters
    ----------
    scale : float
        px a mm.
    across, soil : float
        Where the foot of the trunk stands on the page.
    xy : (M, 2) float
        Points of the lines.
    near : (M,) float
        How near the viewer, over the tree's half width: -1 far, 1 near.
    radius : (M,) float
    twigs : (W, 2, 2) float
    turn_deg : float
    """

    scale: float
    across: float
    soil: float
    xy: Floats
    near: Floats
    radius: Floats
    twigs: Floats
    turn_deg: float


def seen_from(
    drawing: Drawing, turn_deg: float, *, scale: float, across: float, soil: float
) -> Seen:
    """Lay a tree on a page as seen with the front moved so many degrees clockwise from above."""
    turn = np.radians(turn_deg)
    radius = drawing.radius * scale
    for part, branch in enumerate(drawing.branches):
        if branch.kind == "scar":
            radius[drawing.span(part)] *= _faces(drawing, part, turn)
    half = max(float(np.hypot(drawing.points[:, 0], drawing.points[:, 2]).max()), 1.0)

    def lay(points: Floats) -> Floats:
        x = points[..., 0] * np.cos(turn) + points[..., 2] * np.sin(turn)
        return np.stack([across + scale * x, soil - scale * points[..., 1]], axis=-1)

    z = drawing.points[:, 2] * np.cos(turn) - drawing.points[:, 0] * np.sin(turn)
    return Seen(
        scale=scale,
        across=across,
        soil=soil,
        xy=lay(drawing.points),
        near=z / half,
        radius=radius,
        twigs=lay(drawing.twigs),
        turn_deg=turn_deg,
    )


def _faces(drawing: Drawing, part: int, turn: float) -> float:
    """Return how wide a scar shows: 1 when it faces the viewer, next to nothing from its side."""
    middle = drawing.points[drawing.span(part)].mean(axis=0)
    host = drawing.points[drawing.span(max(drawing.branches[part].parent, 0))]
    off = middle - host[np.abs(host[:, 1] - middle[1]).argmin()]
    towards = off[2] * np.cos(turn) - off[0] * np.sin(turn)
    return float(np.clip(abs(towards) / max(np.hypot(off[0], off[2]), 1e-6), 0.12, 1.0))


@dataclass(frozen=True, slots=True)
class Stroke:
    """One line as it is drawn: (P, 2) points and (P,) radii from its bark outward, in px."""

    xy: Floats
    radius: Floats
    round_foot: bool = True

    def along(self, shares: Floats) -> tuple[Floats, Floats, Floats]:
        """Return points (S, 2), directions (S, 2) and radii (S,) at shares of its drawn length."""
        way = self.xy[1:] - self.xy[:-1]
        steps = np.sqrt((way**2).sum(axis=1))
        ends = np.cumsum(steps)
        here = np.minimum(np.maximum(shares, 0.0), 1.0) * ends[-1]
        left = np.minimum(np.searchsorted(ends, here, side="right"), len(steps) - 1)
        size = np.maximum(steps[left], 1e-6)
        rest = np.minimum((here - (ends[left] - steps[left])) / size, 1.0)
        unit = way[left] / size[:, None]
        unit[steps[left] < 1e-6] = (0.0, -1.0)
        radius = self.radius[left] + rest * (self.radius[left + 1] - self.radius[left])
        return self.xy[left] + rest[:, None] * way[left], unit, radius

    def at(self, share: float) -> tuple[Floats, Floats, float]:
        """Return point, direction (unit) and radius at one share of its drawn length."""
        point, unit, radius = self.along(np.asarray([share]))
        return point[0], unit[0], float(radius[0])

    @property
    def length(self) -> float:
        """Return the length as drawn, in px."""
        return float(np.hypot(*np.diff(self.xy, axis=0).T).sum())

    def part(self, start: float, end: float, count: int = 7) -> Stroke:
        """Return the stretch between two shares of the stroke."""
        xy, _, radius = self.along(np.linspace(start, end, count))
        return Stroke(xy, radius)


def strokes(drawing: Drawing, seen: Seen) -> tuple[list[Stroke], list[Stroke | None]]:
    """Return the stroke of each part up to its cut, and what is beyond the cut, None where whole.

    A line starts inside its parent; its stroke starts at the bark.
    """
    counts = np.diff(drawing.first)
    lengths = _lengths(drawing)
    drawn: list[Stroke | None] = [None] * len(counts)
    beyond: list[Stroke | None] = [None] * len(counts)
    cut = np.asarray([np.nan if b.cut_mm is None else b.cut_mm for b in drawing.branches])
    scar = np.asarray([b.kind == "scar" for b in drawing.branches])
    trunk = np.arange(len(counts)) == 0
    for count in np.unique(counts):
        here = np.flatnonzero(counts == count)
        start = np.minimum(0.8 * drawing.sunk_mm[here], 0.8 * lengths[here])
        end = np.where(np.isnan(cut[here]), lengths[here], np.maximum(cut[here], start + 0.5))
        shares = np.linspace(0.0, 1.0, count) if count > 13 or count < 7 else SHARES
        if count == 7:
            shares = SHARES[::2] * 1.0
        made = _sampled(drawing, seen, here, start, end, shares, lengths[here])
        plain = scar[here] | trunk[here]
        collar = _collar(drawing, here, start, end, shares)
        collar[plain] = 1.0
        for k, part in enumerate(here):
            radius = np.maximum(made[1][k] * collar[k], LEAST_PX)
            drawn[part] = Stroke(made[0][k], radius, round_foot=not plain[k])
        rest = np.flatnonzero(~np.isnan(cut[here]))
        if len(rest):
            xy, radius = _sampled(
                drawing, seen, here[rest], end[rest], lengths[here[rest]], shares,
                lengths[here[rest]],
            )  # fmt: skip
            for k, part in enumerate(here[rest]):
                beyond[part] = Stroke(xy[k], radius[k])
    return [stroke for stroke in drawn if stroke is not None], beyond


def _lengths(drawing: Drawing) -> Floats:
    steps = np.linalg.norm(np.diff(drawing.points, axis=0), axis=1)
    whole = np.concatenate([[0.0], np.cumsum(steps)])
    return np.asarray(whole[drawing.first[1:] - 1] - whole[drawing.first[:-1]])


def _sampled(
    drawing: Drawing,
    seen: Seen,
    here: Rows,
    start: Floats,
    end: Floats,
    shares: Floats,
    lengths: Floats,
) -> tuple[Floats, Floats]:
    """Return points (K, S, 2) and radii (K, S) of lines between two distances along them."""
    count = int(drawing.first[here[0] + 1] - drawing.first[here[0]])
    mm = start[:, None] + (end - start)[:, None] * shares[None]
    place = mm / np.maximum(lengths, 1e-9)[:, None] * (count - 1)
    left = np.clip(place.astype(int), 0, count - 2)
    rest = place - left
    index = drawing.first[here][:, None] + left
    xy = seen.xy[index] * (1 - rest[..., None]) + seen.xy[index + 1] * rest[..., None]
    radius = seen.radius[index] * (1 - rest) + seen.radius[index + 1] * rest
    return xy, radius


def _collar(drawing: Drawing, here: Rows, start: Floats, end: Floats, shares: Floats) -> Floats:
    base = np.maximum(drawing.radius[drawing.first[here]], 0.2)
    out = (end - start)[:, None] * shares[None]
    return np.asarray(1.0 + COLLAR * np.exp(-out / (0.9 * base)[:, None]))


# --- to path text --------------------------------------------------------------------------------


def outlines(made: Sequence[Stroke]) -> list[str]:
    """Return the closed outline of each stroke as path text."""
    texts = [""] * len(made)
    groups: dict[int, list[int]] = {}
    for place, stroke in enumerate(made):
        groups.setdefault(len(stroke.radius), []).append(place)
    for count, places in groups.items():
        xy = np.stack([made[p].xy for p in places])
        radius = np.stack([made[p].radius for p in places])
        left, right = _sides(xy, radius)
        out, back = _curve(left), _curve(right[:, ::-1])
        foot = xy[:, 0] + (xy[:, 0] - (left[:, 1] + right[:, 1]) / 2.0) * _bulge(xy, radius)
        stands = np.asarray([not made[p].round_foot for p in places])
        foot[stands] = xy[stands, 0]
        numbers = np.concatenate(
            [left[:, 0], out.reshape(len(places), -1), right[:, -1],
             back.reshape(len(places), -1), foot, left[:, 0]], axis=1
        )  # fmt: skip
        curve = "C" + " ".join(["%.1f"] * (6 * (count - 1)))
        form = f"M%.1f %.1f{curve}L%.1f %.1f{curve}Q%.1f %.1f %.1f %.1fZ"
        for place, row in zip(places, numbers.tolist(), strict=True):
            texts[place] = form % tuple(row)
    return texts


def _bulge(xy: Floats, radius: Floats) -> Floats:
    """Return how far the foot of a stroke is rounded out, over the length of its first step."""
    step = np.hypot(*(xy[:, 1] - xy[:, 0]).T)
    return np.asarray((radius[:, 0] / np.maximum(step, 0.5))[:, None])


def centre(stroke: Stroke) -> str:
    """Return the middle of a stroke as smooth open path text."""
    first = stroke.xy[0]
    curve = _curve(stroke.xy[None])[0].ravel().tolist()
    return f"M{first[0]:.1f} {first[1]:.1f}C" + " ".join(["%.1f"] * len(curve)) % tuple(curve)


def polyline(points: Floats) -> str:
    """Return straight path text through (P, 2) points."""
    flat = points.ravel().tolist()
    return ("M%.1f %.1fL" + " ".join(["%.1f"] * (len(flat) - 2))) % tuple(flat)


def dashes(lines: Floats) -> str:
    """Return path text of many straight lines (K, 2, 2) at once."""
    rows = lines.reshape(len(lines), -1)
    numbers = np.concatenate([rows[:, :2], rows[:, 2:] - rows[:, :2]], axis=1)
    return ("M%.1f %.1fl%.1f %.1f" * len(rows)) % tuple(numbers.ravel().tolist())


def _sides(xy: Floats, radius: Floats) -> tuple[Floats, Floats]:
    way = np.gradient(xy, axis=1)
    size = np.hypot(way[..., 0], way[..., 1])
    whole = xy[:, -1] - xy[:, 0]
    span = np.maximum(np.hypot(whole[:, 0], whole[:, 1]), 1e-6)
    mean = (whole / span[:, None])[:, None]
    # Where a line runs towards the viewer it has no direction on the page: take the whole line's.
    flat = (size < 0.25)[..., None]
    unit = np.where(flat, mean, way / np.maximum(size, 1e-6)[..., None])
    normal = np.stack([-unit[..., 1], unit[..., 0]], axis=-1)
    return xy + normal * radius[..., None], xy - normal * radius[..., None]


def _curve(points: Floats) -> Floats:
    """Return control points (K, P - 1, 3, 2) of smooth curves through points (K, P, 2)."""
    before = np.concatenate([points[:, :1], points[:, :-1]], axis=1)
    after = np.concatenate([points[:, 1:], points[:, -1:]], axis=1)
    lean = (after - before) / 6.0
    return np.stack(
        [points[:, :-1] + lean[:, :-1], points[:, 1:] - lean[:, 1:], points[:, 1:]], axis=2
    )
