"""Labels beside a drawing: where each stands so that none covers another or much of the ink."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from boughwright.tree.model import Floats

CELL = 4
"""Side of a cell of the grid on which free room is looked for. [px]"""
SIZE = 14.0
"""Size of the letters. [px]"""
WIDE = 0.56
"""Mean width of a letter over its size; wide enough for the sans faces of common systems."""
LEAD_FROM = 13.0
"""A label further than this from its branch has a line to it. [px]"""
TAKEN = 1e6
"""Weight of a cell under a label: no other may stand there."""
FARTHEST = 150.0
"""A label that finds no room nearer than this is left out. [px]"""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A label to place: its lines of text and the point it belongs to."""

    lines: tuple[str, ...]
    anchor: tuple[float, float]

    @property
    def width(self) -> float:
        """Return the width of the longest line in px."""
        return max(len(line) for line in self.lines) * SIZE * WIDE + 4.0

    @property
    def height(self) -> float:
        """Return the height of all lines in px."""
        return len(self.lines) * (SIZE + 3.0) + 2.0


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a label stands: its top left corner, and the end of its line, None when it needs none.

    ``left`` tells that it stands left of its branch, so that its text ends at its right edge.
    """

    x: float
    y: float
    lead: tuple[float, float] | None
    left: bool


def ink_cells(points: Floats, width: float, height: float) -> npt.NDArray[np.float64]:
    """Return how much ink stands in each cell of the page: (rows, columns).

    Parameters
    ----------
    points : (K, 2) float
        Points along all lines, close together. [px]
    width, height : float
        Size of the page. [px]
    """
    shape = (int(height // CELL) + 1, int(width // CELL) + 1)
    cells = np.zeros(shape)
    at = (points // CELL).astype(int)
    inside = (at >= 0).all(axis=1) & (at[:, 1] < shape[0]) & (at[:, 0] < shape[1])
    cells[at[inside, 1], at[inside, 0]] = 1.0
    return cells


def place(
    wanted: Sequence[Wanted], ink: npt.NDArray[np.float64], *, middle: float
) -> list[Placed | None]:
    """Place labels one after the other, the first first.

    Each takes the place with the least ink under it near its branch, on the branch's side of the
    trunk when it can. None where a label finds no place free of other labels.

    Parameters
    ----------
    wanted : sequence of Wanted
        In the order in which they choose.
    ink : (rows, columns) float
        Weight of what is under each cell.
    middle : float
        Where the trunk stands across the page. [px]
    """
    cost = ink.copy()
    placed: list[Placed | None] = []
    for label in wanted:
        spot = _best(label, cost, middle)
        placed.append(spot)
        if spot is None:
            continue
        top, left = int(spot.y // CELL), int(spot.x // CELL)
        rows, columns = _cells(label)
        cost[max(top - 1, 0) : top + rows + 1, max(left - 1, 0) : left + columns + 1] = TAKEN
        if spot.lead is not None:
            line = np.linspace(spot.lead, label.anchor, 24)
            at = np.clip((line // CELL).astype(int), 0, np.asarray(ink.shape)[::-1] - 1)
            cost[at[:, 1], at[:, 0]] += 1.0
    return placed


def _cells(label: Wanted) -> tuple[int, int]:
    return int(np.ceil(label.height / CELL)), int(np.ceil(label.width / CELL))


def _best(label: Wanted, cost: npt.NDArray[np.float64], middle: float) -> Placed | None:
    """Return the cheapest place for a label among those near enough to its branch."""
    rows, columns = _cells(label)
    ax, ay = label.anchor
    first_row = max(int((ay - FARTHEST - label.height) // CELL), 0)
    first_column = max(int((ax - FARTHEST - label.width) // CELL), 0)
    cells = cost[
        first_row : max(int((ay + FARTHEST + label.height) // CELL), 0),
        first_column : max(int((ax + FARTHEST + label.width) // CELL), 0),
    ]
    if rows >= cells.shape[0] or columns >= cells.shape[1]:
        return None
    under = _sums(cells, rows, columns)
    x = (first_column + np.arange(under.shape[1]))[None] * float(CELL)
    y = (first_row + np.arange(under.shape[0]))[:, None] * float(CELL)
    off_x = np.maximum(np.maximum(x - ax, ax - (x + label.width)), 0.0)
    off_y = np.maximum(np.maximum(y - ay, ay - (y + label.height)), 0.0)
    far = np.hypot(off_x, off_y)
    centre = x + label.width / 2.0
    outward = np.sign(ax - middle) * (centre - ax)
    wrong = np.maximum(-outward, 0.0)
    crossed = np.where((centre - middle) * (ax - middle) < 0, 60.0, 0.0)
    price = 5.0 * under + far + 0.12 * far**1.35 + 0.4 * wrong + crossed
    price = np.where(far < 5.0, price + 14.0, price)
    price = np.where((under >= TAKEN) | (far > FARTHEST), np.inf, price)
    best = np.unravel_index(int(price.argmin()), price.shape)
    if not np.isfinite(price[best]):
        return None
    at_x, at_y = float(x[0, best[1]]), float(y[best[0], 0])
    left = at_x + label.width / 2.0 < ax
    lead = None
    if far[best] > LEAD_FROM:
        lead = _edge(label, at_x, at_y, left)
    return Placed(at_x, at_y, lead, left)


def _edge(label: Wanted, x: float, y: float, left: bool) -> tuple[float, float]:
    """Return where a line leaves a label: its side towards the branch, or its top or foot."""
    ax, ay = label.anchor
    if x - 6.0 <= ax <= x + label.width + 6.0:
        return float(np.clip(ax, x + 4.0, x + label.width - 4.0)), (
            y + label.height if ay > y else y
        )
    return (x + label.width + 1.0 if left else x - 1.0), y + min(9.5, label.height / 2.0)


def _sums(cells: npt.NDArray[np.float64], rows: int, columns: int) -> npt.NDArray[np.float64]:
    """Return the sum under a box of so many cells at each place it may stand."""
    whole = np.pad(cells.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    return np.asarray(
        whole[rows:, columns:] - whole[:-rows, columns:] - whole[rows:, :-columns]
        + whole[:-rows, :-columns]
    )  # fmt: skip
