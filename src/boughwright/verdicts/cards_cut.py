"""Cards on structure: too thick, unwanted, competing, swap leader, cut past, cut back.

Over 500 lines because each verdict is one call with one argument a line.
"""

# ruff: noqa: PLR0911  (a rule of the trade is a row of guards, one return each)
from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Job, Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.making import (
    act,
    before_heat,
    held,
    look_first,
    next_look,
    reached_reason,
)
from boughwright.verdicts.rules import (
    CUT_BACK,
    FORKING,
    IN_LEAF,
    LARGE_WOUND,
    is_primary,
    node_limit,
    node_over,
    node_provisional,
    step_limit,
    thick_enough,
    too_thick,
    trait_number,
    trait_word,
)
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Verdict
from boughwright.verdicts.words import listed, mm, percent

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, Inner, TreeFacts

SWAP_RATIO: Final = 0.40
SWAP_RATIO_FAST: Final = 0.30
"""Inner shoot over its parent from which it can take over; lower on kinds of many flushes."""
SWAP_ANGLE_DEG: Final = 45.0
OUTER_LEAF: Final = 0.30
SMALL_MM: Final = 3.0


def _step_reason(branch: BranchFacts) -> Reason:
    step = branch.step if branch.step is not None else 0.0
    return Reason(
        f"Its base is {percent(step)} of the trunk beside it; {percent(step_limit(branch))} "
        "is the most here",
        "step",
        step,
        step_limit(branch),
        "",
        "common-practice",
        Grade.MEASURED,
    )


def _node_reason(branch: BranchFacts) -> Reason:
    share = branch.internode_share if branch.internode_share is not None else 0.0
    limit = node_limit(branch)
    length = f" of {mm(branch.node_mm)}" if branch.node_mm is not None else ""
    return Reason(
        f"Its first node{length} takes {percent(share)} of the room; {percent(limit)} is the most "
        "here",
        "internode share",
        share,
        limit,
        "",
        "starting-value",
        Grade.MEASURED,
    )


