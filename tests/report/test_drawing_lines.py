"""The ink drawing of a tree: projection, strokes, marks, links and words."""

from __future__ import annotations

import re

import numpy as np
import pytest
from drawing_cases import SVG, boxes, layer, made, numbers, read

from boughwright.report.drawing import line_drawing, thumb
from boughwright.report.drawing_model import Mark, Role
from boughwright.report.drawing_paths import outlines, seen_from, strokes

RUN = {"act": "let run", "mark": Mark.RUN, "role": Role.RUN}
CUT = {"act": "cut to pair", "mark": Mark.CUT, "role": Role.ACT, "cut_mm": 40.0}
OFF = {"act": "wire off", "mark": Mark.WIRE_OFF, "role": Role.HARM}
LOOK = {"act": "look first", "mark": Mark.LOOK, "role": Role.LOOK}


def laid(drawing, turn=0.0):
    return seen_from(drawing, turn, scale=2.0, across=300.0, soil=500.0)


def marks_of(svg, branch):
    return [g for g in layer(svg, "marks") if g.get("data-branch") == branch]


def test_the_front_view_lays_right_to_the_right_and_up_upward():
    """Scale 2: the tip 100 mm right of the trunk at a height of 100 is at 300 + 200, 500 - 200."""
    seen = laid(made(RUN))
    assert seen.xy[-1] == pytest.approx([500.0, 300.0])


@pytest.mark.parametrize(("turn", "tips"), [
    (0, {0: 500, 1: 100, 2: 300, 3: 300}),
    (90, {0: 300, 1: 300, 2: 500, 3: 100}),
    (180, {0: 100, 1: 500, 2: 300, 3: 300}),
])  # fmt: skip
def test_a_turned_front_brings_the_left_to_the_viewer(turn, tips):
    """A front moved a quarter clockwise from above looks from the left: the front goes right."""
    drawing = made(RUN, RUN, RUN, RUN)
    seen = laid(drawing, turn)
    for branch, x in tips.items():
        assert seen.xy[drawing.first[branch + 2] - 1][0] == pytest.approx(x)
    nearest = {0: 2, 90: 1, 180: 3}[turn]
    assert np.argmax(seen.near[drawing.first[2:] - 1]) == nearest


def test_a_stroke_is_as_thick_as_the_branch():
    """Radius 3 mm at scale 2: 6 px to each side of the line, out past the collar."""
    drawing = made(RUN)
    drawn, _ = strokes(drawing, laid(drawing))
    points = numbers(re.sub(r"Q.*", "", outlines([drawn[1]])[0]))
    outer = points[points[:, 0] > 400]
    assert outer[:, 1].max() == pytest.approx(306.0, abs=0.2)
    assert outer[:, 1].min() == pytest.approx(294.0, abs=0.2)


def test_a_stroke_starts_at_the_bark_and_ends_at_the_cut():
    """Sunk 5 mm in the trunk, of which 0.8 is hidden: from 300 + 8 px to 300 + 2 x 40 px."""
    drawing = made(CUT)
    drawn, beyond = strokes(drawing, laid(drawing))
    assert drawn[1].xy[[0, -1], 0] == pytest.approx([308.0, 380.0])
    assert beyond[1].xy[[0, -1], 0] == pytest.approx([380.0, 500.0])


def test_the_cut_stands_across_the_line_at_its_place():
    """Cut at 40 mm on the right, the other branch whole to 100 mm on the left of the trunk."""
    svg = line_drawing(made(CUT, {}), labels=False, width=600, height=500)
    line = numbers([p.get("d") for g in marks_of(svg, "b0") for p in g.iter(f"{SVG}path")][-1])
    whole = next(g for g in layer(svg, "taps") if g.get("data-branch") == "b1")
    tip = numbers(next(whole.iter(f"{SVG}path")).get("d"))[-1]
    middle = line.mean(axis=0)
    assert (middle[0] - 300.0) / (300.0 - tip[0]) == pytest.approx(0.4, abs=0.005)
    assert middle[1] == pytest.approx(tip[1], abs=0.2)
    assert np.ptp(line[:, 1]) > 2 * np.ptp(line[:, 0])


@pytest.mark.parametrize("share", [0.25, 0.5, 0.74, 1.0, 1.76])
def test_the_second_line_is_as_long_as_the_share_reached(share):
    """It runs from 4 to 96 hundredths of the stroke times the share; over 1 it is all of it."""
    drawing = made({"reached": share})
    svg = line_drawing(drawing, labels=False)
    path = next(marks_of(svg, "b0")[0].iter(f"{SVG}path")).get("d")
    tap = next(g for g in layer(svg, "taps") if g.get("data-branch") == "b0")
    bark, tip = numbers(next(tap.iter(f"{SVG}path")).get("d"))[[0, -1], 0]
    long = numbers(path)[-1, 0] - bark
    assert long / (tip - bark) == pytest.approx(0.96 * min(share, 1.0), abs=0.01)


