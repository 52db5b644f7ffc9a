"""Fine twigs that fill a line the way a bare crown is filled, drawn and never recorded.

Nobody measures a twig under 2 mm, yet a bare tree is mostly twigs. They are drawn by the phase of
the branch: few and long where structure is made, many and short where it is refined. Numbers are
starting values, set by eye.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from boughwright.journal.terms import Phase
from boughwright.tree.shape_lines import azimuth_of, elevation_of, heading

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Ints, Tree
    from boughwright.tree.shape_known import Known
    from boughwright.tree.shape_lines import Rows

MOST = 1500
"""Twigs of one tree at most, so that a drawing stays light."""

# twigs a branch, forks of each, length of the first over the outline; by phase, then unknown
_HABIT = {
    Phase.TRUNK: (2.0, 1, 0.085),
    Phase.PRIMARY: (3.4, 2, 0.060),
    Phase.RAMIFICATION: (5.5, 2, 0.052),
    Phase.REFINEMENT: (7.0, 2, 0.046),
}
_UNKNOWN = (2.6, 2, 0.055)


@dataclass(frozen=True, slots=True)
class Hosts:
    """The lines that twigs stand on, as in `boughwright.tree.shape.Shape`."""

    rows: Rows
    first: Rows
    points: Floats
    radius: Floats

    def at(self, part: Rows, share: Floats) -> Floats:
        """Return points at shares 0..1 of lines, by their positions: (K, 3)."""
        count = np.diff(self.first)[part]
        place = self.first[part] + np.clip(share, 0.0, 1.0) * (count - 1)
        left = np.minimum(place.astype(int), self.first[part + 1] - 2)
        rest = (place - left)[:, None]
        return np.asarray(self.points[left] * (1.0 - rest) + self.points[left + 1] * rest)


def twigs_on(tree: Tree, known: Known, hosts: Hosts) -> tuple[Floats, Ints]:
    """Return twigs (W, 2, 3) and the position (W,) of the part each hangs on."""
    rows = tree.branches
    habit = np.asarray([*_HABIT.values(), _UNKNOWN])[rows.phase[hosts.rows]]  # -1 picks the last
    bears = (hosts.rows > 0) & ~known.scar[hosts.rows] & ~known.root[hosts.rows]
    size = np.clip(known.length_mm[hosts.rows] / (0.14 * known.outline_mm), 0.35, 2.2)
    number = np.where(bears, np.maximum(np.rint(habit[:, 0] * size), 1), 0).astype(int)
    whole = float((number * (2.0 ** habit[:, 1] - 1.0)).sum())
    if whole > MOST:
        number = np.where(bears, np.maximum((number * MOST / whole).astype(int), 1), 0)
    part = np.repeat(np.arange(len(number)), number)
    if not len(part):
        return np.empty((0, 2, 3)), np.empty(0, np.int32)
    order = np.arange(len(part)) - np.repeat(np.cumsum(number) - number, number)
    chance = _chances(known.fraction[hosts.rows[part]], order)
    share = np.where(order == 0, 1.0, 0.3 + 0.68 * (order - chance[0]) / number[part])
    before = np.clip(share - 0.08, 0.0, 0.92)
    line = hosts.at(part, before + 0.08) - hosts.at(part, before)
    side = np.where(order % 2 == 0, 1.0, -1.0)
    spread = np.where(order == 0, 8.0, 34.0 + 22.0 * chance[1]) * side
    azimuth = azimuth_of(line) + spread
    elevation = elevation_of(line) + np.where(order == 0, 6.0, 12.0 + 30.0 * chance[2])
    length = habit[part, 2] * known.outline_mm * (0.7 + 0.6 * chance[3]) * (1.15 - 0.45 * share)
    length = np.minimum(length, 0.6 * known.length_mm[hosts.rows[part]])
    start = hosts.at(part, share)
    return _forked(
        known, hosts, part, habit[part, 1].astype(int), start, azimuth, elevation, length
    )


def _forked(
    known: Known,
    hosts: Hosts,
    part: Rows,
    forks: Rows,
    start: Floats,
    azimuth: Floats,
    elevation: Floats,
    length: Floats,
) -> tuple[Floats, Ints]:
    """Let each twig fork as often as its habit says, each arm shorter than the last."""
    made, of = [], []
    level = 1
    while len(part):
        end = start + heading(azimuth, np.clip(elevation, -20.0, 84.0)) * length[:, None]
        end = _held(known, hosts.rows[part], start, end)
        made.append(np.stack([start, end], axis=1))
        of.append(part)
        on = np.flatnonzero(forks > level)
        chance = _chances(known.fraction[hosts.rows[part[on]]], on + 31 * level)
        arms = [
            (azimuth[on] + turn * (16.0 + 20.0 * chance[k]), elevation[on] + lift * chance[k + 2])
            for k, (turn, lift) in enumerate(((1.0, 16.0), (-1.0, 8.0)))
        ]
        azimuth, elevation = (np.concatenate(parts) for parts in zip(*arms, strict=True))
        start, length = np.tile(end[on], (2, 1)), np.tile(0.74 * length[on], 2)
        part, forks = np.tile(part[on], 2), np.tile(forks[on], 2)
        level += 1
    return np.concatenate(made), np.concatenate(of).astype(np.int32)


def _held(known: Known, rows: Rows, start: Floats, end: Floats) -> Floats:
    """Shorten twigs that would end under the soil or, on parts that are not free, over the outline.

    Those of one branch end at differing heights, so that the crown's edge is not a ruled line.
    """
    low, high = start[:, 1], end[:, 1]
    ceiling = np.where(known.free[rows], np.inf, np.maximum(known.ceiling_mm, low))
    room = np.maximum(ceiling - low, 0.0) * (0.62 + 0.38 * np.mod(7.0 * end[:, 1], 1.0))
    rise = high - low
    kept = np.where(rise > room, room / np.where(rise > room, rise, 1.0), 1.0)
    floor = np.minimum(0.5, low)
    kept = np.where(high < floor, (low - floor) / np.where(high < floor, low - high, 1.0), kept)
    return np.asarray(start + (end - start) * kept[:, None])


def _chances(fraction: Floats, number: Rows) -> Floats:
    """Return (8, K) numbers 0..1 that differ from twig to twig of one branch and stay the same."""
    turns = np.asarray([0.618034, 0.754878, 0.569840, 0.381966, 0.245122, 0.430160, 0.854102, 0.5])
    return np.asarray(np.mod(fraction + number[:, None] * turns[None], 1.0).T)
