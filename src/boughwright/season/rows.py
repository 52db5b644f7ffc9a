"""When a stage begins, as rows of a season: in one, five and nine of ten cases.

Row 0 is the first day of the season; the rest before lies on negative rows.
"""

from __future__ import annotations

from datetime import timedelta
from math import erf, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from boughwright.season.stages import DateRange
from boughwright.sources import Grade

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from boughwright.season.record import SiteClock

_Z90 = 1.2816
_LEAST_MISSING = 0.005
_LEAST_CD = 1e-3


class Rows(NamedTuple):
    """Rows by which a stage has begun in one, five and nine of ten cases."""

    early: int | None
    likely: int | None
    late: int | None
    missing: float = 0.0
    seen: bool = False
    grade: Grade = Grade.GUESS


NEVER = Rows(None, None, None, 1.0)


def as_dates(clock: SiteClock, rows: Rows) -> DateRange:
    """Return rows as dates."""
    early, likely, late = (
        None if row is None else clock.first + timedelta(days=row) for row in rows[:3]
    )
    return DateRange(early, likely, late, rows.missing, rows.grade, rows.seen)


def seen_rows(clock: SiteClock, on: date) -> Rows:
    """Return the rows of a stage the grower saw begin: all three are one."""
    row = clock.day(on)
    return Rows(row, row, row, 0.0, seen=True, grade=Grade.MEASURED)


def _normal_cdf(score: float) -> float:
    return 0.5 * (1.0 + erf(score / sqrt(2.0)))


def by_warmth(clock: SiteClock, warmth_cd: float, sd_cd: float, from_row: int = -1) -> Rows:
    """Return the rows by which a warmth, known so far, is likely laid up.

    ``from_row`` is the day the warmth is counted from; what the weather up to it was does not
    matter any more. Counted from the season's first day, the error is a share of the warmth: a
    tree may ask for half or for double, never for next to nothing.
    """
    laid = clock.warmth_cd
    base = clock.warmth_sd_cd[from_row] if from_row >= 0 else 0.0
    weather = np.maximum(clock.warmth_sd_cd**2 - base**2, 0.0)
    short = laid - warmth_cd
    if from_row < 0 and warmth_cd > 0.0:
        share = np.maximum(laid, _LEAST_CD) / warmth_cd
        short = warmth_cd * np.log(share)
        weather = weather / np.maximum(share, 1.0) ** 2
    score = short / np.sqrt(sd_cd**2 + weather + 1e-12)
    best = np.maximum.accumulate(score)
    rows = np.searchsorted(best, (-_Z90, 0.0, _Z90))
    missing = 1.0 - _normal_cdf(float(best[-1]))
    return within(NEVER, rows.tolist(), best.size, missing)


def around(clock: SiteClock, row: int, half_width: float) -> Rows:
    """Return rows to both sides of a day; one beyond the season's end is not this season's."""
    days = len(clock.weather)
    wide = (row - round(half_width), row, row + round(half_width))
    missing = 1.0 - _normal_cdf((days - 0.5 - row) / half_width * _Z90)
    return within(NEVER, wide, days, missing)


def within(held: Rows, rows: Sequence[int | None], days: int, missing: float) -> Rows:
    """Return ``held`` with other rows, those past the season's end left out."""
    early, likely, late = (None if row is None or row >= days else row for row in rows)
    share = missing if missing > _LEAST_MISSING else 0.0
    return held._replace(early=early, likely=likely, late=late, missing=share)


def pressed(held: Rows, edge: list[int], days: int, *, step: int) -> Rows:
    """Return rows at least a day past an edge, in the direction of ``step``; looks stay."""
    if held.seen:
        return held
    moved = [None if row is None else step * max(step * row, step * low + 1)
             for row, low in zip(held[:3], edge, strict=True)]  # fmt: skip
    return within(held, moved, days, held.missing)


def moved_edge(held: Rows, edge: list[int], pick: Callable[[int, int], int]) -> list[int]:
    """Return the edge that the stage sets for its neighbour, row by row."""
    pairs = zip(held[:3], edge, strict=True)
    return [old if row is None else pick(row, old) for row, old in pairs]
