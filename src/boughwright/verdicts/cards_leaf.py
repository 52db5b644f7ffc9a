"""Cards on leaf: pinch, thin what shades a weaker branch, and the dose of leaf work by zone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.leafwork import STEADY_SHARE
from boughwright.verdicts.making import act, held, look_first
from boughwright.verdicts.rules import (
    FORKING,
    IN_LEAF,
    is_primary,
    strength,
    sureness,
    thick_enough,
    trait_word,
)
from boughwright.verdicts.verdict import Act, Harm, Reason, Verdict
from boughwright.verdicts.words import listed

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

THIN: Final = {Zone.APEX: (0.5, 0.8), Zone.MIDDLE: (0.3, 0.6), Zone.LOWER: (0.0, 0.3)}
"""Share of the leaf taken by an outer thin, least and most, by zone (common practice)."""
SHADING_SHARE: Final = 0.3
PINCH_STAGES: Final = frozenset({Stage.FIRST_LEAF, Stage.RUNNING})


def pinch(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Pinch the strong refined branches as they open."""
    if tree.calendar.stage not in PINCH_STAGES or branch.phase not in FORKING:
        return None
    strong_late = branch.phase is Phase.RAMIFICATION and branch.zone is Zone.APEX and branch.outer
    if branch.phase is not Phase.REFINEMENT and not strong_late:
        return None
    if not is_primary(branch) or branch.zone is Zone.LOWER or branch.outer is False:
        return None
    if branch.vigour is not None and branch.vigour <= Vigour.WEAK:
        return None
    if thick_enough(branch) is not True or tree.opposite is None:
        return None
    where = (
        "the tuft between the first pair, with tweezers"
        if tree.opposite
        else ("beyond the second leaf, as the third shows")
    )
    if trait_word(tree, "flushes") == "one" and not tree.opposite:
        where = "half of each opening shoot"
    reason = Reason(
        "A refined branch is opening and its base is thick enough",
        "stage",
        source="common-practice",
        grade=tree.calendar.grade,
    )
    made = act(
        tree,
        branch,
        "pinch",
        Act.PINCH,
        where,
        (reason,),
        "its shoots stay short by themselves",
        works=(Work.PINCH,),
        share=branch.leaf_share or 0.1,
        harm=Harm.WINDOW,
        sure=sureness(tree, branch, tree.extension_ratio),
        never=("Do not pinch weak, inner or low shoots",),
    )
    return held(tree, branch, made, Work.PINCH)


def shading(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Thin the outer leaf of a branch that shades a weaker one, once its own base is thick."""
    if not branch.shades or tree.calendar.stage not in IN_LEAF or branch.kind is Kind.GRAFT:
        return None
    if branch.phase in (None, Phase.TRUNK) or thick_enough(branch) is False:
        return None
    if thick_enough(branch) is None:
        how = "caliper its base and the trunk beside it"
        why = f"It shades {listed(branch.shades)}"
        return look_first(tree, branch, "shading", how, why, measure="base reached")
    reason = Reason(f"It shades {listed(branch.shades)}", "shade", grade=Grade.MEASURED)
    made = act(
        tree,
        branch,
        "shading",
        Act.WEAKEN,
        "take 20 to 40 % of its outer leaf",
        (reason,),
        f"{listed(branch.shades)} stands in light",
        works=(Work.LEAF_THIN,),
        share=SHADING_SHARE,
        never=("Do not take its inner leaf",),
        caution="blades",
    )
    return held(tree, branch, made, Work.LEAF_THIN, share=SHADING_SHARE)


def leaf_dose(tree: TreeFacts, zone: Zone, phase: Phase | None) -> tuple[Act, Work, float] | None:
    """Return the leaf work of a zone and the share it takes, None where none is due.

    Refined and forking zones: outer thin on strong trees, near the low end of the range on
    steady ones; on kinds that bear little, or refined opposite trees that are only steady, one of
    a pair or half a leaf. Parts in the making keep their leaf.
    """
    if phase not in FORKING or zone is Zone.LOWER:
        return None
    strong = strength(tree)
    if strong is None or strong <= Vigour.WEAK:
        return None
    least, most = THIN[zone]
    if strong is Vigour.STEADY:
        least = min(least, STEADY_SHARE)
    kind = trait_word(tree, "partial_defoliation")
    if kind in (None, "no"):
        return None
    if kind == "careful" or (tree.opposite and strong is Vigour.STEADY):
        return Act.LEAF_PAIR, Work.LEAF_PAIR, min(0.5, least)
    share = (least + most) / 2 if strong is Vigour.STRONG else least
    return Act.LEAF_THIN, Work.LEAF_THIN, share
