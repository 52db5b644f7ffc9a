"""Charts of one branch: where its base is going, what it gained, how its graft or scar comes on."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

from boughwright.report.charts_frame import (
    TIP,
    Row,
    Spec,
    Table,
    Voice,
    chart,
    day_ticks,
    fits_right,
    labelled,
    length_axis,
    part,
    q,
    scale,
    season_words,
    sentence,
    text,
    today_line,
    value_axis,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from boughwright.report.charts_data import BranchChart, RatioChart, Reading, YearsChart

TALL: Final = 220
"""Height of a chart with one panel. [px]"""

LEAST_DAYS: Final = 150
"""Readings of a graft or a scar are drawn over at least so long. [d]"""

LEFT_PX: Final = 48
"""Room that numbers and air take from the width, about. [px]"""

ERROR_SDS: Final = 2.0
"""Error bars reach so many standard errors to either side."""


def _bounds(values: Sequence[float], *, floor: float | None = None) -> tuple[float, float]:
    """Return an axis that holds all values with a little air."""
    low, high = min(values, default=0.0), max(values, default=1.0)
    air = 0.12 * max(high - low, 0.1 * max(abs(high), 1.0))
    low -= air  # twice the air below: a word stands there
    return (low - air if floor is None else max(low - air, floor)), high + air


def _readings(points: Sequence[Reading], today: date, factor: float,
              said: Sequence[str]) -> list[Row]:  # fmt: skip
    return [
        {
            "x": (one.on - today).days,
            "y": one.value * factor,
            "low": (one.value - ERROR_SDS * (one.sd or 0.0)) * factor,
            "high": (one.value + ERROR_SDS * (one.sd or 0.0)) * factor,
            "said": words_,
        }
        for one, words_ in zip(points, said, strict=True)
    ]


def _dots(rows: list[Row], x: Spec, y: Spec) -> list[Spec]:
    """Return readings as dots with their errors."""
    bars = {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}}
    return [
        part("rule", rows, bars, color="$ink", strokeWidth=1.5),
        part("point", rows, {"x": x, "y": y, **TIP}, color="$ink", filled=True, size=46, opacity=1),
    ]


def fan(data: BranchChart, voice: Voice, *, width: int) -> Spec:
    """Return the base as read, and where it goes to the season's end and on to its target."""
    factor, unit = length_axis(voice)
    said = [_said(voice, one.on, one.value) for one in data.readings]
    rows = _readings(data.readings, data.today, factor, said)
    ahead: list[Row] = [
        {"x": (s.on - data.today).days, "low": s.p10 * factor, "y": s.p50 * factor,
         "high": s.p90 * factor, "said": _range_said(voice, s.on, s.p10, s.p50, s.p90)}
        for s in data.fan
    ]  # fmt: skip
    target = None if data.target_mm is None else data.target_mm * factor
    tops = [r["high"] for r in (*rows, *ahead)] + ([] if target is None else [target])
    low, high = _bounds([*tops, *(r["low"] for r in (*rows, *ahead))], floor=0.0)
    days = [r["x"] for r in (*rows, *ahead)] or [0]
    first, last = min(*days, 0) - 12, max(*days, 0) + 12
    span = [data.today + timedelta(days=n) for n in (first, last)]
    ticks = day_ticks(span[0], span[1], data.today, voice, width - 60)
    x = q("x", scale=scale(first, last), axis=labelled(ticks))
    y = q("y", scale=scale(low, high), axis=value_axis(low, high, 5, voice, unit=unit))
    layers = [part("area", ahead, {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
                   color="$line", opacity=0.38)] if ahead else []  # fmt: skip
    if ahead:
        layers += [part("line", ahead, {"x": x, "y": y, **TIP}, color="$ink", strokeWidth=2,
                        strokeDash=[6, 4])]  # fmt: skip
        layers += _fan_words(data, voice, ahead, x, y, width)
    layers += _target(data, voice, target, first, last, x, y)
    layers += today_line(x, voice, dx=-5 if -first > 0.5 * (last - first) else 5)
    return chart({"layer": [*layers, *_dots(rows, x, y)]}, width=width, height=TALL)


def _fan_words(data: BranchChart, voice: Voice, ahead: list[Row], x: Spec, y: Spec,
               width: int) -> list[Spec]:  # fmt: skip
    """Return the likely base at the season's end, written at its place."""
    end = next((s for s in data.fan if s.on >= data.season_end), None)
    if end is None:
        return []
    place = next(r for r in ahead if r["x"] == (end.on - data.today).days)
    row = {**place, "text": text(voice, "season_end", length=voice.length(end.p50))}
    first, last = x["scale"]["domain"]
    plot = width - LEFT_PX
    at = plot * (place["x"] - first) / (last - first)
    near = not fits_right(row["text"], at, plot)
    # Where it fits on neither side it ends at the edge.
    told = {**row, "x": last} if near and not fits_right(row["text"], 0.0, round(at)) else row
    dot = part("point", [row], {"x": x, "y": y, **TIP}, color="$ink", filled=False, size=60,
               strokeWidth=1.5, opacity=1)  # fmt: skip
    said = words([told], x, {**y, "field": "low"}, align="right" if near else "left",
                 dx=0 if near else 4, dy=12)  # fmt: skip
    return [dot, said]


def _target(data: BranchChart, voice: Voice, target: float | None, first: int, last: int,
            x: Spec, y: Spec) -> list[Spec]:  # fmt: skip
    if target is None or data.target_mm is None:
        return []
    line = [{"x": first, "y": target}, {"x": last, "y": target}]
    told = {"x": first, "y": target,
            "text": text(voice, "target", length=voice.length(data.target_mm))}  # fmt: skip
    return [
        part("line", line, {"x": x, "y": y}, color="$act", strokeWidth=1.5),
        words([told], x, y, align="left", dx=2, dy=-9, color="$act"),
    ]


def _said(voice: Voice, on: date, value_mm: float) -> str:
    return text(voice, "read_on", day=voice.day(on), length=voice.length(value_mm))


def _range_said(voice: Voice, on: date, p10: float, p50: float, p90: float) -> str:
    return text(voice, "range_on", day=voice.day(on), likely=voice.length(p50),
                low=voice.length(p10), high=voice.length(p90))  # fmt: skip


def fan_alt(data: BranchChart, voice: Voice) -> str:
    """Return the sentence that says what the fan shows."""
    said = [text(voice, "fan_none", branch=data.branch)]
    if data.readings:
        last = data.readings[-1]
        said = [text(voice, "fan_read", branch=data.branch, length=voice.length(last.value),
                     day=voice.day(last.on))]  # fmt: skip
    end = next((s for s in data.fan if s.on >= data.season_end), None)
    if end is not None:
        said.append(text(voice, "fan_end", likely=voice.length(end.p50),
                         low=voice.length(end.p10), high=voice.length(end.p90)))  # fmt: skip
    if data.target_mm is None:
        said.append(text(voice, "fan_no_target"))
    elif data.seasons is None:
        said.append(text(voice, "fan_target", length=voice.length(data.target_mm)))
    elif data.seasons[1] <= 0.0:
        said.append(text(voice, "fan_there", length=voice.length(data.target_mm)))
    else:
        fast, likely, slow = (season_words(n, voice) for n in data.seasons)
        key = "fan_seasons_sure" if fast == slow else "fan_seasons"
        said.append(text(voice, key, length=voice.length(data.target_mm), likely=likely,
                         fast=fast, slow=slow))  # fmt: skip
    return " ".join(said)


def fan_rows(data: BranchChart, voice: Voice) -> Table:
    """Return readings, then the forecast of each season's end, as a table."""
    rows = [
        (voice.day(one.on), text(voice, "read"), voice.length(one.value),
         "" if one.sd is None else text(voice, "give_or_take",
                                        length=voice.length(ERROR_SDS * one.sd)))
        for one in data.readings
    ]  # fmt: skip
    rows += [
        (voice.day(s.on), text(voice, "if_run"), voice.length(s.p50),
         text(voice, "from_to", low=voice.length(s.p10), high=voice.length(s.p90)))
        for s in data.fan if s.on >= data.season_end and _ends_season(s.on, data.season_end)
    ]  # fmt: skip
    heads = tuple(text(voice, key) for key in ("head_day", "head_what", "head_base", "head_range"))
    return Table(heads, tuple(rows))


def _ends_season(on: date, season_end: date) -> bool:
    return (on.month, on.day) == (season_end.month, season_end.day)


# --- what each season brought --------------------------------------------------------------------


def years(data: YearsChart, voice: Voice, *, width: int) -> Spec:
    """Return the gain of each season as an upright line, beside what is to be expected."""
    factor, unit = length_axis(voice)
    rows: list[Row] = [
        {"x": n, "y": g.gain_mm * factor, "said": _gain_said(g.season, g.gain_mm, voice),
         "low": (g.gain_mm - ERROR_SDS * (g.sd_mm or 0.0)) * factor,
         "high": (g.gain_mm + ERROR_SDS * (g.sd_mm or 0.0)) * factor,
         "text": voice.length(g.gain_mm)}
        for n, g in enumerate(data.gains) if g.gain_mm is not None
    ]  # fmt: skip
    bands = [(key, band) for key, band in (("run", data.run), ("cut", data.cut)) if band]
    tops = [r["high"] for r in rows] + [band[2] * factor for _, band in bands] + [0.5 * factor]
    high = 1.15 * max(tops)
    low = min([0.0, *(1.1 * r["low"] for r in rows)])
    count = len(data.gains)
    every = -(-count // max((width - 90) // 64, 1)) if count else 1
    labels = {n: g.season for n, g in enumerate(data.gains) if (count - 1 - n) % every == 0}
    x = q("x", scale=scale(-0.6, count + 1.1), axis=labelled(labels))
    y = q("y", scale=scale(low, high), axis=value_axis(low, high, 5, voice, unit=unit))
    layers = [layer for n, (key, band) in enumerate(bands)
              for layer in _band(key, band, n, count, factor, voice, x, y)]  # fmt: skip
    layers += [
        part("bar", rows, {"x": x, "y": y, "y2": {"datum": 0}, **TIP}, color="$ink",
             width=10, opacity=0.85),
        part("rule", rows, {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
             color="$soft", strokeWidth=1.5),
    ]  # fmt: skip
    return chart({"layer": layers}, width=width, height=TALL)


def _band(key: str, band: tuple[float, float, float], n: int, count: int, factor: float,
          voice: Voice, x: Spec, y: Spec) -> list[Spec]:  # fmt: skip
    """Return what a season is expected to bring: its range as a line, its middle as a dot."""
    role = "$run" if key == "run" else "$soft"
    low, middle, high = (value * factor for value in band)
    place = count - 0.05 + 0.7 * n
    said = text(voice, f"expect_{key}", likely=voice.length(band[1]), low=voice.length(band[0]),
                high=voice.length(band[2]))  # fmt: skip
    row: Row = {"x": place, "low": low, "y": middle, "high": high, "said": said,
                "text": text(voice, f"short_{key}")}  # fmt: skip
    return [
        part("rule", [row], {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}, **TIP},
             color=role, strokeWidth=3, strokeDash=[5, 4] if key == "run" else [1, 0]),
        part("point", [row], {"x": x, "y": y, **TIP}, color=role, filled=True, size=60, opacity=1),
        words([row], x, {**y, "field": "high"}, dy=-9, color=role),
    ]  # fmt: skip


def _gain_said(season: str, gain_mm: float, voice: Voice) -> str:
    return text(voice, "gain_in", season=season, length=voice.length(gain_mm))


def years_alt(data: YearsChart, voice: Voice) -> str:
    """Return the sentence that says what the seasons brought."""
    told = [g for g in data.gains if g.gain_mm is not None]
    said = [text(voice, "years_none", branch=data.branch)]
    if told:
        last = told[-1]
        said = [text(voice, "years_last", branch=data.branch, n=len(told), season=last.season,
                     length=voice.length(last.gain_mm or 0.0))]  # fmt: skip
    for key, band in (("run", data.run), ("cut", data.cut)):
        if band:
            said.append(text(voice, f"expect_{key}", likely=voice.length(band[1]),
                             low=voice.length(band[0]), high=voice.length(band[2])))  # fmt: skip
    return " ".join(said)


def years_rows(data: YearsChart, voice: Voice) -> Table:
    """Return each season with its base and its gain."""
    unknown = text(voice, "unknown")
    rows = tuple(
        (g.season, voice.length(g.base_mm),
         unknown if g.gain_mm is None else voice.length(g.gain_mm))
        for g in data.gains
    )  # fmt: skip
    return Table(tuple(text(voice, k) for k in ("head_season", "head_base", "head_gain")), rows)


# --- grafts and scars ----------------------------------------------------------------------------


def ratio(data: RatioChart, voice: Voice, *, width: int) -> Spec:
    """Return a graft's ratio against its gate, or how wide a scar is open, reading by reading."""
    graft = data.kind == "graft"
    factor, unit = (1.0, "") if graft else length_axis(voice)
    said = [text(voice, "read_on", day=voice.day(p.on), length=ratio_words(p.value, graft, voice))
            for p in data.points]  # fmt: skip
    rows = _readings(data.points, data.today, factor, said)
    tops = [r["high"] for r in rows] + [r["low"] for r in rows]
    tops += [data.gate] if data.gate is not None else []
    tops += [1.0] if graft else [0.0]
    low, high = _bounds(tops, floor=None if graft else 0.0)
    days = [r["x"] for r in rows] or [0]
    last = max(*days, 0) + 30
    first = min(min(days) - 20, last - LEAST_DAYS)
    span = [data.today + timedelta(days=n) for n in (first, last)]
    ticks = day_ticks(span[0], span[1], data.today, voice, width - 60)
    x = q("x", scale=scale(first, last), axis=labelled(ticks))
    y = q("y", scale=scale(low, high), axis=value_axis(low, high, 5, voice, unit=unit))
    layers: list[Spec] = []
    if data.gate is not None:
        line = [{"x": first, "y": data.gate}, {"x": last, "y": data.gate}]
        told = {**line[0], "text": text(voice, "gate", ratio=ratio_words(data.gate, True, voice))}
        layers += [
            part("line", line, {"x": x, "y": y}, color="$act", strokeWidth=1.5),
            words([told], x, y, align="left", dx=2, dy=-9, color="$act"),
        ]
    layers += [part("line", rows, {"x": x, "y": y}, color="$ink", strokeWidth=1.5)]
    layers += today_line(x, voice, dx=-5)
    if rows:
        newest = {**rows[-1], "text": ratio_words(data.points[-1].value, graft, voice)}
        over = data.gate is not None and data.points[-1].value >= data.gate
        layers += [words([newest], x, y, align="right", dx=-9, dy=-7 if over else 13)]
    return chart({"layer": [*layers, *_dots(rows, x, y)]}, width=width, height=TALL)


def ratio_words(value: float, graft: bool, voice: Voice) -> str:
    """Return a ratio with two places, or a width with its unit."""
    return voice.number(value, 2) if graft else voice.length(value)


RATIO_TEXTS: Final = {
    "graft": {"none": "graft_none", "once": "graft_once", "read": "graft_read"},
    "scar": {"none": "scar_none", "once": "scar_once", "read": "scar_read"},
}
"""Text of each kind by how often it was read."""


def ratio_alt(data: RatioChart, voice: Voice) -> str:
    """Return the sentence that says how it comes on."""
    if not data.points:
        return text(voice, RATIO_TEXTS[data.kind]["none"], branch=data.branch)
    graft = data.kind == "graft"
    first, last = data.points[0], data.points[-1]
    values: dict[str, Any] = {
        "branch": data.branch, "day": voice.day(last.on), "first_day": voice.day(first.on),
        "now": ratio_words(last.value, graft, voice), "was": ratio_words(first.value, graft, voice),
    }  # fmt: skip
    key = "once" if first.on == last.on else "read"
    said = [text(voice, RATIO_TEXTS[data.kind][key], **values)]
    if data.gate is not None:
        said.append(text(voice, "graft_gate", ratio=ratio_words(data.gate, True, voice)))
    if data.yearly is not None:
        said.append(text(voice, "scar_yearly", share=voice.percent(max(data.yearly, 0.0))))
    return sentence(" ".join(said))


def ratio_rows(data: RatioChart, voice: Voice) -> Table:
    """Return each reading of it."""
    graft = data.kind == "graft"
    rows = tuple((voice.day(p.on), ratio_words(p.value, graft, voice)) for p in data.points)
    heads = ("head_day", "head_ratio" if graft else "head_open")
    return Table(tuple(text(voice, key) for key in heads), rows)
