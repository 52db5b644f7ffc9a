"""Facts of the trade that the verdicts must tell. Common practice; no source is claimed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from written_facts import branch, calendar, tree, window, wired

from boughwright.journal.terms import Metal, Phase, Zone
from boughwright.season.clock import season_of
from boughwright.season.stages import Stage
from boughwright.verdicts.feeding import feed_advice
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.verdicts.verdict import Act
from boughwright.wire.off import wire_off


@pytest.mark.parametrize("base_mm", [6.0, 10.0, 13.0])
def test_common_practice_tips_stay_on_branches_that_must_thicken(base_mm: float) -> None:
    thin = branch(base_mm=base_mm, trunk_mm=43.0, target_step=0.34)  # 14.6 mm wanted
    found = decide(tree(), thin)
    assert found.act in (Act.LET_RUN, Act.SHORTEN)
    assert found.act is Act.LET_RUN or base_mm / 14.62 >= 0.90


def test_common_practice_thick_enough_branches_are_cut_to_the_first_pair() -> None:
    thick = branch(base_mm=14.6, trunk_mm=43.0, target_step=0.34, node_mm=30.0, room_mm=150.0)
    assert decide(tree(), thick).act is Act.CUT_TO_PAIR


def test_common_practice_a_long_node_goes_at_the_top_and_stays_low_down() -> None:
    """The same node of 0.38 of the room to the outline, on a base that is thick enough."""
    same = {"base_mm": 14.6, "trunk_mm": 43.0, "target_step": 0.34, "node_mm": 57.0,
            "room_mm": 150.0, "bud_inside": True}  # fmt: skip
    high = decide(tree(), branch(zone=Zone.APEX, **same))
    low = decide(tree(), branch(zone=Zone.LOWER, **same))
    assert high.act is Act.CUT_PAST
    assert low.act is not Act.CUT_PAST


def test_common_practice_bitten_aluminium_is_unwound_and_unbitten_wire_cut_off() -> None:
    bitten = wire_off(3, Metal.ALUMINIUM, None)
    assert bitten.may_unwind
    for grade in (0, 1, 2):
        plain = wire_off(grade, Metal.ALUMINIUM, None)
        assert not plain.may_unwind
        assert "cut" in plain.method.value


def test_common_practice_wire_that_bites_comes_off_before_all_else() -> None:
    thin_and_bitten = replace(
        wired(window(seen_grade=3, likely_grade=3), base_mm=9.0, trunk_mm=43.0, target_step=0.34)
    )
    assert decide(tree(), thin_and_bitten).act is Act.WIRE_OFF


def test_common_practice_a_southern_season_starts_in_july_and_bears_both_years() -> None:
    assert season_of(date(2026, 9, 20), south=True) == "2026/27"
    assert season_of(date(2027, 5, 1), south=True) == "2026/27"
    assert season_of(date(2026, 9, 20), south=False) == "2026"


@pytest.mark.parametrize(
    ("phase", "stage", "dose"),
    [
        (Phase.REFINEMENT, Stage.FIRST_LEAF, "none"),
        (Phase.REFINEMENT, Stage.RUNNING, "none"),
        (Phase.REFINEMENT, Stage.HARD, "half"),
        (Phase.TRUNK, Stage.FIRST_LEAF, "full"),
        (Phase.PRIMARY, Stage.RUNNING, "full"),
    ],
)
def test_common_practice_refined_trees_go_unfed_in_the_first_flush(
    phase: Phase, stage: Stage, dose: str
) -> None:
    facts = tree(phase=phase, apex_phase=phase, show_phase=phase, phase_mix={phase: 1.0},
                 calendar=calendar(stage=stage))  # fmt: skip
    assert feed_advice(facts, facts.today).dose.value.startswith(dose)


def test_common_practice_leaf_signs_and_fruit_ask_nothing_of_a_bare_tree() -> None:
    summer = tree(disease={"spots": date(2026, 6, 1)}, fruiting=True)
    winter = replace(summer, calendar=calendar(stage=Stage.DEEP_REST))
    acts = {v.act for v in tree_level(summer, [branch()])}
    assert {Act.FRUIT_OFF, Act.PROTECT} <= acts
    assert {Act.FRUIT_OFF, Act.PROTECT}.isdisjoint(v.act for v in tree_level(winter, [branch()]))
    sick = replace(winter, disease={"canker": date(2026, 6, 1)})
    assert Act.PROTECT in {v.act for v in tree_level(sick, [branch()])}
