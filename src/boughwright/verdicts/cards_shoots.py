"""Cards on shoots: rub the useless ones, clusters to two, knuckles, bud selection."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.making import act, held, look_first
from boughwright.verdicts.rules import CUT_BACK, FORKING, SHOOTING, is_primary
from boughwright.verdicts.verdict import Act, Reason, Verdict
from boughwright.verdicts.words import mm

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

UP_DEG: Final = 75.0
DOWN_DEG: Final = -60.0
"""A side shoot steeper than this leads nowhere (starting values)."""
SOFT_MM: Final = 3.0
KNUCKLE: Final = 1.5
"""Swelling over the wood beside it from which a node is a knuckle (common practice)."""
TWO_STAGES: Final = SHOOTING | {Stage.LEAF_DROP, Stage.EARLY_REST}
BUD_STAGES: Final = frozenset({Stage.DEEP_REST, Stage.SWELL})


def useless(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Rub off a side shoot that stands straight up or hangs straight down."""
    up = branch.elevation_deg
    if up is None or DOWN_DEG < up < UP_DEG:
        return None
    if branch.order < 2 or branch.wanted or branch.feeds or branch.job is not None:
        return None
    if tree.calendar.stage not in SHOOTING:
        return None
    if up > 0 and branch.vigour is not None and branch.vigour <= Vigour.WEAK:
        return None  # on a weak part the upright shoot drives it for a flush
    if branch.base_mm is not None and branch.base_mm >= SOFT_MM:
        return None
    which = "straight up" if up > 0 else "straight down"
    reason = Reason(
        f"It grows {which}",
        "angle",
        up,
        UP_DEG if up > 0 else DOWN_DEG,
        "degrees",
        "common-practice",
        Grade.MEASURED,
    )
    made = act(
        tree,
        branch,
        "rub",
        Act.RUB,
        "at its base, while soft",
        (reason,),
        "it is the only live growth on that side",
        works=(Work.RUB,),
    )
    return held(tree, branch, made, Work.RUB)


def cluster(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Reduce clusters to two shoots a node."""
    if branch.phase not in FORKING or branch.kind is Kind.GRAFT:
        return None
    if branch.cluster is None or branch.cluster < 3 or tree.calendar.stage not in TWO_STAGES:
        return None
    count = branch.clusters or 1
    reason = Reason(
        f"{branch.cluster} shoots stand at one node; two is the most",
        "shoots at a node",
        branch.cluster,
        2.0,
        "",
        "common-practice",
        Grade.MEASURED,
    )
    made = act(
        tree,
        branch,
        "two",
        Act.TWO,
        "keep two a node: level, alike, 40 to 70° apart; take the middle and the upright ones",
        (reason,),
        "one of the shoots is grown as a sacrifice",
        works=(Work.TWO,),
        share=(branch.leaf_share or 0.1) * 0.5,
        caution="blades",
        count=count,
        never=("Do not leave three at a node",),
    )
    return held(tree, branch, made, Work.TWO)


def knuckle(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Cut back inside a node that many cuts have swollen."""
    if branch.phase not in FORKING or branch.kind is Kind.GRAFT:
        return None
    if branch.knuckle is None or branch.knuckle <= KNUCKLE:
        return None
    if tree.calendar.stage not in CUT_BACK:
        return None
    if is_primary(branch) and branch.step is None:
        how = "caliper its base and the trunk beside it"
        return look_first(tree, branch, "knuckle", how, "A structural cut needs its step",
                          measure="step")  # fmt: skip
    reason = Reason(
        f"A node has swollen to {branch.knuckle:.1f} times the wood beside it",
        "knuckle",
        branch.knuckle,
        KNUCKLE,
        "",
        "common-practice",
        Grade.MEASURED,
    )
    made = act(
        tree,
        branch,
        "knuckle",
        Act.CUT_PAST,
        "inside the knuckle, at a live shoot or bud",
        (reason,),
        "the swelling is callus over an old cut, not a knuckle",
        works=(Work.CUT,),
        structural=True,
        share=branch.leaf_share or 0.1,
        caution="blades",
        never=("Do not cut where no bud lives",),
    )
    return held(tree, branch, made, Work.CUT)


def buds(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Choose buds from rest to swell: two a node, side over top, the fat upper one off up high."""
    if tree.calendar.stage not in BUD_STAGES or branch.phase not in FORKING:
        return None
    crowded = branch.cluster is not None and branch.cluster >= 3
    apex = branch.zone is Zone.APEX and branch.order == 1 and branch.phase is Phase.REFINEMENT
    if not crowded and not apex:
        return None
    text = f"{branch.cluster} buds or shoots at one node" if crowded else "A refined branch up high"
    reason = Reason(
        text, "shoots at a node", branch.cluster, 2.0, "", "common-practice", Grade.MEASURED
    )
    where = (
        "side buds stay over top ones; of a pair the fat upper bud goes"
        if apex
        else ("two buds a node; side buds stay over top ones, top ones over those below")
    )
    made = act(
        tree,
        branch,
        "buds",
        Act.BUD_SELECT,
        where,
        (reason,),
        "a bud you would keep is dead",
        works=(Work.BUD_SELECT,),
        share=(branch.leaf_share or 0.1) * 0.5,
        never=("Do not take the fat buds of a weak low branch",),
    )
    return held(tree, branch, made, Work.BUD_SELECT)


def stub_mm(tree: TreeFacts) -> str:
    """Return how much wood is left beyond a bud, longest where dieback is likely."""
    key = tree.species.key if tree.species else ""
    long = any(word in key for word in ("palmatum", "fagus")) or not key
    return f"{mm(10.0)}" if long else f"{mm(5.0)}"
