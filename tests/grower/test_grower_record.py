"""What is written down comes back as it was: structure, readings, names, and what is not known."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from grower_garden import TODAY, Grower, by_name, row_of

from boughwright.journal.events import (
    BranchSet,
    Event,
    FrontTurned,
    Measured,
    Saw,
    TreeSet,
    Worked,
)
from boughwright.journal.terms import Metal, Quantity, Sign, Work
from boughwright.store.book import Book
from boughwright.tree.measures import measure, rests_on
from boughwright.tree.replay import replay
from boughwright.usecases.day import read_trees
from boughwright.usecases.doubts import doubts
from boughwright.usecases.folder import load, save

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from boughwright.journal.events import Body
    from boughwright.tree.model import Tree

ENTERED = datetime(2026, 6, 8, 20, tzinfo=UTC)


def same_tree(one: Tree, other: Tree) -> None:
    """Hold two trees against each other, unknown equal to unknown only."""
    for part in fields(one.branches):
        mine, theirs = getattr(one.branches, part.name), getattr(other.branches, part.name)
        if isinstance(mine, np.ndarray):
            assert mine.dtype == theirs.dtype, part.name
            np.testing.assert_array_equal(mine, theirs, err_msg=part.name)
        else:
            assert mine == theirs, part.name
    for name in ("id", "facts", "traits", "front_deg", "works", "seen", "promises", "looks"):
        assert getattr(one, name) == getattr(other, name), name
    # A dataclass with a nan differs from itself, so these are held as they print.
    for name in ("measures", "wires", "contradictions"):
        assert repr(getattr(one, name)) == repr(getattr(other, name)), name


def sixty_branches() -> list[Event]:
    """Return the events of a tree of 60 branches, each knowing other things than the next."""
    events: list[Event] = []

    def add(body: Any, branch: str | None = None, on: date = date(2026, 6, 1)) -> None:
        moment = ENTERED + timedelta(seconds=len(events))
        events.append(Event(body, on, tree="sixty", branch=branch, who="me", recorded=moment))

    add(TreeSet({"name": "Sixty", "species": "Ulmus parvifolia", "place": "bench"}))
    for number in range(1, 61):
        primary = (number - 1) % 12 + 1
        name = f"{primary}{'LRBF'[primary % 4]}"
        known: dict[str, Any] = {"name": name}
        if number > 12:
            known = {"name": f"{name}-{(number - 1) // 12}", "parent": f"b{primary}"}
        if number % 2:
            known |= {"height_mm": 20.0 + 7.5 * number, "clock": float(number % 12)}
        if number % 3 == 0:
            known |= {"bud_inside": number % 2 == 0, "pair_level": True, "leaves": number % 9}
        if number % 5 == 0:
            known |= {"job": "thicken", "outer": True, "elevation_deg": -10.0, "zone": "apex"}
        add(BranchSet(known), f"b{number}")
        if number % 4 == 0:
            add(Measured(Quantity.BASE, 3.0 + number / 7), f"b{number}")
        if number % 6 == 0:
            add(Measured(Quantity.TRUNK, 20.0, marked=True), f"b{number}")
            add(Measured(Quantity.NODE, 11.3), f"b{number}")
        if number % 10 == 0:
            add(Worked(Work.WIRE_ON, gauge_mm=1.5, metal=Metal.COPPER), f"b{number}")
            add(Saw(Sign.WEAK), f"b{number}")
    return events


UNKNOWN_NUMBERS = ("base_mm", "trunk_mm", "node_mm", "room_mm", "length_mm", "extension_mm",
                   "exit_mm", "open_mm", "height_mm", "along_mm", "clock", "elevation_deg",
                   "knuckle")  # fmt: skip
UNKNOWN_CODES = ("bud_inside", "pair_level", "leaves", "cluster", "fork_order", "vigour", "job",
                 "wanted", "grafted_on", "base_on", "outer")  # fmt: skip


def test_a_tree_of_sixty_branches_is_the_same_after_saving_and_opening(tmp_path: Path) -> None:
    events = sixty_branches()
    before = replay("sixty", events)
    assert len(before.branches) == 61  # and the trunk
    path = tmp_path / "garden.book"
    with Book.open(path, create=True) as book:
        book.append(events[40:])  # in two goes, the later half first
        book.append(events[:40])
    _, _, (after,) = read_trees(path, on=TODAY)
    same_tree(before, after)
    row = row_of(after, "1R")
    assert np.isnan([getattr(after.branches, name)[row] for name in UNKNOWN_NUMBERS
                     if name not in {"height_mm", "clock"}]).all()  # fmt: skip
    assert all(getattr(after.branches, name)[row] == -1 for name in UNKNOWN_CODES)
    # Nowhere did an unknown number turn into nought: no branch here was told a 0.
    for name in UNKNOWN_NUMBERS:
        if name not in {"clock"}:
            assert not (getattr(after.branches, name)[1:] == 0.0).any(), name
    assert np.isnan(measure(after).reached[row])


def test_the_same_tree_goes_out_to_tables_and_into_an_empty_book(tmp_path: Path) -> None:
    path, copy = tmp_path / "garden.book", tmp_path / "copy.book"
    with Book.open(path, create=True) as book:
        book.append(sixty_branches())
    save(path, tmp_path / "out")
    load(copy, tmp_path / "out", on_bad="refuse")
    (before,), (after,) = (read_trees(one, on=TODAY)[2] for one in (path, copy))
    same_tree(before, after)


# --- one reading changed ------------------------------------------------------------------------

_MEASURE_OF = {
    "step": ("step", "fork_step"),
    "reached": ("reached",),
    "reached_was": ("reached_was",),
    "target_base_mm": ("target_base_mm",),
    "internode_share": ("internode_share",),
    "leaf_share": ("leaf_share",),
    "below_base_mm": ("primary_ratio",),
    "inner": ("fork_step",),
}
"""Facts of a branch that are worked out from readings, and the measures they are."""
_OWN_READING = {"base_mm", "base_sd_mm", "base_age_days", "base_forecast_mm", "seasons_to_target",
                "contradictions"}  # fmt: skip
"""Facts that rest on the branch's own bases alone."""


