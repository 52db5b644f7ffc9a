"""What the charts of a garden show, read off one day of it: pure data, with a JSON shape each."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import ceil, isnan
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.errors import UnknownNameError
from boughwright.growth.branches import rings_by
from boughwright.growth.forecast import base_forecast
from boughwright.growth.increment import switched
from boughwright.journal.terms import GraftKind, Kind, Quantity
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
from boughwright.season.clock import season_first, season_last, season_of
from boughwright.season.outlook import DAYS, FROST_C, HOT_C, known_span, leaf_wetness_h
from boughwright.season.record import Origin
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.tree.readings import by_day
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.grafting import RATIO
from boughwright.wire.course import depth_limits, sink_course
from boughwright.wire.inputs import WiredTree

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.growth.branches import Floats
    from boughwright.growth.increment import Increment
    from boughwright.tree.model import Wire
    from boughwright.tree.readings import DayReading
    from boughwright.usecases.call_up import Called
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.wire.window import WireWindow

FAN_SEASONS: Final = 8
"""A fan is drawn at most so many seasons ahead; beyond that the sentence tells the number."""
FAN_STEP_DAYS: Final = 10
WIRE_STEP_DAYS: Final = 3
WEATHER_BACK_DAYS: Final = 14
WARMTH_STEP_DAYS: Final = 7
PAIRED_DAYS: Final = 30
"""Exit and entry of a graft make a ratio when read within so many days of each other. [d]"""
YEAR_DAYS: Final = 365.25

_KINDS = tuple(Kind)
_GRAFTS = tuple(GraftKind)
_BRANCH_GRADES = tuple(Grade)


def row_of(day: TreeDay, branch: str) -> int:
    """Return the row of a branch by its lasting id, or by its name.

    Raises
    ------
    UnknownNameError
    """
    rows = day.tree.branches
    for names in (rows.ids, rows.names):
        if branch in names:
            return names.index(branch)
    main = (name for name, order in zip(rows.names, rows.order, strict=True) if order <= 1)
    raise UnknownNameError(
        f"{day.tree.name} has no branch {branch!r}",
        allowed=f"{', '.join(main)}, or a branch on one of these",
        todo="Use a branch's name",
    )


# --- one branch ----------------------------------------------------------------------------------


def branch_chart_data(day: TreeDay, branch: str) -> BranchChart:
    """Return where the base of a branch is going if it runs.

    The forecast at the season's end is that of the day's growth; the course to it and over the
    seasons after it follow the ring of this season.

    Raises
    ------
    UnknownNameError
        When the tree has no such branch.
    """
    row = row_of(day, branch)
    rows, growth = day.tree.branches, day.growth
    target = _known(day.measures.target_base_mm[row])
    seasons = None if growth is None else _triple(growth.seasons_to_target[row])
    return BranchChart(
        tree=day.facts.name,
        branch=rows.names[row],
        today=day.calendar.today,
        season_end=season_last(day.clock.first, south=day.clock.south),
        readings=_bases(day, row),
        fan=_fan(day, row, seasons),
        target_mm=target,
        reached=_known(day.measures.reached[row]),
        seasons=seasons if target is not None else None,
        runs=None if rows.running[row] < 0 else bool(rows.running[row]),
        grade=Grade.GUESS if growth is None else _BRANCH_GRADES[growth.increment.grade[row]],
    )


def _bases(day: TreeDay, row: int) -> tuple[Reading, ...]:
    read = by_day(day.tree.measures).get((Quantity.BASE, row), [])
    return tuple(_reading(one) for one in read)


def _reading(one: DayReading) -> Reading:
    return Reading(date.fromordinal(one.day), one.value, None if isnan(one.sd) else one.sd)


def _running(day: TreeDay, row: int, *, will: int) -> Increment | None:
    """Return the increment of one row as if it ran (1) or were cut (0)."""
    if day.growth is None:
        return None
    rows = np.array([row])
    mine = day.growth.increment.take(rows)
    return switched(mine, running_was=day.tree.branches.running[rows], running_will=[will])


def _fan(day: TreeDay, row: int, seasons: tuple[float, float, float] | None) -> tuple[Spread, ...]:
    increment, rows = _running(day, row, will=1), day.tree.branches
    if increment is None or day.species is None:
        return ()
    base, read_on = float(rows.base_mm[row]), int(rows.base_on[row])
    if isnan(base) or read_on <= 0:
        return ()
    wanted = 1 if seasons is None else ceil(min(seasons[1], FAN_SEASONS))
    days, rings = _course(day, read_on, max(wanted, 1))
    laid = float(rings_by(np.array([read_on]), day.species, day.clock, day.calendar)[0])
    many = np.zeros(len(days), dtype=np.int64)
    found = base_forecast(
        np.full(len(days), base), np.full(len(days), rows.base_sd_mm[row]),
        increment.take(many), rings_ahead=rings - laid,
    )  # fmt: skip
    if np.isnan(found).any():
        return ()
    return tuple(
        Spread(date.fromordinal(on), *quantiles)
        for on, quantiles in zip(days.tolist(), found.tolist(), strict=True)
    )


def _course(day: TreeDay, start: int, seasons: int) -> tuple[np.ndarray, Floats]:
    """Return day numbers from a reading to the end of a season ahead, and rings laid by each.

    Seasons after this one repeat its course; the last day of each is among the days.
    """
    if day.species is None:
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    clock = day.clock
    first, last = clock.first, season_last(clock.first, south=clock.south)
    ends = [
        season_last(first.replace(year=first.year + n), south=clock.south).toordinal()
        for n in range(seasons)
    ]
    step = FAN_STEP_DAYS * max(1, seasons // 2)
    days = np.unique([start, *range(start, ends[-1], step), *(e for e in ends if e > start)])
    length = (last - first).days + 1
    ahead = np.maximum((days - first.toordinal()) // length, 0)
    folded = days - ahead * length
    rings = rings_by(folded, day.species, clock, day.calendar) + ahead
    # The last day of a season has the whole of its ring, whatever leap days do to the folding.
    for number, end in enumerate(ends):
        rings[days == end] = first.year + number + 1.0
    return days, np.maximum.accumulate(rings)


def years_chart_data(day: TreeDay, branch: str) -> YearsChart:
    """Return what a base gained season by season, and what a season is expected to bring.

    A season counts from its last reading to the last one of the season before; where that was not
    read its gain is unknown.

    Raises
    ------
    UnknownNameError
        When the tree has no such branch.
    """
    row = row_of(day, branch)
    south = day.clock.south
    last: dict[date, Reading] = {}
    for one in _bases(day, row):
        last[season_first(one.on, south=south)] = one
    gains = []
    for first, one in last.items():
        before = last.get(first.replace(year=first.year - 1))
        sd = None
        if before is not None and one.sd is not None and before.sd is not None:
            sd = float(np.hypot(one.sd, before.sd))
        gain = None if before is None else one.value - before.value
        gains.append(SeasonGain(season_of(first, south=south), first, one.value, gain, sd))
    return YearsChart(
        day.facts.name, day.tree.branches.names[row], day.calendar.today, tuple(gains),
        _yearly(_running(day, row, will=1)), _yearly(_running(day, row, will=0)),
        Grade.GUESS if day.growth is None else _BRANCH_GRADES[day.growth.increment.grade[row]],
    )  # fmt: skip


def _yearly(increment: Increment | None) -> tuple[float, float, float] | None:
    """Return a season's gain of the diameter: two radii."""
    if increment is None:
        return None
    low, likely, high = (2.0 * float(increment.quantile_mm(s)[0]) for s in (0.1, 0.5, 0.9))
    return low, likely, high


