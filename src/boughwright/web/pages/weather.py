"""Weather and stages: which trees to move tonight, the days ahead, and where each tree is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup

from boughwright.errors import BoughwrightError
from boughwright.report.charts_season import stage_said
from boughwright.report.seasons import season_head, season_line
from boughwright.sources import Grade
from boughwright.units import parse_length_mm
from boughwright.usecases.charts import stage_chart_data
from boughwright.usecases.enter_readings import enter_weather
from boughwright.usecases.entry import FieldFault, Writer, fault_of
from boughwright.usecases.stages import StageLine, strip_of
from boughwright.usecases.threats import Danger, Threats, threats_of
from boughwright.web.charting import Picture, picture
from boughwright.web.pages.charts import NO_SHELF, shelf_weather
from boughwright.web.photo_forms import day_of
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from boughwright.report.charts_data import StageChart
    from boughwright.season.stages import DateRange
    from boughwright.usecases.day import GardenDay
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Word = Annotated[str, Form(max_length=120)]
Number = Annotated[str, Form(max_length=20)]
READ = ("t_min_c", "t_max_c", "rain_mm")
"""What is read at the bench each day; the rest is asked under more."""
READ_MORE = ("humidity_pct", "wind_ms")


@router.get("/weather")
def weather(
    request: Request,
    bench: AtBench,
    read: Annotated[str, Query(max_length=120)] = "",
    on: Annotated[date | None, Query()] = None,
) -> HTMLResponse:
    """Show what the weather threatens and where each tree is; ``read`` was just written down."""
    return _page(request, bench, kept=(read, on) if on else None)


@router.post("/weather/reading")
def take_reading(
    request: Request,
    bench: AtBench,
    place: Word = "",
    day: Word = "",
    t_min_c: Number = "",
    t_max_c: Number = "",
    rain_mm: Number = "",
    humidity_pct: Number = "",
    wind_ms: Number = "",
) -> Response:
    """Keep the weather of one day as it was read at the bench."""
    typed = {"place": place, "day": day, "t_min_c": t_min_c, "t_max_c": t_max_c,
             "rain_mm": rain_mm, "humidity_pct": humidity_pct, "wind_ms": wind_ms}  # fmt: skip
    faults, on = _entered(bench, typed)
    if faults or on is None:
        return _page(request, bench, status=422, typed=typed, faults=faults)
    told = urlencode({"read": place, "on": on.isoformat()})
    return RedirectResponse(f"/weather?{told}#reading", status_code=303)


@router.get("/weather/stages/{tree}")
def one_tree(request: Request, tree: str, bench: AtBench) -> HTMLResponse:
    """Show one tree's season close: each stage, and the warmth behind it."""
    day, words = tree_day(bench, tree), bench.speaker()
    data = stage_chart_data(day)
    line = next(x for x in strip_of(bench.day()).lines if x.calendar is day.calendar)
    return bench.render(
        request,
        "weather/stages.html",
        line=line,
        id=day.facts.tree,
        row=_stage_row(day.facts.tree, line, data, words),
        chart=picture(f"/charts/stages/{day.facts.tree}", data, words),
    )


# --- the page -------------------------------------------------------------------------------------


def _page(
    request: Request,
    bench: Bench,
    *,
    status: int = 200,
    typed: dict[str, str] | None = None,
    faults: Iterable[FieldFault] = (),
    kept: tuple[str, date | None] | None = None,
) -> HTMLResponse:
    garden, words = bench.day(), bench.speaker()
    threats = threats_of(garden)
    names = {key: str(place.get("name") or key) for key, place in garden.garden.places.items()}
    return bench.render(
        request,
        "weather/all.html",
        status=status,
        sentence=sentence(threats, words),
        threats=threats,
        dangers=[_Danger(danger, words) for danger in _others(threats)],
        shelves=_shelves(garden, threats, words),
        seasons=_seasons(garden, words),
        places=names,
        typed=typed or {"day": garden.today.isoformat()},
        faults={fault.field: fault for fault in faults},
        read=READ,
        read_more=READ_MORE,
        rain_unit=bench.settings.units,
        kept=(names[kept[0]], kept[1]) if kept and kept[0] in names else None,
    )


def sentence(threats: Threats, words: Speaker) -> str:
    """Return the page's answer: what to move tonight, what comes, or that nothing does."""
    said = []
    if threats.tonight:
        first = threats.tonight[0].name
        said.append(words.t("weather.move", n=len(threats.tonight), first=first))
    moved = {move.tree for move in threats.tonight}
    coming = next((d for d in threats.ahead if {one.tree for one in d.trees} - moved), None)
    if coming is not None:
        count = len({one.tree for one in coming.trees})
        told = words.t("weather.comes", n=count, what=words.word(coming.kind),
                       when=_span(coming.first, coming.last, words))  # fmt: skip
        said.append(told[:1].upper() + told[1:])
    if not said and len(threats.blind) < len(threats.places):
        said.append(words.t("weather.nothing", n=threats.reach))
    if threats.blind:
        places = ", ".join(place.place for place in threats.blind)
        said.append(words.t("weather.blind", places=places))
    return " ".join(said) if said else words.t("weather.no_trees")


def _span(first: date, last: date, words: Speaker) -> str:
    if first == last:
        return words.t("weather.on", day=words.day(first))
    return words.t("weather.from_to", span=words.range(first, last))


def _others(threats: Threats) -> list[Danger]:
    """Return the alarms without those that the trees to move tonight are listed for."""
    told = {(move.tree, alarm) for move in threats.tonight for alarm in move.alarms}
    left = [
        replace(d, trees=tuple(one for one in d.trees if (one.tree, one.alarm) not in told))
        for d in threats.ahead
    ]
    return [danger for danger in left if danger.trees]


