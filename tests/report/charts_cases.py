"""Data for the charts: one day of the demonstration garden, and small written cases."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.demo.build import build
from boughwright.report.charts_data import (
    BranchChart,
    ChartData,
    HoursChart,
    HoursPart,
    RatioChart,
    Reading,
    SeasonGain,
    SinkChart,
    Spread,
    StageChart,
    StageMark,
    Threat,
    TreeHours,
    Warmth,
    WeatherChart,
    WeatherDay,
    YearsChart,
)
from boughwright.season.stages import AlarmKind, Stage
from boughwright.sources import Grade
from boughwright.usecases.day import GardenDay, open_day
from boughwright.verdicts.verdict import Harm
from boughwright.web.speech import Speaker

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay

TODAY = date(2026, 6, 9)
ENGLISH = Speaker(today=TODAY)
GERMAN = Speaker(language="de", today=TODAY)
INCHES = Speaker(units="in", temperature="F", dates="month first", today=TODAY)


@cache
def demo() -> GardenDay:
    """Return the demonstration garden on its standing day."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "demo.book"
        build(book)
        return open_day(book)


def tree(name: str) -> TreeDay:
    return demo().tree(name)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


FAN = BranchChart(
    "Elm", "1L", TODAY, date(2026, 12, 31),
    (Reading(on(-400), 10.0, 0.1), Reading(on(-2), 12.0, None)),
    (Spread(on(-2), 12.0, 12.0, 12.0), Spread(date(2026, 12, 31), 12.5, 13.0, 14.0),
     Spread(date(2027, 12, 31), 13.0, 14.0, 16.0)),
    13.5, 0.89, (0.6, 1.5, 3.2), True, Grade.GUESS,
)  # fmt: skip
YEARS = YearsChart(
    "Elm", "1L", TODAY,
    (SeasonGain("2024", date(2024, 1, 1), 10.0, None, None),
     SeasonGain("2025", date(2025, 1, 1), 11.2, 1.2, 0.14)),
    (0.8, 1.4, 2.4), (0.3, 0.6, 1.0), Grade.BORROWED,
)  # fmt: skip
SINK = SinkChart(
    "Elm", "1L", TODAY, on(-30), 2.0,
    (Spread(on(-30), 0.0, 0.0, 0.0), Spread(TODAY, 0.04, 0.1, 0.2), Spread(on(60), 0.1, 0.3, 0.5)),
    0.1, 0.2, 0.2, on(5), on(12), on(20), ((on(-10), 1),), Grade.BORROWED,
)  # fmt: skip
RATIO = RatioChart(
    "Elm", "2.5Lg", TODAY, "graft", (Reading(on(-90), 1.05, 0.03), Reading(on(-2), 1.2, 0.03)),
    1.15, None,
)  # fmt: skip
SCAR = RatioChart(
    "Elm", "scar front", TODAY, "scar", (Reading(on(-365), 46.0, 1.0), Reading(TODAY, 41.0, 1.0)),
    None, 0.109,
)  # fmt: skip
STAGES = StageChart(
    "Elm", "2026", TODAY, date(2026, 1, 1), date(2026, 12, 31), Stage.HARD,
    (StageMark(Stage.BURST, on(-70), on(-66), on(-60), True),
     StageMark(Stage.HARD, on(-4), on(-4), on(-4), False),
     StageMark(Stage.COLOUR, on(120), on(133), on(146), False)),
    (Warmth(date(2026, 1, 1), 0.0, 0.0), Warmth(TODAY, 700.0, 0.0),
     Warmth(date(2026, 12, 31), 2600.0, 90.0)),
    TODAY,
)  # fmt: skip
WEATHER = WeatherChart(
    "Lane", "south wall", ("Elm", "Oak"), TODAY,
    (*(WeatherDay(on(n), 8.0 + n % 3, 24.0 + n, 2.0 * (n % 2), 6.0, n > 0)
       for n in range(-14, 9)),
     WeatherDay(on(9), None, None, None, None, True)),
    0.0, 33.0,
    (Threat(AlarmKind.HEAT, on(5), on(8), ("Elm",)),
     Threat(AlarmKind.WET_LEAF, on(1), on(1), ("Elm", "Oak"))),
)  # fmt: skip
HOURS = HoursChart(
    TODAY, on(7), 2.0, 2.5, 1.5,
    (TreeHours("elm", "Elm", (HoursPart(None, 10.0, True), HoursPart(Harm.IRREVERSIBLE, 50.0, True),
                              HoursPart(Harm.COSMETIC, 60.0, False))),
     TreeHours("oak", "Oak", (HoursPart(None, 10.0, True), HoursPart(Harm.FEEDS, 20.0, True)))),
)  # fmt: skip

WRITTEN: tuple[ChartData, ...] = (FAN, YEARS, SINK, RATIO, SCAR, STAGES, WEATHER, HOURS)

BARE: tuple[ChartData, ...] = (
    replace(FAN, readings=(), fan=(), target_mm=None, reached=None, seasons=None),
    replace(YEARS, gains=(), run=None, cut=None),
    replace(SINK, gauge_mm=None, looks=(), off_by=None, look_by=None),
    replace(SINK, course=(), off_by=None),
    replace(RATIO, points=(), gate=None),
    replace(SCAR, points=(), yearly=None),
    replace(STAGES, stages=(), warmth=()),
    replace(WEATHER, days=(), threats=()),
    replace(HOURS, trees=(), hours=0.0, wanted=0.0, planned=0.0),
)
"""The same with as little known as can be."""

MORE: tuple[ChartData, ...] = (
    replace(FAN, seasons=None),
    replace(FAN, seasons=(0.0, 0.0, 0.0)),
    replace(FAN, seasons=(0.8, 0.9, 1.0)),
    replace(SINK, allowed_mm=0.5),
    replace(RATIO, points=RATIO.points[:1]),
    replace(SCAR, points=SCAR.points[:1]),
    replace(WEATHER, threats=()),
    replace(WEATHER, days=tuple(replace(d, low_c=-2.0) for d in WEATHER.days)),
    replace(HOURS, trees=HOURS.trees[1:]),
    replace(HOURS, trees=tuple(
        TreeHours(str(n), f"Tree {n}", tuple(HoursPart(h, 10.0, True) for h in (None, *Harm)))
        for n in range(15))),
)  # fmt: skip
EVERY = (*WRITTEN, *BARE, *MORE)
