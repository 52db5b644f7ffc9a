"""The field maple of the demonstration garden, branch by branch, on 9 June with heat on its way.

A written case: each row's facts and the verdict expected of it come from the rules of the trade,
no grower was asked.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from written_facts import (
    HOT,
    approach_graft,
    bare_branch,
    branch,
    inner,
    scar,
    tree,
    window,
    wired,
)

from boughwright.journal.terms import GraftKind, Job, Kind, Phase, Vigour, Zone
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.verdict import Act, Verdict

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts

MAPLE = tree(
    outlook=HOT,
    weeks_since_repot=65.0,
    repot_share=0.4,
    disease={"mildew": date(2026, 6, 5)},
    unweaned_grafts=2,
)
AFTER_HEAT = date(2026, 6, 17)
BEFORE_HEAT = date(2026, 6, 12)

ROWS: dict[str, BranchFacts] = {
    "1L": branch(name="1L", base_mm=12.1, trunk_mm=47.0, target_step=0.35, node_mm=38.0,
                 room_mm=180.0, job=Job.THICKEN),
    "2R": branch(name="2R", base_mm=14.6, trunk_mm=43.0, target_step=0.34, node_mm=40.0,
                 room_mm=150.0),
    "2.5Lg": approach_graft(),
    "3B": branch(name="3B", base_mm=12.4, trunk_mm=37.0, target_step=0.33, node_mm=30.0,
                 room_mm=120.0, feeds=("2.5Lg",)),
    "3.5Bg": approach_graft(name="3.5Bg", grafted_on=date(2026, 5, 11), exit_mm=4.0, entry_mm=None,
                            union_moves=None, lips_joined=None, graft_kind=GraftKind.APPROACH),
    "4R": wired(window(seen_grade=2, likely_grade=2), name="4R", base_mm=9.2, trunk_mm=32.0,
                target_step=0.30, node_mm=44.0, room_mm=95.0, zone=Zone.MIDDLE),
    "5L": branch(name="5L", base_mm=5.2, trunk_mm=26.0, target_step=0.28, node_mm=28.0,
                 room_mm=80.0, zone=Zone.MIDDLE, vigour=Vigour.WEAK, shaded_by="6R"),
    "6R": branch(name="6R", base_mm=7.9, trunk_mm=18.0, target_step=0.25, node_mm=25.0,
                 room_mm=55.0, zone=Zone.APEX, shades=("5L",)),
    "top": bare_branch(name="top", kind=Kind.TOP, zone=Zone.APEX, phase=Phase.PRIMARY, base_mm=6.0,
                       trunk_mm=14.0, node_mm=22.0, room_mm=60.0, internode_share=22 / 60,
                       provisional_since=date(2024, 6, 10), leaf_share=0.05, bud_inside=True,
                       inner=(inner(2.6 / 6.0, 15.0, "top-1"), inner(2.6 / 6.0, 30.0, "top-2"))),
    "scar front": scar(41.0, 46.0, 2.0),
}  # fmt: skip


def verdict_on(name: str) -> Verdict:
    return decide(MAPLE, ROWS[name])


@pytest.mark.parametrize(
    ("name", "act"),
    [
        ("1L", Act.LET_RUN),
        ("2R", Act.CUT_TO_PAIR),
        ("2.5Lg", Act.NOTCH),
        ("3B", Act.CUT_TO_PAIR),
        ("3.5Bg", Act.GRAFT_WAIT),
        ("4R", Act.WIRE_OFF),
        ("5L", Act.RAISE),
        ("6R", Act.WEAKEN),
        ("top", Act.SWAP_LEADER),
        ("scar front", Act.RIM),
    ],
)
def test_every_row_gets_the_verdict_written_for_it(name: str, act: Act) -> None:
    assert verdict_on(name).act is act


def test_thin_low_branch_keeps_tip_and_leaf_and_is_angled_by_guy() -> None:
    found = verdict_on("1L")
    assert "tip on" in found.where
    assert "leaf on" in found.where
    assert "guy" in found.where
    assert "74 %" in found.reasons[0].text  # 12.1 / (47 x 0.35) = 0.7356


def test_graft_is_notched_by_a_third_after_the_heat_and_never_wired() -> None:
    found = verdict_on("2.5Lg")
    assert found.earliest == AFTER_HEAT
    assert "a third of the feed" in found.where
    assert any("wire" in word for word in found.never)


def test_unknown_union_is_tried_by_hand_before_a_notch() -> None:
    found = decide(MAPLE, approach_graft(union_moves=None))
    assert found.act is Act.LOOK_FIRST
    assert "union moves" in found.where


def test_feeding_shoot_is_kept_while_the_rest_goes_to_the_pair() -> None:
    found = verdict_on("3B")
    assert "2.5Lg" in found.where
    assert any("2.5Lg" in word for word in found.never)


def test_wire_leads_and_the_cut_past_is_its_note() -> None:
    found = verdict_on("4R")
    assert [note.act for note in found.notes] == [Act.CUT_PAST]
    assert "node 1" in found.notes[0].text
    assert found.notes[0].latest == BEFORE_HEAT
    assert found.notes[0].structural


def test_weak_shaded_branch_is_raised_in_full_leaf_and_the_shader_thinned() -> None:
    found = verdict_on("5L")
    assert "full leaf" in found.where
    assert any("6R" in note.text for note in found.notes)


def test_apex_branch_too_thick_waits_for_the_heat_to_pass() -> None:
    found = verdict_on("6R")
    assert found.earliest == AFTER_HEAT
    assert found.reasons[0].value == pytest.approx(7.9 / 18)
    assert found.reasons[0].limit == 0.40
    assert any("inner shoot" in note.text for note in found.notes)


def test_leader_is_swapped_before_the_heat() -> None:
    found = verdict_on("top")
    assert found.latest == BEFORE_HEAT
    assert any("2024" in reason.text for reason in found.reasons)
    assert found.structural


def test_rim_waits_for_the_heat_and_says_sixteen_seasons() -> None:
    found = verdict_on("scar front")
    assert found.earliest == AFTER_HEAT
    assert "about 16 seasons" in found.reasons[0].text  # 41 / 2.5 a year = 16.4
