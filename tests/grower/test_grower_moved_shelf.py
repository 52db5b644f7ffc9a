"""A tree that was carried to another shelf: its dates say so for the season. Written cases."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from grower_garden import PLACE, Grower, calm_lines, empty_book

from boughwright.journal.events import TreeSet
from boughwright.usecases.day import MOVED
from boughwright.usecases.stages import stage_strip

if TYPE_CHECKING:
    from pathlib import Path

BRANCHES = {"1L": {"base": 6.0}}


def test_a_move_of_this_season_is_told_and_one_of_last_season_is_not(tmp_path: Path) -> None:
    grower = Grower(empty_book(tmp_path / "moved.book", tmp_path, calm_lines()))
    for name in ("stays", "carried", "wintered"):
        grower.plant(name, "Acer palmatum", BRANCHES, shelf="wall")
    grower.put(TreeSet({"shelf": None}), date(2026, 3, 12), "carried")
    grower.put(TreeSet({"shelf": None}), date(2025, 12, 20), "wintered")
    told = {day.tree.id: MOVED in day.calendar.notes for day in grower.day().trees}
    assert told == {"stays": False, "carried": True, "wintered": False}
    before = {day.tree.id: day for day in grower.day(date(2026, 3, 11)).trees}
    assert MOVED not in before["carried"].calendar.notes
    # The shelf that counts is that of the day: 1.5 degrees warmer under the wall until the move.
    assert before["carried"].shelf.shelf == "wall"
    after = grower.tree_day("carried")
    assert (after.shelf.place, after.shelf.shelf) == (PLACE, "")
    notes = {
        line.tree: line.calendar.notes for line in stage_strip(grower.path, on=grower.today).lines
    }
    assert MOVED in notes["Carried"]
    assert MOVED not in notes["Stays"]
