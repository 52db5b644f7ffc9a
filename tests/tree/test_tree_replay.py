"""Replay: rows and parents, unknown kept unknown, order-free, and no later knowledge."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tree_cases import START, Book, field_maple, kinds, row_of

from boughwright.journal.events import Event, Noted, TreeSet
from boughwright.journal.terms import GraftKind, Job, Kind, Phase, Vigour, Zone
from boughwright.tree.measures import measure
from boughwright.tree.replay import replay

ZONES, PHASES, KINDS = tuple(Zone), tuple(Phase), tuple(Kind)


def same(one, other):
    """Compare two trees field by field; nan equals nan."""
    for field in dataclasses.fields(one.branches):
        mine, theirs = getattr(one.branches, field.name), getattr(other.branches, field.name)
        if isinstance(mine, np.ndarray):
            np.testing.assert_array_equal(mine, theirs, err_msg=field.name)
            assert mine.dtype == theirs.dtype
        else:
            assert mine == theirs, field.name
    for name in ("facts", "traits", "front_deg", "works", "seen", "promises", "looks",
                 "contradictions"):  # fmt: skip
        assert getattr(one, name) == getattr(other, name), name
    assert repr(one.measures) == repr(other.measures)
    assert repr(one.wires) == repr(other.wires)


def sixty_branches():
    """Twelve primaries with four shoots each; every third reading and field left out."""
    book = Book()
    book.facts(height_mm=600.0, phase="ramification")
    for number in range(1, 13):
        name = f"{number}{'LRB'[number % 3]}"
        fields = {"name": name, "wanted": True, "leaves": 4, "clock": float(number)}
        if number % 3:
            fields["height_mm"] = 40.0 * number
        book.branch(f"p{number}", **fields)
        if number % 2:
            book.read(f"p{number}", "base", 20.0 - number)
            book.read(f"p{number}", "trunk", 60.0 - 2 * number)
        for shoot in range(1, 5):
            book.branch(f"p{number}s{shoot}", name=f"{name}-{shoot}", parent=f"p{number}",
                        along_mm=10.0 * shoot if shoot % 2 else None)  # fmt: skip
    return book


def test_sixty_branches_keep_the_unknown_unknown():
    tree = replay("t", sixty_branches().events)
    rows = tree.branches
    assert len(rows) == 61
    assert (rows.parent[1:] < np.arange(1, 61)).all()
    assert rows.parent[0] == -1
    primaries = [row for row in range(61) if rows.order[row] == 1]
    assert len(primaries) == 12
    for row in primaries:
        number = int(rows.ids[row][1:])
        assert np.isnan(rows.base_mm[row]) == (number % 2 == 0)
        assert np.isnan(rows.trunk_mm[row]) == (number % 2 == 0)
        assert (rows.base_on[row] == -1) == (number % 2 == 0)
        # height unknown: no zone, and so no target
        assert (rows.zone[row] == -1) == np.isnan(rows.target_step[row]) == (number % 3 == 0)
    never = ("node_mm", "room_mm", "length_mm", "extension_mm", "exit_mm", "entry_mm", "open_mm",
             "job_until_base_mm", "elevation_deg", "plan_angle_deg", "knuckle")  # fmt: skip
    for name in never:
        assert np.isnan(getattr(rows, name)).all(), name
    for name in ("outer", "vigour", "job", "job_for", "shaded_by", "bud_inside", "pair_level",
                 "cluster", "clusters", "fork_order", "bark", "graft_kind", "grafted_on", "donor",
                 "union_moves", "union_gap", "lips_joined", "weaned", "provisional_since",
                 "running"):  # fmt: skip
        assert (getattr(rows, name) == -1).all(), name
    assert not rows.gone.any()
    assert "trunk_mm" not in tree.facts
    assert kinds(tree) == []


def test_measures_of_the_unknown_are_unknown():
    tree = replay("t", sixty_branches().events)
    measures = measure(tree)
    unread = np.isnan(tree.branches.base_mm)
    for name in ("step", "reached", "leaf_share", "fork_step", "primary_ratio"):
        assert np.isnan(getattr(measures, name)[unread]).all(), name
    assert (measures.thick[np.isnan(measures.reached)] == -1).all()
    assert np.isnan(measures.internode_share).all()
    assert np.isnan(measures.extension_ratio).all()


def test_none_takes_a_value_back_to_unknown():
    book = Book()
    book.branch("a", name="1L", height_mm=100.0, wanted=True, target_step=0.4, zone="lower")
    book.branch("a", height_mm=None, wanted=None, target_step=None, zone=None)
    rows = replay("t", book.events).branches
    assert np.isnan(rows.height_mm[1])
    assert np.isnan(rows.target_step[1])
    assert rows.wanted[1] == rows.zone[1] == -1


def test_an_empty_journal_is_a_bare_trunk():
    tree = replay("t", [])
    assert tree.branches.ids == tree.branches.names == ("trunk",)
    assert KINDS[tree.branches.kind[0]] is Kind.TRUNK
    assert tree.name == "t"
    assert measure(tree).bifurcation.tolist() == []


def test_the_trunk_entered_by_the_grower_is_the_root():
    book = Book()
    book.branch("x1", name="1L", parent="x0")
    book.branch("x0", name="trunk")
    book.branch("x2", name="2R")
    book.branch("x3", name="3B", parent="trunk")
    rows = replay("t", book.events).branches
    assert rows.ids == ("x0", "x1", "x2", "x3")
    assert rows.parent.tolist() == [-1, 0, 0, 0]


def test_rows_run_up_the_trunk_and_out_along_each_branch():
    book = Book()
    book.branch("a", name="10L", height_mm=300.0)
    book.branch("b", name="2R", height_mm=90.0)
    book.branch("c", name="2R-2", along_mm=50.0)
    book.branch("d", name="2R-1", along_mm=20.0)
    book.branch("e", name="2R-1-1")
    book.branch("f", name="9L")
    rows = replay("t", book.events).branches
    # 9L has no height and so comes after those that have; 2R-1-1 hangs on 2R-1 by its name.
    assert rows.names == ("trunk", "2R", "2R-1", "2R-1-1", "2R-2", "10L", "9L")
    assert rows.parent.tolist() == [-1, 0, 1, 2, 1, 0, 0]
    assert rows.order.tolist() == [0, 1, 2, 3, 2, 1, 1]


@pytest.mark.parametrize(
    ("height", "zone"),
    [(0.0, "lower"), (224.9, "lower"), (225.0, "middle"), (374.9, "middle"), (375.0, "apex"),
     (640.0, "apex")],
)  # fmt: skip
def test_zones_by_the_height_of_the_outline(height, zone):
    # outline 500 mm: lower below 45 % = 225 mm, middle below 75 % = 375 mm
    book = Book()
    book.facts(height_mm=500.0)
    book.branch("a", name="1L", height_mm=height, job="sacrifice")
    book.branch("s", name="1L-1")
    tree = replay("t", book.events)
    assert ZONES[tree.branches.zone[1]].value == zone
    assert tree.branches.zone[2] == tree.branches.zone[1]  # a shoot is in its branch's zone
    target = {"lower": 0.35, "middle": 0.30, "apex": 0.25}[zone]
    assert tree.branches.target_step[1] == target


def test_a_sacrifice_leader_does_not_raise_the_outline():
    book = Book()
    book.facts(height_mm=500.0)
    book.branch("a", name="1L", height_mm=240.0)
    before = replay("t", book.events).branches.zone[1]
    book.branch("s", name="9F", height_mm=700.0, job="sacrifice")
    book.read("s", "length", 900.0)
    after = replay("t", book.events)
    assert after.branches.zone[row_of(after, "1L")] == before == ZONES.index(Zone.MIDDLE)
    assert kinds(after) == []


def test_phases_branch_first_then_apex_then_tree():
    book = Book()
    book.facts(height_mm=400.0, phase="primary structure", apex_phase="refinement")
    book.branch("a", name="1L", height_mm=50.0)
    book.branch("b", name="2R", height_mm=60.0, phase="ramification")
    book.branch("c", name="3B", height_mm=390.0)
    book.branch("d", name="4L", height_mm=391.0, phase="trunk building")
    book.branch("top", name="top")
    tree = replay("t", book.events)
    got = {name: PHASES[tree.branches.phase[row_of(tree, name)]].value
           for name in ("1L", "2R", "3B", "4L", "top")}  # fmt: skip
    assert got == {"1L": "primary structure", "2R": "ramification", "3B": "refinement",
                   "4L": "trunk building", "top": "refinement"}  # fmt: skip


def test_the_latest_height_counts_set_or_measured():
    book = Book()
    book.facts(height_mm=400.0)
    book.branch("a", name="1L", height_mm=350.0)
    book.read("a", "height", 100.0, START + timedelta(1))
    book.read(None, "height", 500.0, START + timedelta(1))
    tree = replay("t", book.events)
    assert tree.branches.height_mm[1] == 100.0
    assert tree.facts["height_mm"] == 500.0
    assert ZONES[tree.branches.zone[1]] is Zone.LOWER


def test_two_readings_at_right_angles_are_averaged_with_their_error():
    book = Book()
    book.branch("a", name="1L")
    book.read("a", "base", 11.8, marked=True)
    book.read("a", "base", 12.2, marked=True)
    book.read("a", "trunk", 40.0)
    rows = replay("t", book.events).branches
    assert rows.base_mm[1] == pytest.approx(12.0)
    assert rows.base_sd_mm[1] == pytest.approx(0.1 / 2**0.5)  # two readings of 0.10 mm
    assert rows.base_on[1] == START.toordinal()
    assert rows.trunk_mm[1] == 40.0


@pytest.mark.parametrize(
    ("details", "sd"),
    [({}, 0.20), ({"marked": True}, 0.10), ({"sd": 0.05, "marked": True}, 0.05),
     ({"how": "tape"}, 1.0), ({"how": "photo"}, 0.8), ({"how": "eye"}, 2.5)],
)  # fmt: skip
def test_error_of_one_reading(details, sd):
    # photo: 8 % is two errors, 0.04 x 20; eye: 25 % is two errors, 0.125 x 20
    book = Book()
    book.branch("a", name="1L")
    book.read("a", "base", 20.0, **details)
    assert replay("t", book.events).branches.base_sd_mm[1] == pytest.approx(sd)


def test_the_trunk_of_the_tree_is_kept_apart_from_the_trunk_beside_a_branch():
    tree = replay("ditch", field_maple().events)
    assert tree.facts["trunk_mm"] == 67.0
    assert tree.branches.base_mm[0] == 67.0
    assert tree.branches.trunk_mm[row_of(tree, "1L")] == 47.0


def test_strength_by_field_sign_and_zone_the_latest_counts():
    book = Book()
    book.facts(height_mm=400.0)
    for number, height in enumerate((50.0, 60.0, 350.0), 1):
        book.branch(f"b{number}", name=f"{number}L", height_mm=height)
    book.branch("b1", vigour="strong")
    book.saw(None, "weak", START + timedelta(1), zone="low")
    book.saw("b2", "steady", START + timedelta(2))
    book.saw(None, "failing", START + timedelta(3))  # the tree, no single branch
    tree = replay("t", book.events)
    assert tree.branches.vigour.tolist() == [-1, Vigour.WEAK, Vigour.STEADY, -1]
    assert tree.facts["vigour"] == "failing"
    assert tree.facts["vigour_on"] == START + timedelta(3)


def test_running_follows_run_cut_and_pinch():
    book = Book()
    book.facts(height_mm=400.0)
    for number, height in enumerate((50.0, 60.0, 350.0, 360.0), 1):
        book.branch(f"b{number}", name=f"{number}L", height_mm=height)
    book.work("b1", "let run", START + timedelta(1))
    book.work(None, "let run", START + timedelta(1), zone="apex")
    book.work("b3", "pinch", START + timedelta(2))
    book.work("b4", "cut", START + timedelta(2), to="pair 1")
    book.work("b4", "let run", START + timedelta(3))
    assert replay("t", book.events).branches.running.tolist() == [-1, 1, -1, 0, 1]


def test_let_run_until_a_base_is_a_job_that_ends_with_the_cut():
    jobs = tuple(Job)
    book = Book()
    book.branch("a", name="1L")
    book.work("a", "let run", START + timedelta(1), until_base_mm=14.0)
    rows = replay("t", book.events).branches
    assert jobs[rows.job[1]] is Job.THICKEN
    assert rows.job_until_base_mm[1] == 14.0
    book.read("a", "base", 13.9, START + timedelta(2))
    book.work("a", "cut", START + timedelta(3), to="pair 1")
    assert replay("t", book.events).branches.job[1] >= 0  # cut too soon: the job stands
    book.read("a", "base", 14.1, START + timedelta(4))
    book.work("a", "cut", START + timedelta(5), to="pair 1")
    rows = replay("t", book.events).branches
    assert rows.job[1] == -1
    assert np.isnan(rows.job_until_base_mm[1])


def test_a_graft_is_made_carried_and_weaned_by_its_works():
    book = field_maple()
    tree = replay("ditch", book.events)
    row = row_of(tree, "2.5Lg")
    rows = tree.branches
    assert KINDS[rows.kind[row]] is Kind.GRAFT
    assert rows.grafted_on[row] == date(2025, 6, 8).toordinal()
    assert tuple(GraftKind)[rows.graft_kind[row]] is GraftKind.APPROACH
    assert rows.donor[row] == row_of(tree, "3B")
    assert rows.weaned[row] == 0
    assert rows.union_gap[row] == rows.union_moves[row] == -1
    book.saw("bg", "gap", date(2025, 7, 1))
    book.work("bg", "sever", date(2026, 9, 1))
    rows = replay("ditch", book.events).branches
    assert rows.union_gap[row] == 1
    assert rows.weaned[row] == 1


def test_a_new_graft_at_the_same_place_starts_afresh():
    book = field_maple()
    book.saw("bg", "moved", date(2025, 8, 1))
    book.branch("bg", date(2025, 8, 2), weaned=True)
    book.work("bg", "graft on", date(2026, 3, 1), method="thread")
    rows = replay("ditch", book.events).branches
    row = rows.ids.index("bg")
    assert rows.union_moves[row] == -1
    assert rows.weaned[row] == 0
    assert rows.donor[row] == -1
    assert tuple(GraftKind)[rows.graft_kind[row]] is GraftKind.THREAD


@pytest.mark.parametrize("how", ["field", "dead", "cut"])
def test_a_branch_goes_with_all_that_grows_from_it_and_keeps_its_name(how):
    book = Book()
    book.branch("a", name="1L")
    book.branch("b", name="1L-1", parent="a")
    book.branch("c", name="2R")
    day = START + timedelta(30)
    if how == "field":
        book.branch("a", day, gone_on=day)
    elif how == "dead":
        book.saw("a", "dead", day)
    else:
        book.work("a", "cut", day, to="base")
    tree = replay("t", book.events)
    assert tree.branches.names == ("trunk", "1L", "1L-1", "2R")
    assert tree.branches.gone.tolist() == [False, True, True, False]
    assert not replay("t", book.events, until=day - timedelta(1)).branches.gone.any()


def test_a_promise_stands_until_it_is_carried_out_withdrawn_or_its_branch_is_gone():
    book = Book()
    for id_ in "abcde":
        book.branch(id_, name=f"{'abcde'.index(id_) + 1}L")
    later = START + timedelta(10)
    book.promise("a", "cut past later")
    book.promise("b", "until base", until_base_mm=14.0)
    book.promise("c", "until", until=START + timedelta(20))
    taken_back = book.promise("d", "keep")
    book.promise("e", "keep", words="motor")
    assert [p.what.what for p in replay("t", book.events).promises] == [
        "cut past later", "until base", "until", "keep", "keep",
    ]  # fmt: skip
    book.read("b", "base", 13.0, later)
    for id_ in "abc":
        book.work(id_, "cut", later, to="past node 1")
    book.withdraw(taken_back, later)
    tree = replay("t", book.events)
    # a is carried out; b is still too thin and c too early, so those cuts did not keep the word
    assert [tree.branches.ids[p.branch] for p in tree.promises] == ["b", "c", "e"]
    book.read("b", "base", 14.0, later + timedelta(15))
    for id_ in "bc":
        book.work(id_, "cut", later + timedelta(15), to="pair 1")
    book.work("e", "cut", later + timedelta(15), to="base")
    assert replay("t", book.events).promises == ()


def test_a_promise_for_a_graft_is_kept_by_the_graft():
    book = Book()
    book.branch("a", name="1L")
    book.branch("b", name="1.5Lg")
    book.promise("a", "for graft")
    book.work("b", "graft in", START + timedelta(1), donor="a")
    assert replay("t", book.events).promises == ()


def test_species_values_of_the_garden_and_of_the_tree():
    book = Book()
    book.facts(species="Acer campestre")
    book.trait("Acer campestre", "flushes", 2, tree="t")
    book.trait("acer campestre", "flushes", 1)
    book.trait("acer campestre", "chill", 40)
    book.trait("Fagus sylvatica", "chill", 90)
    assert replay("t", book.events).traits == {"flushes": 2, "chill": 40}
    book.trait("Acer campestre", "flushes", None, START + timedelta(1), tree="t")
    assert replay("t", book.events).traits == {"flushes": 1, "chill": 40}


def test_events_of_other_trees_are_passed_over():
    mine, other = field_maple(), Book("other")
    other.branch("b1L", name="1L", height_mm=999.0)
    other.read("b1L", "base", 1.0)
    both = [*other.events, *mine.events]
    unique = [dataclasses.replace(e, id=e.id.__class__(int=n)) for n, e in enumerate(both, 1)]
    got = replay("ditch", unique).branches
    np.testing.assert_array_equal(got.base_mm, replay("ditch", mine.events).branches.base_mm)


def busy():
    """The field maple with renames, turns, wire, losses and withdrawals on one and on many days."""
    book = field_maple()
    later = [START + timedelta(days=10 * n) for n in range(1, 9)]
    book.branch("b2Ra", later[0], name="2R-1", parent="b2R", along_mm=30.0)
    book.branch("b2Ra", later[0], name="2R-2")
    book.turn(30.0, later[1])
    book.branch("b5L", later[1], clock=9.0)
    book.branch("b4R", later[1], name="5R")
    book.work("b4R", "wire on", later[2], gauge_mm=1.5)
    book.saw("b4R", "bite", later[3], grade=1)
    wrong = book.work("b4R", "wire off", later[4], bite=3)
    taken = book.withdraw(wrong, later[5])
    book.withdraw(taken, later[6])
    book.work(None, "wire on", later[2], zone="low left", gauge_mm=2.0, shoots=3)
    book.work("b1L", "wire off", later[4], bite=2)
    book.saw("b6R", "dead", later[5])
    book.saw(None, "steady", later[6])
    book.read("b3B", "base", 12.0, later[7], marked=True)
    book.work("b3B", "let run", later[7])
    book.work("b3B", "cut", later[7])
    return book


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_order_of_arrival_never_matters(data):
    events = busy().events
    repeats = data.draw(st.lists(st.sampled_from(events), max_size=5))
    shuffled = data.draw(st.permutations(events + repeats))
    same(replay("ditch", shuffled), replay("ditch", events))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 90), st.data())
def test_a_past_day_knows_nothing_later(days, data):
    events = busy().events
    day = START + timedelta(days=days)
    known = [event for event in events if event.on <= day]
    same(replay("ditch", data.draw(st.permutations(events)), until=day), replay("ditch", known))


def test_a_later_withdrawal_or_loss_does_not_reach_back():
    book = Book()
    book.branch("a", name="1L")
    wrong = book.read("a", "base", 99.0, START + timedelta(1))
    book.withdraw(wrong, START + timedelta(9))
    book.branch("a", START + timedelta(2), gone_on=START + timedelta(20))
    then = replay("t", book.events, until=START + timedelta(8)).branches
    assert then.base_mm[1] == 99.0
    assert not then.gone[1]
    now = replay("t", book.events).branches
    assert np.isnan(now.base_mm[1])
    assert now.gone[1]


def test_a_note_on_a_branch_that_nothing_else_names_leaves_the_tree_whole() -> None:
    entered = Event(TreeSet({"name": "Old elm"}), date(2026, 1, 1), tree="elm")
    note = Event(Noted("wired too tight"), date(2026, 5, 1), tree="elm", branch="9L")
    found = replay("elm", [entered, note])
    assert found.branches.names == ("trunk",)
    assert found.contradictions == ()
