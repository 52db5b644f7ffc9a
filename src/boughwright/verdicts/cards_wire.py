"""Cards on wire: off now, off this week, look, keep, put on, and a guy instead."""

# ruff: noqa: PLR0911  (a rule of the trade is a row of guards, one return each)
from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import isnan
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Bark, Metal, Phase, Vigour, Work, Zone
from boughwright.season.clock import season_first
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.making import act, held, look_first
from boughwright.verdicts.rules import HARDENED, is_primary, is_weak, strength, sureness
from boughwright.verdicts.verdict import Act, Harm, Reason, Sureness, Verdict
from boughwright.verdicts.words import day, mm, percent
from boughwright.wire.off import LOOK_AT_REST_HOURS, OffPlan, wire_off

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts
    from boughwright.wire.window import WireWindow

WEEK: Final = timedelta(days=7)
GUY_FROM_MM: Final = 10.0
"""Wood thicker than this is pulled by a guy, not wired (common practice)."""
ALUMINIUM_SHARE: Final = 0.42
"""Aluminium that holds a branch, over the branch's diameter; the hold check comes after."""
STEEP_DEG: Final = 60.0
"""A primary this steep has no line yet (starting value)."""
_SEEN: Final = (
    "slides",
    "is snug",
    "shows a line",
    "has bitten",
    "has bitten deep",
    "is overgrown",
)
LOOK_BESIDE: Final = timedelta(hours=LOOK_AT_REST_HOURS)
LOOK_EVERY_DAYS: Final = 14
WIRE_STAGES: Final = HARDENED | {Stage.LEAF_DROP, Stage.EARLY_REST, Stage.DEEP_REST}


@cache
def _plan(grade: int, metal: Metal | None, bark: Bark | None) -> OffPlan:
    return wire_off(grade, metal, bark)


def _off(
    tree: TreeFacts,
    branch: BranchFacts,
    wire: WireWindow,
    reason: Reason,
    *,
    harm: Harm,
    card: str,
    flip: str,
) -> Verdict:
    """Return a *wire off*, with the method that its grade, metal and bark ask for."""
    grade = max(wire.seen_grade, wire.likely_grade, 0)
    plan = _plan(min(grade, 5), branch.wire_metal, branch.bark)
    never = plan.never + (
        ("Do nothing else to this branch today",) if is_weak(tree, branch) else ()
    )
    shoots = max(1, branch.wire_shoots)
    urgent = harm is Harm.IRREVERSIBLE
    latest = wire.off_by
    if urgent:
        latest = tree.today if latest is None or wire.seen_grade >= 3 else max(latest, tree.today)
    return act(
        tree,
        branch,
        card,
        Act.WIRE_OFF,
        plan.method.value,
        (reason,),
        flip,
        sure=Sureness.SURE
        if wire.seen_grade >= 3
        else sureness(tree, branch, wire.seen_on, branch.wire_metal),
        harm=harm,
        latest=latest,
        never=never,
        works=(Work.WIRE_OFF,),
        caution="wire ends",
        count=shoots,
    )


