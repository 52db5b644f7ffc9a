"""What is measured is drawn as measured; what is not is marked as drawn."""

from __future__ import annotations

import numpy as np
import pytest
from shape_cases import primaries
from tree_cases import Book

from boughwright.tree.replay import replay
from boughwright.tree.shape import PARTS, shape_of


def shape(book):
    return shape_of(replay(book.tree, book.events))


def line(book, name):
    tree = replay(book.tree, book.events)
    made = shape_of(tree)
    part = made.rows.tolist().index(tree.branches.names.index(name))
    return (*made.line(part), made.inferred[part])


def chord(points):
    way = points[-1] - points[0]
    return way / np.linalg.norm(way)


@pytest.mark.parametrize(
    ("name", "axis", "sign"), [("1L", 0, -1), ("2R", 0, 1), ("3B", 2, -1), ("4F", 2, 1)]
)
def test_a_clock_hour_is_the_way_a_branch_goes(name, axis, sign):
    """With the front at 6, a branch at 9 goes left, at 3 right, at 12 back and at 6 to the viewer.

    Its bends stay about the measured hour: the line as a whole strays less than 15 degrees, so
    across the axis it goes less than tan 15 = 0.27 of what it goes along it.
    """
    points, _, _ = line(primaries(), name)
    way = points[-1] - points[0]
    assert sign * way[axis] > 0
    assert abs(way[2 - axis]) < 0.27 * abs(way[axis])


@pytest.mark.parametrize(
    ("name", "axis", "sign"), [("1L", 0, -1), ("2R", 0, 1), ("3B", 2, -1), ("4F", 2, 1)]
)
def test_without_a_clock_the_name_tells_the_side(name, axis, sign):
    book = Book()
    book.facts(height_mm=400.0)
    book.branch("a", name=name, height_mm=150)
    points, _, inferred = line(book, name)
    assert sign * chord(points)[axis] > 0.6
    assert inferred[PARTS.index("direction")]


def test_a_measured_length_is_the_length_of_the_line():
    book = primaries()
    book.read("1L", "length", 150.0)
    points, _, inferred = line(book, "1L")
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(150.0)
    assert not inferred[PARTS.index("length")]


def test_a_measured_angle_is_kept_between_start_and_end():
    points, _, inferred = line(primaries(elevation_deg=30.0), "2R")
    way = chord(points)
    assert np.degrees(np.arcsin(way[1])) == pytest.approx(30.0, abs=4.0)
    assert not inferred[PARTS.index("angle")]


def test_a_height_is_where_a_branch_leaves_the_trunk():
    points, _, inferred = line(primaries(), "3B")
    assert points[0][1] == pytest.approx(190.0)
    assert not inferred[PARTS.index("place")]


def test_a_base_is_the_thickness_at_the_start_and_unknown_is_marked():
    book = primaries()
    book.read("1L", "base", 16.4)
    _, radius, inferred = line(book, "1L")
    assert 2 * radius[0] == pytest.approx(16.4)
    assert not inferred[PARTS.index("base")]
    assert line(book, "2R")[2][PARTS.index("base")]


def test_room_tells_the_length_better_than_the_crown_does():
    """Room 100 from the first node: a line a little longer than 100, whatever the height."""
    book = primaries()
    book.read("1L", "room", 100.0)
    points, _, inferred = line(book, "1L")
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert 100.0 < length < 125.0
    assert inferred[PARTS.index("length")]


def test_a_branch_is_never_shorter_than_its_outermost_shoot():
    book = primaries()
    book.branch("far", name="1L-1", parent="1L", along_mm=260)
    points, _, _ = line(book, "1L")
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() > 260


def test_shoots_named_left_and_right_go_left_and_right_looking_out():
    """1L goes left from the front, so its left, looking out, is towards the viewer."""
    book = primaries()
    book.branch("l", name="1L-1l", parent="1L", along_mm=40)
    book.branch("r", name="1L-2r", parent="1L", along_mm=50)
    left, _, _ = line(book, "1L-1l")
    right, _, _ = line(book, "1L-2r")
    assert chord(left)[2] > 0.2
    assert chord(right)[2] < -0.2


def test_shoots_named_up_and_down_go_up_and_down():
    book = primaries()
    book.branch("u", name="1L-1u", parent="1L", along_mm=40)
    book.branch("d", name="1L-2d", parent="1L", along_mm=50)
    parent = chord(line(book, "1L")[0])[1]
    assert chord(line(book, "1L-1u")[0])[1] > parent + 0.3
    assert chord(line(book, "1L-2d")[0])[1] < parent


def test_a_running_tip_is_longer_by_its_extension():
    still, runs = primaries(), primaries()
    runs.work("1L", "let run")
    runs.read("1L", "extension", 70.0)
    lengths = [
        np.linalg.norm(np.diff(line(book, "1L")[0], axis=0), axis=1).sum()
        for book in (still, runs)
    ]  # fmt: skip
    assert lengths[1] - lengths[0] == pytest.approx(70.0)


def test_a_sacrifice_leader_passes_the_outline_and_a_plain_one_does_not():
    tops = {}
    for job in (None, "sacrifice"):
        book = primaries()
        book.branch("top", name="top", height_mm=330, **({"job": job} if job else {}))
        book.read("top", "base", 14.0)
        tops[job] = line(book, "top")[0][:, 1].max()
    assert tops[None] <= 400.0
    assert tops["sacrifice"] > 450.0


def test_unknown_heights_stand_between_known_numbers():
    book = primaries()
    book.branch("new", name="2.5L")
    points, _, inferred = line(book, "2.5L")
    assert 130.0 < points[0][1] < 190.0
    assert inferred[PARTS.index("place")]


def test_a_scar_lies_on_the_bark_as_wide_as_it_is_open():
    """The trunk is 50 beside 1L at 80: the scar at 6 o'clock is about 25 before its middle."""
    book = primaries()
    book.branch("scar", name="scar front", kind="scar", height_mm=80, clock=6)
    book.read("scar", "open", 41.0)
    points, radius, _ = line(book, "scar front")
    trunk, thick, _ = line(book, "trunk")
    at = [np.interp(80.0, trunk[:, 1], trunk[:, k]) for k in (0, 2)]
    assert points[:, 2].mean() - at[1] == pytest.approx(np.interp(80.0, trunk[:, 1], thick), 0.02)
    assert points[:, 0].mean() == pytest.approx(at[0], abs=1.0)
    assert 2 * radius.max() == pytest.approx(41.0)


def test_what_is_cut_off_is_not_drawn():
    book = primaries()
    book.branch("2R", gone_on=book.events[0].on)
    assert len(shape(book).rows) == len(shape(primaries()).rows) - 1


def test_a_pot_holds_its_volume():
    book = primaries()
    book.facts(pot_volume_l=8.0)
    made = shape(book)
    width, depth = made.pot_mm
    assert made.pot_known
    assert width * depth * 0.67 * width == pytest.approx(8e6, rel=0.01)
