"""Work that was written down is not asked for again: every verdict of the demonstration garden.

How soon a work may be asked for again is common practice in the trade, or a starting value where
the code says so. No agreement of growers is claimed.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from grower_garden import TODAY, Grower, copy_book, verdict_on

from boughwright.journal.terms import Work
from boughwright.usecases.bench_phrases import CLEANED
from boughwright.usecases.call_up import call_up_for
from boughwright.usecases.session import session_of
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.session import SessionLine, Spot

DAYS = [date(2026, 4, 20), date(2026, 5, 18), TODAY, date(2026, 7, 20), date(2026, 10, 25)]
"""Spring flush, soft leaf, hard leaf, summer, leaf-drop."""

Key = tuple[Act, str, str]


def asked(garden: GardenDay, tree: str) -> Iterator[tuple[Key, SessionLine, Spot]]:
    """Yield what the session asks for: the act, its branch, and on the whole tree its way."""
    for step in session_of(garden, tree).steps:
        for line in step.lines:
            for spot in line.spots:
                yield (line.act, spot.branch, "" if spot.branch else line.where), line, spot


@pytest.mark.parametrize("on", DAYS)
def test_what_was_done_is_not_asked_for_that_day_nor_the_next(
    on: date, demo_book: Path, tmp_path: Path
) -> None:
    """All lines of a tree are said; each is gone on that day and on the day after."""
    grower = Grower(copy_book(demo_book, tmp_path / "done.book"), today=on)
    before = grower.day(on)
    told: dict[str, set[Key]] = {}
    for day in before.trees:
        for key, _, spot in asked(before, day.facts.tree):
            if spot.phrase and "__" not in spot.phrase:
                grower.say(spot.phrase, on, day.facts.tree)
                told.setdefault(day.facts.tree, set()).add(key)
    assert sum(map(len, told.values())) > 20
    for later in (on, on + timedelta(days=1)):
        garden = grower.day(later)
        for tree, keys in told.items():
            still = {key for key, _, _ in asked(garden, tree)} & keys
            assert still == set(), (later, tree)


@pytest.mark.parametrize(
    ("tree", "branch", "phrase", "act"),
    [
        ("ditch-field-maple", "4R", "4R cut past node 1", Act.CUT_PAST),
        ("market-zelkova", "2R", "2R cut to inner shoot", Act.CUT_PAST),
        ("market-zelkova", "6R", "6R cut to inner shoot", Act.CUT_PAST),
        ("market-zelkova", "8L", "8L cut past node 1", Act.CUT_PAST),
        ("roadside-crab", "3B", "3B cut to live wood", Act.CUT_SICK),
        ("courtyard-elm", "1L", "1L two", Act.TWO),
    ],
)
def test_a_branch_that_was_worked_gives_way_to_its_next_verdict(
    demo: Grower, tree: str, branch: str, phrase: str, act: Act
) -> None:
    before = verdict_on(demo.tree_day(tree), branch)
    assert act in {before.act, *(note.act for note in before.notes)}
    demo.say(phrase, tree=tree)
    after = verdict_on(demo.tree_day(tree), branch)
    assert act not in {after.act, *(note.act for note in after.notes)}


def test_sick_wood_seen_after_the_cut_is_asked_for_again(demo: Grower) -> None:
    demo.say("3B cut to live wood", tree="roadside-crab")
    tomorrow = TODAY + timedelta(days=1)
    demo.say("3B canker", tomorrow, tree="roadside-crab")
    assert verdict_on(demo.tree_day("roadside-crab", tomorrow), "3B").act is Act.CUT_SICK


def test_a_node_read_after_it_was_cut_past_counts_again(demo: Grower) -> None:
    tree, day = "ditch-field-maple", TODAY + timedelta(days=1)
    demo.say("4R cut past node 1", tree=tree)
    gone = next(b for b in demo.tree_day(tree).branches if b.name == "4R")
    assert (gone.node_mm, gone.room_mm, gone.internode_share) == (None, None, None)
    demo.say("4R node 20 room 80", day, tree=tree)
    read = next(b for b in demo.tree_day(tree, day).branches if b.name == "4R")
    assert read.internode_share == pytest.approx(0.25)


def whole(demo: Grower, tree: str, act: Act, work: Work | None, on: date = TODAY) -> list[str]:
    return [
        v.where for v in demo.tree_day(tree, on).whole
        if v.act is act and (work in v.works if work else not v.works)
    ]  # fmt: skip


def test_shade_is_kept_up_until_the_threat_is_over(demo: Grower) -> None:
    tree = "courtyard-elm"
    assert whole(demo, tree, Act.PROTECT, Work.SHADE)
    demo.say("all shade", tree=tree)
    assert not whole(demo, tree, Act.PROTECT, Work.SHADE)
    (kept,) = [v for v in demo.tree_day(tree).whole if v.where.startswith("keep it there until")]
    assert kept.reasons[0].text == "It has stood in shade since 9 June"
    assert (kept.harm, kept.works) == (Harm.NONE, ())


def test_shade_on_one_zone_protects_no_tree(demo: Grower) -> None:
    demo.say("apex shade", tree="courtyard-elm")
    assert whole(demo, "courtyard-elm", Act.PROTECT, Work.SHADE)


def test_a_dose_lasts_two_weeks_and_a_dose_of_none_is_none(demo: Grower) -> None:
    tree = "courtyard-elm"
    demo.say("feed none", tree=tree)
    (feed,) = [v for v in demo.tree_day(tree).whole if v.act is Act.FEED]
    assert feed.earliest is None
    demo.say("all feed half", tree=tree)
    (feed,) = [v for v in demo.tree_day(tree).whole if v.act is Act.FEED]
    assert feed.earliest == date(2026, 6, 23)
    assert feed.reasons[0].text.startswith("The last dose was on 9 June")


def test_the_round_against_disease_comes_again_after_a_week(demo: Grower) -> None:
    tree = "hill-oak"
    assert whole(demo, tree, Act.PROTECT, Work.COVER)
    demo.say(f"note {CLEANED}", tree=tree)
    assert not whole(demo, tree, Act.PROTECT, Work.COVER, TODAY + timedelta(days=6))
    assert whole(demo, tree, Act.PROTECT, Work.COVER, TODAY + timedelta(days=7))


def test_a_look_asked_for_is_a_job_from_its_day_until_something_is_written(demo: Grower) -> None:
    tree, due = "tall-beech", TODAY + timedelta(days=10)
    demo.say("8L look 10d", tree=tree)
    assert verdict_on(demo.tree_day(tree), "8L").next_look <= due  # type: ignore[operator]

    def jobs(on: date) -> list[tuple[str, str, float, Harm]]:
        call = next(d.call for d in demo.day(on).trees if d.facts.tree == tree)
        return [
            (j.places, j.reason, j.minutes, j.harm)
            for j in call.jobs if j.act is Act.LOOK_FIRST and j.how == "look again"
        ]  # fmt: skip

    assert jobs(due - timedelta(days=1)) == []
    told = [("8L", "You asked to look again on 19 June", 3.0, Harm.IMPROVEMENT)]
    assert jobs(due) == told
    demo.say("9R ok", due, tree=tree)  # another branch answers nothing
    assert jobs(due + timedelta(days=3)) == told
    (line,) = [
        line for key, line, _ in asked(demo.day(due), tree) if line.where == "8L: look again"
    ]  # fmt: skip
    assert line.spots[0].answers == ("8L ok",)
    demo.say(line.spots[0].answers[0], due + timedelta(days=3), tree=tree)
    assert jobs(due + timedelta(days=3)) == []
    assert jobs(due + timedelta(days=30)) == []


def test_a_look_at_the_whole_tree_is_answered_by_anything(demo: Grower) -> None:
    tree, due = "tall-beech", TODAY + timedelta(days=5)
    demo.say("all look 5d", tree=tree)
    assert [v for v in demo.tree_day(tree, due).whole if v.card == "look again"]
    demo.say("9R ok", due, tree=tree)
    assert not [v for v in demo.tree_day(tree, due).whole if v.card == "look again"]


def test_a_place_without_a_latitude_leaves_out_its_trees_only(grower: Grower) -> None:
    from boughwright.errors import UnknownNameError
    from boughwright.journal.events import PlaceSet
    from boughwright.usecases.kept import KeptBook

    grower.plant("stands", "Acer palmatum", {"1L": {"base": 6.0}})
    grower.plant("astray", "Acer palmatum", {"1L": {"base": 6.0}}, place="yard")
    grower.plant("lost", "Acer palmatum", {"1L": {"base": 6.0}}, place="nowhere")
    grower.put(PlaceSet("yard", {"name": "Yard"}), date(2025, 1, 1))
    garden = grower.day()
    assert [day.facts.tree for day in garden.trees] == ["stands"]
    notes = call_up_for(grower.path, on=TODAY).notes
    assert any("yard has no latitude" in note and "Astray is left out" in note for note in notes)
    assert any("Lost stands at no known place" in note for note in notes)
    kept = KeptBook(grower.path)
    assert [one.note for one in kept.day(TODAY).left_out] == [one.note for one in garden.left_out]
    for name in ("astray", "Lost"):
        with pytest.raises(UnknownNameError):
            garden.tree(name)
    with pytest.raises(UnknownNameError, match="no latitude"):
        grower.tree_day("astray")
    grower.put(PlaceSet("yard", {"latitude": 46.0}), date(2025, 1, 1))
    assert {day.facts.tree for day in kept.day(TODAY).trees} == {"stands", "astray"}
    kept.close()