@pytest.mark.parametrize("mark", [mark for mark in Mark if mark is not Mark.LEAVE])
def test_every_mark_is_drawn_and_the_plain_line_is_not(mark):
    with_mark = line_drawing(made({"mark": mark, "role": Role.ACT, "act": "x"}), labels=False)
    plain = line_drawing(made({}), labels=False)
    assert marks_of(plain, "b0") == []
    (group,) = marks_of(with_mark, "b0")
    assert list(group.iter(f"{SVG}path"))


def test_marks_differ_from_each_other():
    shown = {
        mark: "".join(
            p.get("d") or ""
            for g in marks_of(line_drawing(made({"mark": mark, "role": Role.ACT})), "b0")
            for p in g.iter(f"{SVG}path")
        )
        for mark in Mark
    }
    assert len(set(shown.values())) == len(Mark)


def test_a_broken_coil_has_fewer_rounds_than_a_whole_one():
    def rounds(mark):
        (group,) = marks_of(line_drawing(made({"mark": mark, "role": Role.ACT})), "b0")
        return max((p.get("d") or "").count("M") for p in group.iter(f"{SVG}path"))

    coil, broken = rounds(Mark.WIRE_ON), rounds(Mark.WIRE_OFF)
    assert coil > broken >= 2


def test_a_branch_with_a_job_has_a_bar_beside_it():
    (group,) = marks_of(line_drawing(made({"keep": True}), labels=False), "b0")
    bar = numbers(list(group.iter(f"{SVG}path"))[-1].get("d"))
    assert np.ptp(bar[:, 0]) == pytest.approx(13.0, abs=0.2)
    assert np.ptp(bar[:, 1]) < 0.5


def test_what_a_cut_takes_away_is_grey_and_asks_for_nothing():
    gone = {"beyond": True, "id": "b1"}
    svg = line_drawing(made(CUT, gone))
    classes = {g.get("data-branch"): g.get("class") for g in layer(svg, "wood")}
    assert "gone" in classes["b1"].split()
    assert "act" in classes["b0"].split()


def test_the_far_is_drawn_before_the_trunk_and_the_near_after_it():
    drawing = made({}, {}, {}, {})
    order = [g.get("data-branch") for g in layer(line_drawing(drawing), "wood")]
    assert order.index("b3") < order.index("trunk") < order.index("b2")
    turned = line_drawing(drawing, front_deg=180.0)
    order = [g.get("data-branch") for g in layer(turned, "wood")]
    assert order.index("b2") < order.index("trunk") < order.index("b3")


def test_every_part_is_a_link_with_a_wide_stroke():
    svg = line_drawing(made(RUN, CUT, {}))
    taps = list(layer(svg, "taps"))
    assert {g.get("data-branch") for g in taps} == {"trunk", "b0", "b1", "b2"}
    for group in taps:
        (link,) = group.iter(f"{SVG}a")
        (path,) = group.iter(f"{SVG}path")
        branch = group.get("data-branch")
        assert link.get("href") == f"/trees/plain/branches/{branch}"
        assert branch in link.get("aria-label") or "X" in link.get("aria-label")
        assert float(path.get("stroke-width")) >= 22
        assert path.get("pointer-events") == "stroke"


def test_what_asks_for_something_can_be_tapped_over_what_does_not():
    order = [g.get("data-branch") for g in layer(line_drawing(made({}, RUN, {})), "taps")]
    assert order[-1] == "b1"


def test_keys_stop_at_branches_that_ask_for_something():
    taps = layer(line_drawing(made(RUN, {})), "taps")
    stops = {g.get("data-branch"): next(g.iter(f"{SVG}a")).get("tabindex") for g in taps}
    assert stops == {"trunk": "-1", "b0": None, "b1": "-1"}


@pytest.mark.parametrize(("width", "height"), [(360, 430), (700, 620)])
def test_labels_stay_apart_and_on_the_page(width, height):
    svg = line_drawing(made(RUN, CUT, OFF, LOOK), width=width, height=height)
    found = boxes(svg)
    assert len(found) == 4
    for k, (left, top, right, bottom) in enumerate(found):
        assert min(left, top) >= 0
        assert right <= width
        assert bottom <= height
        for other in found[k + 1 :]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top


def test_a_phone_names_only_what_asks_for_something():
    drawing = made(RUN, {}, {})
    names = lambda svg: {g.get("data-branch") for g in layer(svg, "labels")}  # noqa: E731
    assert names(line_drawing(drawing, width=360, height=430)) == {"b0"}
    assert names(line_drawing(drawing, width=700, height=620)) == {"b0", "b1", "b2"}
    chosen = line_drawing(drawing, width=360, height=430, highlight="b2")
    assert names(chosen) == {"b0", "b2"}
    assert "leave alone" in "".join(layer(chosen, "labels").itertext())