def ratio_chart_data(day: TreeDay, branch: str) -> RatioChart | None:
    """Return how a graft or a scar comes on; None for a part that is neither.

    Raises
    ------
    UnknownNameError
        When the tree has no such branch.
    """
    row = row_of(day, branch)
    rows = day.tree.branches
    index = by_day(day.tree.measures)
    name, today = rows.names[row], day.calendar.today
    if _KINDS[rows.kind[row]] is Kind.SCAR:
        points = tuple(_reading(one) for one in index.get((Quantity.OPEN, row), []))
        return RatioChart(day.facts.name, name, today, "scar", points, None, _closing(points))
    exits = index.get((Quantity.EXIT, row), [])
    entries = index.get((Quantity.ENTRY, row), [])
    kind = int(rows.graft_kind[row])
    if kind < 0 and not (exits and entries):
        return None
    gate = RATIO[_GRAFTS[kind]] if kind >= 0 and _GRAFTS[kind] in RATIO else None
    return RatioChart(day.facts.name, name, today, "graft", _ratios(exits, entries), gate, None)


def _ratios(exits: Sequence[DayReading], entries: Sequence[DayReading]) -> tuple[Reading, ...]:
    """Return exit over entry, each exit with the entry read nearest to it."""
    points = []
    for out in exits:
        near = min(entries, key=lambda one: abs(one.day - out.day), default=None)
        if near is None or abs(near.day - out.day) > PAIRED_DAYS or near.value <= 0.0:
            continue
        ratio = out.value / near.value
        sd = ratio * float(np.hypot(out.sd / out.value, near.sd / near.value))
        points.append(Reading(date.fromordinal(out.day), ratio, None if isnan(sd) else sd))
    return tuple(points)


