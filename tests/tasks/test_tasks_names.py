"""Lasting identity: rename, graft between, turn the front, and every old phrase still arrives.

All through the doors a grower uses: forms and phrases; nothing is set up behind them.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from tasks_garden import taken

from boughwright.errors import UnknownNameError
from boughwright.journal.terms import GraftKind
from boughwright.tree.naming import clock_now, find
from boughwright.usecases.day import read_trees
from boughwright.usecases.tidy import (
    graft_between,
    new_sides,
    rename_branch,
    tree_back,
    tree_gone,
    turn_front,
)

if TYPE_CHECKING:
    from tasks_garden import Forms

    from boughwright.tree.model import Tree

OLD_PHRASES = ("2R", "2nd right", "two right", "second right", "2r")
TIDIED = date(2026, 6, 8)


@pytest.fixture
def maple(forms: Forms) -> str:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=95, clock=9, base=12.1, trunk=47)
    forms.branch(tree, "2R", height_mm=130, clock=3, base=14.6, trunk=43)
    forms.branch(tree, "3B", height_mm=175, clock=12, base=12.4, trunk=37)
    forms.branch(tree, "3B-2")
    return tree


def tree_of(forms: Forms, key: str) -> Tree:
    return next(tree for tree in read_trees(forms.path)[2] if tree.id == key)


def reached(tree: Tree, place: str) -> str:
    (row,) = find(tree, place).rows
    return tree.branches.ids[row]


def test_rename_graft_between_and_front_turned_leave_every_old_phrase_its_branch(
    forms: Forms, maple: str
) -> None:
    before = {place: reached(tree_of(forms, maple), place) for place in ("1L", "2R", "3B", "3B-2")}
    taken(rename_branch(forms.path, maple, before["2R"], "4R", forms.writer(TIDIED)))
    grafted = taken(
        graft_between(forms.path, maple, "1L", "3B", "left", forms.writer(TIDIED),
                      kind=GraftKind.APPROACH, donor="3B-2")
    )  # fmt: skip
    taken(turn_front(forms.path, maple, 90.0, forms.writer(TIDIED)))

    tree = tree_of(forms, maple)
    for phrase in OLD_PHRASES:
        assert reached(tree, phrase) == before["2R"], phrase
    assert reached(tree, "4R") == before["2R"]
    for place in ("1L", "3B", "3B-2"):
        assert reached(tree, place) == before[place]
    # Half-way between 1 and 3 is 2, which is taken, now and once; the nearest free tenth is 1.9.
    assert tree.branches.names[tree.branches.ids.index(grafted.key)] == "1.9Lg"
    assert reached(tree, "1.9L") == grafted.key
    donor = tree.branches.donor[tree.branches.ids.index(grafted.key)]
    assert tree.branches.ids[donor] == before["3B-2"]
    # A quarter turn clockwise from above: what stood at 3 o'clock now stands at 12, the back.
    assert clock_now(tree)[tree.branches.ids.index(before["2R"])] == 12.0

    forms.say("2R base 14.8", maple)
    forms.say("second right ok", maple)
    forms.say("3B-2 base 3.0", maple)
    after = tree_of(forms, maple)
    bases = dict(zip(after.branches.ids, after.branches.base_mm.tolist(), strict=True))
    assert bases[before["2R"]] == 14.8
    assert bases[before["3B-2"]] == 3.0


def test_sides_are_those_of_the_new_front(forms: Forms, maple: str) -> None:
    taken(turn_front(forms.path, maple, 90.0, forms.writer(TIDIED)))
    tree = tree_of(forms, maple)
    by_name = {
        tree.branches.names[tree.branches.ids.index(k)]: v for k, v in new_sides(tree).items()
    }
    # 9 o'clock becomes 6, the front; 3 becomes 12, the back; 12 becomes 9, the left.
    assert by_name == {"1L": "front", "2R": "back", "3B": "left"}


def test_a_name_taken_over_reaches_its_new_bearer_and_says_so(forms: Forms, maple: str) -> None:
    old = reached(tree_of(forms, maple), "2R")
    taken(rename_branch(forms.path, maple, old, "4R", forms.writer(TIDIED)))
    other = reached(tree_of(forms, maple), "1L")
    entered = taken(rename_branch(forms.path, maple, other, "2R", forms.writer(TIDIED)))
    assert entered.doubts == ("4R was once called 2R; 2R now means this branch",)
    assert reached(tree_of(forms, maple), "2R") == other


def test_a_name_that_another_branch_bears_is_refused(forms: Forms, maple: str) -> None:
    own = reached(tree_of(forms, maple), "1L")
    entered = rename_branch(forms.path, maple, own, "2nd right", forms.writer(TIDIED))
    assert [fault.field for fault in entered.faults] == ["name"]
    assert "2R" in entered.faults[0].what
    assert tree_of(forms, maple).branches.names[1:4] == ("1L", "2R", "3B")


def test_a_graft_needs_a_side_and_two_branches_in_order(forms: Forms, maple: str) -> None:
    writer = forms.writer(TIDIED)
    asked = [
        (("1L", "3B", "up"), "side"),
        (("3B", "1L", "left"), "lower"),
        (("9R", "3B", "left"), "lower"),
        (("1L", "9R", "left"), "upper"),
    ]
    for (lower, upper, side), field in asked:
        entered = graft_between(forms.path, maple, lower, upper, side, writer)
        assert [fault.field for fault in entered.faults] == [field]
    entered = graft_between(forms.path, maple, "1L", "2R", "left", writer, donor="7F")
    assert [fault.field for fault in entered.faults] == ["donor"]
    assert len(tree_of(forms, maple).branches) == 5  # the trunk and the four that were entered


def test_a_tree_that_is_gone_keeps_its_records_and_can_come_back(forms: Forms, maple: str) -> None:
    taken(tree_gone(forms.path, maple, "given to Ana", forms.writer(TIDIED)))
    assert [tree.id for tree in read_trees(forms.path)[2]] == []
    assert taken(tree_gone(forms.path, maple, "again", forms.writer(TIDIED))).events == ()
    taken(tree_back(forms.path, maple, forms.writer(TIDIED)))
    assert tree_of(forms, maple).branches.names[1:4] == ("1L", "2R", "3B")


def test_an_unknown_tree_and_a_turn_too_far_are_refused(forms: Forms, maple: str) -> None:
    with pytest.raises(UnknownNameError, match="no tree has the key"):
        turn_front(forms.path, "nowhere", 90.0, forms.writer())
    entered = turn_front(forms.path, maple, 400.0, forms.writer())
    assert [fault.field for fault in entered.faults] == ["degrees"]
    assert taken(turn_front(forms.path, maple, 360.0, forms.writer())).events == ()