def test_shoots_of_one_branch_with_one_act_share_a_label():
    shoots = [OFF | {"order": 2, "parent": 0, "id": f"s{k}", "name": f"1L-{k}"} for k in (1, 2, 3)]
    text = "".join(layer(line_drawing(made(*shoots)), "labels").itertext())
    assert text == "1L-1…3 wire off"


def test_no_letter_is_under_fourteen():
    svg = line_drawing(made(RUN, CUT), width=360, height=430)
    sizes = [float(e.get("font-size")) for e in read(svg).iter() if e.get("font-size")]
    assert sizes
    assert min(sizes) >= 14


def test_nothing_of_the_growers_becomes_markup():
    bad = '<script>alert("&")</script>'
    drawing = made(RUN | {"name": bad, "id": bad, "act": bad}, name=bad)
    svg = line_drawing(drawing)
    assert "<script" not in svg
    assert bad in "".join(read(svg).itertext())
    (group,) = [g for g in layer(svg, "taps") if g.get("data-branch") == bad]
    assert '"' not in next(group.iter(f"{SVG}a")).get("href")


@pytest.mark.parametrize("ink_only", [False, True])
def test_there_is_no_style_and_no_script_and_no_address_outside(ink_only):
    root = read(line_drawing(made(RUN, CUT, OFF, LOOK), ink_only=ink_only))
    for element in root.iter():
        assert element.tag not in (f"{SVG}script", f"{SVG}style", f"{SVG}foreignObject")
        for name, value in element.attrib.items():
            assert name != "style"
            assert not name.startswith("on")
            assert "http" not in value


def test_roles_are_told_by_patterns_in_black():
    svg = line_drawing(made(RUN, CUT, OFF, LOOK), ink_only=True, key="one")
    fills = {
        g.get("data-branch"): {p.get("fill") for p in g.iter(f"{SVG}path")}
        for g in layer(svg, "wood")
    }
    told = {
        branch: next(f for f in fills[branch] if f and f.startswith("url"))
        for branch in ("b0", "b1", "b2", "b3")
    }
    assert len(set(told.values())) == 4
    made_here = {p.get("id") for p in read(svg).iter(f"{SVG}pattern")}
    assert {value[5:-1] for value in told.values()} <= made_here


def test_green_is_for_let_run_alone():
    svg = line_drawing(made(RUN, CUT, OFF, LOOK))
    parts = [e for e in read(svg).iter() if "run" in (e.get("class") or "").split()]
    assert {e.get("data-branch") for e in parts} == {"b0"}


@pytest.mark.parametrize(("units", "unit"), [("mm", "mm"), ("in", "in")])
def test_the_scale_bar_is_as_long_as_it_says(units, unit):
    svg = line_drawing(made(RUN), units=units)
    ground = layer(svg, "ground")
    bar = next(p for p in ground.iter(f"{SVG}path") if p.get("class") == "scale")
    px = float(re.search(r"h([\d.]+)v", bar.get("d"))[1])
    text = next(ground.iter(f"{SVG}text")).text
    number, said = text.split()
    assert said == unit
    mm = float(number) * (25.4 if unit == "in" else 1.0)
    tap = next(g for g in layer(svg, "taps") if g.get("data-branch") == "b0")
    bark, tip = numbers(next(tap.iter(f"{SVG}path")).get("d"))[[0, -1], 0]
    assert px / mm == pytest.approx((tip - bark) / 96.0, rel=0.02)  # 4 of 100 mm are in the trunk


def test_words_and_lengths_are_said_by_the_speaker():
    class Loud:
        def say(self, text):
            return text.upper().replace("{", "").replace("}", "")

        def word(self, word):
            return {"let run": "laufen lassen"}.get(word, word)

    svg = line_drawing(made(RUN), speech=Loud())
    assert "laufen lassen" in "".join(layer(svg, "labels").itertext())
    assert "200 MM HIGH" in "".join(layer(svg, "ground").itertext())


def test_two_drawings_on_one_page_share_no_id():
    ids = [
        {e.get("id") for e in read(line_drawing(made(RUN), ink_only=True, key=key)).iter()} - {None}
        for key in ("a", "b")
    ]
    assert ids[0].isdisjoint(ids[1])


def test_a_small_picture_has_no_words_and_no_links():
    root = read(thumb(made(RUN, CUT)))
    assert {e.tag for e in root.iter()} == {f"{SVG}svg", f"{SVG}path"}
    assert root.get("aria-hidden") == "true"
    assert (root.get("width"), root.get("height")) == ("96", "72")
