"""Feed holds: a window and never a policy. Written cases from common practice of the trade."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from boughwright.feed.hold import Dose, FeedState, advice, rule_phase
from boughwright.journal.terms import Phase, Vigour
from boughwright.season.stages import Stage

TODAY = date(2026, 5, 1)
HARD_FROM = date(2026, 6, 2)
FIRST_FLUSH = (Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING)


def state(stage: Stage, phase: Phase | None, **other: Any) -> FeedState:
    values: dict[str, Any] = {
        "on": TODAY,
        "stage": stage,
        "phase_mix": {} if phase is None else {phase: 1.0},
        "show_phase": phase,
        "vigour": Vigour.STRONG,
        "hard_from": HARD_FROM,
    }
    return FeedState(**(values | other))


@pytest.mark.parametrize("stage", FIRST_FLUSH)
def test_refined_trees_get_none_in_the_first_flush_while_developing_ones_get_full(
    stage: Stage,
) -> None:
    refined = advice(state(stage, Phase.REFINEMENT))
    assert (refined.dose, refined.from_date) == (Dose.NONE, HARD_FROM)
    assert refined.until == "the leaves are dark and leathery"
    for phase in (Phase.TRUNK, Phase.PRIMARY):
        assert advice(state(stage, phase)).dose is Dose.FULL


def test_refined_tree_gets_half_once_hard() -> None:
    assert advice(state(Stage.HARD, Phase.REFINEMENT)).dose is Dose.HALF


def test_forking_tree_gets_half_from_60_percent_extension() -> None:
    assert advice(state(Stage.RUNNING, Phase.RAMIFICATION, extended=0.59)).dose is Dose.NONE
    assert advice(state(Stage.RUNNING, Phase.RAMIFICATION, extended=0.60)).dose is Dose.HALF
    assert advice(state(Stage.RUNNING, Phase.RAMIFICATION, extended=None)).dose is Dose.NONE
    assert advice(state(Stage.CLOSING, Phase.RAMIFICATION)).dose is Dose.HALF


def test_nitrogen_falls_from_the_middle_of_late_thickening() -> None:
    late = Stage.LATE_THICKENING
    assert advice(state(late, Phase.TRUNK, late_share=0.49)).dose is Dose.FULL
    assert advice(state(late, Phase.TRUNK, late_share=0.50)).dose is Dose.LOW_NITROGEN
    assert advice(state(late, Phase.RAMIFICATION, late_share=0.2)).dose is Dose.HALF
    assert advice(state(Stage.COLOUR, Phase.TRUNK)).dose is Dose.LOW_NITROGEN


def test_young_tree_three_weeks_after_a_repot_gets_none_until_six() -> None:
    young = advice(state(Stage.RUNNING, Phase.TRUNK, repot_weeks=3.0))
    assert (young.dose, young.from_date) == (Dose.NONE, TODAY + timedelta(weeks=3))
    assert advice(state(Stage.RUNNING, Phase.TRUNK, repot_weeks=6.0)).dose is Dose.FULL


@pytest.mark.parametrize(
    ("block", "free"),
    [
        ({"t_max_c": 35.1}, {"t_max_c": 35.0}),
        ({"wilting": True}, {}),
        ({"saturated": True}, {}),
        ({"bare_weeks": 3.9}, {"bare_weeks": 4.0}),
    ],
)
def test_each_block_alone_stops_feed(block: dict[str, Any], free: dict[str, Any]) -> None:
    stopped = advice(state(Stage.HARD, Phase.PRIMARY, **block))
    assert stopped.dose is Dose.NONE
    assert len(stopped.blocks) == 1
    assert stopped.until
    assert advice(state(Stage.HARD, Phase.PRIMARY, **free)).dose is Dose.FULL


def test_several_blocks_give_the_latest_day_or_none_when_one_is_open_ended() -> None:
    hot = {"t_max_c": 36.0, "hot_to": TODAY + timedelta(days=3)}
    both = advice(state(Stage.HARD, Phase.PRIMARY, repot_weeks=5.0, **hot))
    assert both.from_date == TODAY + timedelta(days=7)
    assert len(both.blocks) == 2
    assert advice(state(Stage.HARD, Phase.PRIMARY, wilting=True, **hot)).from_date is None


@pytest.mark.parametrize("vigour", [None, *Vigour])
@pytest.mark.parametrize("phase", [None, *Phase])
def test_no_tree_goes_a_whole_year_with_none(phase: Phase | None, vigour: Vigour | None) -> None:
    doses = {advice(state(stage, phase, vigour=vigour)).dose for stage in Stage}
    assert doses - {Dose.NONE, Dose.LOW_NITROGEN}


@pytest.mark.parametrize("stage", [Stage.EARLY_REST, Stage.DEEP_REST, Stage.LEAF_DROP])
@pytest.mark.parametrize("phase", list(Phase))
def test_bare_rest_is_never_fed(stage: Stage, phase: Phase) -> None:
    assert advice(state(stage, phase)).dose is Dose.NONE


def test_weak_tree_gets_none_on_opening_and_half_once_hard() -> None:
    weak = {"vigour": Vigour.WEAK}
    assert advice(state(Stage.RUNNING, Phase.TRUNK, **weak)).dose is Dose.NONE
    assert advice(state(Stage.HARD, Phase.TRUNK, **weak)).dose is Dose.HALF


def test_mixed_tree_follows_refinement_when_apex_and_outer_crown_do() -> None:
    mix = {Phase.PRIMARY: 0.7, Phase.REFINEMENT: 0.3}
    assert rule_phase(mix, Phase.REFINEMENT) is Phase.REFINEMENT
    assert rule_phase(mix, Phase.PRIMARY) is Phase.PRIMARY
    tie = {Phase.PRIMARY: 0.5, Phase.RAMIFICATION: 0.5}
    assert rule_phase(tie, None) is Phase.PRIMARY
    assert rule_phase({}, None) is None
