"""What all charts share: colours, type, ticks, words, and the step from a definition to SVG.

A chart is a Vega-Lite definition held as a plain mapping, so that it costs nothing to make and the
same one draws the picture on the page and the one that can be looked at closer. Colours are named
by role (``$ink``) and become day or night only when the picture is made. Days count from today;
every tick's label is written out here, so no locale or time zone can move it.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from hashlib import blake2b
from html import escape
from typing import TYPE_CHECKING, Any, Final, Literal, Protocol, TypeAlias

from boughwright.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

Spec: TypeAlias = "dict[str, Any]"
Row: TypeAlias = "dict[str, Any]"
Light: TypeAlias = Literal["day", "night"]

SCHEMA: Final = "https://vega.github.io/schema/vega-lite/v6.4.1.json"
"""The version of Vega-Lite that all definitions are written in."""

RENDERER: Final = "6.4"
"""The same version as the renderer names it."""

PALETTES: Final[Mapping[Light, Mapping[str, str]]] = {
    "day": {
        "$paper": "#eff1ee", "$ink": "#1b1d20", "$soft": "#4c5157", "$line": "#9ba19a",
        "$faint": "#c9cdc7", "$run": "#4e6b33", "$act": "#6a3b6e", "$harm": "#b8431f",
        "$look": "#7f5a0e",
    },
    "night": {
        "$paper": "#15171a", "$ink": "#e6e8e6", "$soft": "#b4b9b6", "$line": "#6c7276",
        "$faint": "#3a3f44", "$run": "#a9c48b", "$act": "#c79acb", "$harm": "#f0906f",
        "$look": "#ddb45a",
    },
}  # fmt: skip

SANS: Final = "system-ui, 'Segoe UI', Roboto, 'Noto Sans', 'Liberation Sans', sans-serif"
TYPE_PX: Final = 14
"""Size of every letter in a chart; nothing is smaller. [px]"""

NARROW, WIDE = 328, 640
"""Widths that charts are drawn for: a phone's column and a laptop's. [px]"""

CACHED: Final = 256
"""Pictures kept, at about 20 kB each."""


class Voice(Protocol):
    """How the grower wants words, lengths, temperatures and days said."""

    @property
    def units(self) -> str:
        """``mm`` or ``in``."""

    @property
    def temperature(self) -> str:
        """``C`` or ``F``."""

    @property
    def dates(self) -> str:
        """``day first``, ``month first`` or ``year first``."""

    def t(self, key: str, /, **values: Any) -> str:
        """Return a text of the catalogue."""

    def day(self, on: date, /) -> str:
        """Return a day with its weekday."""

    def length(self, mm: float, /) -> str:
        """Return a length with its unit."""

    def temp(self, celsius: float, /) -> str:
        """Return a temperature with its unit."""

    def percent(self, share: float, /) -> str:
        """Return a share 0..1 as a per cent."""

    def minutes(self, minutes: float, /) -> str:
        """Return a stretch of bench time."""

    def number(self, value: float, decimals: int, /) -> str:
        """Return a number with the decimal mark of the language."""

    def range(self, first: date, last: date, /) -> str:
        """Return a span of days."""

    def word(self, word: Any, /) -> str:
        """Return a word of the trade: an act, a stage, an alarm."""


@dataclass(frozen=True, slots=True)
class Table:
    """The figures of a chart in words, for those who read rather than look."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


# --- words and numbers ---------------------------------------------------------------------------


def text(voice: Voice, key: str, **values: Any) -> str:
    """Return a text of the charts' part of the catalogue."""
    return voice.t(f"charts.{key}", **values)


def figure(value: float, decimals: int, voice: Voice) -> str:
    """Return a number with the decimal mark of the language, and a true minus."""
    rounded = round(value, decimals) + 0.0  # no minus before a zero
    return voice.number(rounded, decimals).replace("-", "\N{MINUS SIGN}")


def short_day(on: date, voice: Voice) -> str:
    """Return a day as short as an axis wants it: ``9 Jun``, in the grower's order."""
    if voice.dates == "year first":
        return f"{on.month:02d}-{on.day:02d}"
    month = text(voice, "months").split()[on.month - 1]
    key = "short_day_month_first" if voice.dates == "month first" else "short_day"
    return text(voice, key, day=on.day, month=month)


def length_axis(voice: Voice) -> tuple[float, str]:
    """Return what turns mm into the grower's unit, and the unit's sign."""
    return (1.0 / MM_PER_INCH, "in") if voice.units == "in" else (1.0, "mm")


def degrees(celsius: float, voice: Voice) -> float:
    """Return a temperature in the grower's unit."""
    return celsius * 1.8 + 32.0 if voice.temperature == "F" else celsius


