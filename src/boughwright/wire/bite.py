"""How deep wire sinks and what grade the grower would call it.

Depth is the wood and bark that have swelled beside the wire: growth of the radius since wiring,
less the slack. The wire itself does not give way. Sink share = depth over gauge. Grades: 0 turns
slide, 1 snug, 2 a line shows, 3 bitten, 4 deep, 5 closed over.

Where the gauge is unknown (nan) the least depths of a line and of a bite stand for it, the strict
side, and the starts of grades 4 and 5 stay unknown.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from boughwright.journal.terms import Bark, Fit, Phase

if TYPE_CHECKING:
    from collections.abc import Mapping

Floats = npt.NDArray[np.float64]

LINE_SHARE, LINE_LEAST_MM = 0.05, 0.08
"""A line shows from this sink share, never under the thinnest line an eye sees."""

BITTEN_SHARE, BITTEN_LEAST_MM = 0.10, 0.15
DEEP_SHARE = 0.50
CLOSED_SHARE = 1.00

BARK_FACTOR: Mapping[Bark, float] = {Bark.SMOOTH: 0.8, Bark.ORDINARY: 1.0, Bark.CORKY: 1.5}
"""On the starts of grades 2 and 3 and on the allowed sink. Starting values."""

ALLOWED_SINK: Mapping[Phase | None, float] = {
    Phase.REFINEMENT: 0.05,
    Phase.RAMIFICATION: 0.10,
    Phase.PRIMARY: 0.25,
    Phase.TRUNK: 0.25,
    None: 0.05,
}
"""Share of the gauge that may sink. Where the phase is unknown the strictest holds."""

SLACK_MM: Mapping[Fit, float] = {Fit.TIGHT: 0.05, Fit.NORMAL: 0.15, Fit.LOOSE: 0.5}
"""Gap between bark and wire when it goes on, on the radius. Starting values."""

SLACK_LOG_SD = math.log(1.6)
SLACK_LOG_SD_UNKNOWN = math.log(2.0)
"""When the fit was not noted: around the normal gap, wider. Starting value."""


def line_mm(gauge_mm: Floats, bark_factor: Floats) -> Floats:
    """Return the depth from which a line shows, grade 2. [mm]."""
    return np.fmax(LINE_SHARE * gauge_mm * bark_factor, LINE_LEAST_MM)


def bitten_mm(gauge_mm: Floats, bark_factor: Floats) -> Floats:
    """Return the depth from which wire has bitten, grade 3. [mm]."""
    return np.fmax(BITTEN_SHARE * gauge_mm * bark_factor, BITTEN_LEAST_MM)


def allowed_mm(gauge_mm: Floats, bark_factor: Floats, sink_share: Floats) -> Floats:
    """Return the depth a branch may take, never less than the first line. [mm].

    Parameters
    ----------
    gauge_mm, bark_factor, sink_share : (W,) float
        The gauge of one strand, `BARK_FACTOR` and `ALLOWED_SINK` of each wire.
    """
    return np.fmax(sink_share * gauge_mm * bark_factor, line_mm(gauge_mm, bark_factor))


def grade_starts_mm(gauge_mm: Floats, bark_factor: Floats) -> Floats:
    """Return the depths at which grades 1 to 5 start. [mm].

    Returns
    -------
    (W, 5) float
        A look of grade ``k`` has seen a depth from column ``k - 1`` up to column ``k``.
    """
    starts = (
        np.zeros_like(gauge_mm),
        line_mm(gauge_mm, bark_factor),
        bitten_mm(gauge_mm, bark_factor),
        DEEP_SHARE * gauge_mm,
        CLOSED_SHARE * gauge_mm,
    )
    rising: Floats = np.maximum.accumulate(np.stack(starts, axis=-1), axis=-1)
    return rising


def groove_mm(sunk_mm: Floats, gauge_mm: Floats) -> Floats:
    """Return the width of the groove a wire leaves: the chord, at most the gauge. [mm]."""
    half = np.minimum(sunk_mm, 0.5 * gauge_mm)
    return 2.0 * np.sqrt(half * (gauge_mm - half))
