"""A tree as lines in space: where every branch runs and how thick it is, from what is recorded.

Everything known is used: heights, directions, lengths, readings of base and trunk, names. What is
not known is drawn as it would likely grow and marked as drawn, never as measured; it comes from
the lasting identity of the part, so that the same records always give the same lines.

Coordinates are mm: x to the right seen from today's front, y up from the soil, z towards the
viewer. Azimuths are degrees from the front, clockwise from above.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from boughwright.tree.shape_known import PARTS, Known, known_of
from boughwright.tree.shape_lines import Line, branch_lines, scar_lines
from boughwright.tree.shape_trunk import trunk_line
from boughwright.tree.shape_twigs import Hosts, twigs_on

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Ints, Tree

__all__ = ["PARTS", "Shape", "shape_of"]

POINTS_AT_DEPTH = (13, 7, 5)
"""Points of a line that grows from the trunk, of one that grows from that, and of all further."""


@dataclass(frozen=True, slots=True)
class Shape:
    """The lines of one tree. M points, R parts drawn, W fine twigs.

    Parameters
    ----------
    points : (M, 3) float
        Points of all lines, part after part, each from its start outward. [mm]
    radius : (M,) float
        Half the thickness there. [mm]
    row : (M,) int
        Row of the part in `boughwright.tree.model.Branches`.
    rows : (R,) int
        Rows drawn: the trunk first, each part after the one it grows from.
    first : (R + 1,) int
        Where the line of each part starts in ``points``; the last is M.
    sunk_mm : (R,) float
        How deep inside the part it grows from each line starts: the radius there. [mm]
    inferred : (R, 5) bool
        What of `PARTS` was drawn and not measured.
    twigs : (W, 2, 3) float
        Fine twigs from start to end, drawn to fill the line; none of them is on record. [mm]
    twig_of : (W,) int
        Position in ``rows`` of the part each hangs on.
    outline_mm : float
        Height of the agreed outline; worked out where none was agreed. [mm]
    outline_known : bool
    pot_mm : tuple of float
        Width and depth of the pot. [mm]
    pot_known : bool
        True when they come from the volume of the pot.
    """

    points: Floats
    radius: Floats
    row: Ints
    rows: Ints
    first: Ints
    sunk_mm: Floats
    inferred: npt.NDArray[np.bool_]
    twigs: Floats
    twig_of: Ints
    outline_mm: float
    outline_known: bool
    pot_mm: tuple[float, float]
    pot_known: bool

    def line(self, part: int) -> tuple[Floats, Floats]:
        """Return points (P, 3) and radii (P,) of one part by its position in ``rows``."""
        span = slice(int(self.first[part]), int(self.first[part + 1]))
        return self.points[span], self.radius[span]


def shape_of(tree: Tree) -> Shape:
    """Return the lines of a tree.

    Parameters
    ----------
    tree : Tree
        The tree as its records tell it.

    Returns
    -------
    Shape
        Lines of the trunk and of every living branch, graft, scar and root. A tree without any
        record of its parts gives a bare trunk.
    """
    known = known_of(tree)
    trunk = trunk_line(tree, known)
    lines: dict[int, Line] = {0: trunk}
    level = trunk
    for depth in range(1, int(known.depth.max(initial=0)) + 1):
        count = POINTS_AT_DEPTH[min(depth, len(POINTS_AT_DEPTH)) - 1]
        here = np.flatnonzero(known.drawn & (known.depth == depth))
        if not len(here):
            break
        made = branch_lines(known, here, level, count)
        scars = known.scar[here]
        if scars.any():
            made = made.with_rows(scars, scar_lines(known, here[scars], level, count))
        level = made
        lines |= {int(row): made.one(k) for k, row in enumerate(here)}
    return _gathered(tree, known, lines)


def _gathered(tree: Tree, known: Known, lines: dict[int, Line]) -> Shape:
    rows = np.asarray(sorted(lines), np.int32)
    counts = [len(lines[int(row)].points[0]) for row in rows]
    first = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
    points = np.concatenate([lines[int(row)].points[0] for row in rows])
    radius = np.concatenate([lines[int(row)].radius[0] for row in rows])
    hosts = Hosts(rows, first, points, radius)
    twigs, twig_of = twigs_on(tree, known, hosts)
    volume = tree.facts.get("pot_volume_l")
    pot_known = isinstance(volume, int | float) and volume > 0
    return Shape(
        points=points,
        radius=radius,
        row=np.repeat(rows, counts).astype(np.int32),
        rows=rows,
        first=first,
        sunk_mm=np.concatenate([lines[int(row)].sunk for row in rows]),
        inferred=known.inferred[rows],
        twigs=twigs,
        twig_of=twig_of,
        outline_mm=known.outline_mm,
        outline_known=known.outline_known,
        pot_mm=_pot(float(volume) if pot_known else None, known),  # type: ignore[arg-type]
        pot_known=pot_known,
    )


def _pot(volume_l: float | None, known: Known) -> tuple[float, float]:
    """Return width and depth of a shallow pot, its depth a fifth and its front to back two thirds.

    Without a volume it is as wide as two thirds of the outline is high, as is common practice.
    """
    depth, back = 0.2, 0.67
    if volume_l is None:
        width = 0.67 * known.outline_mm
    else:
        width = float((volume_l * 1e6 / (depth * back)) ** (1 / 3))
    width = max(width, 4.0 * known.trunk_radius_mm)
    return width, depth * width
