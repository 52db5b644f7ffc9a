"""Charts of the season: the weather at a shelf, and a tree's stages with the warmth behind them."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise, zip_longest
from typing import TYPE_CHECKING, Any, Final

from boughwright.report.charts_frame import (
    LETTER_PX,
    TIP,
    Row,
    Spec,
    Table,
    Voice,
    chart,
    day_ticks,
    degrees,
    figure,
    fits_right,
    labelled,
    length_axis,
    part,
    q,
    scale,
    sentence,
    text,
    today_line,
    value_axis,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.report.charts_data import (
        StageChart,
        StageMark,
        Threat,
        WeatherChart,
        WeatherDay,
    )

LEFT: Final = 40
"""Room for the numbers at the left, the same in panels that share their days. [px]"""
RIGHT: Final = 10
HEAT_TALL, WET_TALL, THREAT_TALL = 150, 54, 20
NEAR: Final = 8.0
"""A limit is drawn when a day comes so near to it. [degrees as shown]"""
STEP_TALL: Final = 24
"""Height of one stage's step: a line of words and the line under it. [px]"""
WARMTH_TALL: Final = 90
FULL_DAY_H: Final = 24.0
LEAST_RAIN_MM: Final = 10.0
"""The rain axis reaches at least so far, so that a drizzle does not look like a flood. [mm]"""


def _y(low: float, high: float, axis: Spec, field: str = "y") -> Spec:
    return q(field, scale=scale(low, high), axis={"minExtent": LEFT, "maxExtent": LEFT, **axis})


def _panel(layers: list[Spec], width: int, height: int, **more: Any) -> Spec:
    return {"layer": layers, "width": width - LEFT - RIGHT - 8, "height": height, **more}


# --- weather -------------------------------------------------------------------------------------


def weather(data: WeatherChart, voice: Voice, *, width: int) -> Spec:
    """Return a shelf's days: coldest to warmest, hours of wet leaf, rain; alarms above."""
    offsets = [(d.on - data.today).days for d in data.days] or [0]
    first, last = min(offsets) - 0.7, max(offsets) + 0.7
    span = [data.today + timedelta(days=n) for n in (min(offsets), max(offsets))]
    ticks = day_ticks(span[0], span[1], data.today, voice, width - LEFT)
    bare = q("x", scale=scale(first, last), axis={**labelled({}), "ticks": False})
    x = q("x", scale=scale(first, last), axis=labelled(ticks))
    panels = [
        _temperatures(data, voice, bare, width, (first, last)),
        _panel(_wet(data, voice, bare), width, WET_TALL),
        _panel(_rain(data, voice, x), width, WET_TALL),
    ]
    return chart({"vconcat": panels}, width=width)


def _temperatures(
    data: WeatherChart, voice: Voice, x: Spec, width: int, ends: tuple[float, float]
) -> Spec:
    rows: list[Row] = [
        {"x": (d.on - data.today).days, "low": degrees(d.low_c, voice),
         "y": degrees(d.high_c, voice), "ahead": d.ahead, "said": day_said(d, voice)}
        for d in data.days if d.low_c is not None and d.high_c is not None
    ]  # fmt: skip
    lines = {"frost": degrees(data.frost_c, voice), "heat": degrees(data.heat_c, voice)}
    low, high = _reach(rows, lines)
    threats = _threat_rows(data, x, voice, width)
    tall = HEAT_TALL + THREAT_TALL * len(threats)
    y = _y(low, high, value_axis(low, high, 4, voice, unit=f"°{voice.temperature}"))
    y["scale"]["range"] = [tall, tall - HEAT_TALL + 10]
    read, ahead = ([r for r in rows if r["ahead"] is told] for told in (False, True))
    bars = {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "y"}, **TIP}
    thick = 7 if width > 500 else 5
    layers = [
        *(one for key, value in lines.items() if low <= value <= high
          for one in _limit(key, value, voice, ends, x, y)),
        part("rule", read, bars, color="$ink", strokeWidth=thick, strokeCap="round"),
        part("rule", ahead, bars, color="$line", strokeWidth=thick, strokeCap="round"),
        *_threats(threats, x),
        *today_line(x),
    ]  # fmt: skip
    return _panel(layers, width, tall)


def _reach(rows: list[Row], lines: Mapping[str, float]) -> tuple[float, float]:
    """Return the span of temperatures; a limit that lies near the days is taken in."""
    lows = [r["low"] for r in rows] or [lines["frost"]]
    highs = [r["y"] for r in rows] or [lines["heat"]]
    low = min([*lows, lines["frost"]]) if min(lows) < lines["frost"] + NEAR else min(lows)
    high = max([*highs, lines["heat"]]) if max(highs) > lines["heat"] - NEAR else max(highs)
    air = 0.08 * max(high - low, 10.0)
    return low - air, high + air