def thick_for_place(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Weaken a primary that is too thick for its place: thin its leaf, keep it short."""
    if branch.step is None or not is_primary(branch) or branch.phase in (None, Phase.TRUNK):
        return None
    if not too_thick(branch) or tree.calendar.stage not in IN_LEAF:
        return None
    careful = trait_word(tree, "partial_defoliation") != "yes"
    share = 0.4 if careful else 0.6
    dose = "a third to half" if careful else "half to two thirds"
    notes: tuple[SideNote, ...] = ()
    if branch.zone is Zone.APEX:
        notes = (SideNote(Act.SHORTEN, "Cut it to an inner shoot, kept for now"),)
    made = act(
        tree,
        branch,
        "too thick",
        Act.WEAKEN,
        f"thin {dose} of its leaf and keep it short",
        (_step_reason(branch),),
        _thinner(branch),
        works=(Work.LEAF_THIN,),
        share=share,
        notes=notes,
        never=("Do not feed or let this branch run",),
        caution="blades",
    )
    return held(tree, branch, made, Work.LEAF_THIN, share=share)


def _thinner(branch: BranchFacts) -> str:
    if branch.trunk_mm is None or branch.base_mm is None:
        return "the trunk beside it catches up"
    return f"the trunk beside it reaches {mm(branch.base_mm / step_limit(branch))}"


def rival(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Ask which of two primaries at one height stays; never choose for the grower."""
    if branch.rival is None or branch.wanted is not None or not is_primary(branch):
        return None
    if branch.phase not in (None, Phase.PRIMARY, Phase.TRUNK):
        return None
    return look_first(
        tree,
        branch,
        "competing",
        f"choose between this and {branch.rival}",
        f"{branch.rival} stands opposite at the same height",
        measure="height",
        flip="you say which of the two stays",
        harm=Harm.COSMETIC,
    )


def unwanted(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Take off what is not wanted: rubbed while small, cut in stages when the wound is large."""
    done = branch.job is Job.SACRIFICE and branch.job_met is True
    if branch.wanted is not False and not done:
        return None
    if branch.feeds or branch.kind is Kind.TRUNK:
        return None
    why = Reason(
        "Its job is done" if done else "It is not wanted in the design",
        "design",
        branch.base_mm,
        None,
        "mm",
        "grower",
        Grade.MEASURED,
    )
    if branch.base_mm is None:
        how = "caliper its base" if branch.order <= 1 else "feel if it is soft or woody"
        return look_first(tree, branch, "take off", how, why.text, measure="base")
    if branch.base_mm < SMALL_MM:
        return _rub(tree, branch, why)
    large = branch.trunk_mm is None or branch.base_mm / branch.trunk_mm > LARGE_WOUND
    where = (
        "in two or three stages, half its girth a season"
        if large
        else ("flush at the collar, slightly hollow")
    )
    made = act(
        tree,
        branch,
        "take off",
        Act.REMOVE,
        where,
        (why,),
        "you want to keep it",
        works=(Work.CUT,),
        structural=True,
        share=branch.leaf_share or 0.1,
        caution="blades",
        latest=before_heat(tree),
        never=("Do not leave the wound unsealed",),
    )
    return held(tree, branch, made, Work.CUT, hard=large)


def _rub(tree: TreeFacts, branch: BranchFacts, why: Reason) -> Verdict:
    made = act(
        tree,
        branch,
        "rub",
        Act.RUB,
        "at its base, while soft",
        (why,),
        "you want to keep it",
        works=(Work.RUB,),
    )
    return held(tree, branch, made, Work.RUB)


def _unknown(tree: TreeFacts, branch: BranchFacts, card: str) -> Verdict | None:
    """Return a look at the first fact a structural cut still lacks, None when it lacks none."""
    free = branch.kind is Kind.TOP or branch.zone is Zone.APEX
    if branch.zone is None:
        what, how = "zone", "say how high on the trunk it starts"
    elif is_primary(branch) and branch.step is None:
        what, how = "step", "caliper its base and the trunk beside it"
    elif not free and thick_enough(branch) is None:
        what, how = "base reached", "caliper its base"
    elif branch.phase is None:
        what, how = "phase", "say which phase it is in"
    else:
        return None
    return look_first(tree, branch, card, how, f"A structural cut needs its {what}", measure=what)


def swap_leader(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Swap a leader for inner shoots when they are ready and an old compromise waits for them."""
    if not branch.inner or tree.calendar.stage not in CUT_BACK or branch.phase is Phase.TRUNK:
        return None
    if branch.kind not in (Kind.BRANCH, Kind.TOP) or branch.feeds:
        return None
    long_node = branch.phase is Phase.RAMIFICATION and node_over(branch)
    if branch.provisional_since is None and not long_node:
        return None
    show = tree.show_on
    if show is not None and 0 <= (show - tree.today).days <= 365:
        return None
    fast = trait_word(tree, "flushes") == "many"
    need = SWAP_RATIO_FAST if fast else SWAP_RATIO
    ready = [i for i in branch.inner if i.ratio is not None and i.ratio >= need - 1e-9]
    if branch.provisional_since is None and len(ready) < 2:
        return None
    if not ready:
        return _not_ready(tree, branch, need)
    turned = all(i.plan_angle_deg is None or i.plan_angle_deg > SWAP_ANGLE_DEG for i in ready)
    if turned and branch.provisional_since is None and branch.bud_inside is True:
        return None  # no shoot is known to carry the line on: the long node speaks for itself
    if branch.kind is not Kind.TOP and thick_enough(branch) is False:
        return None
    return _unknown(tree, branch, "swap leader") or _swap(tree, branch, ready, need)


def _not_ready(tree: TreeFacts, branch: BranchFacts, need: float) -> Verdict | None:
    if all(inner.ratio is not None for inner in branch.inner):
        return None
    names = listed(i.name for i in branch.inner if i.ratio is None)
    return look_first(
        tree,
        branch,
        "swap leader",
        f"caliper {names} and the wood beside it",
        f"An inner shoot takes over from {percent(need)} of its parent",
        measure="inner shoot",
    )


def _swap(tree: TreeFacts, branch: BranchFacts, ready: list[Inner], need: float) -> Verdict:
    """Swap if an inner shoot lies near the line and the outer part is small; else halve it."""
    if all(i.plan_angle_deg is None for i in ready):
        return look_first(
            tree,
            branch,
            "swap leader",
            f"look at the angle of {ready[0].name}",
            "It must lie within 45° of the line",
            measure="angle",
        )
    if branch.leaf_share is None:
        return look_first(
            tree,
            branch,
            "swap leader",
            "caliper the primaries of this tree",
            "It is not known how much leaf the outer part carries",
            measure="leaf share",
        )
    near = [
        i
        for i in ready
        if (i.plan_angle_deg if i.plan_angle_deg is not None else 180.0) <= SWAP_ANGLE_DEG
    ]
    best = max(near or ready, key=lambda i: i.ratio or 0.0)
    ratio = best.ratio or 0.0
    reason = Reason(
        f"{best.name} has reached {percent(ratio)} of its parent; {percent(need)} is enough",
        "inner shoot",
        ratio,
        need,
        "",
        "common-practice",
        Grade.MEASURED,
    )
    if not near or branch.leaf_share >= OUTER_LEAF:
        why = (
            "No inner shoot lies within 45° of the line"
            if not near
            else (
                f"The outer part carries {percent(branch.leaf_share)} of the leaf; 30 % is the most"
            )
        )
        made = act(
            tree,
            branch,
            "keep both",
            Act.SHORTEN,
            "the outer part by half; keep both",
            (Reason(why, "outer part", branch.leaf_share, OUTER_LEAF), reason),
            "the inner shoot lies closer to the line and the outer part is smaller",
            works=(Work.CUT,),
            share=0.5 * branch.leaf_share,
            caution="blades",
        )
        return held(tree, branch, made, Work.CUT, share=0.3)
    reasons: tuple[Reason, ...] = (reason,)
    if branch.provisional_since is not None:
        since = Reason(
            f"The cut of {branch.provisional_since.year} was a compromise",
            "provisional since",
            branch.provisional_since.year,
            None,
            "",
            "grower",
            Grade.MEASURED,
        )
        reasons = (reason, since)
    made = act(
        tree,
        branch,
        "swap leader",
        Act.SWAP_LEADER,
        f"cut the old leader above {best.name}",
        reasons,
        f"{best.name} is dead or hurt",
        works=(Work.CUT,),
        structural=True,
        share=branch.leaf_share,
        caution="blades",
        latest=before_heat(tree),
        never=("Do not pinch the shoot that takes over",),
    )
    return held(tree, branch, made, Work.CUT)


def node_past(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Cut past an overlong first node once the base is thick, in the apex at once."""
    if branch.internode_share is None or not node_over(branch):
        return None
    if tree.calendar.stage not in CUT_BACK or branch.feeds or branch.wanted is False:
        return None
    if branch.phase in (Phase.TRUNK, Phase.REFINEMENT) or branch.kind is Kind.GRAFT:
        return None
    free = branch.kind is Kind.TOP or branch.zone is Zone.APEX
    if not free and thick_enough(branch) is False:
        return None
    missing = _unknown(tree, branch, "cut past")
    if missing is not None:
        return missing
    if branch.bud_inside is None:
        return look_first(
            tree,
            branch,
            "cut past",
            "look for a live bud at the node inside",
            _node_reason(branch).text,
            measure="internode share",
        )
    if not branch.bud_inside:
        return _force(tree, branch)
    reasons = (_node_reason(branch),) if free else (_node_reason(branch), reached_reason(branch))
    made = act(
        tree,
        branch,
        "cut past",
        Act.CUT_PAST,
        "just above node 1, at the live bud inside",
        reasons,
        "the bud at node 1 is dead, or the outline moves out",
        works=(Work.CUT,),
        structural=True,
        share=branch.leaf_share or 0.1,
        caution="blades",
        latest=before_heat(tree),
        never=("Do not cut into bare wood between two nodes",),
    )
    return held(tree, branch, made, Work.CUT)


def _force(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    """No live bud inside: wake one first by trimming beyond it, or graft where none comes."""
    buds = trait_number(tree, "back_budding")
    graft = " or plan a graft there" if buds is None or buds < 1.5 else ""
    made = act(
        tree,
        branch,
        "wake a bud",
        Act.SHORTEN,
        f"trim beyond node 1 and let light onto it{graft}",
        (
            _node_reason(branch),
            Reason("No live bud shows at the node inside", "bud inside", grade=Grade.MEASURED),
        ),
        "a live bud shows at node 1",
        works=(Work.CUT,),
        share=0.3 * (branch.leaf_share or 0.1),
        caution="blades",
        never=("Do not cut past node 1 before a bud shows",),
    )
    return held(tree, branch, made, Work.CUT, share=0.3)


def cut_back(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Cut a thick-enough branch back to its first pair, or to its first leaves."""
    if branch.running is False or tree.calendar.stage not in CUT_BACK:
        return None
    if branch.kind is Kind.TOP or branch.wanted is False or branch.phase is Phase.TRUNK:
        return None
    measured = is_primary(branch) or (
        branch.order > 1 and branch.running and branch.step is not None
    )
    if not measured or thick_enough(branch) is not True:
        return None
    if branch.leaves is not None and branch.leaves <= 2:
        return None
    if branch.vigour is not None and branch.vigour <= Vigour.WEAK:
        return None
    if branch.row >= 0 and any(
        w.row == branch.row and w.this_flush and w.work is Work.CUT for w in tree.works
    ):
        return None
    return _cut_back_asks(tree, branch) or _cut_back(tree, branch)


def _cut_back_asks(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    if branch.phase is None:
        return look_first(
            tree,
            branch,
            "cut back",
            "say which phase it is in",
            reached_reason(branch).text,
            measure="phase",
        )
    if tree.opposite is None:
        return look_first(
            tree,
            branch,
            "cut back",
            "look if its buds stand in pairs",
            "It is not known if its buds are opposite",
            measure="buds",
        )
    if branch.phase is Phase.PRIMARY and is_primary(branch) and branch.internode_share is None:
        return look_first(
            tree,
            branch,
            "cut back",
            "measure its first node and the room beyond it",
            reached_reason(branch).text,
            measure="internode share",
        )
    return None


def _cut_back(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    if tree.opposite:
        what, where = Act.CUT_TO_PAIR, _pair_place(branch)
    else:
        leaves = "one leaf" if branch.phase is Phase.REFINEMENT else "one or two leaves"
        what, where = Act.CUT_TO_LEAF, f"keep {leaves}, the last bud pointing to the side you want"
    never = ["Do not cut shoots with two leaves or fewer"]
    if branch.feeds:
        where = f"keep the shoot that feeds {listed(branch.feeds)}; the rest {where}"
        never.insert(0, f"Do not touch the shoot that feeds {listed(branch.feeds)}")
    if tree.calendar.stage is Stage.LEAF_DROP:
        where += "; seal cuts over {3 mm}"
    notes: tuple[SideNote, ...] = ()
    if branch.phase not in FORKING and node_provisional(branch):
        notes = (SideNote(Act.LEAVE, "The first node is a little long: keep it for now"),)
    reason = reached_reason(branch)
    if branch.reached is None or branch.order > 1:
        reason = Reason(
            "It is thick enough for its parent",
            "fork step",
            branch.step,
            0.55,
            "",
            "common-practice",
            Grade.MEASURED,
        )
    flip = (
        "the buds there are dead" if branch.order > 1 else "a second reading finds the base thinner"
    )
    made = act(
        tree,
        branch,
        "cut back",
        what,
        where,
        (reason,),
        flip,
        works=(Work.CUT,),
        share=branch.leaf_share or 0.1,
        notes=notes,
        never=tuple(never),
        caution="blades",
    )
    return held(tree, branch, made, Work.CUT)


def _pair_place(branch: BranchFacts) -> str:
    if branch.pair_level is False:
        return "to the next pair that lies left and right, or keep one of the first and steer it"
    if branch.pair_level is None:
        return "{2 mm} to {4 mm} beyond the first pair that lies left and right"
    return "{2 mm} to {4 mm} beyond the first pair"


def node_kept(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Keep a node that is a little too long, and say that this is a compromise."""
    if not node_provisional(branch) or branch.phase in (Phase.TRUNK, Phase.REFINEMENT):
        return None
    return act(
        tree,
        branch,
        "node kept",
        Act.LEAVE,
        "keep it for now, as a compromise",
        (_node_reason(branch),),
        "a live shoot comes at the node inside",
        harm=Harm.NONE,
        look=next_look(tree),
    )
