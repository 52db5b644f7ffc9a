"""What is answered when a cut is asked about: to where, and on what. Written cases of the demo."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from boughwright.demo.build import build
from boughwright.sources import all_sources
from boughwright.usecases.day import open_day
from boughwright.usecases.may_i import ask_of
from boughwright.usecases.species import list_sources, list_species
from boughwright.usecases.wires import all_wire_of, all_wire_shape
from boughwright.verdicts.answer import Say

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.day import GardenDay
    from boughwright.verdicts.answer import Answer

MAPLE = "Ditch field maple"


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> GardenDay:
    path: Path = tmp_path_factory.mktemp("asked") / "demo.book"
    build(path)
    return open_day(path)


def told(garden: GardenDay, tree: str, phrase: str) -> Answer:
    return ask_of(garden, tree, phrase).answer


@pytest.mark.parametrize("phrase", ["cut", "all cut"])
def test_a_bare_cut_on_the_whole_tree_is_asked_about(garden: GardenDay, phrase: str) -> None:
    answer = told(garden, MAPLE, phrase)
    assert answer.say is Say.NOT_NOW
    assert "you say how much goes, or to where" in answer.condition


def test_a_cut_to_a_pair_is_refused_where_buds_do_not_stand_in_pairs(garden: GardenDay) -> None:
    # Elm buds alternate; field maple buds are opposite.
    assert told(garden, "Courtyard elm", "2R cut to pair 1").say is Say.NEVER
    assert told(garden, MAPLE, "2R cut to pair 1").say is not Say.NEVER


@pytest.mark.parametrize(
    ("phrase", "points"),
    [("2R cut to pair 1", 0.5), ("2R cut past node 1", 1.0), ("2R cut", 1.0)],
)
def test_a_cut_to_the_pair_costs_less_than_one_that_shapes(
    garden: GardenDay, phrase: str, points: float
) -> None:
    """A trim costs half a point, a structural cut on one branch a whole one (starting values)."""
    answer = told(garden, MAPLE, phrase)
    assert answer.say is Say.YES
    assert [r.value for r in answer.reasons if r.measure == "toll"] == [points]


def test_every_wire_names_its_tree_and_branch_for_good(garden: GardenDay) -> None:
    answer = all_wire_of(garden)
    days = {day.facts.tree: day for day in garden.trees}
    assert answer.lines
    for line in answer.lines:
        rows = days[line.tree_id].tree.branches
        assert days[line.tree_id].facts.name == line.tree
        assert line.branch == "" or rows.names[rows.ids.index(line.branch)] == line.place
    wires = all_wire_shape(answer)["wires"]
    assert isinstance(wires, list)
    assert [one["tree_id"] for one in wires if isinstance(one, dict)] == [
        line.tree_id for line in answer.lines
    ]


def test_species_and_sources_are_listed_whole() -> None:
    assert len({one.key for one in list_species()}) == len(list_species()) > 10
    assert {one.key for one in list_sources()} == set(all_sources())
