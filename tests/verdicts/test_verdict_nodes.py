"""Thirty-two written node cases: swap leader, clusters, useless shoots, bud selection.

Each is drawn from the rules of the trade with the reason beside it. No growers were asked, so
this claims no agreement of people.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from written_facts import at_stage, bare_branch, branch, inner, tree, twig

from boughwright.journal.terms import Kind, Phase, Zone
from boughwright.season.stages import Stage
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

MAPLE = tree(phase=Phase.RAMIFICATION)
TRIDENT = tree("acer-buergerianum", phase=Phase.RAMIFICATION)
ELM = tree("ulmus-parvifolia", phase=Phase.RAMIFICATION)
SOON = replace(MAPLE, show_on=date(2026, 11, 28))
DROP = at_stage(MAPLE, Stage.LEAF_DROP)
REST = at_stage(MAPLE, Stage.DEEP_REST)
SWELL = at_stage(MAPLE, Stage.SWELL)
RUNNING = at_stage(MAPLE, Stage.RUNNING)
OLD_CUT = date(2024, 6, 10)


def top(*shoots: Any, **other: Any) -> BranchFacts:
    """A leader cut as a compromise two years ago."""
    values: dict[str, Any] = {
        "name": "top", "kind": Kind.TOP, "zone": Zone.APEX, "phase": Phase.RAMIFICATION,
        "base_mm": 6.0, "leaf_share": 0.05, "inner": shoots, "provisional_since": OLD_CUT,
    }  # fmt: skip
    return bare_branch(**(values | other))


def fork(**other: Any) -> BranchFacts:
    """A branch in ramification that was cut this season and has nothing else to do."""
    return branch(**({"phase": Phase.RAMIFICATION, "running": False} | other))


def shoot(**other: Any) -> BranchFacts:
    return twig(**({"phase": Phase.RAMIFICATION} | other))


CASES: list[tuple[str, TreeFacts, BranchFacts, Act]] = [
    # swap leader
    ("inner shoot at 0.43 of its parent: ready", MAPLE, top(inner(0.43)), Act.SWAP_LEADER),
    ("inner shoot just at 0.40: ready", MAPLE, top(inner(0.40)), Act.SWAP_LEADER),
    ("inner shoot at 0.39: not yet", MAPLE, top(inner(0.39)), Act.LEAVE),
    ("0.32 on a kind of many flushes: ready", TRIDENT, top(inner(0.32)), Act.SWAP_LEADER),
    ("0.29 even there: not yet", TRIDENT, top(inner(0.29)), Act.LEAVE),
    ("inner shoot 60° off the line: keep both", MAPLE, top(inner(0.5, 60.0)), Act.SHORTEN),
    ("one of two lies near the line", MAPLE, top(inner(0.5, 60.0), inner(0.45, 30.0, "top-2")),
     Act.SWAP_LEADER),
    ("angle not known: look", MAPLE, top(inner(0.5, None)), Act.LOOK_FIRST),
    ("outer part carries 30 % of the leaf: keep both", MAPLE, top(inner(0.5), leaf_share=0.30),
     Act.SHORTEN),
    ("outer part carries 29 %", MAPLE, top(inner(0.5), leaf_share=0.29), Act.SWAP_LEADER),
    ("leaf of the outer part unknown: look", MAPLE, top(inner(0.5), leaf_share=None),
     Act.LOOK_FIRST),
    ("a show within the year: not seen bare-headed", SOON, top(inner(0.5)), Act.LEAVE),
    ("the outer part feeds a graft", MAPLE, top(inner(0.5), feeds=("2.5Lg",)), Act.LEAVE),
    ("soft stage: not cut now", RUNNING, top(inner(0.5)), Act.LEAVE),
    ("no compromise on record and a good leader", MAPLE, top(inner(0.5), provisional_since=None),
     Act.LEAVE),
    ("two ready shoots inside an overlong node, base thick", MAPLE,
     fork(node_mm=70.0, room_mm=150.0, inner=(inner(0.5), inner(0.45, 10.0, "1L-2"))),
     Act.SWAP_LEADER),
    ("the same with one shoot only: cut past instead", MAPLE,
     fork(node_mm=70.0, room_mm=150.0, inner=(inner(0.5),)), Act.CUT_PAST),
    # clusters and knuckles
    ("three shoots at a node while soft", MAPLE, fork(cluster=3), Act.TWO),
    ("two shoots at a node: as it should be", MAPLE, fork(cluster=2), Act.LEAVE),
    ("five on an elm cut", ELM, fork(cluster=5), Act.TWO),
    ("five in primary structure: broom centres may hold more", MAPLE,
     branch(running=False, cluster=5), Act.LEAVE),
    ("second look at leaf-drop", DROP, fork(cluster=4), Act.TWO),
    ("a node 1.5 times the wood: not yet a knuckle", MAPLE, fork(knuckle=1.5), Act.LEAVE),
    ("a node 1.6 times the wood: cut inside it", MAPLE, fork(knuckle=1.6), Act.CUT_PAST),
    # useless shoots
    ("straight up on a side branch", MAPLE, shoot(elevation_deg=80.0), Act.RUB),
    ("straight down", MAPLE, shoot(elevation_deg=-70.0), Act.RUB),
    ("leaning up, not straight", MAPLE, shoot(elevation_deg=60.0), Act.LEAVE),
    ("straight up but wanted as the next leader", MAPLE, shoot(elevation_deg=80.0, wanted=True),
     Act.LEAVE),
    ("straight up but helps a scar", MAPLE, shoot(elevation_deg=80.0, feeds=("scar front",)),
     Act.LEAVE),
    ("bare in rest: nothing soft to rub", REST, shoot(elevation_deg=80.0), Act.LEAVE),
    # buds
    ("four buds at a node in swell", SWELL, fork(cluster=4), Act.BUD_SELECT),
    ("a refined branch up high in swell", SWELL,
     fork(phase=Phase.REFINEMENT, zone=Zone.APEX, step=0.3, reached=1.0), Act.BUD_SELECT),
    ("a forking branch low down in swell, nothing crowded", SWELL, fork(), Act.LEAVE),
]  # fmt: skip


@pytest.mark.parametrize(("why", "facts", "part", "act"), CASES, ids=[case[0] for case in CASES])
def test_node_case(why: str, facts: TreeFacts, part: BranchFacts, act: Act) -> None:
    found = decide(facts, part)
    assert found.act is act, why
    assert found.reasons
    assert any(reason.measure for reason in found.reasons)
