"""Every answer from a garden already worked out equals the one that opens the book for itself."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from boughwright.journal.terms import Bend, Metal
from boughwright.usecases.call_up import call_up_for, call_up_of, call_up_shape
from boughwright.usecases.day import GardenDay, open_day, read_trees
from boughwright.usecases.doubts import doubts, doubts_of
from boughwright.usecases.gauge import gauge_for, gauge_of, gauge_shape
from boughwright.usecases.may_i import ask, ask_of, ask_shape
from boughwright.usecases.sheet import sheet, sheet_of, sheet_shape
from boughwright.usecases.stages import stage_shape, stage_strip, strip_of
from boughwright.usecases.wires import all_wire, all_wire_of, all_wire_shape

if TYPE_CHECKING:
    from pathlib import Path

DAYS = (date(2026, 6, 9), date(2026, 11, 20))


@pytest.fixture(scope="module", params=DAYS, ids=str)
def garden(request: pytest.FixtureRequest, demo_book: Path) -> GardenDay:
    return open_day(demo_book, on=request.param)


def test_each_tree_among_all_is_as_it_is_by_itself(garden: GardenDay, demo_book: Path) -> None:
    assert len(garden.trees) >= 10
    for day in garden.trees:
        name = day.tree.name
        alone = sheet(demo_book, name, on=garden.today)
        assert sheet_shape(sheet_of(garden, name)) == sheet_shape(alone)
        wire = all_wire(demo_book, on=garden.today, tree=name)
        assert all_wire_shape(all_wire_of(garden, name)) == all_wire_shape(wire)


def test_the_whole_garden_answers_alike(garden: GardenDay, demo_book: Path) -> None:
    on = garden.today
    for hours, days in ((None, 7), (2.0, 14)):
        called = call_up_for(demo_book, on=on, hours=hours, days=days)
        assert call_up_shape(call_up_of(garden, hours, days)) == call_up_shape(called)
    wire = all_wire_shape(all_wire(demo_book, on=on))
    assert all_wire_shape(all_wire_of(garden)) == wire
    assert wire["wires"]
    assert stage_shape(strip_of(garden)) == stage_shape(stage_strip(demo_book, on=on))
    trees = [day.tree for day in garden.trees]
    assert (
        doubts_of(trees) == doubts_of(read_trees(demo_book, on=on)[2]) == doubts(demo_book, on=on)
    )


def test_questions_of_one_branch_answer_alike(garden: GardenDay, demo_book: Path) -> None:
    on, maple = garden.today, "ditch field maple"
    for phrase in ("repot hard", "2R cut to pair 1", "leaf full"):
        asked = ask(demo_book, maple, phrase, on=on, day=date(2026, 12, 1))
        assert ask_shape(ask_of(garden, maple, phrase, date(2026, 12, 1))) == ask_shape(asked)
    how = {"bend": Bend.STRONG, "metal": Metal.COPPER, "lowering": True}
    told = gauge_for(demo_book, maple, "1L", on=on, **how)  # type: ignore[arg-type]
    assert gauge_shape(gauge_of(garden, maple, "1L", **how)) == gauge_shape(told)  # type: ignore[arg-type]
