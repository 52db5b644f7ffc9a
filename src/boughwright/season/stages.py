"""The thirteen stages of a deciduous tree's year and the calendar of one tree's season."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

from boughwright.sources import Grade

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date


class Stage(IntEnum):
    """Stages in the order a season runs through them, rest first."""

    DEEP_REST = 0
    SWELL = 1
    BURST = 2
    FIRST_LEAF = 3
    RUNNING = 4
    CLOSING = 5
    HARD = 6
    SECOND_PUSH = 7
    SUMMER_HOLD = 8
    LATE_THICKENING = 9
    COLOUR = 10
    LEAF_DROP = 11
    EARLY_REST = 12

    @property
    def word(self) -> str:
        """The word shown on screens."""
        return self.name.lower().replace("_", " ")


@dataclass(frozen=True, slots=True)
class DateRange:
    """When something happens: one in ten before ``early``, half by ``likely``, nine by ``late``.

    ``not_this_season`` is the share of cases in which it does not come before the season ends.
    A date that falls outside the season is ``None``. ``grade`` is that of its weakest input.
    """

    early: date | None
    likely: date | None
    late: date | None
    not_this_season: float = 0.0
    grade: Grade = Grade.GUESS
    seen: bool = False
    """True when the grower logged it; then the three dates are one."""


@dataclass(frozen=True, slots=True)
class TreeCalendar:
    """One tree's season at one place.

    Parameters
    ----------
    season : str
        ``2026`` in the north, ``2026/27`` in the south.
    south : bool
        Whether the place lies south of the equator.
    today : date
        The day it was made for.
    stage : Stage
        Stage on that day.
    since : DateRange
        When that stage began.
    starts : mapping of Stage to DateRange
        Start of each stage of this season, ``SECOND_PUSH`` and ``SUMMER_HOLD`` only when they came
        or, after a cut, are on the way. ``DEEP_REST`` is that of the rest before, and may lie
        before the season's first day.
    leaf_out : DateRange
        First leaves open on half of the buds.
    warmth_cd : float
        Degree-days since 1 January (north) or 1 July (south). [°C d]
    warmth_since_leaf_out_cd : float
        nan before leaf-out. [°C d]
    warmth_to_colour_cd : float
        Degree-days expected from today to the likely start of colour. [°C d]
    chill_portions : float
        Dynamic-model portions since the rest began. nan when unknown.
    filled_days : int
        Days of this season up to today whose weather was missing and has been filled.
    grade : Grade
        How the stage is known: measured when a look of this season supports it.
    notes : tuple of str
        What the grower has to know to read it, one sentence each.
    """

    season: str
    south: bool
    today: date
    stage: Stage
    since: DateRange
    starts: Mapping[Stage, DateRange]
    leaf_out: DateRange
    warmth_cd: float
    warmth_since_leaf_out_cd: float
    warmth_to_colour_cd: float
    chill_portions: float
    filled_days: int
    grade: Grade
    notes: tuple[str, ...] = ()


class AlarmKind(IntEnum):
    """What the weather threatens."""

    FROST = 0
    HEAT = 1
    POT_CORE = 2
    WET_LEAF = 3
    WIND = 4


@dataclass(frozen=True, slots=True)
class Alarm:
    """One threat to one tree. ``value`` and ``limit`` in °C; hours for wet leaf, m/s for wind."""

    kind: AlarmKind
    first: date
    last: date
    value: float
    limit: float
    reason: str
    source: str
    grade: Grade
    todo: str
    """What to do, with its caution."""
