"""The definitions, pictures and words of the charts, on written cases."""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import altair
import jsonschema
import pytest
import vl_convert
from charts_cases import (
    ENGLISH,
    EVERY,
    FAN,
    GERMAN,
    HOURS,
    INCHES,
    SINK,
    TODAY,
    WEATHER,
    WRITTEN,
    on,
)
from hypothesis import given
from hypothesis import strategies as st

from boughwright.report import charts_frame
from boughwright.report.charts import NARROW, PALETTES, WIDE, alt, definition, rows, spec_json, svg
from boughwright.report.charts_frame import (
    RENDERER,
    SCHEMA,
    TYPE_PX,
    coloured,
    day_ticks,
    even_ticks,
    figure,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from boughwright.report.charts_data import ChartData

SVG = "{http://www.w3.org/2000/svg}"
WHAT = [f"{type(data).__name__}-{n}" for n, data in enumerate(EVERY)]
every = pytest.mark.parametrize("data", EVERY, ids=WHAT)


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    """Yield every mapping in a definition."""
    if isinstance(value, dict):
        yield value
        for inner in value.values():
            yield from nodes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from nodes(inner)


def said_in(picture: bytes) -> list[str]:
    return ["".join(t.itertext()) for t in ET.fromstring(picture).iter(f"{SVG}text")]


# --- definitions: against the schema of Vega-Lite, as Altair ships it -------------------------


def test_schema_and_renderer_are_of_one_version() -> None:
    assert f"/{altair.SCHEMA_VERSION}.json" in SCHEMA
    assert RENDERER in vl_convert.get_vegalite_versions()
    assert altair.SCHEMA_VERSION.startswith(f"v{RENDERER}.")


@every
def test_definition_is_valid_vega_lite(data: ChartData) -> None:
    made = coloured(definition(data, ENGLISH, width=NARROW), "day")
    kind = altair.VConcatChart if "vconcat" in made else altair.LayerChart
    kind.from_dict(made, validate=True)


def test_the_schema_refuses_a_misspelt_definition() -> None:
    made = coloured(definition(FAN, ENGLISH), "day")
    made["layer"][0]["encoding"]["x"]["scale"] = {"domian": [0, 1]}
    with pytest.raises(jsonschema.ValidationError, match="domian"):
        altair.LayerChart.from_dict(made, validate=True)


@every
def test_everything_is_inline_and_no_letter_is_small(data: ChartData) -> None:
    made = definition(data, GERMAN, width=NARROW)
    for node in nodes(made):
        assert not {"url", "href", "src"} & set(node)
        sizes = [v for k, v in node.items() if k.lower().endswith("fontsize")]
        assert all(size >= TYPE_PX == 14 for size in sizes)


@every
def test_words_stand_in_colours_that_can_be_read(data: ChartData) -> None:
    for node in nodes(definition(data, ENGLISH)):
        if node.get("type") == "text" and "fontSize" in node:
            assert node["color"] in {"$ink", "$soft", "$act", "$harm", "$look", "$run"}


def luminance(colour: str) -> float:
    """Relative luminance by the Web Content Accessibility Guidelines 2.2."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("light", ["day", "night"])
def test_colours_of_words_have_the_contrast_the_guidelines_ask(light: str) -> None:
    palette = PALETTES[light]  # type: ignore[index]
    paper = luminance(palette["$paper"])
    for role in ("$ink", "$soft", "$run", "$act", "$harm", "$look"):
        bright, dark = sorted((luminance(palette[role]), paper), reverse=True)
        assert (bright + 0.05) / (dark + 0.05) >= 4.5, role


def test_green_is_on_let_run_strokes_alone() -> None:
    greens = [
        (type(data).__name__, node)
        for data in EVERY
        for node in nodes(definition(data, ENGLISH))
        if "$run" in [v for v in node.values() if isinstance(v, str)]
    ]
    assert {name for name, _ in greens} == {"YearsChart"}


# --- pictures ---------------------------------------------------------------------------------


@every
@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_picture_is_plain_svg_of_the_width_asked(data: ChartData, width: int) -> None:
    picture = svg(definition(data, ENGLISH, width=width), alt="what it says")
    root = ET.fromstring(picture)
    assert root.get("role") == "img"
    assert root[0].tag == f"{SVG}title"
    assert root[0].text == "what it says"
    assert width - 24 <= float(root.get("width") or 0) <= width + 24
    text = picture.decode()
    for never in ("style=", "<style", "<script", "<image", "<foreignObject", "href=", "@import",
                  "aria-roledescription"):  # fmt: skip
        assert never not in text


@pytest.mark.parametrize("light", ["day", "night"])
def test_picture_holds_only_colours_of_its_light(light: Any) -> None:
    for data in WRITTEN:
        text = svg(definition(data, ENGLISH), light).decode()
        used = {hit.lower() for hit in re.findall(r"#[0-9a-fA-F]{6}\b", text)}
        assert used <= set(PALETTES[light].values())
        assert PALETTES[light]["$ink"] in used
        assert "$" not in text


def test_pictures_of_one_page_share_no_id() -> None:
    ids: list[str] = []
    for data in WRITTEN:
        for light in ("day", "night"):
            text = svg(definition(data, ENGLISH), light).decode()  # type: ignore[arg-type]
            own = set(re.findall(r'\bid="([^"]+)"', text))
            assert set(re.findall(r"url\(#([^)]+)\)", text)) <= own
            ids += own
    assert [name for name, count in Counter(ids).items() if count > 1] == []


def test_the_same_picture_is_drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = []
    real = vl_convert.vegalite_to_svg

    def counted(*args: Any, **kwargs: Any) -> str:
        drawn.append(kwargs)
        return str(real(*args, **kwargs))

    monkeypatch.setattr(vl_convert, "vegalite_to_svg", counted)
    charts_frame._drawn.cache_clear()
    first = svg(definition(FAN, ENGLISH), "day")
    assert svg(definition(FAN, ENGLISH), "day") is first
    assert svg(definition(FAN, ENGLISH), "night") != first
    assert len(drawn) == 2
    assert all(kwargs["allowed_base_urls"] == [] for kwargs in drawn)


def test_ticks_before_today_keep_their_labels() -> None:
    # Readings of May 2025 to the end of 2027: the new years 2026 (before today), 2027 and 2028 are
    # not all in reach; the axis ends twelve days after the last forecast, 31 December 2027.
    told = said_in(svg(definition(FAN, ENGLISH, width=WIDE)))
    assert {"2026", "2027", "2028"} <= set(told)


def test_names_are_only_ever_words() -> None:
    evil = "</script><b onload=x>&\"'"
    data = replace(HOURS, trees=(replace(HOURS.trees[0], name=evil),))
    picture = svg(definition(data, ENGLISH), alt=alt(data, ENGLISH))
    assert b"<script" not in picture
    assert b"<b " not in picture
    assert any(evil in said for said in said_in(picture))
    told = spec_json(definition(data, ENGLISH))
    assert "<" not in told
    assert any(evil in str(node.get("text", "")) for node in nodes(json.loads(told)))


@every
def test_definition_to_look_closer_is_the_same_with_days_to_move(data: ChartData) -> None:
    made = definition(data, ENGLISH)
    closer = json.loads(spec_json(made, "night"))
    assert "params" not in json.dumps(made)
    params = [node["params"] for node in nodes(closer) if "params" in node]
    for node in nodes(closer):
        node.pop("params", None)
    assert closer == json.loads(json.dumps(coloured(made, "night")))
    moved = {"name": "days", "bind": "scales", "select": {"type": "interval", "encodings": ["x"]}}
    assert all(p == [moved] for p in params)


# --- words ------------------------------------------------------------------------------------


class Listening:
    """A speaker that keeps the keys it was asked for."""

    def __init__(self) -> None:
        self.keys: set[str] = set()

    def __getattr__(self, name: str) -> Any:
        return getattr(ENGLISH, name)

    def t(self, key: str, /, **values: Any) -> str:
        self.keys.add(key)
        return ENGLISH.t(key, **values)


def test_every_text_of_the_charts_is_used_and_every_one_used_is_there() -> None:
    voices = [Listening() for _ in range(2)]
    voices[1].dates = "month first"  # type: ignore[attr-defined]
    for data in EVERY:
        for voice in voices:
            svg(definition(data, voice, width=NARROW))
            alt(data, voice)
            rows(data, voice)
    used = {key.removeprefix("charts.") for voice in voices for key in voice.keys}
    text = files("boughwright.web").joinpath("words/en.toml").read_text("utf-8")
    assert used == set(tomllib.loads(text)["charts"])


@every
@pytest.mark.parametrize("voice", [ENGLISH, GERMAN, INCHES], ids=["en", "de", "inches"])
def test_every_chart_has_a_sentence_and_a_table(data: ChartData, voice: Any) -> None:
    said = alt(data, voice)
    assert said.endswith(".")
    assert "!" not in said
    assert not re.search(r"\b(nan|None)\b", said)
    table = rows(data, voice)
    assert all(len(row) == len(table.heads) for row in table.rows)
    assert all(isinstance(cell, str) for row in table.rows for cell in row)


def test_sentence_picture_and_table_of_the_fan_give_the_same_figures() -> None:
    # Season's end 13.0 mm (12.5 to 14.0), target 13.5 mm; 0.6, 1.5 and 3.2 rings are 1, 2, 4 whole.
    said = alt(FAN, ENGLISH)
    assert said == (
        "The base of 1L was 12.0 mm on Sun 7 June. If it runs, it likely ends the season at "
        "13.0 mm, between 12.5 mm and 14.0 mm. To its target of 13.5 mm it likely takes 2 seasons: "
        "1 season at best, 4 seasons if slow."
    )
    told = said_in(svg(definition(FAN, ENGLISH)))
    assert {"target 13.5 mm", "13.0 mm at season's end", "today", "mm"} <= set(told)
    row = ("Thu 31 December", "if it runs", "13.0 mm", "12.5 mm to 14.0 mm")
    assert row in rows(FAN, ENGLISH).rows


def test_lengths_and_degrees_follow_the_grower() -> None:
    made = definition(FAN, INCHES)
    target = next(n for n in nodes(made) if str(n.get("text")).startswith("target"))
    assert target["y"] == pytest.approx(13.5 / 25.4)
    assert "0.53 in" in target["text"]
    warm = definition(WEATHER, INCHES)
    highs = [n["y"] for n in nodes(warm) if n.get("x") == 0 and "low" in n and "ahead" in n]
    assert highs == [pytest.approx(24.0 * 1.8 + 32.0)]
    told = said_in(svg(warm))
    assert "°F" in told
    assert "Jun 9" in told
    # 2.0 mm wire: a bite from 0.2 mm is 10 % of the gauge, whatever the unit of length.
    assert any("10 %" in said for said in said_in(svg(definition(SINK, INCHES))))


def test_german_uses_its_decimal_comma_and_months() -> None:
    told = said_in(svg(definition(WEATHER, GERMAN, width=WIDE)))
    assert "9. Juni" in told
    assert "Hitze: Laub schattieren" in told
    assert "Ziel 13,5 mm" in said_in(svg(definition(FAN, GERMAN)))


# --- ticks ------------------------------------------------------------------------------------


@given(st.floats(-500, 500), st.floats(0.01, 5000), st.integers(2, 8))
def test_value_ticks_are_round_even_and_few(low: float, span: float, most: int) -> None:
    ticks, decimals = even_ticks(low, low + span, most)
    assert len(ticks) <= most + 1
    assert all(low - 1e-6 * span <= t <= low + span * (1 + 1e-6) for t in ticks)
    steps = {round(b - a, 6) for a, b in pairwise(ticks)}
    assert len(steps) <= 1
    for step in steps:
        assert f"{step:e}"[0] in "125"
    assert all(abs(round(t, decimals) - t) < 1e-9 for t in ticks)


def test_value_ticks_of_a_known_axis() -> None:
    # 0 to 13 by steps of 5 (13 / 3 = 4.33, next round step up): 0, 5, 10.
    assert even_ticks(0.0, 13.0, 3) == ([0.0, 5.0, 10.0], 0)
    assert even_ticks(13.4, 14.1, 5) == ([13.4, 13.6, 13.8, 14.0], 1)


@given(st.integers(0, 4000), st.integers(1, 4000), st.integers(280, 900))
def test_day_ticks_lie_on_the_axis_and_have_room(back: int, ahead: int, width: int) -> None:
    labels = day_ticks(on(-back), on(ahead), TODAY, ENGLISH, width)
    assert all(-back <= day <= ahead for day in labels)
    assert all(labels.values())
    places = sorted(day / (back + ahead) * width for day in labels)
    gaps = [b - a for a, b in pairwise(places)]
    assert all(gap >= 30.0 for gap in gaps)


def test_a_zero_has_no_minus() -> None:
    assert figure(-0.04, 1, ENGLISH) == "0.0"
    assert figure(-1.25, 1, GERMAN) in {"\N{MINUS SIGN}1,2", "\N{MINUS SIGN}1,3"}
