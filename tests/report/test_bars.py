"""Windows as bars on one time axis: places, edges, marks, and what a page may hold."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from uuid import UUID
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.report.bars import (
    FORMS,
    LAYER_OPACITY,
    LAYERS,
    LEFT,
    RIGHT,
    Axis,
    share_line,
    wire_bar,
    wire_role,
)
from boughwright.season.stages import DateRange
from boughwright.sources import Grade
from boughwright.wire.window import WireWindow

TODAY = date(2026, 6, 9)
FIVE_WEEKS = Axis(TODAY, TODAY + timedelta(days=35))
CSS = Path(__file__).parents[2] / "frontend" / "css"


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def spread(early: int, likely: int, late: int) -> DateRange:
    return DateRange(on(early), on(likely), on(late))


NONE = DateRange(None, None, None, 1.0)
UNKNOWN = DateRange(None, None, None, float("nan"))
WINDOW = WireWindow(
    wire=UUID(int=1), row=3, look_by=on(5), off_by=on(14), line=spread(5, 9, 14),
    allowed=spread(14, 20, 28), bitten=spread(16, 21, 30), deep=NONE, set=spread(3, 7, 20),
    hold_from=on(7), share_used=(0.1, 0.3, 0.5), seen_grade=1, seen_on=on(-10), likely_grade=1,
    wirings=1, allowed_sink=0.1, grade=Grade.BORROWED,
)  # fmt: skip


def share(day: int) -> float:
    """Place of a day on the five weeks, by hand: 4 % at today, 99 % at the end."""
    return 4.0 + 95.0 * day / 35.0


def number(text: str | None) -> float:
    return float((text or "nan").rstrip("%"))


def blocks(svg: str) -> list[tuple[float, float]]:
    """Return the full blocks of a bar as their ends in per cent."""
    root = ET.fromstring(svg)
    return [
        (number(r.get("x")), number(r.get("x")) + number(r.get("width")))
        for r in root.findall("rect")
    ]


def fades(svg: str) -> list[list[tuple[float, float]]]:
    root = ET.fromstring(svg)
    return [
        [(number(r.get("x")), number(r.get("x")) + number(r.get("width"))) for r in group]
        for group in root.findall("g[@class='bar-fade']")
    ]


# --- the axis ---------------------------------------------------------------------------------


@given(st.integers(-400, 400), st.integers(-400, 400), st.integers(1, 300))
def test_later_days_stand_further_right_and_never_off_the_axis(a: int, b: int, days: int) -> None:
    axis = Axis(TODAY, on(days))
    first, second = sorted((a, b))
    assert LEFT <= axis.x(on(first)) <= axis.x(on(second)) <= RIGHT


def test_today_stands_left_the_last_day_right_and_weeks_are_even() -> None:
    places = [FIVE_WEEKS.x(day) for day in FIVE_WEEKS.weeks()]
    assert places == pytest.approx([4.0, 23.0, 42.0, 61.0, 80.0, 99.0])


def test_head_dates_each_week_and_marks_every_second_one() -> None:
    root = ET.fromstring(FIVE_WEEKS.head(lambda day: f"{day.day}/{day.month}"))
    told = [t.text for t in root.iter("text")]
    assert told == ["9/6", "16/6", "23/6", "30/6", "7/7", "14/7"]
    assert [g.get("class") for g in root.findall("g")] == [
        "now", "odd", "even", "odd", "even", "odd",
    ]  # fmt: skip
    assert root.get("aria-hidden") == "true"


# --- windows ----------------------------------------------------------------------------------


def test_a_sure_window_is_one_block_with_sharp_ends() -> None:
    svg = FIVE_WEEKS.bar(on(7), on(21), role="act", label="cut")
    assert blocks(svg) == [pytest.approx((share(7), share(21)), abs=0.02)]
    assert fades(svg) == []


def test_an_open_start_is_today() -> None:
    svg = FIVE_WEEKS.bar(None, on(14), role="harm", label="off")
    assert blocks(svg) == [pytest.approx((share(0), share(14)), abs=0.02)]


def test_unsure_edges_fade_from_p10_to_p90() -> None:
    svg = FIVE_WEEKS.bar(on(4), on(20), role="act", label="x", starts=spread(4, 7, 10),
                         ends=spread(20, 24, 30))  # fmt: skip
    assert blocks(svg) == [pytest.approx((share(10), share(20)), abs=0.02)]
    rising, falling = fades(svg)
    assert len(rising) == len(falling) == LAYERS
    # Every layer starts at the sure end; the furthest reaches p10 or p90, evenly in between.
    assert all(right == pytest.approx(share(10), abs=0.03) for _, right in rising)
    assert min(left for left, _ in rising) == pytest.approx(share(4), abs=0.03)
    assert all(left == pytest.approx(share(20), abs=0.03) for left, _ in falling)
    ends = [right for _, right in falling]
    steps = [b - a for a, b in pairwise(ends)]
    assert steps == pytest.approx([(share(30) - share(20)) / LAYERS] * (LAYERS - 1), abs=0.03)


def test_a_fade_is_nearly_full_at_its_sure_end() -> None:
    # All layers lie over each other there: 1 - (1 - 0.28)^8 = 0.93.
    full = 1.0 - (1.0 - LAYER_OPACITY) ** LAYERS
    assert full == pytest.approx(0.93, abs=0.005)


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 30))
def test_a_more_unsure_end_never_makes_the_sure_part_longer(a: int, b: int, c: int) -> None:
    early, likely, late = sorted((a, b, c))
    sharp = FIVE_WEEKS.bar(None, on(late), role="act", label="x")
    faded = FIVE_WEEKS.bar(None, on(early), role="act", label="x", ends=spread(early, likely, late))
    width = sum(right - left for left, right in blocks(faded))
    assert width <= sum(right - left for left, right in blocks(sharp)) + 1e-6


def test_what_is_late_stands_against_today() -> None:
    svg = FIVE_WEEKS.bar(on(-20), on(-1), role="harm", label="off, late")
    root = ET.fromstring(svg)
    assert "late" in (root.get("class") or "").split()
    assert blocks(svg) == [(0.0, LEFT)]
    assert root.find("svg/path") is not None
    today = ET.fromstring(FIVE_WEEKS.bar(None, on(0), role="harm", label="off"))
    assert "late" not in (today.get("class") or "").split()


def test_what_opens_beyond_the_axis_is_an_arrow_alone() -> None:
    svg = FIVE_WEEKS.bar(on(40), on(60), role="act", label="later")
    assert blocks(svg) == []
    assert ET.fromstring(svg).find("svg").get("x") == f"{RIGHT:g}%"  # type: ignore[union-attr]


def test_roles_differ_in_form_and_not_in_colour_alone() -> None:
    forms = {(f.thick, f.edge, f.hollow, f.dash) for f in FORMS.values()}
    assert len(forms) == len(FORMS)
    drawn = {
        re.sub(r"role-\w+", "", FIVE_WEEKS.bar(None, on(9), role=role, label="x")) for role in FORMS
    }
    assert len(drawn) == len(FORMS)
    assert FORMS["harm"].thick > FORMS["act"].thick > FORMS["ink"].thick


# --- what a page may hold ---------------------------------------------------------------------


@given(st.text(st.characters(min_codepoint=32, max_codepoint=0x2FFF, exclude_categories=["Cs"])))
def test_words_are_only_ever_words(label: str) -> None:
    for svg in (
        FIVE_WEEKS.bar(None, on(3), role="act", label=label),
        wire_bar(WINDOW, FIVE_WEEKS, label=label),
        share_line((0.1, 0.2, 0.3), role="act", label=label),
    ):
        root = ET.fromstring(svg)
        assert root.get("role") == "img"
        assert (root[0].tag, root[0].text or "") == ("title", label)
        # The words change nothing but the title.
        assert len(list(root.iter())) == len(list(ET.fromstring(_with_no_label(svg)).iter()))


def _with_no_label(svg: str) -> str:
    return re.sub(r"<title>.*?</title>", "<title/>", svg, flags=re.DOTALL)


EVERY = [
    FIVE_WEEKS.head(str),
    *(FIVE_WEEKS.bar(None, on(9), role=role, label="x", ends=spread(9, 12, 15)) for role in FORMS),
    FIVE_WEEKS.bar(None, on(-3), role="harm", label="x"),
    FIVE_WEEKS.bar(on(50), None, role="look", label="x"),
    wire_bar(WINDOW, FIVE_WEEKS, label="x"),
    wire_bar(replace(WINDOW, allowed=UNKNOWN, off_by=None), FIVE_WEEKS, label="x"),
    share_line((0.1, 0.2, 0.3), role="act", label="x"),
    share_line((float("nan"),) * 3, role="ink", label="x"),
]


@pytest.mark.parametrize("svg", EVERY)
def test_no_style_no_id_no_script_nothing_fetched(svg: str) -> None:
    for node in ET.fromstring(svg).iter():
        assert node.tag in {"svg", "g", "rect", "line", "circle", "path", "text", "title"}
        assert not {"style", "id", "href"} & set(node.attrib)
        assert not any(name.startswith("on") for name in node.attrib)


def test_every_class_has_its_rule_and_no_letter_is_small() -> None:
    rules = (CSS / "charts.css").read_text("utf-8")
    shared = (CSS / "base.css").read_text("utf-8")
    used = {
        name
        for svg in EVERY
        for node in ET.fromstring(svg).iter()
        for name in (node.get("class") or "").split()
    }
    plain = {"even", "late", "wire", "bar-fade"}  # names for others to take hold of
    missing = {n for n in used - plain if not re.search(rf"\.{n}\b", rules + shared)}
    assert missing == set()
    assert [int(px) for px in re.findall(r"font:\s*(\d+)px", rules)] == [14]


# --- wire -------------------------------------------------------------------------------------


def marks(svg: str, role: str) -> list[ET.Element]:
    return [n for n in ET.fromstring(svg) if role in (n.get("class") or "").split()]


def test_the_row_of_a_wire_shows_its_days() -> None:
    svg = wire_bar(WINDOW, FIVE_WEEKS, label="wire")
    # The bar runs to off by, day 14, and fades to p90 of the allowed sink, day 28.
    assert blocks(svg) == [pytest.approx((share(0), share(14)), abs=0.02)]
    assert max(right for _, right in fades(svg)[0]) == pytest.approx(share(28), abs=0.03)
    (look,) = marks(svg, "role-look")
    assert number(look.find("circle").get("cx")) == pytest.approx(share(5), abs=0.01)  # type: ignore[union-attr]
    (holds,) = marks(svg, "role-ink")
    assert number(holds.get("x")) == pytest.approx(share(7), abs=0.01)
    (bitten,) = marks(svg, "role-harm")
    assert number(bitten.get("x")) == pytest.approx(share(21), abs=0.01)


def test_days_that_are_not_there_have_no_mark() -> None:
    bare = replace(WINDOW, look_by=None, hold_from=None, bitten=NONE, off_by=None, allowed=NONE)
    svg = wire_bar(bare, FIVE_WEEKS, label="wire")
    assert [marks(svg, role) for role in ("role-look", "role-ink", "role-harm")] == [[], [], []]
    past = replace(WINDOW, hold_from=on(-4), bitten=spread(-9, -5, -1))
    assert marks(wire_bar(past, FIVE_WEEKS, label="wire"), "role-harm") == []


def test_a_bite_that_was_seen_is_marked_at_today() -> None:
    svg = wire_bar(replace(WINDOW, seen_grade=3, off_by=on(-2)), FIVE_WEEKS, label="wire")
    assert blocks(svg) == [(0.0, LEFT)]
    crosses = [m for m in marks(svg, "role-harm") if m.tag == "svg"]
    assert [number(m.get("x")) for m in crosses] == [LEFT]


def test_an_unknown_sink_draws_no_bar() -> None:
    svg = wire_bar(replace(WINDOW, allowed=UNKNOWN, off_by=None), FIVE_WEEKS, label="wire")
    assert blocks(svg) == []
    assert len(marks(svg, "bar-unknown")) == 1


@pytest.mark.parametrize(
    ("off", "seen", "role"),
    [(None, 1, "ink"), (20, 1, "ink"), (7, 1, "act"), (1, 2, "act"), (0, 1, "harm"),
     (-3, 1, "harm"), (20, 3, "harm"), (None, 4, "harm")],
)  # fmt: skip
def test_how_pressing_a_wire_is(off: int | None, seen: int, role: str) -> None:
    window = replace(WINDOW, off_by=None if off is None else on(off), seen_grade=seen)
    assert wire_role(window, TODAY) == role


# --- shares -----------------------------------------------------------------------------------


def test_a_share_is_the_thick_part_of_its_line() -> None:
    # The full mark stands at 80 % of the width: 0.25, 0.5 and 0.75 of it at 20, 40 and 60 %.
    svg = share_line((0.25, 0.5, 0.75), role="act", label="half")
    assert blocks(svg) == [(0.0, 20.0)]
    assert max(right for _, right in fades(svg)[0]) == pytest.approx(60.0)
    uprights = [n for n in ET.fromstring(svg).findall("line") if n.get("x1") == n.get("x2")]
    assert [n.get("x1") for n in uprights] == ["40%", "80%"]


@given(st.lists(st.floats(-1, 50), min_size=3, max_size=3))
def test_a_share_never_leaves_its_line(values: list[float]) -> None:
    low, likely, high = sorted(values)
    svg = share_line((low, likely, high), role="act", label="x")
    ends = [*blocks(svg), *(pair for group in fades(svg) for pair in group)]
    assert all(-1e-6 <= left <= right <= 100.02 for left, right in ends)


def test_an_unknown_share_is_dashes() -> None:
    svg = share_line((float("nan"),) * 3, role="ink", label="unknown")
    assert blocks(svg) == []
    assert fades(svg) == []
    assert len(marks(svg, "bar-unknown")) == 1