def harm_now(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Take wire off that has bitten, or whose off-by day has come; in any phase, on any tree."""
    wire = branch.wire
    if wire is None:
        return None
    if wire.seen_grade >= 3:
        reason = Reason(
            f"The wire {_SEEN[min(wire.seen_grade, 5)]}",
            "bite grade seen",
            wire.seen_grade,
            3.0,
            "",
            "common-practice",
            Grade.MEASURED,
        )
        return _off(
            tree,
            branch,
            wire,
            reason,
            harm=Harm.IRREVERSIBLE,
            card="wire bites",
            flip="a second look finds no bark sunk",
        )
    if wire.off_by is not None and wire.off_by <= tree.today:
        return _off(
            tree,
            branch,
            wire,
            _used(tree, wire),
            harm=Harm.IRREVERSIBLE,
            card="wire past its day",
            flip="a look today finds it slides",
        )
    return None


def _used(tree: TreeFacts, wire: WireWindow) -> Reason:
    _, used, most = wire.share_used
    if isnan(used) or isnan(most):
        return Reason(
            "How deep it sinks is not known: its species, gauge or growth is not on record",
            "sink used",
            None,
            1.0,
            "",
            "common-practice",
            Grade.GUESS,
        )
    by = f"; it should be off by {day(wire.off_by)}" if wire.off_by else ""
    if wire.off_by == season_first(tree.today, south=tree.calendar.south):
        by = "; it was due off before this season"
    seen = f"The wire {_SEEN[wire.seen_grade]}. " if wire.seen_grade >= 0 else ""
    return Reason(
        f"{seen}{percent(min(used, 9.99))} of the sink allowed is likely used, "
        f"{percent(min(most, 9.99))} at the worst{by}",
        "sink used",
        used,
        1.0,
        "",
        "starting-value",
        wire.grade,
    )


def due(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Take wire off that is due this week, or whose bend has set: waiting wins nothing then."""
    wire = branch.wire
    if wire is None:
        return None
    if wire.off_by is not None and wire.off_by <= tree.today + WEEK:
        return _off(
            tree,
            branch,
            wire,
            _used(tree, wire),
            harm=Harm.IRREVERSIBLE,
            card="wire due",
            flip="a look today finds it slides",
        )
    failing = strength(tree, branch) is Vigour.FAILING
    if wire.hold_from is not None and wire.hold_from <= tree.today and not failing:
        reason = Reason(
            f"The bend has likely set since {day(wire.hold_from)}",
            "set",
            source="starting-value",
            grade=wire.grade,
        )
        return _off(
            tree,
            branch,
            wire,
            reason,
            harm=Harm.IMPROVEMENT,
            card="wire set",
            flip="the branch springs back when one coil is cut",
        )
    return None


def before_cut(tree: TreeFacts, branch: BranchFacts, cut: Verdict) -> Verdict:
    """Take wire off a run that is about to be cut: it has nothing left to hold."""
    wire = branch.wire
    assert wire is not None
    reason = Reason(
        f"The wired part is to go: {cut.act.value}",
        cut.reasons[0].measure,
        cut.reasons[0].value,
        cut.reasons[0].limit,
    )
    return _off(
        tree, branch, wire, reason, harm=Harm.IMPROVEMENT, card="wire before cut", flip=cut.flip
    )


def look(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Look at wire whose first line may show this week, or that went on with wire that bit."""
    wire = branch.wire
    if wire is not None and branch.bitten_beside is not None:
        return look_first(
            tree,
            branch,
            "look at wire",
            "look at the wire and log its grade",
            f"Wire put on the same day had bitten on {day(branch.bitten_beside)}",
            measure="bite beside it",
            latest=max(branch.bitten_beside + LOOK_BESIDE, tree.today),
            harm=Harm.WINDOW,
            flip="the grade you see",
            grade=wire.grade,
        )
    if wire is None or wire.look_by is None or wire.look_by > tree.today + WEEK:
        return None
    if wire.seen_on is not None and wire.seen_on >= wire.look_by - WEEK:
        return None
    return look_first(
        tree,
        branch,
        "look at wire",
        "look at the wire and log its grade",
        _look_why(wire),
        measure="first line",
        latest=max(wire.look_by, tree.today),
        harm=Harm.WINDOW,
        flip="the grade you see",
        grade=wire.grade,
    )


def _look_why(wire: WireWindow) -> str:
    assert wire.look_by is not None
    early = wire.line.early
    if early is not None and early <= wire.look_by:
        return f"A first line may show from {day(early)}"
    return f"Such wire is looked at by {day(wire.look_by)}, whatever the forecast says"


def keep(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Keep wire that neither marks nor has set, and say when to look again."""
    wire = branch.wire
    if wire is None:
        return None
    ahead = [d for d in (wire.look_by, wire.off_by) if d is not None and d > tree.today]
    again = min([*ahead, tree.today + timedelta(days=LOOK_EVERY_DAYS)])
    soon = again <= tree.today + WEEK
    flip = "a line shows under the wire"
    if wire.wirings > 1:
        reason = Reason(
            f"A mark comes before the bend sets: plan {wire.wirings} wirings",
            "wirings",
            wire.wirings,
            1.0,
            "",
            "geometry",
            wire.grade,
        )
    else:
        reason = _used(tree, wire)
    return act(
        tree,
        branch,
        "keep wire",
        Act.KEEP_WIRE,
        f"next look {day(again)}",
        (reason,),
        flip,
        sure=sureness(tree, branch, wire.seen_on),
        harm=Harm.WINDOW if soon else Harm.NONE,
        latest=again if soon else None,
        look=again,
    )


def wire_on(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Wire a branch that has no line yet or sprang back; guy it when thick, bitten or too near."""
    steep = branch.elevation_deg is not None and branch.elevation_deg > STEEP_DEG
    if not steep and "sprang" not in branch.signs:
        return None
    if branch.wire is not None or branch.guyed or branch.phase in (None, Phase.TRUNK):
        return None
    if not is_primary(branch) or (branch.zone is Zone.APEX and steep) or branch.wanted is False:
        return None
    if tree.calendar.stage not in WIRE_STAGES or is_weak(tree, branch):
        return None
    reason = _need(branch, steep)
    if branch.base_mm is None:
        return look_first(tree, branch, "wire on", "caliper the base", reason.text, measure="base")
    bitten = branch.released_grade is not None and branch.released_grade >= 3
    if branch.base_mm > GUY_FROM_MM or bitten:
        why = (
            "The bark was bitten less than a year ago"
            if bitten
            else (f"Wood of {mm(branch.base_mm)} is pulled, not wired")
        )
        second = Reason(why, "base", branch.base_mm, GUY_FROM_MM, "mm")
        made = act(
            tree,
            branch,
            "guy",
            Act.GUY,
            "a padded guy to its middle; check it each month",
            (reason, second),
            "it holds its line by itself",
            works=(Work.GUY_ON,),
            caution="bending force",
            never=("No wire on this run until the bark is level",) if bitten else (),
        )
        return held(tree, branch, made, Work.GUY_ON)
    gauge = mm(branch.base_mm * ALUMINIUM_SHARE)
    made = act(
        tree,
        branch,
        "wire on",
        Act.WIRE_ON,
        f"aluminium of about {gauge}, coils at 45 to 55°, first coil on the outside of the bend",
        (reason,),
        "it holds its line by itself",
        works=(Work.WIRE_ON,),
        share=branch.leaf_share or 0.1,
        caution="wire ends",
        never=("No coil may cross a union or a fresh cut",),
    )
    return held(tree, branch, made, Work.WIRE_ON)


def _need(branch: BranchFacts, steep: bool) -> Reason:
    if steep:
        up = branch.elevation_deg
        return Reason(
            f"It stands {up:.0f}° above level and has no line yet",
            "angle",
            up,
            STEEP_DEG,
            "degrees",
            "starting-value",
            Grade.MEASURED,
        )
    seen: date = branch.signs["sprang"]
    return Reason(f"Its bend sprang back on {day(seen)}", "sign", grade=Grade.MEASURED)
