"""When wire marks, bites and sets: one pass over all wires of a collection.

Each wire is drawn as a few hundred cases (`boughwright.wire.draws`). Every case reaches a depth on
one effective day; the answers are quantiles over the cases, on the clock of effective days. No
loop runs over wires or cases: wires are taken in blocks only to bound the memory.

Shapes: W wires, T what is dated (`LINE` to `SET`), K nodes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from boughwright.growth.ring import ed_at_share
from boughwright.wire.bite import allowed_mm
from boughwright.wire.draws import NODES, Draws, Floats, Looks, Rows, Wires, draw

LINE, ALLOWED, BITTEN, DEEP, SET = range(5)
"""What is dated: first line, allowed sink, grade 3, grade 4, bend set."""

QUANTILES = (0.10, 0.50, 0.90)

BLOCK = 128
"""Wires worked at once: few enough that their cases stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What comes of each wire this season.

    Parameters
    ----------
    ed : (3, T, W) float
        p10, p50 and p90 of the effective day, from the season's first day; inf when not this
        season, nan when unknown.
    never : (T, W) float
        Share of cases that do not come this season; nan unknown.
    used : (3, W) float
        p10, p50 and p90 of the allowed sink used today.
    likely_grade : (W,) int
        Grade that half of the cases have reached today; -1 unknown.
    disagree : (W,) bool
        Looks that could not be squared with the forecast; the worst was believed.
    """

    ed: Floats
    never: Floats
    used: Floats
    likely_grade: npt.NDArray[np.int64]
    disagree: npt.NDArray[np.bool_]


def forecast(wires: Wires, looks: Looks | None = None, *, count: int = NODES) -> Forecast:
    """Return when each wire marks, bites and sets, given all looks at it.

    Parameters
    ----------
    wires : Wires
    looks : Looks, optional
    count : int
        Nodes for a wire.
    """
    total = len(wires)
    result = Forecast(
        np.full((3, 5, total), np.nan),
        np.full((5, total), np.nan),
        np.full((3, total), np.nan),
        np.zeros(total, dtype=np.int64),
        np.zeros(total, dtype=np.bool_),
    )
    for rows, looked in _blocks(wires, looks):
        part = wires.take(rows)
        seen = looks.of(rows, total) if looked and looks is not None else None
        _fill(result, rows, part, draw(part, seen, count))
    return result


def _blocks(wires: Wires, looks: Looks | None) -> list[tuple[Rows, bool]]:
    """Return blocks of wires that are alike: looked at or not, with a second push or not."""
    looked = np.zeros(len(wires), dtype=np.bool_)
    if looks is not None:
        looked[looks.wire] = True
    pushed = np.broadcast_to(np.asarray(wires.curve.second_weight) > 0.0, len(wires))
    blocks: list[tuple[Rows, bool]] = []
    for kind in range(4):
        rows = np.flatnonzero((looked * 2 + pushed) == kind)
        blocks += [(rows[i : i + BLOCK], kind >= 2) for i in range(0, len(rows), BLOCK)]
    return blocks


def _fill(result: Forecast, rows: Rows, wires: Wires, draws: Draws) -> None:
    """Write the answers of a block of wires in their places."""
    starts = wires.starts_mm()
    allowed = allowed_mm(wires.gauge_mm, wires.bark_factor, wires.sink_share)
    sunk = np.stack([starts[:, 1], allowed, starts[:, 2], starts[:, 3]])
    grown = np.concatenate(
        [
            sunk[:, :, None] + draws.slack,
            (0.5 * wires.base_mm[:, None] * (draws.thickening - 1.0))[None],
        ]
    )
    days = ed_when(grown, wires, draws)
    late = days > wires.end_ed[:, None]
    days[late] = np.inf
    result.ed[:, :, rows] = quantiles(days, draws.weight)
    unknown = np.isnan(days[..., 0])
    result.never[:, rows] = np.where(unknown, np.nan, _mean(late, draws.weight))
    laid = wires.rings_before[:, None] + draws.share_laid(wires.today_ed[:, None])
    depth = quantiles(draws.rate * laid - draws.slack, draws.weight)
    result.used[:, rows] = np.maximum(depth, 0.0) / allowed
    # Grades only rise with depth: half of the cases have reached what the median has.
    known = np.isfinite(draws.rate).all(axis=-1) & np.isfinite(draws.leaf_out).all(axis=-1)
    reached = (depth[1, :, None] >= starts).sum(axis=-1)
    result.likely_grade[rows] = np.where(known, reached, -1)
    result.disagree[rows] = draws.disagree


def ed_when(grown_mm: Floats, wires: Wires, draws: Draws) -> Floats:
    """Return the effective day of the season on which the radius has grown so much under the wire.

    Parameters
    ----------
    grown_mm : (..., W, K) float
        Growth since wiring. [mm]
    wires, draws
        Of the same W wires.

    Returns
    -------
    (..., W, K) float
        Never before the wire went on; inf when it takes more than this season's ring.
    """
    share = grown_mm / draws.rate
    share += draws.wired - wires.rings_before[:, None]
    day = ed_at_share(share, draws.curve, season_start_ed=-draws.leaf_out)
    day += draws.leaf_out
    day[share <= 0.0] = 0.0  # grown before this season began
    return np.maximum(day, wires.wired_ed[:, None], out=day)


def quantiles(values: Floats, weight: Floats | None) -> Floats:
    """Return p10, p50 and p90 over the last axis, weighed; the first axis of the answer.

    A quantile is the least value with at least that share of the weight at or below it, so inf
    (never) sorts last and nan (unknown) stays nan.
    """
    count = values.shape[-1]
    if weight is None:
        places = [int(np.ceil(q * count)) - 1 for q in QUANTILES]
        ordered = np.sort(values, axis=-1)
        picked = np.stack([ordered[..., place] for place in places])
    else:
        order = np.argsort(values, axis=-1)
        ordered = np.take_along_axis(values, order, axis=-1)
        spread = np.broadcast_to(weight, values.shape)
        summed = np.cumsum(np.take_along_axis(spread, order, axis=-1), axis=-1)
        picked = np.stack([
            np.take_along_axis(
                ordered, np.argmax(summed >= q * summed[..., -1:], axis=-1)[..., None], axis=-1
            )[..., 0]
            for q in QUANTILES
        ])  # fmt: skip
    return np.where(np.isnan(values).any(axis=-1), np.nan, picked)


def _mean(true: npt.NDArray[np.bool_], weight: Floats | None) -> Floats:
    """Return the weighed share of cases that hold, over the last axis."""
    if weight is None:
        return np.asarray(true.mean(axis=-1))
    return np.asarray((true * weight).sum(axis=-1) / weight.sum(axis=-1))
