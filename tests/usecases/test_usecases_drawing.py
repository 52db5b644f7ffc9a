"""The drawing of a tree on its day: marks of its verdicts, places of cuts, and the JSON shape.

The cases are written from the demonstration garden; they claim no agreement of people.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from boughwright.report.drawing_model import Mark, Role
from boughwright.usecases.day import open_day
from boughwright.usecases.drawing import (
    MARKS,
    PLAIN,
    drawing_of,
    drawing_shape,
    line_drawing,
    thumb,
)
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from boughwright.usecases.day import GardenDay


@pytest.fixture(scope="module")
def drawn_garden(demo_book: Path) -> GardenDay:
    return open_day(demo_book)


@pytest.fixture(scope="module")
def maple(drawn_garden):
    day = drawn_garden.tree("Ditch field maple")
    drawing = drawing_of(day)
    return day, drawing, {branch.name: branch for branch in drawing.branches}


def test_every_act_has_a_mark_or_leaves_the_line_plain():
    assert set(MARKS) | PLAIN == set(Act)
    assert set(MARKS) & PLAIN == set()


def test_every_living_branch_is_drawn_with_its_verdict(drawn_garden):
    for day in drawn_garden.trees:
        drawing = drawing_of(day)
        rows = day.tree.branches
        words = {rows.ids[v.row]: v.act.value for v in day.verdicts}
        assert {b.id: b.act for b in drawing.branches} == words
        assert [b.id for b in drawing.branches] == [
            id_ for id_, gone in zip(rows.ids, rows.gone, strict=True) if not gone
        ]


@pytest.mark.parametrize(("name", "mark", "role"), [
    ("1L", Mark.RUN, Role.RUN),
    ("2R", Mark.CUT, Role.ACT),
    ("2.5Lg", Mark.GRAFT, Role.ACT),
    ("3.5Bg", Mark.GRAFT, Role.INK),
    ("4R", Mark.WIRE_OFF, Role.ACT),
    ("5L", Mark.RAISE, Role.ACT),
    ("6R", Mark.THIN, Role.ACT),
    ("top", Mark.CUT, Role.ACT),
    ("scar front", Mark.RIM, Role.ACT),
    ("1L-1", Mark.LEAVE, Role.INK),
])  # fmt: skip
def test_the_field_maple_carries_the_marks_of_its_day(maple, name, mark, role):
    _, _, branches = maple
    assert (branches[name].mark, branches[name].role) == (mark, role)


def test_harm_that_waits_for_nothing_is_told_apart(drawn_garden):
    """The demonstration's hornbeam has wire bitten to grade 3."""
    day = drawn_garden.tree("Gate hornbeam")
    worst = {
        day.tree.branches.ids[v.row]
        for v in day.verdicts
        if v.harm is Harm.IRREVERSIBLE and v.act is Act.WIRE_OFF
    }
    assert worst
    shown = {b.id for b in drawing_of(day).branches if b.role is Role.HARM}
    assert worst <= shown


def test_the_leader_is_cut_just_above_the_shoot_that_takes_over(maple):
    """``cut the old leader above top-1l``, which starts 10 mm up it: 3 mm of wood are left."""
    day, _, branches = maple
    verdict = next(v for v in day.verdicts if v.act is Act.SWAP_LEADER)
    assert verdict.where.endswith("top-1l")
    assert branches["top"].cut_mm == pytest.approx(13.0, abs=0.1)
    assert branches["top"].cut_known
    assert not branches["top-1l"].beyond


def test_the_first_pair_stands_a_node_beyond_where_the_room_begins(maple):
    """2R: node 40, room 150, so node 1 is drawn at 0.12 x 150 = 18 and the cut at 18 + 40 + 3."""
    _, _, branches = maple
    assert branches["2R"].cut_mm == pytest.approx(61.0)
    assert not branches["2R"].cut_known
    beyond = {name for name, b in branches.items() if b.beyond and name.startswith("2R-")}
    assert beyond == {"2R-4", "2R-5"}  # they start 76 and 92 mm along it, the others up to 60


def test_branches_with_a_job_are_not_to_be_touched(maple):
    _, _, branches = maple
    assert {name for name, b in branches.items() if b.keep} >= {"1L", "1.5F", "3B-2"}
    assert not branches["2R"].keep


def test_the_share_reached_is_that_of_the_facts(maple):
    """1L: base 12.1 of 47 x 0.35 = 16.45 wanted."""
    _, _, branches = maple
    assert branches["1L"].reached == pytest.approx(12.1 / (47 * 0.35))
    assert branches["1L"].target_base_mm == pytest.approx(16.45)


def test_what_was_not_measured_is_said_of_each_branch(maple):
    _, _, branches = maple
    assert set(branches["2R"].inferred) == {"length", "angle"}
    assert set(branches["1L"].inferred) == {"length"}


def test_a_branch_without_a_verdict_is_drawn_plain(maple):
    day, _, _ = maple
    bare = drawing_of(replace(day, verdicts=()))
    assert {(b.mark, b.role, b.act) for b in bare.branches} == {(Mark.LEAVE, Role.INK, "")}


def test_the_shape_says_the_same_in_flat_numbers(drawn_garden):
    for day in drawn_garden.trees:
        drawing = drawing_of(day)
        body = json.loads(json.dumps(drawing_shape(drawing), allow_nan=False))
        assert (body["shape"], body["version"]) == ("boughwright/drawing", 1)
        assert [b["id"] for b in body["branches"]] == [b.id for b in drawing.branches]
        for part, branch in enumerate(body["branches"]):
            flat = np.asarray(branch["points"]).reshape(-1, 4)
            span = drawing.span(part)
            assert np.allclose(flat[:, :3], drawing.points[span], atol=0.0501)
            assert np.allclose(flat[:, 3], drawing.radius[span], atol=0.0501)
            assert all(round(value, 1) == value for value in branch["points"])
        assert len(body["twigs"]) == 6 * len(body["twig_of"])


def keys(value, path=""):
    """Return the paths of all keys of a body, as the page of shapes writes them."""
    if isinstance(value, dict):
        found = (keys(v, f"{path}.{k}" if path else k) for k, v in value.items())
        return set().union(*found)
    if isinstance(value, list):
        return set().union({f"{path}[]"}, *(keys(v, f"{path}[]") for v in value)) - {
            f"{path}[]" if value and isinstance(value[0], dict) else ""
        }
    return {path}


def test_the_page_of_shapes_lists_every_key(maple):
    _, drawing, _ = maple
    page = (Path(__file__).parents[2] / "docs" / "json-shapes.md").read_text("utf-8")
    section = page.split("## Drawing of a tree")[1].split("\n## ")[0]
    listed = set(re.findall(r"^\| `([^`]+)` \|", section, re.M))
    assert listed == keys(json.loads(json.dumps(drawing_shape(drawing))))


def test_every_tree_of_the_demonstration_is_drawn_from_every_side(drawn_garden):
    for day in drawn_garden.trees:
        drawing = drawing_of(day)
        for turn in (0.0, 90.0, 180.0, 270.0):
            svg = line_drawing(drawing, front_deg=turn, width=360, height=430)
            assert "nan" not in svg
            assert svg.count('class="tap"') == len(drawing.branches)
        assert "nan" not in thumb(drawing)