def _limit(key: str, value: float, voice: Voice, ends: tuple[float, float], x: Spec,
           y: Spec) -> list[Spec]:  # fmt: skip
    role = "$act" if key == "frost" else "$harm"
    rows = [{"x": end, "y": value} for end in ends]
    told = {**rows[0], "text": text(voice, f"line_{key}")}
    return [
        part("line", rows, {"x": x, "y": y}, color=role, strokeWidth=1.2, strokeDash=[6, 4]),
        words([told], x, y, align="left", dx=2, dy=9 if key == "frost" else -9, color=role),
    ]


def _threat_rows(data: WeatherChart, x: Spec, voice: Voice, width: int) -> list[Row]:
    """Return alarms as rows from the top, each with its word beside its days."""
    first, last = x["scale"]["domain"]
    plot = width - LEFT - RIGHT
    room = plot + 2 * RIGHT
    rows: list[Row] = []
    for line, threat in enumerate(data.threats):
        end = min((threat.last - data.today).days + 0.4, last)
        said = voice.word(threat.kind)
        rows.append({
            "x": (threat.first - data.today).days - 0.4, "x2": end, "line": line, "text": said,
            "left": not fits_right(f" {said}", plot * (end - first) / (last - first), room),
            "said": threat_said(threat, voice),
        })  # fmt: skip
    return rows


def _threats(rows: list[Row], x: Spec) -> list[Spec]:
    made = []
    for row in rows:
        at = {"value": 8 + THREAT_TALL * row["line"]}
        bar = {"x": x, "x2": {"field": "x2"}, "y": at, **TIP}
        edge = {**x, "field": "x" if row["left"] else "x2"}
        made += [
            part("rule", [row], bar, color="$harm", strokeWidth=6),
            words([row], edge, at, align="right" if row["left"] else "left",
                  dx=-6 if row["left"] else 6, color="$harm", fontWeight=600),
        ]  # fmt: skip
    return made


def _wet(data: WeatherChart, voice: Voice, x: Spec) -> list[Spec]:
    rows: list[Row] = [
        {"x": (d.on - data.today).days, "y": d.wet_h, "ahead": d.ahead, "said": day_said(d, voice)}
        for d in data.days if d.wet_h is not None
    ]  # fmt: skip
    axis = value_axis(0.0, FULL_DAY_H, 2, voice, unit=text(voice, "wet_leaf"))
    y = _y(0.0, FULL_DAY_H, {**axis, "values": [0.0, FULL_DAY_H / 2.0, FULL_DAY_H],
                             "labelExpr": "'' + datum.value"})  # fmt: skip
    return [*_pillars(rows, x, y), *today_line(x)]


def _rain(data: WeatherChart, voice: Voice, x: Spec) -> list[Spec]:
    factor, unit = length_axis(voice)
    rows: list[Row] = [
        {"x": (d.on - data.today).days, "y": d.rain_mm * factor, "ahead": d.ahead,
         "said": day_said(d, voice)}
        for d in data.days if d.rain_mm is not None
    ]  # fmt: skip
    high = 1.1 * max([r["y"] for r in rows] + [LEAST_RAIN_MM * factor])
    y = _y(0.0, high, value_axis(0.0, high, 3, voice, unit=text(voice, "rain", unit=unit)))
    return [*_pillars(rows, x, y), *today_line(x)]


def _pillars(rows: list[Row], x: Spec, y: Spec) -> list[Spec]:
    bars = {"x": x, "y": y, "y2": {"datum": 0}, **TIP}
    read = [r for r in rows if not r["ahead"]]
    ahead = [r for r in rows if r["ahead"]]
    return [part("bar", read, bars, color="$ink", width=6),
            part("bar", ahead, bars, color="$line", width=6)]  # fmt: skip


def day_said(day: WeatherDay, voice: Voice) -> str:
    """Return one day of weather in words; what is unknown is left out."""
    said = [voice.day(day.on)]
    if day.low_c is not None and day.high_c is not None:
        said.append(text(voice, "low_high", low=voice.temp(day.low_c), high=voice.temp(day.high_c)))
    if day.rain_mm is not None:
        said.append(text(voice, "rain_of", length=voice.length(day.rain_mm)))
    if day.wet_h is not None:
        said.append(text(voice, "wet_of", hours=figure(day.wet_h, 0, voice)))
    return ", ".join(said)