def _closing(points: Sequence[Reading]) -> float | None:
    """Return the share of the open width that closed a year, between first and last reading."""
    if len(points) < 2 or points[0].value <= 0.0:
        return None
    years = (points[-1].on - points[0].on).days / YEAR_DAYS
    return None if years <= 0.0 else (1.0 - points[-1].value / points[0].value) / years


# --- wire ----------------------------------------------------------------------------------------


def wire_chart_data(day: TreeDay, window: WireWindow) -> SinkChart:
    """Return how deep one wire sinks this season.

    Parameters
    ----------
    day : TreeDay
    window : WireWindow
        One of the day's windows. Wire of the season before is taken through that season by the
        course of this one.
    """
    wire = next(
        w for w in day.tree.wires if (w.event, w.branch) == (window.wire, window.row) and not w.off
    )
    growth = None if day.growth is None else day.growth.increment
    wired = WiredTree(day.tree, day.species, day.clock, day.calendar, increment=growth)
    line, allowed, bitten = depth_limits(wired, wire)
    name = day.tree.branches.names[window.row] if window.row >= 0 else wire.zone or "all"
    return SinkChart(
        tree=day.facts.name,
        branch=name,
        today=day.calendar.today,
        put_on=wire.on,
        gauge_mm=_known(wire.gauge_mm),
        course=_sinking(wired, wire),
        line_mm=line,
        allowed_mm=allowed,
        bitten_mm=bitten,
        look_by=window.look_by,
        off_by=window.off_by,
        hold_from=window.hold_from,
        looks=wire.looks,
        grade=window.grade,
    )


def _sinking(wired: WiredTree, wire: Wire) -> tuple[Spread, ...]:
    depth = sink_course(wired, wire)
    first = wired.clock.first
    today = (wired.calendar.today - first).days
    kept = sorted({*range(0, depth.shape[1], WIRE_STEP_DAYS), today, depth.shape[1] - 1})
    return tuple(
        Spread(first + timedelta(days=n), *depth[:, n].tolist())
        for n in kept
        if 0 <= n < depth.shape[1] and not np.isnan(depth[:, n]).any()
    )


# --- weather and stages --------------------------------------------------------------------------


def weather_chart_data(garden: GardenDay) -> tuple[WeatherChart, ...]:
    """Return the last two weeks and the next ten days of every shelf that trees stand on."""
    shelves: dict[tuple[str, str], list[TreeDay]] = {}
    for day in garden.trees:
        shelves.setdefault((day.shelf.place, day.shelf.shelf), []).append(day)
    return tuple(_shelf_weather(trees, garden.today) for trees in shelves.values())


def _shelf_weather(trees: Sequence[TreeDay], today: date) -> WeatherChart:
    one = trees[0]
    first, last = today - timedelta(days=WEATHER_BACK_DAYS), today + timedelta(days=DAYS - 1)
    span = known_span(one.clock, first, last)
    store = bool(one.shelf.shelf_fields.get("store"))
    wet = np.full(len(span), np.nan) if store else leaf_wetness_h(span)
    rain = np.full(len(span), np.nan) if store else span.rain_mm
    columns = zip(
        span.t_min_c.tolist(), span.t_max_c.tolist(), rain.tolist(), wet.tolist(),
        span.origin.tolist(), strict=True,
    )  # fmt: skip
    days = tuple(
        WeatherDay(on, _known(low), _known(high), _known(fell), _known(hours),
                   on > today or origin == Origin.FORECAST)
        for on, (low, high, fell, hours, origin) in zip(
            (first + timedelta(days=n) for n in range(len(span))), columns, strict=True)
    )  # fmt: skip
    return WeatherChart(
        place=str(one.shelf.place_fields.get("name") or one.shelf.place),
        shelf=one.shelf.name,
        trees=tuple(day.facts.name for day in trees),
        today=today,
        days=days,
        frost_c=FROST_C,
        heat_c=HOT_C,
        threats=_threats(trees),
    )