class _Danger:
    """One alarm in words: what, when, the trees it is for, and what to do."""

    def __init__(self, danger: Danger, words: Speaker) -> None:
        self.kind = danger.kind
        self.when = _span(danger.first, danger.last, words)
        self.reason = danger.trees[0].alarm.reason
        self.source = danger.trees[0].alarm.source
        self.grade = danger.trees[0].alarm.grade
        self.trees = [(one.tree, one.name) for one in danger.trees]
        self.todo = danger.todo


@dataclass(frozen=True, slots=True)
class _Shelf:
    """One shelf and the picture of its weather."""

    name: str
    place: str
    trees: int
    chart: Picture
    open: bool


def _shelves(garden: GardenDay, threats: Threats, words: Speaker) -> list[_Shelf]:
    """Return the shelves that trees stand on, those with a tree to move first."""
    keys = dict.fromkeys((day.shelf.place, day.shelf.shelf) for day in garden.trees)
    urgent = {move.tree for move in threats.tonight}
    first = {
        (d.shelf.place, d.shelf.shelf) for d in garden.trees if d.facts.tree in urgent
    }  # fmt: skip
    ordered = sorted(keys, key=lambda key: key not in first)
    shelves = []
    for number, (place, shelf) in enumerate(ordered):
        data = shelf_weather(garden, place, shelf)
        chart = picture(f"/charts/weather/{place}/{shelf or NO_SHELF}", data, words)
        shelves.append(_Shelf(data.shelf, data.place, len(data.trees), chart, number == 0))
    return shelves


# --- stages ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _StageRow:
    """One tree's season in words, and drawn as a shoot."""

    id: str
    name: str
    shelf: str
    stage: str
    since: str
    next: str
    line: Markup
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Season:
    """Trees whose seasons run over the same days: one axis for all of them."""

    title: str
    head: Markup
    rows: tuple[_StageRow, ...]


def _seasons(garden: GardenDay, words: Speaker) -> list[_Season]:
    groups: dict[tuple[date, date], list[tuple[StageChart, _StageRow]]] = {}
    for day, line in zip(garden.trees, strip_of(garden).lines, strict=True):
        data = stage_chart_data(day)
        row = _stage_row(day.facts.tree, line, data, words)
        groups.setdefault((data.first, data.last), []).append((data, row))
    return [
        _Season(words.t("weather.season", season=several[0][0].season),
                _head(several[0][0], words), tuple(row for _, row in several))
        for several in groups.values()
    ]  # fmt: skip


def _head(data: StageChart, words: Speaker) -> Markup:
    months = words.t("charts.months").split()
    now = words.t("charts.today")
    head = season_head(data.first, data.last, data.today, months, now)
    return Markup(head)  # noqa: S704  # our own picture


def _stage_row(id_: str, line: StageLine, data: StageChart, words: Speaker) -> _StageRow:
    since, following = _since(line, words), _next(line, words)
    stage = words.word(line.calendar.stage)
    label = words.t("weather.shoot", tree=line.tree, stage=stage, since=since, next=following)
    drawn = season_line(data, label, lambda mark: stage_said(mark, words))
    return _StageRow(
        id_, line.tree, line.shelf, stage, since, following,
        Markup(drawn),  # noqa: S704  # our own picture, its text escaped there
        line.calendar.notes,
    )  # fmt: skip


def _since(line: StageLine, words: Speaker) -> str:
    """Return since when a tree is in its stage, and whether that was seen or is reckoned."""
    since = line.calendar.since
    if since.likely is None:
        return words.t("weather.since_unknown")
    if since.seen:
        return words.t("weather.since_seen", day=words.day(since.likely))
    key = "weather.since_read" if line.calendar.grade is Grade.MEASURED else "weather.since"
    return words.t(key, day=words.day(since.likely), between=_between(since, words))


def _next(line: StageLine, words: Speaker) -> str:
    if line.next_stage is None or line.next_starts is None or line.next_starts.likely is None:
        return words.t("weather.next_unknown")
    return words.t(
        "weather.next", stage=words.word(line.next_stage),
        day=words.day(line.next_starts.likely), between=_between(line.next_starts, words),
    )  # fmt: skip


def _between(when: DateRange, words: Speaker) -> str:
    if when.early is None or when.late is None or when.early == when.late:
        return ""
    return words.t("weather.between", span=words.range(when.early, when.late))


# --- a reading at the bench -----------------------------------------------------------------------


def _entered(bench: Bench, typed: dict[str, str]) -> tuple[list[FieldFault], date | None]:
    """Keep a reading. Return what is wrong with the form, else its day; then nothing is kept."""
    faults: list[FieldFault] = []
    on, rain = bench.today, typed["rain_mm"]
    try:
        on = day_of(typed["day"]) or bench.today
    except BoughwrightError as error:
        faults.append(fault_of("day", error))
    try:
        rain = _millimetres(rain, bench.settings.units)
    except BoughwrightError as error:
        faults.append(fault_of("rain_mm", error))
    if faults:
        return faults, None
    given = {name: typed[name] for name in (*READ, *READ_MORE)} | {"rain_mm": rain}
    writer = Writer(bench.today, bench.settings.who)
    try:
        entered = enter_weather(bench.book, typed["place"], on, given, writer)
    except BoughwrightError as error:
        return [fault_of("place", error)], None
    return list(entered.faults), on


def _millimetres(text: str, units: str) -> str:
    """Return a rainfall in mm, from the grower's unit; empty stays empty."""
    return f"{parse_length_mm(text, bare=units):.6g}" if text.strip() else ""
