"""Cards on growth: a live job, let run, shorten by half, raise a weak branch, look at a base."""

# ruff: noqa: PLR0911  (a rule of the trade is a row of guards, one return each)
from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Job, Kind, Phase, Vigour, Work, Zone
from boughwright.sources import Grade
from boughwright.verdicts.making import act, base_flip, held, look_first, next_look, reached_reason
from boughwright.verdicts.rules import (
    HARDENED,
    IN_LEAF,
    LARGE_WOUND,
    MAKING,
    NEARLY,
    SHORTEN,
    THICK,
    at_line,
    is_primary,
    job_live,
    node_limit,
    node_over,
    thick_enough,
)
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Verdict
from boughwright.verdicts.words import listed, mm, percent, plural

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

TIP_ON: Final = ("Do not cut or pinch its tip", "Do not take leaf from it")
GUY_FROM_MM: Final = 10.0

_SERVES: Final = {
    Job.THICKEN: "It is kept to thicken",
    Job.SACRIFICE: "It is grown to thicken the wood below it",
    Job.SCAR_HELPER: "It helps a scar to close",
    Job.GRAFT_FEEDER: "It feeds a graft",
    Job.GRAFT_WHIP: "It is grown as a whip for a graft",
    Job.REPLACEMENT: "It is to take over the lead",
}
_UNTIL: Final = {
    Job.THICKEN: "its base is thick enough",
    Job.SACRIFICE: "that wood is thick enough",
    Job.SCAR_HELPER: "the scar has closed",
    Job.GRAFT_FEEDER: "the graft is weaned",
    Job.GRAFT_WHIP: "the graft is made",
    Job.REPLACEMENT: "it leads",
}


