"""The readings worth taking today: computed from the rules themselves and the error of a reading.

The chances of the written branches are worked out by hand from the normal distribution.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tasks_garden import TODAY, taken

from boughwright.journal.phrases import parse
from boughwright.journal.terms import Quantity
from boughwright.usecases.asks import MOST, WORTH_FROM, asks_of
from boughwright.usecases.bench_phrases import BLANK
from boughwright.usecases.enter_readings import enter_readings
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from tasks_garden import Forms

    from boughwright.usecases.asks import Ask
    from boughwright.usecases.day import GardenDay, TreeDay


AUTUMN = date(2025, 11, 8)
"""Leaf-drop: the ring is laid, so a reading of today is an error and nothing else."""


def one(forms: Forms, base: float, *, marked: bool = True) -> tuple[str, TreeDay]:
    """Return a tree with one middle branch whose target is 0.30 of the 40 mm beside it: 12 mm."""
    tree = forms.plant()
    fields = {"height_mm": 250, "clock": 9, "pair_level": True, "leaves": 8, "bud_inside": True}
    forms.branch(tree, "1L", base=base, trunk=40, node=20, room=120, marked=marked,
                 read_on=AUTUMN, **fields)  # fmt: skip
    forms.say("leaf drop; strong", tree, date(2025, 11, 3))
    forms.say("1L let run", tree, date(2025, 11, 3))
    return tree, forms.tree(tree, AUTUMN + timedelta(days=1))


def asked(day: TreeDay, name: str = "1L") -> Ask | None:
    return next((ask for ask in asks_of(day) if ask.place == name), None)


@pytest.mark.parametrize(
    ("base", "marked", "chance"),
    [
        # Thick enough is 0.95 of 12 mm: 11.4 mm. One error below it: 1 - F(1) = 0.159.
        (11.3, True, 0.1587),
        (11.2, False, 0.1587),
        # One and a half errors below it: 1 - F(1.5) = 0.067.
        (11.25, True, 0.0668),
        # A line once reached holds until 0.93 of 12 mm: 11.16 mm; 1.2 errors above it: F(-1.2).
        (11.4, False, 0.1151),
    ],
)
def test_the_chance_is_that_of_the_normal_error_of_the_reading(
    forms: Forms, base: float, marked: bool, chance: float
) -> None:
    _, day = one(forms, base, marked=marked)
    ask = asked(day)
    assert ask is not None
    assert ask.what == (Quantity.BASE,)
    assert ask.phrase == "1L base __"
    assert ask.sd_mm == pytest.approx(0.10 if marked else 0.20, rel=0.01)
    assert ask.likely_mm == pytest.approx(base, abs=0.001)
    assert ask.chance == pytest.approx(chance, abs=0.003)
    assert {ask.act, ask.instead} == {Act.LET_RUN, Act.CUT_TO_PAIR}
    assert ask.turns_at_mm == pytest.approx(11.4 if base < 11.4 else 11.16, abs=0.002)


def test_a_marked_reading_at_its_line_is_not_worth_taking_again(forms: Forms) -> None:
    """At 11.4 mm, 2.4 errors of 0.10 mm above where it turns back: F(-2.4) is under one in 100."""
    _, day = one(forms, 11.4)
    assert asked(day) is None


@pytest.mark.parametrize("base", [8.0, 12.6])
def test_a_base_far_from_every_line_is_not_asked_for(forms: Forms, base: float) -> None:
    _, day = one(forms, base)
    assert asked(day) is None


def test_a_rough_reading_is_asked_for_sooner_than_a_fresh_marked_one(forms: Forms) -> None:
    tree, day = one(forms, 11.25)
    fresh = asked(day)
    rough = {"base": "11.25"}
    later = AUTUMN + timedelta(days=1)
    taken(enter_readings(forms.path, tree, "1l", rough, forms.writer(later)))
    assert asked(forms.tree(tree, later)) is None  # read today: not asked for again
    loose = asked(forms.tree(tree, later + timedelta(days=1)))
    assert fresh is not None
    assert loose is not None
    assert loose.sd_mm == pytest.approx(0.20, rel=0.01)
    assert loose.chance > fresh.chance


def test_growth_since_an_old_reading_moves_what_is_expected(forms: Forms) -> None:
    """A running base read a season ago has grown: wood never gets thinner, so only upwards."""
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=250, clock=9, outer=True, pair_level=True, leaves=8)
    old = forms.writer(date(2025, 6, 7))
    read = {"base": "10.0", "trunk": "40", "node": "20", "room": "120"}
    taken(enter_readings(forms.path, tree, "1l", read, old, marked=True))
    forms.say("1L let run", tree, date(2025, 6, 8))
    forms.say("hard; strong", tree, date(2026, 6, 7))
    day = forms.tree(tree)
    ask = asked(day)
    assert ask is not None
    assert ask.read_on == date(2025, 6, 7)
    assert (ask.act, ask.last_mm) == (Act.LET_RUN, 10.0)
    assert ask.likely_mm is not None
    assert ask.sd_mm is not None
    assert ask.likely_mm > 10.5
    assert ask.sd_mm > 0.3
    # From the growth of the branch itself: one ring's worth and no less than none of it.
    row = day.tree.branches.names.index("1L")
    assert day.growth is not None
    fast = 10.0 + 2.0 * float(day.growth.increment.quantile_mm(0.9)[row])
    assert ask.turns_at_mm is not None
    assert 10.0 < ask.turns_at_mm < fast


def test_a_missing_reading_that_a_verdict_waits_for_is_certain_to_turn_it(forms: Forms) -> None:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=250, clock=9)
    forms.branch(tree, "2R", height_mm=260, clock=3, base=9.0)
    by_name = {ask.place: ask for ask in asks_of(forms.tree(tree))}
    assert by_name["1L"].phrase == "1L base __ trunk __"
    assert by_name["2R"].phrase == "2R trunk __"
    for ask in by_name.values():
        assert (ask.chance, ask.act, ask.instead) == (1.0, Act.LOOK_FIRST, None)


def test_what_is_answered_is_asked_no_more(forms: Forms) -> None:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=250, clock=9)
    ask = asked(forms.tree(tree))
    assert ask is not None
    said = ask.phrase.replace(BLANK, "8.0", 1).replace(BLANK, "40")
    forms.say(said, tree)
    assert asked(forms.tree(tree)) is None


def test_five_at_most_by_harm_then_chance_and_one_a_branch(demo_garden: GardenDay) -> None:
    found = 0
    for day in demo_garden.trees:
        asks = asks_of(day)
        found += len(asks)
        assert len(asks) <= MOST
        assert [(a.harm, -a.chance) for a in asks] == sorted((a.harm, -a.chance) for a in asks)
        assert len({ask.row for ask in asks}) == len(asks)
        assert all(WORTH_FROM <= ask.chance <= 1.0 for ask in asks)
        for ask in asks:
            read = parse(ask.phrase.replace(BLANK, "9"), today=TODAY)
            assert not read.doubts
            assert not read.unread
    assert found >= 12


def test_each_turn_is_one_that_the_rules_make_at_that_reading(demo_garden: GardenDay) -> None:
    """Ask the verdict a hair either side of the turn: it differs there and nowhere by chance."""
    turned = 0
    for day in demo_garden.trees:
        by_row = {branch.row: branch for branch in day.branches}
        for ask in asks_of(day):
            if ask.what != (Quantity.BASE,) or ask.turns_at_mm is None:
                continue
            branch = by_row[ask.row]
            acts = []
            for value in (ask.turns_at_mm - 0.01, ask.turns_at_mm + 0.01):
                step = value / branch.trunk_mm
                acts.append(
                    decide(day.facts, replace(
                        branch, base_mm=value, step=step, reached=value / branch.target_base_mm,
                        reached_was=branch.reached, base_age_days=0,
                    )).act
                )  # fmt: skip
            assert ask.act in acts
            assert len(set(acts)) == 2
            turned += 1
    assert turned >= 8


def test_the_same_day_asked_twice_is_worked_out_once(demo_garden: GardenDay) -> None:
    day = demo_garden.tree("Ditch field maple")
    assert asks_of(day) is asks_of(day) or asks_of(day) == asks_of(day)
    other = replace(day)
    assert asks_of(other) == asks_of(day)
    assert not any(math.isnan(a.chance) for a in asks_of(other))
    assert np.isfinite([a.chance for a in asks_of(other)]).all()