def _three_trees(grower: Grower) -> None:
    for key in ("field-maple", "other-maple"):
        branches = {
            f"{n}{'LRB'[n % 3]}": {
                "height_mm": 60.0 * n, "clock": float(3 * n % 12), "trunk": 50.0 - 4 * n,
                "base": 14.0 - n, "node": 30.0, "room": 100.0, "bud_inside": True,
            }
            for n in range(1, 7)
        }  # fmt: skip
        branches["3L-1"] = {"parent": "3L", "along_mm": 40.0, "base": 5.0}
        branches["3L-2"] = {"parent": "3L", "along_mm": 44.0, "base": 4.0}
        grower.plant(key, "Acer campestre", branches, read_on=date(2025, 11, 1),
                     phase="primary structure", height_mm=440.0)  # fmt: skip
        grower.say("strong; hard", date(2026, 6, 2), key)
        grower.say("4R base 10.4", date(2026, 6, 8), key)


def test_one_reading_changed_moves_only_what_rests_on_it(grower: Grower) -> None:
    _three_trees(grower)
    grower.say("3L base 11.6", date(2026, 6, 8), "field-maple")
    was = grower.day()
    grower.say("undo", tree="field-maple")
    said = grower.say("3L base 12.6", date(2026, 6, 8), "field-maple")
    (reading,) = (event.id for event in said.events)
    now = grower.day()

    assert repr(was.tree("other-maple")) == repr(now.tree("other-maple"))
    before, after = was.tree("field-maple"), now.tree("field-maple")
    assert before.facts == after.facts
    known = measure(after.tree)
    moved: dict[str, set[str]] = {}
    for name, (branch, _) in by_name(after).items():
        old = by_name(before)[name][0]
        for fact in fields(branch):
            if getattr(old, fact.name) != getattr(branch, fact.name):
                moved.setdefault(name, set()).add(fact.name)
                _lists(after.tree, known, branch.row, name, fact.name, reading)
    assert {"base_mm", "step", "reached", "seasons_to_target"} <= moved["3L"]
    assert moved["4R"] == {"below_base_mm", "leaf_share"}
    assert moved["3L-1"] == moved["3L-2"] == {"step", "leaf_share"}
    assert moved["1R"] == {"leaf_share"}