def threat_said(threat: Threat, voice: Voice) -> str:
    """Return an alarm in words: what, when, which trees."""
    one_day = threat.first == threat.last
    when = voice.day(threat.first) if one_day else voice.range(threat.first, threat.last)
    return sentence(text(voice, "threat", what=voice.word(threat.kind), when=when,
                         trees=", ".join(threat.trees)))  # fmt: skip


def weather_alt(data: WeatherChart, voice: Voice) -> str:
    """Return the sentence that says what the next days bring at the shelf."""
    ahead = [d for d in data.days if d.on >= data.today]
    lows = [d.low_c for d in ahead if d.low_c is not None]
    highs = [d.high_c for d in ahead if d.high_c is not None]
    if not lows or not highs:
        return text(voice, "weather_none", shelf=data.shelf)
    said = [text(voice, "weather_ahead", shelf=data.shelf, low=voice.temp(min(lows)),
                 high=voice.temp(max(highs)), n=len(lows))]  # fmt: skip
    told = [threat_said(threat, voice) for threat in data.threats]
    return sentence(" ".join([*said, *told] if told else [*said, text(voice, "no_threat")]))


def weather_rows(data: WeatherChart, voice: Voice) -> Table:
    """Return each day with its temperatures, rain and hours of wet leaf."""
    unknown = text(voice, "unknown")

    def told(value: float | None, say: Any) -> str:
        return unknown if value is None else str(say(value))

    rows = tuple(
        (voice.day(d.on), told(d.low_c, voice.temp), told(d.high_c, voice.temp),
         told(d.rain_mm, voice.length), told(d.wet_h, lambda h: figure(h, 0, voice)))
        for d in data.days
    )  # fmt: skip
    heads = ("head_day", "head_low", "head_high", "head_rain", "head_wet")
    return Table(tuple(text(voice, key) for key in heads), rows)


# --- stages --------------------------------------------------------------------------------------


def stages(data: StageChart, voice: Voice, *, width: int) -> Spec:
    """Return the season as a stair: each stage a step that starts where it likely begins.

    A thin line shows the days in which it may begin; what is past is full, what is ahead dashed.
    Below it the warmth that has been laid up and is to come.
    """
    first, last = (data.first - data.today).days, (data.last - data.today).days
    ticks = day_ticks(data.first, data.last, data.today, voice, width - LEFT)
    x = q("x", scale=scale(first, last), axis=labelled(ticks))
    bare = q("x", scale=scale(first, last), axis={**labelled({}), "ticks": False, "domain": False})
    steps = len(data.stages)
    stair = _stair(data, voice, bare, width)
    panels = [
        _panel(stair, width, STEP_TALL * steps + 16),
        _panel(_warmth(data, voice, x), width, WARMTH_TALL),
    ]
    return chart({"vconcat": panels}, width=width)


def _stair(data: StageChart, voice: Voice, x: Spec, width: int) -> list[Spec]:
    last = x["scale"]["domain"][1]
    count = len(data.stages)
    y = q("y", scale=scale(-0.45, count - 0.3), axis=labelled({}, minExtent=LEFT, maxExtent=LEFT))
    rows = [_step(n, mark, data, voice, x) for n, mark in enumerate(data.stages)]
    for row, following in zip_longest(rows, rows[1:]):
        row["x2"] = last if following is None else max(following["x"], row["x"])
        row["left"] = _left_of(row, x, width - LEFT - RIGHT)
    past = [{**r, "x2": min(r["x2"], 0)} for r in rows if r["x"] <= 0]
    ahead = [{**r, "x": max(r["x"], 0)} for r in rows if r["x2"] > 0]
    rises = [{"x": b["x"], "y": a["y"], "y2": b["y"]} for a, b in pairwise(rows)]
    flat = {"x": x, "x2": {"field": "x2"}, "y": y, **TIP}
    ranged = {"x": {**x, "field": "early"}, "x2": {"field": "late"}, "y": y, **TIP}
    return [
        part("rule", rises, {"x": x, "y": y, "y2": {"field": "y2"}}, color="$faint"),
        part("rule", [r for r in rows if r["early"] < r["late"]], ranged, color="$line",
             strokeWidth=7, opacity=0.5),
        *today_line(x),
        part("rule", past, flat, color="$ink", strokeWidth=2.5),
        part("rule", ahead, flat, color="$ink", strokeWidth=1.2, strokeDash=[4, 4]),
        part("point", rows, {"x": x, "y": y, **TIP}, color="$ink", filled=True, size=26, opacity=1),
        *(_step_words(rows, x, y, now=now, left=left)
          for left in (True, False) for now in (True, False)),
    ]  # fmt: skip


