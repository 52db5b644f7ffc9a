"""Measures worked out by hand, and the readings that each one rests on."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import numpy as np
import pytest
from tree_cases import START, Book, field_maple, row_of

from boughwright.errors import UnknownNameError
from boughwright.journal.events import Measured
from boughwright.tree.measures import THICK_WORDS, Measures, measure, met, rests_on
from boughwright.tree.replay import replay


def day(number):
    return START + timedelta(number)


def thick(tree, name):
    code = measure(tree).thick[row_of(tree, name)]
    return THICK_WORDS[code] if code >= 0 else None


def test_step_and_base_reached_of_the_field_maple():
    """Written case: the values a grower works out at the bench for a collected field maple."""
    tree = replay("ditch", field_maple().events)
    got = measure(tree)
    # name, step to two figures, base reached in whole percent, class
    table = [
        ("1L", 0.26, 74, "thin"),
        ("2R", 0.34, 100, "thick enough"),
        ("3B", 0.34, 102, "thick enough"),
        ("4R", 0.29, 96, "thick enough"),
        ("5L", 0.20, 71, "thin"),
        ("6R", 0.44, 176, "too thick"),
    ]
    for name, step, reached, word in table:
        row = row_of(tree, name)
        assert round(float(got.step[row]), 2) == step, name
        assert round(100 * float(got.reached[row])) == reached, name
        assert thick(tree, name) == word, name
    assert got.target_base_mm[row_of(tree, "1L")] == pytest.approx(47 * 0.35)
    assert thick(tree, "top") is None
    assert thick(tree, "2.5Lg") is None


def test_each_primary_against_the_living_one_below():
    tree = replay("ditch", field_maple().events)
    got = measure(tree)
    below = {n: (None if got.below[row_of(tree, n)] < 0
                 else tree.branches.names[got.below[row_of(tree, n)]])
             for n in tree.branches.names}  # fmt: skip
    # the unweaned graft, the leader and the scar are no primaries to be compared
    assert below == {"trunk": None, "1L": None, "scar front": None, "2R": "1L", "2.5Lg": None,
                     "3B": "2R", "4R": "3B", "5L": "4R", "6R": "5L", "top": None}  # fmt: skip
    assert got.primary_ratio[row_of(tree, "3B")] == pytest.approx(12.4 / 14.6)
    book = field_maple()
    book.work("b3B", "cut", day(400), to="base")
    tree = replay("ditch", book.events)
    assert measure(tree).primary_ratio[row_of(tree, "4R")] == pytest.approx(9.2 / 14.6)


def test_leaf_share_is_the_share_of_base_area():
    book = Book()
    for name, base in (("1L", 3.0), ("2R", 4.0), ("3B", None)):
        book.branch(name, name=name)
        if base:
            book.read(name, "base", base)
    book.branch("x", name="2R-1", parent="2R")
    book.read("x", "base", 2.0)
    tree = replay("t", book.events)
    got = measure(tree)
    # 9 and 16 of 25; the shoot 4 of 25; 3B unread
    assert got.leaf_share[[row_of(tree, n) for n in ("1L", "2R", "2R-1")]].tolist() == [
        pytest.approx(9 / 25), pytest.approx(16 / 25), pytest.approx(4 / 25),
    ]  # fmt: skip
    assert np.isnan(got.leaf_share[row_of(tree, "3B")])
    assert got.leaf_known == pytest.approx(2 / 3)


def test_internode_share_and_fork_steps():
    book = Book()
    book.branch("a", name="1L")
    book.read("a", "base", 12.0)
    book.read("a", "node", 38.0)
    book.read("a", "room", 180.0)
    for id_, along, base in (("l", 60.0, 8.0), ("r", 60.0, 6.0), ("o", 90.0, 5.0)):
        book.branch(id_, name=f"1L-{id_}", parent="a", along_mm=along)
        book.read(id_, "base", base)
    book.read("o", "trunk", 10.0)
    tree = replay("t", book.events)
    got, row = measure(tree), {n: row_of(tree, f"1L-{n}") for n in "lro"}
    assert got.internode_share[1] == pytest.approx(38 / 180)
    # l and r start together: 6/8; o starts 30 mm on, an arm of no fork
    assert got.arms[row["l"]] == got.arms[row["r"]] == pytest.approx(6 / 8)
    assert np.isnan(got.arms[row["o"]])
    # over the parent's base 12, or over its diameter read beside the shoot
    assert got.fork_step[row["l"]] == pytest.approx(8 / 12)
    assert got.fork_step[row["o"]] == pytest.approx(5 / 10)
    assert np.isnan(got.fork_step[1])


def test_two_shoots_of_unknown_place_are_one_fork_three_are_not():
    book = Book()
    book.branch("a", name="1L")
    for id_, base in (("l", 8.0), ("r", 6.0)):
        book.branch(id_, name=f"1L-{id_}", parent="a")
        book.read(id_, "base", base)
    assert measure(replay("t", book.events)).arms[2:].tolist() == [0.75, 0.75]
    book.branch("o", name="1L-o", parent="a")
    assert np.isnan(measure(replay("t", book.events)).arms).all()


def test_extension_over_the_set_norm_or_the_mean_of_three_years():
    book = Book()
    book.branch("a", name="1L")
    for year, shoots in ((0, (80.0, 120.0)), (1, (90.0,)), (2, (110.0,)), (3, (60.0,))):
        for value in shoots:
            book.read("a", "extension", value, day(365 * year + len(book.events)))
    got = measure(replay("t", book.events))
    # yearly means 100, 90, 110: norm 100; this year 60
    assert got.extension_ratio[1] == pytest.approx(0.6)
    book.facts(norm_extension_mm=120.0)
    assert measure(replay("t", book.events)).extension_ratio[1] == pytest.approx(0.5)


def test_one_earlier_year_is_no_norm():
    book = Book()
    book.branch("a", name="1L")
    book.read("a", "extension", 80.0, day(0))
    book.read("a", "extension", 60.0, day(365))
    assert np.isnan(measure(replay("t", book.events)).extension_ratio[1])


def test_fork_orders_as_entered_else_counted_else_unknown():
    book = Book()
    for name in ("1L", "2R", "1L-1", "1L-2", "1L-1-1"):
        book.branch(name, name=name)
    book.branch("2R", fork_order=4)
    tree = replay("t", book.events)
    got = {n: int(measure(tree).fork_order[row_of(tree, n)]) for n in tree.branches.names}
    # on 1L a tip of 1L-1-1 is two forks out; a branch without recorded shoots is unknown, not 0
    assert got["1L"] == 2
    assert got["1L-1"] == 1
    assert got["1L-2"] == got["1L-1-1"] == -1
    assert got["2R"] == 4


def test_orders_of_the_living_branches():
    book = Book()
    for name in ("1L", "2R", "1L-1", "2R-1", "scar 1"):
        book.branch(name, name=name)
    book.branch("3B", name="3B")
    book.work("3B", "cut", day(5), to="base")
    tree = replay("t", book.events)
    got = measure(tree)
    order = {n: int(got.strahler[row_of(tree, n)]) for n in tree.branches.names}
    # 1L and 2R are forks of order 2; of unknown height they meet at the trunk's end: 3
    assert order == {"trunk": 3, "1L": 2, "2R": 2, "1L-1": 1, "2R-1": 1, "scar 1": -1, "3B": -1}
    # tips: of the trunk, 1L, 1L-1, 2R, 2R-1 = 5; runs of order 2: 2; of order 3: 1
    assert got.bifurcation.tolist() == [2.5, 2.0]


# --- lines and hysteresis ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("base", "word"),
    [(8.49, "thin"), (8.5, "nearly"), (9.49, "nearly"), (9.5, "thick enough"),
     (15.0, "thick enough"), (15.01, "too thick")],
)  # fmt: skip
def test_lines_are_met_unrounded(base, word):
    # trunk 30, lower third target 1/3: target base 10 mm; too thick over 0.50 = 15 mm
    book = Book()
    book.branch("a", name="1L", zone="lower", target_step=1 / 3)
    book.read("a", "trunk", 30.0)
    book.read("a", "base", base)
    assert thick(replay("t", book.events), "1L") == word


@pytest.mark.parametrize(
    ("now", "word"), [(9.5, "thick enough"), (9.31, "thick enough"), (9.29, "nearly")]
)
def test_what_was_met_is_lost_only_two_points_below(now, word):
    book = Book()
    book.branch("a", name="1L", zone="lower", target_step=1 / 3)
    book.read("a", "trunk", 30.0)
    book.read("a", "base", 9.6)
    book.read("a", "base", now, day(300))
    tree = replay("t", book.events)
    got = measure(tree)
    assert got.reached_was[1] == pytest.approx(0.96)
    assert got.step_was[1] == pytest.approx(0.32)
    assert thick(tree, "1L") == word


def test_a_new_reading_of_the_trunk_alone_also_moves_what_was_reached():
    book = Book()
    book.branch("a", name="1L", zone="lower")
    book.read("a", "trunk", 30.0)
    book.read("a", "base", 9.0)
    book.read("a", "trunk", 33.0, day(300))
    got = measure(replay("t", book.events))
    assert (got.step_was[1], got.step[1]) == (pytest.approx(0.3), pytest.approx(9 / 33))


def test_the_reading_before_is_unknown_when_there_was_none():
    book = Book()
    book.branch("a", name="1L", zone="lower")
    book.read("a", "base", 8.0)
    book.read("a", "base", 9.0, day(300))
    book.read("a", "trunk", 30.0, day(300))
    assert np.isnan(measure(replay("t", book.events)).step_was[1])


def test_met_counts_the_unknown_as_not_met():
    now = np.asarray([0.95, 0.94, 0.94, 0.92, np.nan])
    was = np.asarray([np.nan, np.nan, 0.95, 0.99, 0.99])
    assert met(now, was, 0.95).tolist() == [True, False, True, False, False]


def test_only_primaries_are_too_thick():
    book = Book()
    book.branch("a", name="1L", zone="lower")
    book.branch("b", name="1L-1", parent="a")
    book.read("b", "trunk", 10.0)
    book.read("b", "base", 7.0)
    tree = replay("t", book.events)
    assert thick(tree, "1L-1") == "thick enough"


# --- what a measure rests on ---------------------------------------------------------------------


def values(tree):
    """Every row measure of a tree, and the tree-wide one, by (name, row)."""
    got = measure(tree)
    table = {}
    for field in dataclasses.fields(Measures):
        array = np.atleast_1d(getattr(got, field.name))
        if field.name == "bifurcation":
            continue
        for row in range(len(array)):
            table[field.name, row] = float(array[row])
    return table


def rich():
    """The field maple with shoots, doubtful nodes, extension and earlier readings."""
    book = field_maple()
    for row, id_ in enumerate(("b1L", "b2R", "b3B"), 1):
        book.read(id_, "node", 30.0 + row)
        book.read(id_, "room", 120.0 + row)
        book.read(id_, "base", 15.5 + row / 10, day(365))
        book.read(id_, "base", 15.7 + row / 10, day(365))
        for side in "lr":
            book.branch(f"{id_}{side}", name=f"{id_[1:]}-1{side}", parent=id_, along_mm=40.0)
            book.read(f"{id_}{side}", "base", 6.0 + row + (side == "l"))
    for year, value in enumerate((95.0, 105.0, 80.0)):
        book.read("b1L", "extension", value, day(365 * year + 150))
    return book


def test_change_one_reading_only_dependants_change_and_each_lists_it():
    book = rich()
    before = replay("ditch", book.events)
    was = values(before)
    readings = [n for n, event in enumerate(book.events) if isinstance(event.body, Measured)]
    changed_any = set()
    for number in readings:
        event = book.events[number]
        body = dataclasses.replace(event.body, value=event.body.value * 1.001)
        events = [*book.events[:number], dataclasses.replace(event, body=body),
                  *book.events[number + 1:]]  # fmt: skip
        after = replay("ditch", events)
        now = values(after)
        assert now.keys() == was.keys()
        for (name, row), value in now.items():
            moved = not np.isclose(value, was[name, row], rtol=1e-9, equal_nan=True)
            listed = event.id in rests_on(before, row, name)
            assert not moved or listed, (name, row, event.body)
            if moved:
                changed_any.add(name)
    assert changed_any >= {"step", "reached", "step_was", "reached_was", "target_base_mm",
                           "internode_share", "fork_step", "arms", "extension_ratio", "leaf_share",
                           "primary_ratio"}  # fmt: skip


def test_what_a_measure_rests_on_is_no_more_than_moves_it():
    tree = replay("ditch", rich().events)
    row = row_of(tree, "2R")
    by_id = {one.event: one for one in tree.measures}

    def told(name):
        found = [by_id[event] for event in rests_on(tree, row, name)]
        return [
            (tree.branches.names[one.branch], one.what.value, round(one.value, 9)) for one in found
        ]

    # both readings of the day, and the trunk; of the reading before, the first base
    assert told("step") == [("2R", "base", 15.7), ("2R", "base", 15.9), ("2R", "trunk", 43.0)]
    assert told("step_was") == [("2R", "base", 14.6), ("2R", "trunk", 43.0)]
    assert told("internode_share") == [("2R", "node", 32.0), ("2R", "room", 122.0)]
    assert told("strahler") == []
    with pytest.raises(UnknownNameError):
        rests_on(tree, row, "beauty")


def test_what_a_judged_measure_rests_on_can_be_asked_with_measures_at_hand():
    tree = replay("ditch", rich().events)
    known, row = measure(tree), row_of(tree, "3B")
    for name in ("arms", "primary_ratio", "leaf_share", "thick"):
        assert rests_on(tree, row, name, known=known) == rests_on(tree, row, name)
