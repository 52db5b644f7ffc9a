"""The wire register: on and off matched by branch and zone, looks, and the base at wiring."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from tree_cases import START, Book, kinds

from boughwright.journal.terms import Metal
from boughwright.tree.measures import guyed
from boughwright.tree.replay import replay


def day(number):
    return START + timedelta(number)


def crown():
    """Two low branches, one in the middle and two in the apex of a tree of 400 mm."""
    book = Book()
    book.facts(height_mm=400.0)
    for id_, name, height in [("a", "1L", 50.0), ("b", "2R", 90.0), ("c", "3B", 220.0),
                              ("d", "4L", 330.0), ("e", "5R", 360.0)]:  # fmt: skip
        book.branch(id_, name=name, height_mm=height)
    return book


def told(tree):
    """Each wire as (place, on, off, grade), days counted from the start."""
    since = START.toordinal()
    return [
        (
            tree.branches.names[w.branch] if w.branch >= 0 else w.zone,
            w.on.toordinal() - since,
            None if w.off is None else w.off.toordinal() - since,
            w.off_grade,
        )
        for w in tree.wires
    ]


def test_a_branch_wire_with_its_looks():
    book = crown()
    put_on = book.work("a", "wire on", day(1), gauge_mm=1.5, metal=Metal.ALUMINIUM, strands=2)
    book.saw("a", "bite", day(20), grade=1)
    book.saw("b", "bite", day(21), grade=2)  # another branch, and one without wire
    book.saw("a", "ok", day(25))
    book.saw("a", "bite", day(30), grade=3)
    book.work("a", "wire off", day(31), bite=3, method="unwound")
    tree = replay("t", book.events)
    (wire,) = tree.wires
    assert (wire.event, wire.gauge_mm, wire.metal, wire.strands) == (
        put_on,
        1.5,
        Metal.ALUMINIUM,
        2,
    )
    # ok said of a branch: left alone, not bitten, which is grade 1
    assert wire.looks == ((day(20), 1), (day(25), 1), (day(30), 3))
    assert (wire.off, wire.off_grade, wire.off_method) == (day(31), 3, "unwound")
    assert (wire.bend, wire.fit, wire.shoots) == (None, None, 1)
    assert kinds(tree) == ["bite-without-wire"]


def test_a_wire_of_unknown_gauge_stays_unknown():
    book = crown()
    book.work("a", "wire on", day(1))
    (wire,) = replay("t", book.events).wires
    assert np.isnan(wire.gauge_mm)
    assert np.isnan(wire.base_mm)
    assert wire.metal is None
    assert wire.off is None
    assert wire.looks == ()


def test_ok_of_the_whole_tree_is_no_look_at_its_wire():
    book = crown()
    book.work("a", "wire on", day(1))
    book.saw(None, "ok", day(9))
    book.saw(None, "ok", day(10), zone="low")
    assert replay("t", book.events).wires[0].looks == ((day(10), 1),)


def test_zone_off_takes_off_the_zone_wire_and_the_wires_of_its_branches():
    book = crown()
    book.work(None, "wire on", day(1), zone="apex", gauge_mm=1.5, shoots=14)
    book.work("d", "wire on", day(2), gauge_mm=2.0)
    book.work("a", "wire on", day(2), gauge_mm=3.0)
    book.saw(None, "bite", day(20), zone="apex", grade=2)
    book.work(None, "wire off", day(21), zone="apex", bite=2)
    tree = replay("t", book.events)
    assert told(tree) == [("apex", 1, 21, 2), ("4L", 2, 21, 2), ("1L", 2, None, None)]
    assert tree.wires[0].shoots == 14
    assert [wire.looks for wire in tree.wires] == [((day(20), 2),), ((day(20), 2),), ()]
    assert kinds(tree) == []


def test_one_branch_of_a_zone_told_off_leaves_the_rest_wired():
    book = crown()
    book.work(None, "wire on", day(1), zone="apex", gauge_mm=1.5)
    book.work("d", "wire off", day(20), bite=3)
    tree = replay("t", book.events)
    assert told(tree) == [("apex", 1, None, None), ("4L", 1, 20, 3)]
    book.work("e", "wire off", day(25), bite=1)
    assert told(replay("t", book.events)) == [("4L", 1, 20, 3), ("5R", 1, 25, 1)]
    assert kinds(replay("t", book.events)) == []


def test_all_takes_everything_off():
    book = crown()
    book.work("a", "wire on", day(1))
    book.work(None, "wire on", day(2), zone="apex")
    book.work(None, "wire off", day(9), zone="all")
    assert told(replay("t", book.events)) == [("1L", 1, 9, None), ("apex", 2, 9, None)]


def test_a_zone_wire_on_a_tree_without_branches_is_closed_by_its_zone_or_the_whole_tree():
    for off in ("low left", "left lower", "", "all"):
        book = Book()
        book.work(None, "wire on", day(1), zone="low left")
        book.work(None, "wire off", day(9), zone=off)
        assert told(replay("t", book.events)) == [("low left", 1, 9, None)]


def test_a_branch_cut_off_takes_its_wire_along():
    book = crown()
    book.work("a", "wire on", day(1))
    book.work("a", "cut", day(9), to="base")
    (wire,) = replay("t", book.events).wires
    assert (wire.off, wire.off_method) == (day(9), "gone with the branch")


def test_more_told_of_a_wire_off_the_same_day_is_no_second_one():
    book = crown()
    book.work(None, "wire on", day(1), zone="apex")
    book.work(None, "wire off", day(9), zone="apex")
    book.work("e", "wire off", day(9), bite=3)
    tree = replay("t", book.events)
    assert told(tree) == [("apex", 1, 9, 3)]
    assert kinds(tree) == []


def test_sides_of_a_zone_are_those_of_its_day():
    book = Book()
    book.branch("a", name="1L", clock=9.0)
    book.branch("b", name="2R", clock=3.0)
    book.work(None, "wire on", day(1), zone="left")
    book.turn(180.0, day(5))
    book.work(None, "wire off", day(9), zone="right")  # what was left is right now
    assert told(replay("t", book.events)) == [("left", 1, 9, None)]


@pytest.mark.parametrize(
    ("read", "wired", "base", "south"),
    [
        (date(2025, 5, 1), date(2025, 5, 31), 9.0, False),  # 30 days before
        (date(2025, 6, 30), date(2025, 5, 31), 9.0, False),  # 30 days after
        (date(2025, 7, 1), date(2025, 5, 31), np.nan, False),  # 31 days after: too late
        (date(2025, 4, 1), date(2025, 7, 29), 9.0, False),  # 119 days before, same season
        (date(2025, 4, 1), date(2025, 7, 30), np.nan, False),  # 120 days before
        (date(2025, 11, 20), date(2026, 2, 1), np.nan, False),  # another season in the north
        (date(2025, 11, 20), date(2026, 2, 1), 9.0, True),  # the same season in the south
        (date(2025, 5, 20), date(2025, 7, 10), np.nan, True),  # another one in the south
    ],
)
def test_base_at_wiring(read, wired, base, south):
    book = crown()
    book.read("a", "base", 9.0, read)
    book.work("a", "wire on", wired)
    (wire,) = replay("t", book.events, south=south).wires
    np.testing.assert_equal(wire.base_mm, base)


def test_base_at_wiring_is_the_nearest_reading():
    book = crown()
    for when, value in [(day(1), 8.0), (day(50), 9.0), (day(64), 10.0)]:
        book.read("a", "base", value, when)
    book.work("a", "wire on", day(58))
    assert replay("t", book.events).wires[0].base_mm == 10.0  # 6 days after, not 8 before


def test_guys_hold_until_they_are_taken_off():
    book = crown()
    book.work("a", "guy on", day(1))
    book.work("b", "guy on", day(1))
    book.work("b", "guy off", day(9))
    tree = replay("t", book.events)
    assert [tree.branches.names[row] for row in np.flatnonzero(guyed(tree))] == ["1L"]