def sentence(said: str) -> str:
    """Return words with a capital at their head."""
    return said[:1].upper() + said[1:]


def whole_seasons(seasons: float) -> int:
    """Return a number of seasons, rounded up: growth is laid in whole rings."""
    return max(math.ceil(seasons - 0.05), 0)


def season_words(seasons: float, voice: Voice) -> str:
    """Return a number of whole seasons in words."""
    return text(voice, "seasons", n=whole_seasons(seasons))


# --- ticks ---------------------------------------------------------------------------------------


def even_ticks(low: float, high: float, most: int) -> tuple[list[float], int]:
    """Return round values within an axis and the decimals they need.

    Steps are 1, 2 or 5 times a power of ten, the finest that keeps to ``most`` values.
    """
    span = max(high - low, 1e-9)
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= raw - 1e-12)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return [round(n * step, 9) for n in range(first, last + 1)], decimals


def day_ticks(first: date, last: date, today: date, voice: Voice, width: int) -> dict[int, str]:
    """Return labels of a time axis by day from today: weeks, months or years, as they fit."""
    span = (last - first).days
    if span <= 70:
        step = 7 * math.ceil(max(span, 1) / 7 / max(width // 72, 1))
        start = -((today - first).days // step) * step
        offsets = range(start, (last - today).days + 1, step)
        return {n: short_day(today + timedelta(days=n), voice) for n in offsets}
    months = text(voice, "months").split()
    starts = [
        date(year, month, 1)
        for year in range(first.year, last.year + 1)
        for month in range(1, 13)
        if first <= date(year, month, 1) <= last
    ]
    if span <= 500:
        every = math.ceil(len(starts) / max(width // 44, 1))
        every = next(n for n in (1, 2, 3, 4, 6) if n >= min(every, 6))
        kept = [day for day in starts if (day.month - 1) % every == 0]
        return {(day - today).days: months[day.month - 1] for day in kept}
    years = [day for day in starts if day.month == 1]
    every = math.ceil(len(years) / max(width // 52, 1))
    return {(day - today).days: str(day.year) for day in years if day.year % every == 0}


def labelled(labels: Mapping[Any, str], **rest: Any) -> Spec:
    """Return an axis with these labels at these values and no others."""
    told = json.dumps({f"{key:g}": label for key, label in labels.items()}, ensure_ascii=False)
    return {
        "values": list(labels),
        "labelExpr": f"({told})['' + datum.value]" if labels else "''",
        "title": None,
        **rest,
    }


def value_axis(low: float, high: float, most: int, voice: Voice, *, unit: str = "") -> Spec:
    """Return a value axis with round ticks and its unit above them."""
    ticks, decimals = even_ticks(low, high, most)
    head = {"title": unit, "titleAngle": 0, "titleAlign": "left", "titleAnchor": "end",
            "titleX": -30, "titleY": -16, "titleBaseline": "middle"}  # fmt: skip
    return labelled({v: figure(v, decimals, voice) for v in ticks}, **(head if unit else {}))


# --- parts of a definition -----------------------------------------------------------------------


def part(mark: str, values: Sequence[Row], encoding: Mapping[str, Any], **style: Any) -> Spec:
    """Return one layer: a mark, its own inline values and its encoding."""
    return {
        "mark": {"type": mark, **style},
        "data": {"values": list(values)},
        "encoding": dict(encoding),
    }


def words(values: Sequence[Row], x: Spec, y: Spec, **style: Any) -> Spec:
    """Return a layer of words; each row has its own in ``text``."""
    return part("text", values, {"x": x, "y": y, "text": {"field": "text", "type": "nominal"}},
                **{"fontSize": TYPE_PX, "color": "$ink", **style})  # fmt: skip


def q(field: str, **rest: Any) -> Spec:
    """Return a channel bound to a number."""
    return {"field": field, "type": "quantitative", **rest}


def scale(low: float, high: float) -> Spec:
    """Return a scale of a fixed span."""
    return {"domain": [low, high], "nice": False, "zero": False}


TIP: Final[Spec] = {"tooltip": {"field": "said", "type": "nominal"}}
"""Encoding of the words shown when a mark is looked at closer."""


def chart(body: Spec, *, width: int, height: int | None = None) -> Spec:
    """Return a whole definition: the body with size, colours and type."""
    whole: Spec = {"$schema": SCHEMA, "background": "transparent", "config": CONFIG, **body}
    whole["padding"] = {"left": 4, "right": 8, "top": 8, "bottom": 4}
    if "vconcat" not in body:
        whole["autosize"] = {"type": "fit", "contains": "padding"}
        whole["width"] = width
        whole["height"] = height
    return whole


CONFIG: Final[Spec] = {
    "aria": False,
    "font": SANS,
    "view": {"stroke": None},
    "concat": {"spacing": 30},
    "axis": {
        "labelColor": "$soft", "labelFontSize": TYPE_PX, "labelFontWeight": 400,
        "titleColor": "$soft", "titleFontSize": TYPE_PX, "titleFontWeight": 400,
        "domainColor": "$line", "tickColor": "$line", "gridColor": "$faint", "gridOpacity": 0.7,
        "tickSize": 4, "labelPadding": 4, "labelFlush": False, "labelOverlap": False,
    },
    "axisX": {"grid": False},
    "axisY": {"domain": False, "ticks": False},
    "line": {"strokeJoin": "round", "strokeCap": "round"},
    "text": {"font": SANS, "fontSize": TYPE_PX},
}  # fmt: skip


LETTER_PX: Final = 7.8
"""About how wide a letter is, where a word must be kept inside the picture. [px]"""


def fits_right(said: str, at_px: float, width: int) -> bool:
    """Tell whether words that start at a place end inside a plot of that width."""
    return at_px + LETTER_PX * len(said) <= width


def today_line(x: Spec, voice: Voice | None = None, *, dx: int = 5) -> list[Spec]:
    """Return the thin upright line of today, with its word when a voice is given."""
    here: list[Row] = [{"x": 0, "text": text(voice, "today") if voice else ""}]
    line = part("rule", here, {"x": x}, color="$ink", strokeWidth=1)
    if voice is None:
        return [line]
    said = words(here, x, {"value": 0}, align="left" if dx > 0 else "right", dx=dx, dy=6,
                 color="$soft")  # fmt: skip
    return [line, said]


# --- pictures ------------------------------------------------------------------------------------


def coloured(spec: Any, light: Light) -> Any:
    """Return a definition with roles turned into the colours of day or night."""
    palette = PALETTES[light]
    if isinstance(spec, dict):
        return {key: coloured(value, light) for key, value in spec.items()}
    if isinstance(spec, list):
        return [coloured(value, light) for value in spec]
    return palette.get(spec, spec) if isinstance(spec, str) else spec


def svg(spec: Spec, light: Light = "day", *, alt: str = "") -> bytes:
    """Return the picture of a definition.

    Parameters
    ----------
    spec : dict
        As the charts of this package make it.
    light : {"day", "night"}
    alt : str
        The sentence that says the same; it becomes the picture's description.

    Returns
    -------
    bytes
        SVG without script, style or anything fetched. Ids in it are its own, so that several stand
        on one page.
    """
    return _drawn(json.dumps(spec, sort_keys=True, ensure_ascii=False), light, alt)


@lru_cache(maxsize=CACHED)
def _drawn(spec: str, light: Light, alt: str) -> bytes:
    import vl_convert  # noqa: PLC0415  # a heavy library that only a picture needs

    drawn: str = vl_convert.vegalite_to_svg(
        coloured(json.loads(spec), light), vl_version=RENDERER, allowed_base_urls=[]
    )
    mark = blake2b(f"{light}{spec}".encode(), digest_size=4).hexdigest()
    return _own(drawn, f"c{mark}", alt).encode()


_ID = re.compile(r'(?<=\bid=")([^"]+)(?=")')
_USE = re.compile(r"url\(#([^)]+)\)")
_HEAD = re.compile(r"^<svg ([^>]*)>")


def _own(drawn: str, mark: str, alt: str) -> str:
    """Return a picture with its own ids, its words at its head and its marks kept from readers."""
    drawn = _ID.sub(rf"{mark}-\1", drawn)
    drawn = _USE.sub(rf"url(#{mark}-\1)", drawn)
    drawn = re.sub(r' (?:role|aria-[a-z]+)="[^"]*"', "", drawn)
    said = escape(alt)
    head = rf'<svg \1 role="img"><title>{said}</title>' if alt else r'<svg \1 aria-hidden="true">'
    return _HEAD.sub(head.replace("\\1", r"\g<1>"), drawn, count=1)


def spec_json(spec: Spec, light: Light = "day") -> str:
    """Return the definition for looking closer: the same, with its days to be moved and widened.

    Inline data only; ``<`` is written so that the text may stand inside a page.
    """
    closer: Spec = coloured(spec, light)
    for view in closer.get("vconcat", [closer]):
        _movable(view)
    return json.dumps(closer, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")


def _movable(view: Spec) -> None:
    """Let the days of a view be dragged and widened, where they run along x."""
    layers: Iterable[Spec] = view.get("layer", [view])
    first = next((part for part in layers if "x" in part.get("encoding", {})), None)
    if first is not None and first["encoding"]["x"].get("type") == "quantitative":
        first["params"] = [{"name": "days", "bind": "scales",
                            "select": {"type": "interval", "encodings": ["x"]}}]  # fmt: skip
