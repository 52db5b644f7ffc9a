"""Planted faults are found with their events, none is mended, and a clean log has none."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tree_cases import START, Book, field_maple, kinds

from boughwright.tree.replay import replay


def day(number):
    return START + timedelta(number)


def clean():
    """Three years of a well-kept log: readings with noise, wire, grafts, renames, losses."""
    book = field_maple()
    book.facts(acquired_on=date(2019, 4, 1), collected_on=date(2019, 3, 1))
    for year in (1, 2):
        for number, name in enumerate(("1L", "2R", "3B", "4R", "5L")):
            grown = (12.1, 14.6, 12.4, 9.2, 5.2)[number] + year
            # 0.3 mm of noise on the first reading of the pair, an oval of 0.4 mm on the second
            book.read(f"b{name}", "base", grown - 0.3, day(365 * year), marked=True)
            book.read(f"b{name}", "base", grown + 0.1, day(365 * year), marked=True)
        book.read("scar", "open", 46.0 - 2.5 * year, day(365 * year), earlier=46.0)
        book.read(None, "trunk", 67.0 + year, day(365 * year))
    book.read("b1L", "base", 13.8, day(760), marked=True)  # falls 0.1 under the mean of the pair
    book.read("b1L", "node", 38.0, day(20))
    book.read("b1L", "room", 180.0, day(20), how="tape")
    book.work("b4R", "wire on", day(300), gauge_mm=1.5)
    book.saw("b4R", "bite", day(330), grade=2)
    book.work("b4R", "wire off", day(340), bite=2)
    book.work("b4R", "wire on", day(400), gauge_mm=2.0)
    book.work(None, "wire off", day(430), zone="all")
    book.read("bg", "exit", 6.4, day(500))
    book.read("bg", "entry", 5.2, day(500))
    book.work("scar", "rim", day(740))
    book.read("scar", "open", 43.0, day(741))  # pared: wider than the 41 of the year before
    book.work("bg", "sever", day(600))
    book.branch("bg", day(610), name="2.5L")
    book.branch("leader", name="9F", height_mm=600.0, job="sacrifice")
    book.saw("b6R", "dead", day(450))
    book.work("b6R", "cut", day(460), to="base")
    book.branch("b6Ra", day(460), name="6.5R", height_mm=340.0)
    book.branch("b2Ra", name="2R-1", parent="b2R", along_mm=60.0)
    book.read("b2Ra", "base", 6.0, day(40))
    book.read("b2R", "length", 190.0, day(40))
    return book


def test_a_clean_log_has_no_false_alarm():
    assert kinds(replay("ditch", clean().events)) == []


def shrunk(book):
    return "shrank", book.read("b2R", "base", 14.1, day(900), marked=True)


def shrunk_rough(book):
    return "shrank", book.read("b2R", "base", 15.6, day(900))  # 0.9 under the mean of 16.5


def shrunk_trunk_beside(book):
    return "trunk-shrank", book.read("b1L", "trunk", 45.9, day(900))


def shrunk_trunk(book):
    return "trunk-shrank", book.read(None, "trunk", 66.0, day(900))


def shrunk_exit(book):
    return "shrank", book.read("bg", "exit", 5.0, day(590))


def two_bases(book):
    book.read("b5L", "base", 9.0, day(900))
    return "two-readings", book.read("b5L", "base", 12.0, day(900))


def thicker_than_trunk(book):
    return "thicker-than-trunk", book.read("b6Ra", "base", 71.0, day(900))


def thicker_than_trunk_beside(book):
    book.read("b6Ra", "trunk", 16.0, day(900))
    return "thicker-than-trunk", book.read("b6Ra", "base", 17.0, day(900))


def thicker_than_parent(book):
    return "thicker-than-parent", book.read("b2Ra", "base", 18.0, day(900))


def scar_wider(book):
    return "scar-opened", book.read("scar", "open", 48.0, day(900))


def scar_typed_the_wrong_way_round(book):
    book.branch("scar2", name="scar 2")
    return "scar-opened", book.read("scar2", "open", 46.0, day(900), earlier=41.0)


def room_shorter(book):
    book.read("b3B", "node", 40.0, day(900))
    return "room-shorter", book.read("b3B", "room", 30.0, day(900))


def too_high(book):
    return "too-high", book.branch("b5L", height_mm=507.0)  # 440 x 1.15 = 506


def past_tip(book):
    return "past-tip", book.branch("b2Ra", along_mm=240.0)  # 190 x 1.15 = 218.5


def name_twice(book):
    return "name-twice", book.branch("new", day(900), name="5l")


def exit_of_a_branch(book):
    return "not-a-graft", book.read("b1L", "exit", 6.0, day(900))


def severed_branch(book):
    return "not-a-graft", book.work("b1L", "sever", day(900))


def gone_but_worked(book):
    return "gone-but-worked", book.work("b6R", "let run", day(461))


def gone_but_cut_again(book):
    return "gone-but-worked", book.work("b6R", "cut", day(900))


def gone_but_measured(book):
    return "gone-but-measured", book.read("b6R", "base", 8.0, day(900))


def gone_but_alive(book):
    return "gone-but-seen", book.saw("b6R", "burst", day(455))


def shoot_of_a_gone_branch(book):
    book.branch("b6Rx", name="6R-1", parent="b6R")
    return "gone-but-worked", book.work("b6Rx", "wire on", day(900))


def graft_before_its_donor(book):
    book.branch("new", day(500), name="7L")
    book.branch("g", day(400), name="4.5Rg")
    return "graft-before-donor", book.work("g", "graft in", day(400), donor="new")


def graft_from_a_later_graft(book):
    book.branch("g", day(100), name="4.5Rg")
    return "graft-before-donor", book.work("g", "graft in", day(100), donor="bg")  # bg: day 149


def graft_from_a_gone_donor(book):
    book.branch("g", day(470), name="4.5Rg")
    return "donor-gone", book.work("g", "graft in", day(470), donor="b6R")


def wired_before_grafted(book):
    return "date-order", book.work("bg", "wire on", day(100))


def severed_before_grafted(book):
    return "date-order", book.work("bg", "sever", day(100))


def acquired_after_worked(book):
    return "date-order", book.facts(day(901), acquired_on=day(200), collected_on=None)


def collected_after_acquired(book):
    return "date-order", book.facts(day(901), collected_on=date(2020, 1, 1))


def future(book):
    entered = book.events[0].recorded
    return "future-date", book.add(
        book.events[-1].body, entered.date() + timedelta(2), "b2R", recorded=entered
    )


def off_with_none_on(book):
    return "off-but-none-on", book.work("b1L", "wire off", day(900))


def off_of_a_zone_with_none_on(book):
    return "off-but-none-on", book.work(None, "wire off", day(900), zone="low")


def wired_twice(book):
    book.work("b3B", "wire on", day(900))
    return "wired-twice", book.work("b3B", "wire on", day(930))


def off_but_seen(book):
    return "off-but-seen", book.saw("b4R", "bite", day(450), grade=2)


def bitten_without_wire(book):
    return "bite-without-wire", book.saw("b1L", "bite", day(450), grade=2)


def unknown_parent(book):
    return "unknown-parent", book.branch("new", name="8L", parent="nobody")


def parents_in_a_ring(book):
    book.branch("x", name="8L")
    book.branch("y", name="8L-1", parent="x")
    return "parent-ring", book.branch("x", parent="y")


FAULTS = [
    shrunk, shrunk_rough, shrunk_trunk_beside, shrunk_trunk, shrunk_exit, two_bases,
    thicker_than_trunk, thicker_than_trunk_beside, thicker_than_parent, scar_wider,
    scar_typed_the_wrong_way_round, room_shorter, too_high, past_tip, name_twice,
    exit_of_a_branch, severed_branch, gone_but_worked, gone_but_cut_again, gone_but_measured,
    gone_but_alive, shoot_of_a_gone_branch, graft_before_its_donor, graft_from_a_later_graft,
    graft_from_a_gone_donor, wired_before_grafted, severed_before_grafted, acquired_after_worked,
    collected_after_acquired, future, off_with_none_on, off_of_a_zone_with_none_on, wired_twice,
    off_but_seen, bitten_without_wire, unknown_parent, parents_in_a_ring,
]  # fmt: skip


@pytest.mark.parametrize("plant", FAULTS, ids=lambda plant: plant.__name__)
def test_a_planted_fault_is_found_and_nothing_else(plant):
    book = clean()
    kind, event = plant(book)
    tree = replay("ditch", book.events)
    assert kinds(tree) == [kind]
    (fault,) = tree.contradictions
    assert event in fault.events
    assert fault.todo.endswith(".")
    assert "{" not in fault.what or " mm}" in fault.what
    # Withdrawing the later record settles it: nothing was changed behind the grower's back.
    book.withdraw(event, day(950))
    assert kinds(replay("ditch", book.events)) == []


def test_the_sentence_has_both_values_and_dates():
    book = Book()
    book.branch("a", name="3R")
    was = book.read("a", "base", 14.0, date(2025, 3, 1), marked=True)
    now = book.read("a", "base", 13.5, date(2026, 3, 1), marked=True)
    (fault,) = replay("t", book.events).contradictions
    assert fault.events == (was, now)
    for word in ("3R", "{14.0 mm}", "{13.5 mm}", "1 March 2025", "1 March 2026"):
        assert word in fault.what
    assert fault.todo.startswith("Measure again at the mark")


@pytest.mark.parametrize(
    ("fall", "marked", "found"),
    [(0.4, True, False), (0.41, True, True), (0.8, False, False), (0.81, False, True)],
)
def test_a_fall_within_the_error_is_noise(fall, marked, found):
    book = Book()
    book.branch("a", name="3R")
    book.read("a", "base", 14.0, day(1), marked=marked)
    book.read("a", "base", 14.0 - fall, day(300), marked=marked)
    assert kinds(replay("t", book.events)) == ["shrank"] * found


def test_small_falls_add_up():
    book = Book()
    book.branch("a", name="3R")
    for number, value in enumerate((14.0, 13.7, 13.4)):  # 0.6 in all
        book.read("a", "base", value, day(300 * number), marked=True)
    assert kinds(replay("t", book.events)) == ["shrank"]


def test_the_latest_reading_stands_although_it_contradicts():
    book = Book()
    book.branch("a", name="3R")
    book.read("a", "base", 14.0, day(1))
    book.read("a", "base", 9.0, day(300))
    assert replay("t", book.events).branches.base_mm[1] == 9.0


def test_readings_that_disagree_are_not_averaged():
    book = Book()
    book.branch("a", name="3R")
    book.read("a", "base", 9.0)
    book.read("a", "base", 12.0)
    tree = replay("t", book.events)
    assert tree.branches.base_mm[1] == 12.0
    assert kinds(tree) == ["two-readings"]


def test_a_base_may_outgrow_an_old_reading_of_the_trunk():
    book = Book()
    book.branch("a", name="1L")
    book.read("a", "trunk", 20.0, day(0))
    book.read("a", "base", 21.0, day(401))
    assert kinds(replay("t", book.events)) == []


def test_a_record_made_up_afterwards_enters_donors_late_without_fault():
    book = Book()
    book.work("g", "graft in", date(2024, 6, 1), donor="d")
    book.branch("g", name="2.5Lg")
    book.branch("d", name="3B")
    assert kinds(replay("t", book.events)) == []


def test_a_ring_hangs_on_the_trunk_and_keeps_the_rest():
    book = Book()
    book.branch("x", name="1L", parent="z")
    book.branch("y", name="1L-1", parent="x")
    book.branch("z", name="1L-1-1", parent="y")
    book.branch("w", name="1L-2", parent="x")
    tree = replay("t", book.events)
    assert len(tree.branches) == 5
    # z closed the ring, so z hangs on the trunk; x on z, y and w on x
    parents = {
        id_: tree.branches.ids[up]
        for id_, up in zip(tree.branches.ids, tree.branches.parent, strict=True)
        if up >= 0
    }
    assert parents == {"z": "trunk", "x": "z", "y": "x", "w": "x"}
    assert kinds(tree) == ["parent-ring"]