def live_job(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Keep the tip of a branch that has a job, until the job's end is met."""
    job = branch.job
    if job is None or not job_live(branch):
        return None
    if job is Job.THICKEN and branch.job_until_base_mm is None and branch.reached is not None:
        return None  # thickening by its own target: the card that follows says how far it is
    until = _UNTIL[job]
    if branch.job_until_base_mm is not None:
        until = f"the base reaches {mm(branch.job_until_base_mm)}"
    serves = f" ({branch.job_for})" if branch.job_for else ""
    reason = Reason(
        _SERVES[job] + serves,
        "job",
        branch.base_mm,
        branch.job_until_base_mm,
        "mm",
        "grower",
        Grade.MEASURED,
    )
    return act(
        tree,
        branch,
        "job",
        Act.LET_RUN,
        "tip on, leaf on",
        (reason,),
        until,
        harm=Harm.NONE,
        never=TIP_ON,
        notes=_stages(branch),
    )


def _stages(branch: BranchFacts) -> tuple[SideNote, ...]:
    """Say beforehand that a sacrifice this thick is taken off in stages."""
    if branch.job is not Job.SACRIFICE or branch.step is None or branch.step <= LARGE_WOUND:
        return ()
    text = (
        "When its job is done take it off in two or three stages: it is over a third of the trunk"
    )
    return (SideNote(Act.REMOVE, text),)


def contradiction(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Look again where two records of a branch cannot both be right."""
    if not branch.contradictions:
        return None
    return look_first(
        tree,
        branch,
        "contradiction",
        "measure it again at the marked spot",
        branch.contradictions[0],
        measure="record",
        flip="the new reading settles which record is wrong",
    )


def thicken(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Let a wanted primary run while its base is thin: raised if weak, halved when nearly there."""
    if not is_primary(branch) or branch.wanted is False:
        return None
    if branch.phase is Phase.REFINEMENT and branch.job is not Job.THICKEN:
        return None
    thick = thick_enough(branch)
    if thick is None:
        return _look_base(tree, branch)
    if thick:
        return None
    if branch.zone is Zone.APEX and node_over(branch) and branch.bud_inside is not False:
        return None  # in the apex a long first node goes now, thin or not
    assert branch.reached is not None
    if _is_weak_part(tree, branch) and not at_line(branch.reached, branch.reached_was, NEARLY):
        raised = _raise(tree, branch)
        if raised is not None:
            return raised
    if at_line(branch.reached, branch.reached_was, SHORTEN):
        half = _shorten(tree, branch)
        if half is not None:
            return half
    return _let_run(tree, branch)


def _look_base(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    if branch.phase is not None and branch.phase not in MAKING:
        return None
    if branch.base_mm is None or branch.trunk_mm is None:
        how = "caliper its base and the trunk beside it"
        if branch.base_mm is not None:
            how = "caliper the trunk beside it"
        elif branch.trunk_mm is not None:
            how = "caliper its base"
        return look_first(
            tree,
            branch,
            "look at base",
            how,
            "It is not known if its base is thick enough",
            measure="base reached",
        )
    how = "say how high on the trunk it starts"
    if tree.height_mm is None:
        how = "measure the tree from the soil to its outline"
    return look_first(
        tree, branch, "look at base", how, "Its target is not known", measure="height"
    )


def _is_weak_part(tree: TreeFacts, branch: BranchFacts) -> bool:
    if "weak" in branch.signs:
        return True
    if branch.vigour is None or branch.vigour > Vigour.STEADY:
        return False
    return branch.vigour is Vigour.WEAK or tree.vigour is None or branch.vigour < tree.vigour


def _raise(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Raise a weak branch; None when it is raised already or its stage is wrong."""
    if branch.guyed or tree.calendar.stage not in IN_LEAF:
        return None
    if branch.elevation_deg is not None and branch.elevation_deg >= 30.0:
        return None
    cause = f"It is weak and {branch.shaded_by} shades it" if branch.shaded_by else "It is weak"
    notes: tuple[SideNote, ...] = ()
    if branch.shaded_by:
        notes = (SideNote(Act.WEAKEN, f"Thin the outer leaf of {branch.shaded_by} above it"),)
    reasons = (reached_reason(branch), Reason(cause, "local strength", grade=Grade.MEASURED))
    made = act(
        tree,
        branch,
        "raise",
        Act.RAISE,
        "lift its end by a guy to 30 to 60° above level, full leaf; turn it to the sun",
        reasons,
        base_flip(branch),
        harm=Harm.FEEDS,
        works=(Work.RAISE,),
        notes=notes,
        caution="bending force",
        never=(*TIP_ON, "Do not move shaded leaf into full sun at once"),
    )
    return held(tree, branch, made, Work.RAISE)


def _shorten(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Shorten by half from nine tenths; None outside the hard stages or when done already."""
    if branch.running is False or tree.calendar.stage not in HARDENED:
        return None
    if branch.phase is None or branch.zone is None or branch.feeds:
        return None
    made = act(
        tree,
        branch,
        "shorten",
        Act.SHORTEN,
        "half the length of the running shoot",
        (reached_reason(branch),),
        base_flip(branch),
        works=(Work.CUT,),
        share=0.5 * (branch.leaf_share or 0.1),
        never=("Do not cut to the pair yet",),
        caution="blades",
    )
    made = held(tree, branch, made, Work.CUT, share=0.5)
    return made if made.act is Act.SHORTEN else None


def _let_run(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    reasons = [reached_reason(branch)]
    if branch.seasons_to_target is not None:
        seasons = max(1, round(branch.seasons_to_target))
        reasons.append(
            Reason(
                f"About {plural(seasons, 'season')} more at this rate",
                "seasons to target",
                branch.seasons_to_target,
                None,
                "seasons",
                "starting-value",
                Grade.GUESS,
            )
        )
    where = "tip on, leaf on; keep its inner two or three nodes in light"
    if node_over(branch):
        share, limit = branch.internode_share, node_limit(branch)
        assert share is not None
        reasons.append(
            Reason(
                f"Its first node takes {percent(share)} of the room; {percent(limit)} is the most",
                "internode share",
                share,
                limit,
                "",
                "starting-value",
                Grade.MEASURED,
            )
        )
        where += f". Marked to cut past when {base_flip(branch)}"
    if branch.base_mm is not None and branch.base_mm > GUY_FROM_MM and branch.wire is None:
        where += "; set its angle by a guy, not by wire"
    never: tuple[str, ...] = TIP_ON
    if branch.shades and tree.calendar.stage in IN_LEAF:
        where += f". It shades {listed(branch.shades)}: turn the tree or guy it aside"
        never = ("Do not cut or pinch its tip",)
    look = next_look(tree)
    if branch.zone is Zone.APEX and tree.calendar.stage in IN_LEAF:
        where += "; an apex shoot gets a look every two weeks"
        look = tree.today + timedelta(days=14)
    return act(
        tree,
        branch,
        "let run",
        Act.LET_RUN,
        where,
        tuple(reasons),
        base_flip(branch, SHORTEN if _halves(branch) else THICK),
        harm=Harm.NONE,
        never=never,
        look=look,
    )


def _halves(branch: BranchFacts) -> bool:
    return branch.kind is Kind.BRANCH and branch.reached is not None and branch.reached < SHORTEN