def _threats(trees: Sequence[TreeDay]) -> tuple[Threat, ...]:
    """Return the alarms of a shelf, each once, with the trees it is for."""
    found: dict[tuple[int, date, date], Threat] = {}
    for day in trees:
        for alarm in day.alarms:
            key = (int(alarm.kind), alarm.first, alarm.last)
            one = found.get(key)
            names = (*one.trees, day.facts.name) if one else (day.facts.name,)
            found[key] = Threat(alarm.kind, alarm.first, alarm.last, names)
    ordered = sorted(found.values(), key=lambda t: (t.first, t.kind))
    return tuple(replace(t, trees=tuple(dict.fromkeys(t.trees))) for t in ordered)


def stage_chart_data(day: TreeDay) -> StageChart:
    """Return a tree's stages of this season and the warmth behind them."""
    clock, calendar = day.clock, day.calendar
    first = clock.first
    last = season_last(first, south=clock.south)
    marks = sorted(
        (StageMark(stage, when.early, when.likely, when.late, when.seen)
         for stage, when in calendar.starts.items()
         if when.likely is not None and stage is not Stage.DEEP_REST),
        key=lambda mark: (mark.likely, mark.stage),
    )  # fmt: skip
    size = len(clock.warmth_cd)
    today = (calendar.today - first).days
    kept = sorted({*range(0, size, WARMTH_STEP_DAYS), min(max(today, 0), size - 1), size - 1})
    warmth = tuple(
        Warmth(first + timedelta(days=n), float(clock.warmth_cd[n]), float(clock.warmth_sd_cd[n]))
        for n in kept
    )
    return StageChart(
        day.facts.name, calendar.season, calendar.today, first, last, calendar.stage,
        tuple(marks), warmth, clock.known_to,
    )  # fmt: skip


# --- hours ---------------------------------------------------------------------------------------


def hours_chart_data(called: Called) -> HoursChart:
    """Return the hours that trees want and which of them fit, by harm if skipped."""
    call = called.call
    parts: dict[str, list[HoursPart]] = {}
    names: dict[str, str] = {}
    for tree in call.now:
        names[tree.tree] = tree.name
        mine = parts.setdefault(tree.tree, [])
        mine.append(HoursPart(None, tree.setup_minutes, True))
        mine += [HoursPart(job.harm, job.minutes, True) for job in tree.jobs]
    for slip in call.slips:
        names[slip.tree] = slip.name
        mine = parts.setdefault(slip.tree, [])
        mine.append(HoursPart(slip.job.harm, slip.job.minutes, False))
    trees = tuple(TreeHours(tree, names[tree], _summed(mine)) for tree, mine in parts.items())
    return HoursChart(call.today, call.until, call.hours, call.hours_wanted, call.hours_planned,
                      trees)  # fmt: skip


def _summed(parts: Sequence[HoursPart]) -> tuple[HoursPart, ...]:
    total: dict[tuple[object, bool], HoursPart] = {}
    for one in parts:
        key = (one.harm, one.planned)
        before = total[key].minutes if key in total else 0.0
        total[key] = replace(one, minutes=before + one.minutes)
    return tuple(total.values())


# --- shapes --------------------------------------------------------------------------------------

_SHAPES: Final[dict[type[ChartData], str]] = {
    BranchChart: "branch", YearsChart: "years", SinkChart: "wire", WeatherChart: "weather",
    StageChart: "stages", RatioChart: "ratio", HoursChart: "hours",
}  # fmt: skip


def chart_shape(data: ChartData) -> dict[str, Json]:
    """Return the figures of a chart in their JSON shape."""
    fields = {name: getattr(data, name) for name in type(data).__dataclass_fields__}
    return shaped(f"boughwright/chart-{_SHAPES[type(data)]}", 1, fields)


def _known(value: float) -> float | None:
    return None if isnan(value) else float(value)


def _triple(values: Floats) -> tuple[float, float, float] | None:
    if np.isnan(values).any():
        return None
    low, middle, high = values.tolist()
    return low, middle, high
