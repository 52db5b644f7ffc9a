"""Chart of one wire: how deep it sinks through the season, with the depths that matter."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.report.charts_frame import (
    TIP,
    Row,
    Spec,
    Table,
    Voice,
    chart,
    day_ticks,
    labelled,
    length_axis,
    part,
    q,
    scale,
    text,
    today_line,
    value_axis,
    words,
)

if TYPE_CHECKING:
    from boughwright.report.charts_data import SinkChart, Spread

TALL: Final = 230
"""Height of the chart. [px]"""


def _unit(data: SinkChart, voice: Voice) -> float:
    """Return what turns mm into what is shown: per cent of the gauge, or lengths without one."""
    return length_axis(voice)[0] if data.gauge_mm is None else 100.0 / data.gauge_mm


def depth_words(mm: float, data: SinkChart, voice: Voice) -> str:
    """Return a depth as a share of the gauge, or as a length where the gauge is unknown."""
    return voice.length(mm) if data.gauge_mm is None else voice.percent(mm / data.gauge_mm)


def sink(data: SinkChart, voice: Voice, *, width: int) -> Spec:
    """Return the depth of a wire by day, with the allowed and bitten lines and the looks."""
    factor = _unit(data, voice)
    rows: list[Row] = [
        {"x": (s.on - data.today).days, "low": s.p10 * factor, "y": s.p50 * factor,
         "high": s.p90 * factor, "said": _said(s, data, voice)}
        for s in data.course
    ]  # fmt: skip
    first = min([r["x"] for r in rows], default=0) - 2
    last = max([r["x"] for r in rows], default=0) + 2
    reach = max([r["y"] for r in rows], default=0.0)
    high = 1.2 * max(min(max([r["high"] for r in rows], default=0.0), 1.6 * reach),
                     1.25 * data.bitten_mm * factor, 1.25 * data.allowed_mm * factor)  # fmt: skip
    span = [data.today + timedelta(days=n) for n in (first, last)]
    x = q("x", scale=scale(first, last),
          axis=labelled(day_ticks(span[0], span[1], data.today, voice, width - 60)))  # fmt: skip
    y = q("y", scale={**scale(0.0, high), "clamp": True}, axis=_depth_axis(data, high, voice))
    layers = [
        part("area", rows, {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
             color="$line", opacity=0.38),
        *_lines(data, voice, rows, x, y),
        part("line", rows, {"x": x, "y": y, **TIP}, color="$ink", strokeWidth=2),
        *_today(data, voice, x),
        *_looks(data, voice, rows, x, y),
        *_off(data, voice, x),
    ]  # fmt: skip
    return chart({"layer": layers}, width=width, height=TALL)


def _today(data: SinkChart, voice: Voice, x: Spec) -> list[Spec]:
    """Return the line of today; its word only where it stands clear of the day it must be off."""
    first, last = x["scale"]["domain"]
    if -first >= 0.17 * (last - first):
        return today_line(x, voice, dx=-5)
    off = last if data.off_by is None else (data.off_by - data.today).days
    return today_line(x, voice if off > 0.17 * (last - first) else None)


def _depth_axis(data: SinkChart, high: float, voice: Voice) -> Spec:
    if data.gauge_mm is None:
        return value_axis(0.0, high, 5, voice, unit=length_axis(voice)[1])
    return value_axis(0.0, high, 5, voice, unit=text(voice, "axis_sunk"))


def _lines(data: SinkChart, voice: Voice, rows: list[Row], x: Spec, y: Spec) -> list[Spec]:
    """Return the depths that matter as named lines; two that fall together become one."""
    marks = [("allowed", data.allowed_mm, "$look", [6, 4]), ("bitten", data.bitten_mm, "$harm", [])]
    if abs(data.allowed_mm - data.bitten_mm) < 1e-6:
        marks = [("allowed_bitten", data.bitten_mm, "$harm", [])]
    first, last = x["scale"]["domain"]
    made = []
    for key, depth, role, dash in marks:
        at = depth * _unit(data, voice)
        ends = [{"x": day, "y": at} for day in (first, last)]
        left = _clear(rows, at, first, last)
        said = text(voice, f"line_{key}", depth=depth_words(depth, data, voice))
        told = {**ends[0 if left else 1], "text": said}
        made += [
            part("line", ends, {"x": x, "y": y}, color=role, strokeWidth=1.5, strokeDash=dash),
            words([told], x, y, align="left" if left else "right", dx=2 if left else -2, dy=-9,
                  color=role),
        ]  # fmt: skip
    return made


def _clear(rows: list[Row], at: float, first: float, last: float) -> bool:
    """Tell whether words over a line stand clearer of the course at the left than at the right."""
    third = (last - first) / 3.0

    def room(some: list[Row]) -> float:
        return min((abs(r[key] - at) for r in some for key in ("low", "y", "high")), default=9e9)

    left = [r for r in rows if r["x"] <= first + third]
    right = [r for r in rows if r["x"] >= last - third]
    return room(left) >= room(right)


def _looks(data: SinkChart, voice: Voice, rows: list[Row], x: Spec, y: Spec) -> list[Spec]:
    """Return each look of the season as an open ring on the course, the last with its grade."""
    seen: list[Row] = [
        {"x": day, "y": min(rows, key=lambda r: abs(r["x"] - day))["y"],
         "text": text(voice, "grade_seen", grade=grade),
         "said": text(voice, "look_seen", day=voice.day(on), grade=grade)}
        for on, grade in data.looks
        if rows and (day := (on - data.today).days) >= rows[0]["x"]
    ]  # fmt: skip
    if not seen:
        return []
    ring = part("point", seen, {"x": x, "y": y, **TIP}, stroke="$look", fill="$paper", size=70,
                strokeWidth=2, opacity=1)  # fmt: skip
    first, last = x["scale"]["domain"]
    if seen[-1]["x"] < first + 0.3 * (last - first):
        return [ring]  # no room for its word
    said = words(seen[-1:], x, y, align="right", dx=-8, dy=-8, color="$look")
    return [ring, said]


def _off(data: SinkChart, voice: Voice, x: Spec) -> list[Spec]:
    """Return the day the wire must be off, as a heavy upright line with its date."""
    first, last = x["scale"]["domain"]
    if data.off_by is None or not first <= (data.off_by - data.today).days <= last:
        return []
    day = (data.off_by - data.today).days
    left = day > first + 0.55 * (last - first)
    row: Row = {"x": day, "text": text(voice, "off_by", day=voice.day(data.off_by))}
    return [
        part("rule", [row], {"x": x}, color="$act", strokeWidth=3),
        words([row], x, {"value": 24}, align="right" if left else "left", dx=-8 if left else 8,
              color="$act"),
    ]  # fmt: skip


def _said(s: Spread, data: SinkChart, voice: Voice) -> str:
    low, likely, high = (depth_words(v, data, voice) for v in (s.p10, s.p50, s.p90))
    return text(voice, "range_on", day=voice.day(s.on), likely=likely, low=low, high=high)


def sink_alt(data: SinkChart, voice: Voice) -> str:
    """Return the sentence that says how deep it is and when it must be off."""
    said = [text(voice, "sink_on", branch=data.branch, day=voice.day(data.put_on))]
    now = next((s for s in data.course if s.on >= data.today), None)
    if now is not None:
        said.append(text(
            voice, "sink_now", likely=depth_words(now.p50, data, voice),
            low=depth_words(now.p10, data, voice), high=depth_words(now.p90, data, voice),
            allowed=depth_words(data.allowed_mm, data, voice),
        ))  # fmt: skip
    if data.looks:
        on, grade = data.looks[-1]
        said.append(text(voice, "sink_seen", day=voice.day(on), grade=grade))
    if data.off_by is None:
        said.append(text(voice, "sink_no_off" if data.course else "sink_unknown"))
    else:
        said.append(text(voice, "sink_off", day=voice.day(data.off_by)))
    return " ".join(said)


def sink_rows(data: SinkChart, voice: Voice) -> Table:
    """Return the depth on the first of each month and today."""
    kept = [s for s in data.course if s.on.day == 1 or s.on == data.today]
    rows = tuple(
        (voice.day(s.on), *(depth_words(v, data, voice) for v in (s.p10, s.p50, s.p90)))
        for s in kept
    )
    heads = ("head_day", "head_shallow", "head_likely", "head_deep")
    return Table(tuple(text(voice, key) for key in heads), rows)
