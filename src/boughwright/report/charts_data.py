"""What each chart shows, as plain data: no picture, no words, lengths in mm and degrees in °C.

Unknown is ``None``. Where a forecast has a range, ``p10``, ``p50`` and ``p90`` are its quantiles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from datetime import date

    from boughwright.season.stages import AlarmKind, Stage
    from boughwright.sources import Grade
    from boughwright.verdicts.verdict import Harm


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading with its standard error, None where nothing says it."""

    on: date
    value: float
    sd: float | None


@dataclass(frozen=True, slots=True)
class Spread:
    """A forecast for one day."""

    on: date
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class BranchChart:
    """Where the base of one branch is going if it runs.

    Parameters
    ----------
    tree, branch : str
        Names.
    today, season_end : date
    readings : tuple of Reading
        Bases read, oldest first. [mm]
    fan : tuple of Spread
        From the last reading on; empty where there is none. [mm]
    target_mm : float, optional
        Base at which it is thick enough. [mm]
    reached : float, optional
        Share of the target reached.
    seasons : (3,) tuple of float, optional
        Rings to the target: fast, likely, slow.
    runs : bool, optional
        Whether its tip is let run now; None unknown.
    grade : Grade
        What the yearly growth rests on.
    """

    tree: str
    branch: str
    today: date
    season_end: date
    readings: tuple[Reading, ...]
    fan: tuple[Spread, ...]
    target_mm: float | None
    reached: float | None
    seasons: tuple[float, float, float] | None
    runs: bool | None
    grade: Grade


@dataclass(frozen=True, slots=True)
class SeasonGain:
    """What a base gained in one season, None where the season before was not read. [mm]."""

    season: str
    first: date
    base_mm: float
    gain_mm: float | None
    sd_mm: float | None


@dataclass(frozen=True, slots=True)
class YearsChart:
    """What a base gained, season by season, beside what a season is expected to bring.

    ``run`` and ``cut``: p10, p50, p90 of a season's gain of the diameter if it runs, and if it is
    cut; None where the species is unknown. [mm]
    """

    tree: str
    branch: str
    today: date
    gains: tuple[SeasonGain, ...]
    run: tuple[float, float, float] | None
    cut: tuple[float, float, float] | None
    grade: Grade


@dataclass(frozen=True, slots=True)
class SinkChart:
    """How deep one wire sinks in this season.

    Depths in mm; ``gauge_mm`` of one strand turns them into shares. ``line_mm``, ``allowed_mm``,
    ``bitten_mm``: depths at which a line shows, of what the branch may take, and of a bite.
    ``looks``: day, grade seen.
    """

    tree: str
    branch: str
    today: date
    put_on: date
    gauge_mm: float | None
    course: tuple[Spread, ...]
    line_mm: float
    allowed_mm: float
    bitten_mm: float
    look_by: date | None
    off_by: date | None
    hold_from: date | None
    looks: tuple[tuple[date, int], ...]
    grade: Grade


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One day at a shelf. ``ahead``: forecast, not read."""

    on: date
    low_c: float | None
    high_c: float | None
    rain_mm: float | None
    wet_h: float | None
    ahead: bool


@dataclass(frozen=True, slots=True)
class Threat:
    """One alarm and the trees it is for."""

    kind: AlarmKind
    first: date
    last: date
    trees: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeatherChart:
    """The last days and the next ones at one shelf."""

    place: str
    shelf: str
    trees: tuple[str, ...]
    today: date
    days: tuple[WeatherDay, ...]
    frost_c: float
    heat_c: float
    threats: tuple[Threat, ...]


@dataclass(frozen=True, slots=True)
class StageMark:
    """Start of one stage. ``seen``: the grower logged it."""

    stage: Stage
    early: date | None
    likely: date
    late: date | None
    seen: bool


@dataclass(frozen=True, slots=True)
class Warmth:
    """Warmth laid up by the end of a day, and its standard error. [°C d]."""

    on: date
    cd: float
    sd: float


@dataclass(frozen=True, slots=True)
class StageChart:
    """One tree's season: its stages and the warmth that drives them."""

    tree: str
    season: str
    today: date
    first: date
    last: date
    now: Stage
    stages: tuple[StageMark, ...]
    warmth: tuple[Warmth, ...]
    known_to: date


@dataclass(frozen=True, slots=True)
class RatioChart:
    """How a graft or a scar comes on.

    ``kind`` is ``graft`` (wood above the union over the feed below) or ``scar`` (open width, mm).
    ``gate``: the ratio at which a graft may be notched; None for a scar or an unknown graft.
    ``yearly``: share of the open width that closed a year; None where it is not known.
    """

    tree: str
    branch: str
    today: date
    kind: str
    points: tuple[Reading, ...]
    gate: float | None
    yearly: float | None


@dataclass(frozen=True, slots=True)
class HoursPart:
    """Minutes of one tree's jobs of one harm; None for setting up the tree."""

    harm: Harm | None
    minutes: float
    planned: bool


@dataclass(frozen=True, slots=True)
class TreeHours:
    """One tree's share of the hours."""

    tree: str
    name: str
    parts: tuple[HoursPart, ...]


@dataclass(frozen=True, slots=True)
class HoursChart:
    """Bench hours wanted against hours at hand. Minutes in the parts, hours in the sums."""

    today: date
    until: date
    hours: float
    wanted: float
    planned: float
    trees: tuple[TreeHours, ...]


ChartData: TypeAlias = (
    BranchChart | YearsChart | SinkChart | WeatherChart | StageChart | RatioChart | HoursChart
)
