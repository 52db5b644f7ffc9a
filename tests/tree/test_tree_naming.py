"""Names: old phrases still reach the right branch after renaming, grafting between and turning."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tree_cases import START, Book, field_maple, kinds, row_of

from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.tree.naming import clock_now, find, side_now
from boughwright.tree.replay import replay

LATER = START + timedelta(400)


def reached(tree, place, **more):
    return {tree.branches.ids[row] for row in find(tree, place, **more).rows}


@pytest.mark.parametrize(
    ("place", "id_", "match"),
    [
        ("4R", "b4R", "name"),
        ("4r", "b4R", "name"),
        (" 4 R ", "b4R", "name"),
        ("fourth right", "b4R", "name"),
        ("three back", "b3B", "name"),
        ("2.5Lg", "bg", "name"),
        ("2,5 Lg", "bg", "name"),
        ("2.5L", "bg", "graft"),
        ("scar front", "scar", "name"),
        ("front scar", "scar", "name"),
        ("top", "btop", "name"),
        ("trunk", "trunk", "name"),
        ("2", "b2R", "number"),
        ("2.5", "bg", "number"),
        ("2R-end", "b2R", "end"),
    ],
)
def test_one_branch_by_name(place, id_, match):
    tree = replay("ditch", field_maple().events)
    found = find(tree, place)
    assert [tree.branches.ids[row] for row in found.rows] == [id_]
    assert (found.match, found.zone) == (match, "")


@pytest.mark.parametrize(
    ("place", "zone", "ids"),
    [
        # outline 440: lower below 198 mm, middle below 330 mm
        ("low", "low", {"b1L", "b2R", "b3B", "bg"}),
        ("mid", "mid", {"b4R", "b5L"}),
        ("apex", "apex", {"b6R", "btop"}),
        ("low left", "low left", {"b1L", "bg"}),
        ("left", "left", {"b1L", "bg", "b5L"}),
        ("outer lower right", "low outer right", {"b2R"}),
        ("all", "", {"b1L", "b2R", "b3B", "b4R", "b5L", "b6R", "bg", "btop"}),
        ("front", "front", set()),
    ],
)
def test_zone_words_pick_living_branches(place, zone, ids):
    tree = replay("ditch", field_maple().events)
    found = find(tree, place)
    assert {tree.branches.ids[row] for row in found.rows} == ids
    assert found.zone == zone
    assert found.match == ("all" if place == "all" else "zone")


def test_inner_and_outer_leave_out_only_what_is_known_to_be_the_other():
    book = field_maple()
    book.branch("b1L", outer=False)
    book.branch("b2R", outer=True)
    tree = replay("ditch", book.events)
    assert reached(tree, "low outer") == {"b2R", "b3B", "bg"}
    assert reached(tree, "low inner") == {"b1L", "b3B", "bg"}


def test_the_running_end_of_the_branch_named_before():
    tree = replay("ditch", field_maple().events)
    row = row_of(tree, "5L")
    found = find(tree, "end", last=row)
    assert (found.rows, found.match) == ((row,), "end")
    with pytest.raises(UnknownNameError):
        find(tree, "end")


def test_renaming_grafting_between_and_turning_the_front_lose_no_old_phrase():
    book = field_maple()
    phrases = {"1L": "b1L", "2R": "b2R", "second right": "b2R", "2.5L": "bg", "2.5Lg": "bg",
               "3B": "b3B", "4R": "b4R", "5L": "b5L", "6R": "b6R", "top": "btop",
               "scar front": "scar"}  # fmt: skip
    tree = replay("ditch", book.events)
    for phrase, id_ in phrases.items():
        assert reached(tree, phrase) == {id_}
    # A year later: the graft is weaned and the tidy renaming moves 4R up; another graft between;
    # then the front moves a quarter turn clockwise.
    book.branch("b4R", LATER, name="5.5R")
    book.branch("bg", LATER, name="2.5L", weaned=True)
    book.branch("bg2", LATER, name="3.5Bg", height_mm=205.0, clock=11.0)
    book.turn(90.0, LATER)
    tree = replay("ditch", book.events)
    for phrase, id_ in phrases.items():
        assert reached(tree, phrase) == {id_}, phrase
    assert find(tree, "4R").match == "alias"
    assert reached(tree, "5.5R") == {"b4R"}
    assert tree.branches.aliases[row_of(tree, "5.5R")] == ("4R",)
    assert tree.branches.alias_until[row_of(tree, "5.5R")] == (LATER,)
    assert reached(tree, "3.5B") == {"bg2"}
    assert kinds(tree) == []


@pytest.mark.parametrize(
    ("degrees", "sides"),
    # 1L stands at 9, 2R at 3, 3B at 12. Seen from above, a front moved a quarter clockwise comes
    # to where the left was: who stands there sees left as front, right as back, back on the left.
    [(0.0, "LRB"), (90.0, "FBL"), (180.0, "RLF"), (270.0, "BFR"), (360.0, "LRB")],
)
def test_sides_follow_the_front(degrees, sides):
    book = field_maple()
    book.turn(degrees, LATER)
    tree = replay("ditch", book.events)
    got = "".join(side_now(tree, row_of(tree, name)) for name in ("1L", "2R", "3B"))
    assert got == sides


def test_a_turned_branch_is_found_by_its_new_side_and_by_its_name():
    book = field_maple()
    book.turn(180.0, LATER)
    tree = replay("ditch", book.events)
    assert find(tree, "4L").match == "side"
    assert reached(tree, "4L") == reached(tree, "4R") == {"b4R"}
    assert reached(tree, "low left") == {"b2R"}
    # 4R stood at 2 o'clock: half a turn brings it to 8.
    assert clock_now(tree)[row_of(tree, "4R")] == pytest.approx(8.0)


def test_a_clock_entered_after_a_turn_is_read_from_the_new_front():
    book = Book()
    book.branch("a", name="1L", clock=9.0)
    book.turn(90.0, START + timedelta(1))
    book.branch("b", START + timedelta(2), name="2L", clock=9.0)
    tree = replay("t", book.events)
    assert clock_now(tree)[1:].tolist() == [6.0, 9.0]
    assert reached(tree, "left") == {"b"}


def test_two_that_fit_are_listed_with_height_and_clock():
    book = Book("ditch")
    book.branch("a", name="4L", height_mm=120.0, clock=9.0)
    book.branch("b", name="4R", height_mm=131.0)
    tree = replay("ditch", book.events)
    with pytest.raises(AmbiguousNameError) as told:
        find(tree, "4")
    for word in ("4L ({120 mm} up, at 9 o'clock)", "4R ({131 mm} up, direction not known)"):
        assert word in str(told.value)


def test_a_name_that_is_gone_gives_way_to_a_living_one():
    book = Book()
    book.branch("a", name="4R", gone_on=START)
    tree = replay("t", book.events)
    assert reached(tree, "4R") == {"a"}  # it keeps its name
    book.branch("b", START + timedelta(5), name="4R")
    assert reached(replay("t", book.events), "4R") == {"b"}


def test_a_tidied_name_taken_over_by_another_tells_both_and_the_day_decides():
    book = Book()
    book.branch("a", name="3L")
    book.branch("b", name="4L")
    book.branch("b", LATER, name="5L")
    book.branch("a", LATER, name="4L")
    tree = replay("t", book.events)
    found = find(tree, "4L")
    assert tree.branches.ids[found.rows[0]] == "a"
    assert [tree.branches.ids[row] for row in found.also] == ["b"]
    assert reached(tree, "4L", on=LATER - timedelta(1)) == {"b"}
    assert reached(tree, "4L", on=LATER) == {"a"}
    assert kinds(tree) == []


def test_an_unknown_name_gets_the_three_nearest():
    tree = replay("ditch", field_maple().events)
    with pytest.raises(UnknownNameError) as told:
        find(tree, "5R")
    near = told.value.allowed.removeprefix("the nearest names are ").split(", ")
    assert len(near) == 3
    assert "5L" in near
    assert told.value.where == "Ditch field maple"


def test_a_branch_without_a_name_is_found_by_its_identity():
    book = Book()
    book.read("x-77", "base", 5.0, date(2025, 3, 1))
    tree = replay("t", book.events)
    assert reached(tree, "X-77") == {"x-77"}