def _left_of(row: Row, x: Spec, plot: int) -> bool:
    """Tell whether a step's word stands left of its start: where it fits, clear of today."""
    first, last = x["scale"]["domain"]
    day = (last - first) / plot
    wide = day * (LETTER_PX * len(row["text"]) + 6.0)
    fits_left, fits = row["x"] - wide >= first - LEFT * day, row["x"] + wide <= last
    if fits_left and not row["x"] - wide < 0 < row["x"]:
        return True
    return fits_left and (not fits or row["x"] < 0 < row["x"] + wide)


def _step_words(rows: list[Row], x: Spec, y: Spec, *, now: bool, left: bool) -> Spec:
    some = [r for r in rows if r["now"] is now and r["left"] is left]
    return words(some, x, y, align="right" if left else "left", dx=-6 if left else 6, dy=-9,
                 fontWeight=700 if now else 400)  # fmt: skip


def _step(n: int, mark: StageMark, data: StageChart, voice: Voice, x: Spec) -> Row:
    ends = x["scale"]["domain"]

    def place(day: Any, other: Any) -> int:
        return int(min(max(((day or other) - data.today).days, ends[0]), ends[1]))

    return {
        "x": place(mark.likely, None), "y": n, "early": place(mark.early, mark.likely),
        "late": place(mark.late, mark.likely), "now": mark.stage == data.now,
        "text": voice.word(mark.stage), "said": stage_said(mark, voice),
    }  # fmt: skip


def stage_said(mark: StageMark, voice: Voice) -> str:
    """Return when a stage starts, in words."""
    key = "stage_seen" if mark.seen else "stage_likely"
    same = mark.early in (None, mark.likely) and mark.late in (None, mark.likely)
    if same and not mark.seen:
        key = "stage_day"
    return text(voice, key, stage=voice.word(mark.stage), day=voice.day(mark.likely),
                early=voice.day(mark.early or mark.likely),
                late=voice.day(mark.late or mark.likely))  # fmt: skip


def _warmth(data: StageChart, voice: Voice, x: Spec) -> list[Spec]:
    rows: list[Row] = [
        {"x": (w.on - data.today).days, "low": max(w.cd - 2.0 * w.sd, 0.0), "y": w.cd,
         "high": w.cd + 2.0 * w.sd,
         "said": text(voice, "warmth_on", day=voice.day(w.on), cd=figure(w.cd, 0, voice))}
        for w in data.warmth
    ]  # fmt: skip
    high = 1.12 * max([r["high"] for r in rows], default=100.0)
    y = _y(0.0, high, value_axis(0.0, high, 3, voice, unit=text(voice, "axis_warmth")))
    past = [r for r in rows if r["x"] <= 0]
    ahead = [r for r in rows if r["x"] >= 0]
    now: list[Row] = [{**row, "text": figure(row["y"], 0, voice)} for row in past[-1:]]
    return [
        part("area", rows, {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
             color="$line", opacity=0.38),
        part("line", past, {"x": x, "y": y, **TIP}, color="$ink", strokeWidth=2),
        part("line", ahead, {"x": x, "y": y, **TIP}, color="$ink", strokeWidth=1.2,
             strokeDash=[4, 4]),
        words(now, x, y, align="right", dx=-7, dy=-7),
        *today_line(x),
    ]  # fmt: skip


def stages_alt(data: StageChart, voice: Voice) -> str:
    """Return the sentence that says which stage it is in, since when, and what comes next."""
    said = [text(voice, "stages_now", tree=data.tree, stage=voice.word(data.now))]
    coming: Sequence[StageMark] = [m for m in data.stages if m.likely > data.today]
    if coming:
        said.append(text(voice, "stages_next", next=stage_said(coming[0], voice)))
    now = [w for w in data.warmth if w.on <= data.today]
    if now:
        said.append(text(voice, "stages_warmth", cd=figure(now[-1].cd, 0, voice)))
    return " ".join(said)


def stages_rows(data: StageChart, voice: Voice) -> Table:
    """Return each stage with the days in which it starts."""
    rows = tuple(
        (voice.word(m.stage), voice.day(m.likely),
         text(voice, "seen") if m.seen else text(
             voice, "from_to", low=voice.day(m.early or m.likely),
             high=voice.day(m.late or m.likely)))
        for m in data.stages
    )  # fmt: skip
    return Table(tuple(text(voice, k) for k in ("head_stage", "head_starts", "head_range")), rows)
