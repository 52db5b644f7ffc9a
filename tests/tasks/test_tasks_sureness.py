"""How sure: counts that add up, what is missing, and no figure that nobody has measured."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from boughwright.sources import Grade
from boughwright.usecases.asks import asks_of
from boughwright.usecases.sureness import NO_RECORD, sureness_of, sureness_shape
from boughwright.verdicts.verdict import Act, Sureness

if TYPE_CHECKING:
    from tasks_garden import Forms

    from boughwright.usecases.day import GardenDay


def test_counts_are_of_every_verdict_and_every_forecast(demo_garden: GardenDay) -> None:
    found = sureness_of(demo_garden)
    every = [v for day in demo_garden.trees for v in (*day.whole, *day.verdicts)]
    assert sum(a.sure + a.likely + a.doubtful for a in found.acts) == len(every)
    assert sum(a.measured + a.borrowed + a.guess for a in found.acts) == len(every)
    for row in found.acts:
        mine = [v for v in every if v.act is row.act]
        assert row.doubtful == sum(v.sureness is Sureness.DOUBTFUL for v in mine)
    by_name = {row.what: row for row in found.forecasts}
    assert by_name["stage"].total == len(demo_garden.trees)
    assert by_name["wire"].total == sum(len(day.windows) for day in demo_garden.trees)
    assert by_name["wire"].measured == 0  # every window rests on a guess until looks are logged


def test_no_share_of_forecasts_that_came_true_is_made_up(demo_garden: GardenDay) -> None:
    found = sureness_of(demo_garden)
    assert found.record == NO_RECORD
    told = json.dumps(sureness_shape(found)["forecasts"])
    assert not re.search(r"coverage|hit|right|true", told)


def test_trees_with_most_doubt_come_first_with_what_would_help(demo_garden: GardenDay) -> None:
    found = sureness_of(demo_garden)
    doubts = [tree.doubtful for tree in found.trees]
    assert doubts == sorted(doubts, reverse=True)
    by_name = {tree.name: tree for tree in found.trees}
    hornbeam = by_name["Gate hornbeam"]
    assert len(hornbeam.contradictions) == 1
    assert hornbeam.asks == asks_of(demo_garden.tree("Gate hornbeam"))
    oak = by_name["Hill oak"]
    (missing,) = oak.missing
    assert (missing.place, missing.phrases) == ("7L", ("7L node __ room __",))
    assert all(tree.filled_days == 9 for tree in found.trees if "beech" not in tree.name
               and tree.name != "River maple")  # fmt: skip


def test_each_fact_that_is_missing_is_named_and_goes_once_it_is_given(forms: Forms) -> None:
    tree = forms.plant(species="", phase="", vigour="", height_mm="")
    forms.branch(tree, "1L")
    (before,) = sureness_of(forms.day()).trees
    told = {one.what for one in before.inputs}
    assert {"Its species is not known", "Its strength is not known", "Its phase is not known",
            "Its outline is not known"} == told  # fmt: skip
    assert before.species_doubt
    assert before.weakest is Grade.GUESS
    forms.say("strong", tree)
    (after,) = sureness_of(forms.day()).trees
    assert "Its strength is not known" not in {one.what for one in after.inputs}


def test_one_tree_is_told_by_itself_and_the_shape_is_plain(demo_garden: GardenDay) -> None:
    found = sureness_of(demo_garden, "Hill oak")
    assert [tree.name for tree in found.trees] == ["Hill oak"]
    told = json.loads(json.dumps(sureness_shape(found)))
    assert told["trees"][0]["asks"][0]["phrase"] == "7L node __ room __"
    assert {row["act"] for row in told["acts"]} >= {Act.LOOK_FIRST.value, Act.LET_RUN.value}