def _lists(tree: Tree, known: Any, row: int, name: str, fact: str, reading: Any) -> None:
    if fact in _OWN_READING:
        assert name == "3L", (name, fact)
        return
    assert fact in _MEASURE_OF, (name, fact)
    assert any(
        reading in rests_on(tree, row, one, known=known) for one in _MEASURE_OF[fact]
    ), (name, fact)  # fmt: skip


def test_every_reading_keeps_who_when_how_and_its_error(grower: Grower) -> None:
    grower.plant("elm", "Ulmus parvifolia", {"1L": {"height_mm": 60.0}})
    grower.say("1L base 12.1", date(2026, 6, 7), "elm", who="pupil")
    grower.put(Measured(Quantity.TRUNK, 41.0, how="tape"), date(2026, 6, 8), "elm", "1L")
    base, trunk = grower.tree_day("elm").tree.measures
    assert (base.who, base.on, base.how, base.sd) == ("pupil", date(2026, 6, 7), "caliper", 0.20)
    assert (trunk.who, trunk.on, trunk.how, trunk.sd) == ("grower", date(2026, 6, 8), "tape", 1.0)


# --- names --------------------------------------------------------------------------------------


def _reached_by(grower: Grower, phrases: Iterable[str], tree: str) -> list[str | None]:
    found = []
    for phrase in phrases:
        said = grower.say(phrase, tree=tree)
        (event,) = said.events
        found.append(event.branch)
        grower.say("undo", tree=tree)
    return found


def test_old_phrases_reach_their_branch_after_renaming_grafting_and_a_new_front(
    grower: Grower,
) -> None:
    tree = grower.plant(
        "field-maple", "Acer campestre",
        {"1L": {"height_mm": 60.0, "clock": 9.0}, "2R": {"height_mm": 120.0, "clock": 3.0},
         "3B": {"height_mm": 180.0, "clock": 12.0}, "4R": {"height_mm": 240.0, "clock": 2.0},
         "4R-1": {"parent": "4R", "along_mm": 40.0}},
    )  # fmt: skip
    old = ["1L base 12.1", "two right base 14.6", "2R weak", "3B mildew", "4R wire on 1.5 al",
           "4R-1 base 4.2", "three back node 22"]  # fmt: skip
    meant: list[str | None] = ["1L", "2R", "2R", "3B", "4R", "4R-1", "3B"]
    assert _reached_by(grower, old, tree) == meant

    grower.put(BranchSet({"name": "5R"}), date(2026, 6, 3), tree, "4R")  # tidied at a review
    assert _reached_by(grower, old, tree) == meant
    graft = grower.say("2.5L graft in from 3B", date(2026, 6, 4), tree)
    grafted = {event.branch for event in graft.events}
    assert grafted == {"2.5Lg"}
    assert _reached_by(grower, [*old, "2.5L ok", "2.5Lg ok"], tree) == [*meant, "2.5Lg", "2.5Lg"]
    grower.put(FrontTurned(90.0), date(2026, 6, 5), tree)
    assert _reached_by(grower, [*old, "2.5L ok", "5R base 9.2"], tree) == [*meant, "2.5Lg", "4R"]
    # Names stay although the side seen from the new front is another.
    day = grower.tree_day(tree)
    assert set(by_name(day)) == {"trunk", "1L", "2R", "2.5Lg", "3B", "5R", "4R-1"}


# --- contradictions -----------------------------------------------------------------------------


def _clean_years(grower: Grower) -> str:
    tree = grower.plant(
        "field-maple", "Acer campestre",
        {"1L": {"height_mm": 60.0, "clock": 9.0, "trunk": 47.0, "base": 12.0},
         "2R": {"height_mm": 120.0, "clock": 3.0, "trunk": 43.0, "base": 13.5},
         "3B": {"height_mm": 180.0, "clock": 12.0, "trunk": 37.0, "base": 12.0},
         "4R": {"height_mm": 240.0, "clock": 2.0, "trunk": 32.0, "base": 8.4},
         "5L": {"height_mm": 300.0, "clock": 10.0, "trunk": 26.0, "base": 5.2},
         "2R-1": {"parent": "2R", "along_mm": 40.0, "base": 5.0},
         "scar front": {"kind": "scar", "height_mm": 110.0, "clock": 6.0}},
        on=date(2024, 3, 1), read_on=date(2024, 6, 1), height_mm=440.0,
        acquired_on=date(2019, 3, 2),
    )  # fmt: skip
    grower.say("4R wire on 1.5 al", date(2025, 3, 9), tree)
    grower.say("4R wire off bite 1", date(2025, 5, 28), tree)
    grower.say("3.5B graft in from 3B", date(2025, 5, 11), tree)
    grower.say("scar front open 46", date(2024, 6, 11), tree)
    grower.say("1L base 12.6; 2R base 14.3; 3B base 12.4", date(2025, 6, 20), tree)
    grower.say("scar front open 43", date(2025, 6, 20), tree)
    return tree


