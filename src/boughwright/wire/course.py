"""How deep one wire sinks day by day: the course behind the dates of its window."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.wire.bite import allowed_mm, grade_starts_mm
from boughwright.wire.draws import NODES, Floats, draw
from boughwright.wire.inputs import WiredTree, known
from boughwright.wire.windows import quantiles

if TYPE_CHECKING:
    from boughwright.tree.model import Wire

LINE_GRADE, BITTEN_GRADE = 2, 3


def sink_course(wired: WiredTree, wire: Wire, *, count: int = NODES) -> Floats:
    """Return the depth of a wire by the end of each day of the season, given all looks at it.

    Parameters
    ----------
    wired : WiredTree
        The tree with its clock, as for `boughwright.wire.register.wire_windows`.
    wire : Wire
        One that is on.
    count : int
        Nodes, see `boughwright.wire.draws`.

    Returns
    -------
    (3, D) float
        p10, p50 and p90 of the depth. [mm] nan on days before it went on, and throughout where
        growth cannot be told.
    """
    of_wire = known(wired, (wire,))
    looks = of_wire.looks if len(of_wire.looks.wire) else None
    draws = draw(of_wire.wires, looks, count)
    season = wired.clock.effective_days[:, None]
    laid = of_wire.wires.rings_before[:, None] + draws.share_laid(season)
    depth = np.maximum(quantiles(draws.rate * laid - draws.slack, draws.weight), 0.0)
    days = wired.clock.first.toordinal() + np.arange(season.size)
    return np.where(days < wire.on.toordinal(), np.nan, depth)


def depth_limits(wired: WiredTree, wire: Wire) -> tuple[float, float, float]:
    """Return the depths from which a line shows, of the allowed sink, and of a bite. [mm].

    Where the gauge is unknown they are the least ones, as in `boughwright.wire.bite`.
    """
    wires = known(wired, (wire,)).wires
    starts = grade_starts_mm(wires.gauge_mm, wires.bark_factor)[0]
    allowed = allowed_mm(wires.gauge_mm, wires.bark_factor, wires.sink_share)[0]
    return float(starts[LINE_GRADE - 1]), float(allowed), float(starts[BITTEN_GRADE - 1])
