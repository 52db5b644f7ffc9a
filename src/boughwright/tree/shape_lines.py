"""Lines of branches, a whole depth at a time: starts on the parents' lines, headings, thickness."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from boughwright.tree.shape_known import ANGLE

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.tree.model import Floats
    from boughwright.tree.shape_known import Known

Rows: TypeAlias = "npt.NDArray[np.integer[Any]]"
"""Positions of rows, of any whole number type."""

SOIL_CLEAR = 0.012
"""How far above the soil a branch keeps, over the height of the outline."""
STEEP_DEG = 62.0
"""Above this a parent has no plan of its own: its shoots go all round it."""
LEAST_RADIUS_MM, MOST_TIP_MM = 0.3, 1.1


@dataclass(frozen=True, slots=True)
class Line:
    """K lines of P points: ``points`` (K, P, 3), ``radius`` (K, P), ``rows`` (K,) of the tree.

    ``sunk`` (K,) is how deep inside its parent each line starts: the parent's radius there.
    """

    rows: Rows
    points: Floats
    radius: Floats
    sunk: Floats

    def one(self, place: int) -> Line:
        """Return one of the lines."""
        span = slice(place, place + 1)
        return Line(self.rows[span], self.points[span], self.radius[span], self.sunk[span])

    def with_rows(self, where: npt.NDArray[np.bool_], other: Line) -> Line:
        """Return the same lines with some of them taken from another."""
        points, radius, sunk = self.points.copy(), self.radius.copy(), self.sunk.copy()
        points[where], radius[where], sunk[where] = other.points, other.radius, other.sunk
        return Line(self.rows, points, radius, sunk)


def heading(azimuth_deg: Floats, elevation_deg: Floats) -> Floats:
    """Return unit vectors of directions: (...,) angles to (..., 3)."""
    azimuth, elevation = np.radians(azimuth_deg), np.radians(elevation_deg)
    level = np.cos(elevation)
    return np.stack([-np.sin(azimuth) * level, np.sin(elevation), np.cos(azimuth) * level], axis=-1)


def azimuth_of(vectors: Floats) -> Floats:
    """Return azimuths of directions in degrees."""
    return np.degrees(np.arctan2(-vectors[..., 0], vectors[..., 2]))


def elevation_of(vectors: Floats) -> Floats:
    """Return angles of directions above level in degrees."""
    return np.degrees(np.arctan2(vectors[..., 1], np.hypot(vectors[..., 0], vectors[..., 2])))


@dataclass(frozen=True, slots=True)
class _Starts:
    """Where K lines leave their parents: all (K, ...)."""

    points: Floats
    radius: Floats
    azimuth_deg: Floats
    elevation_deg: Floats


def starts_on(known: Known, here: Rows, parents: Line) -> _Starts:
    """Return the points on the parents' lines where lines start, exactly on them.

    On the trunk the place is a height, elsewhere a distance along the line.
    """
    where = np.searchsorted(parents.rows, known.parent[here])
    points, radius = parents.points[where], parents.radius[where]
    count = points.shape[1]
    steps = np.linalg.norm(np.diff(points, axis=1), axis=2)
    along = np.concatenate([np.zeros((len(here), 1)), np.cumsum(steps, axis=1)], axis=1)
    along = np.where((known.depth[here] == 1)[:, None], points[..., 1], along)
    place = np.clip(known.place_mm[here], along[:, 0], along[:, -1])
    left = np.clip((along <= place[:, None]).sum(axis=1) - 1, 0, count - 2)
    k = np.arange(len(here))
    span = along[k, left + 1] - along[k, left]
    share = np.where(span > 0, (place - along[k, left]) / np.where(span > 0, span, 1.0), 0.0)
    way = points[k, left + 1] - points[k, left]
    return _Starts(
        points=points[k, left] + share[:, None] * way,
        radius=radius[k, left] + share * (radius[k, left + 1] - radius[k, left]),
        azimuth_deg=azimuth_of(way),
        elevation_deg=elevation_of(way),
    )


def branch_lines(known: Known, here: Rows, parents: Line, count: int) -> Line:
    """Return the lines of one depth of parts.

    Parameters
    ----------
    known : Known
        What they are drawn from.
    here : (K,) int
        Their rows, in order.
    parents : Line
        Lines of the depth before.
    count : int
        Points a line.

    Returns
    -------
    Line
        Each starts on its parent, keeps above the soil and, unless free, under the outline.
    """
    start = starts_on(known, here, parents)
    t = np.linspace(0.0, 1.0, count)
    azimuth, elevation = _headings(known, here, start, t)
    way = heading(azimuth, elevation)
    middle = (way[:, 1:] + way[:, :-1]) / 2.0
    middle /= np.linalg.norm(middle, axis=2, keepdims=True)
    step = known.length_mm[here] / (count - 1)
    points = np.concatenate(
        [np.zeros((len(here), 1, 3)), np.cumsum(middle * step[:, None, None], axis=1)], axis=1
    )
    points += start.points[:, None]
    points[..., 1] = within(known, here, points[..., 1])
    sunk = np.where(known.top[here], 0.0, start.radius)  # a leader goes on from the end of the wood
    return Line(here, points, _radii(known, here, start, t), sunk)


def within(known: Known, rows: Rows, height: Floats) -> Floats:
    """Return heights (K, P) of lines drawn in, about their starts, to stay over soil and in crown.

    Free parts may pass the outline. A part that starts outside goes on level.
    """
    first = height[:, :1]
    floor = np.minimum(SOIL_CLEAR * known.outline_mm, first)
    low = height.min(axis=1, keepdims=True)
    rise = np.where(low < floor, (first - floor) / np.where(low < first, first - low, 1.0), 1.0)
    height = first + (height - first) * np.where(height < first, rise, 1.0)
    ceiling = np.where(known.free[rows][:, None], np.inf, np.maximum(known.ceiling_mm, first))
    high = height.max(axis=1, keepdims=True)
    span = np.where(high > first, high - first, 1.0)
    fall = np.where(high > ceiling, (ceiling - first) / span, 1.0)
    return np.asarray(first + (height - first) * np.where(height > first, fall, 1.0))


def _headings(known: Known, here: Rows, start: _Starts, t: Floats) -> tuple[Floats, Floats]:
    """Return azimuth and elevation (K, P): the known ones on the mean, bends around them."""
    f = known.fraction[here]
    upright = start.elevation_deg > STEEP_DEG
    own = known.azimuth_deg[here]
    round_parent = np.where(np.abs(own) > 30.0, 2.0, 8.0) * own + 40.0 * (f[:, 4] - 0.5)
    by_parent = np.where(upright, round_parent, start.azimuth_deg + own)
    azimuth = np.where(known.azimuth_of_parent[here], by_parent, own)
    likely = np.where(upright, 36.0, np.clip(start.elevation_deg, -10.0, 55.0))
    likely = np.clip(likely + known.elevation_deg[here], -35.0, 78.0)
    elevation = np.where(known.elevation_of_parent[here], likely, known.elevation_deg[here])
    elevation = np.where(known.inferred[here, ANGLE], _under_crown(known, here, start, elevation),
                         elevation)  # fmt: skip
    bend = 11.0 * np.sin(2.0 * np.pi * (1.25 * t[None] + f[:, 5:6]))
    bend += 6.0 * np.sin(2.0 * np.pi * (2.6 * t[None] + f[:, 6:7]))
    bend = bend + _pushed(known, here, t)
    # A shoot leaves its branch at a wide angle and turns outward with it, towards the light.
    aside = np.sin(np.radians(azimuth - start.azimuth_deg)) * ~upright * (known.depth[here] > 1)
    bend = bend + 22.0 * aside[:, None] * (1.0 - 2.0 * t)[None]
    arch = 15.0 * (1.0 - 3.0 * t + 2.7 * t**2)[None] * np.where(known.top[here], 0.9, 1.0)[:, None]
    arch = arch + 7.0 * np.sin(2.0 * np.pi * (1.4 * t[None] + f[:, 7:8]))
    bend -= bend.mean(axis=1, keepdims=True)
    arch -= arch.mean(axis=1, keepdims=True)
    return azimuth[:, None] + bend, np.clip(elevation[:, None] + arch, -88.0, 88.0)


def _under_crown(known: Known, here: Rows, start: _Starts, elevation: Floats) -> Floats:
    """Return angles that keep lines of their length under the outline: a leader leans over."""
    room = np.maximum(known.ceiling_mm - start.points[:, 1], 0.0)
    most = np.degrees(np.arcsin(np.clip(0.92 * room / known.length_mm[here], 0.0, 1.0)))
    return np.where(known.free[here], elevation, np.minimum(elevation, most))


def _pushed(known: Known, here: Rows, t: Floats) -> Floats:
    """Return how lines turn aside beyond each of their shoots, away from it: (K, P) degrees."""
    shoots = np.flatnonzero(known.drawn & np.isin(known.parent, here) & (known.parent > 0))
    turned = np.zeros((len(here), len(t)))
    if not len(shoots):
        return turned
    up = known.parent[shoots]
    where = np.searchsorted(here, up)
    relative = known.azimuth_deg[shoots] - np.where(
        known.azimuth_of_parent[shoots], 0.0, known.azimuth_deg[up]
    )
    side = np.sign(np.sin(np.radians(relative)))
    thick = np.clip(np.nan_to_num(known.base_mm[shoots] / known.base_mm[up], nan=0.4), 0.1, 1.0)
    share = known.place_mm[shoots] / known.length_mm[up]
    beyond = np.clip((t[None] - share[:, None]) / 0.12, 0.0, 1.0)
    np.add.at(turned, where, (-14.0 * side * thick)[:, None] * beyond)
    return turned


def _radii(known: Known, here: Rows, start: _Starts, t: Floats) -> Floats:
    """Return radii (K, P) that never grow outward and carry the shoots that stand on the line."""
    base = known.base_mm[here] / 2.0
    likely = np.minimum(0.45 * start.radius, known.length_mm[here] / 24.0)
    base = np.maximum(np.where(np.isnan(base), likely, base), LEAST_RADIUS_MM)
    tip = np.minimum(np.clip(0.16 * base, LEAST_RADIUS_MM, MOST_TIP_MM), base)
    radius = tip[:, None] + (base - tip)[:, None] * (1.0 - t[None]) ** 0.9
    shoots = np.flatnonzero(known.drawn & np.isin(known.parent, here) & ~np.isnan(known.base_mm))
    if len(shoots):
        where = np.searchsorted(here, known.parent[shoots])
        share = known.place_mm[shoots] / known.length_mm[known.parent[shoots]]
        carries = np.minimum(known.base_mm[shoots] / 2.0 * 1.05, base[where])
        at = np.clip(np.ceil(share * (len(t) - 1)).astype(int), 0, len(t) - 1)
        np.maximum.at(radius, (where, at), carries)
        radius = np.maximum.accumulate(radius[:, ::-1], axis=1)[:, ::-1]
    return radius


def scar_lines(known: Known, here: Rows, parents: Line, count: int) -> Line:
    """Return scars as upright lenses on the face of the part they are on.

    As wide as they were last measured open; half the wood beside them where that is unknown.
    """
    start = starts_on(known, here, parents)
    wide = np.where(np.isnan(known.open_mm[here]), start.radius, known.open_mm[here])
    u = np.linspace(-1.0, 1.0, count)
    wide = np.maximum(wide, 1.0)
    tall = np.minimum(0.62 * wide, np.maximum(start.points[:, 1], 0.15 * wide))
    face = start.points + start.radius[:, None] * heading(
        known.azimuth_deg[here], np.zeros(len(here))
    )
    points = np.repeat(face[:, None], count, axis=1)
    points[..., 1] = np.maximum(face[:, 1], tall)[:, None] + tall[:, None] * u[None]
    lens = np.sqrt(np.maximum(1.0 - u**2, 0.0))
    return Line(here, points, np.maximum(0.5 * wide[:, None] * lens[None], LEAST_RADIUS_MM),
                np.zeros(len(here)))  # fmt: skip