def _dated(*lines: tuple[str, date]) -> Callable[[Grower], None]:
    def plant(grower: Grower) -> None:
        for text, on in lines:
            grower.say(text, on, "field-maple")

    return plant


def _put(*events: tuple[Body, date, str | None]) -> Callable[[Grower], None]:
    def plant(grower: Grower) -> None:
        for body, on, branch in events:
            grower.put(body, on, "field-maple", branch)

    return plant


JUNE = date(2026, 6, 1)
FAULTS: dict[str, tuple[Callable[[Grower], None], str]] = {
    "a base that shrank": (_dated(("1L base 11.2", JUNE)), "shrank"),
    "a trunk that shrank": (_dated(("1L trunk 44", JUNE)), "trunk-shrank"),
    "thicker than the trunk": (_dated(("5L base 29", JUNE), ("5L trunk 26", JUNE)),
                               "thicker-than-trunk"),
    "thicker than its parent": (_dated(("2R-1 base 16", JUNE)), "thicker-than-parent"),
    "off but seen on": (_dated(("4R bite 2", JUNE)), "off-but-seen"),
    "off but none on": (_dated(("1L wire off", JUNE)), "off-but-none-on"),
    "wired twice": (_dated(("5L wire on 1.5 al", date(2026, 5, 1)), ("5L wire on 2 al", JUNE)),
                    "wired-twice"),
    "a graft before its donor": (
        _put((BranchSet({"name": "6L-1", "parent": "5L"}), date(2025, 7, 1), "late-shoot"),
             (Worked(Work.GRAFT_IN, donor="late-shoot"), date(2025, 6, 1), "3.5Bg")),
        "graft-before-donor"),
    "worked on when gone": (_dated(("3B cut to base", date(2025, 11, 3)),
                                   ("3B wire on 2 al", JUNE)), "gone-but-worked"),
    "a scar that opened": (_dated(("scar front open 47", JUNE)), "scar-opened"),
    "a name borne twice": (
        _put((BranchSet({"name": "2R", "height_mm": 130.0}), JUNE, "other")), "name-twice"),
    "a start above the outline": (
        _put((BranchSet({"name": "9L", "height_mm": 700.0}), JUNE, "high")), "too-high"),
    "work before it came": (
        _put((TreeSet({"acquired_on": date(2025, 4, 1)}), JUNE, None)), "date-order"),
}  # fmt: skip


def test_a_clean_log_has_no_doubts(grower: Grower) -> None:
    _clean_years(grower)
    assert doubts(grower.path, on=TODAY) == ()


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_told_and_the_records_stay_as_they_were(
    grower: Grower, fault: str
) -> None:
    tree = _clean_years(grower)
    plant, kind = FAULTS[fault]
    plant(grower)
    written = grower.events()
    found = doubts(grower.path, on=TODAY)
    assert [doubt.what.kind for doubt in found] == [kind]
    assert found[0].what.todo
    assert grower.events() == written  # nothing mended
    day = grower.tree_day(tree)
    standing = {measure.event for measure in day.tree.measures}
    assert standing == {event.id for event in written if isinstance(event.body, Measured)}
    # The doubt reaches the tree's own record and, when it is of a branch, that branch's verdict.
    told = [*day.facts.contradictions,
            *(text for branch in day.branches for text in branch.contradictions)]  # fmt: skip
    if kind != "gone-but-worked":  # a part that is gone has no verdict
        assert len(told) == 1


def test_all_faults_together_are_all_told(grower: Grower) -> None:
    _clean_years(grower)
    for plant, _ in FAULTS.values():
        plant(grower)
    kinds = {doubt.what.kind for doubt in doubts(grower.path, on=TODAY)}
    assert kinds >= {kind for _, kind in FAULTS.values()}
    assert len(FAULTS) > 12
