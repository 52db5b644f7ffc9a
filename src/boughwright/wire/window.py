"""What is known of one wire on one branch today: the hold window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date
    from uuid import UUID

    from boughwright.season.stages import DateRange
    from boughwright.sources import Grade


@dataclass(frozen=True, slots=True)
class WireWindow:
    """One wire's dates.

    Parameters
    ----------
    wire : UUID
        Event that put it on.
    row : int
        Branch row, -1 for a zone.
    look_by : date, optional
        Day of the next look: p10 of the first line, never later than burst + 21 days on autumn
        wire; on ring-porous trees from swell and then every 10 days until the leaves are hard.
        Once a line shows: every week. Everything gets a look in late thickening. Never after
        ``off_by``. None: no further look this season.
    off_by : date, optional
        p10 of the day the allowed sink is reached; the day of the look when that saw grade 3 or
        more. None: not this season, or unknown (``allowed.not_this_season`` is then nan).
    line, allowed, bitten, deep : DateRange
        First line (grade 2), the sink its phase allows, grade 3, grade 4. A range that cannot be
        told has no dates and ``not_this_season`` nan.
    set : DateRange
        Day the bend keeps 70 %. Unknown when the base at wiring is.
    hold_from : date, optional
        p50 of set. The hold window runs from it to ``off_by``.
    share_used : tuple of float
        p10, p50, p90 of the allowed sink used today, 0..
    seen_grade : int
        Worst grade seen while on, -1 when never looked at.
    seen_on : date, optional
        Day that grade was first seen.
    likely_grade : int
        Grade of the median depth today, given the looks; -1 unknown.
    wirings : int
        How many wirings the bend needs in all; 1 when set comes before ``off_by``, -1 when the
        base at wiring is unknown.
    allowed_sink : float
        Share of the gauge that may sink at this phase.
    grade : Grade
        Weakest input.
    disagree : bool
        The looks at this wire cannot all be right; the worst one was believed.
    """

    wire: UUID
    row: int
    look_by: date | None
    off_by: date | None
    line: DateRange
    allowed: DateRange
    bitten: DateRange
    deep: DateRange
    set: DateRange
    hold_from: date | None
    share_used: tuple[float, float, float]
    seen_grade: int
    seen_on: date | None
    likely_grade: int
    wirings: int
    allowed_sink: float
    grade: Grade
    disagree: bool = False
