"""Plain, safe cards on grafts and scar rims."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Kind, Work
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.answer import Say
from boughwright.verdicts.conditions import may
from boughwright.verdicts.grafting import GraftState, notch_gate, notched_weeks, sever_gate
from boughwright.verdicts.making import act, held, look_first
from boughwright.verdicts.rules import BARE, HARDENED
from boughwright.verdicts.verdict import Act, Harm, Reason, Sureness, Verdict
from boughwright.verdicts.words import mm, percent, plural

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

MONTH: Final = timedelta(days=30)
UNION_NEVER: Final = (
    "No wire within {50 mm} of the union",
    "Do not move, cut or prune it",
)
REFRESH_BELOW: Final = 0.10
"""A rim that closes less than this share of the open width a year has stalled."""
LEAVE_FROM: Final = 0.15


def graft(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Leave a graft, notch its feed, or cut it free: never before its gate is open."""
    if branch.kind is not Kind.GRAFT or branch.weaned:
        return None
    state = notch_gate(tree, branch, tree.today)
    if "gap" in branch.signs or state.lost:
        reason = state.reason if state.lost else Reason("A gap shows at the union", "union")
        return act(
            tree,
            branch,
            "graft lost",
            Act.GRAFT_WAIT,
            "leave it and plan a new graft",
            (reason,),
            "the union closes and holds",
            harm=Harm.NONE,
            never=("Never cut its feed", *UNION_NEVER),
            look=tree.today + MONTH,
        )
    if state.ask and tree.calendar.stage in HARDENED:
        return look_first(
            tree,
            branch,
            "graft",
            state.ask,
            state.reason.text,
            measure="union",
            flip="it moves: then leave it; if it cannot be moved, it may be notched",
        )
    if not state.open:
        return _wait(tree, branch, state)
    if notched_weeks(tree, branch) is not None:
        return _sever(tree, branch)
    return _notch(tree, branch, state)


def _wait(tree: TreeFacts, branch: BranchFacts, state: GraftState, where: str = "") -> Verdict:
    return act(
        tree,
        branch,
        "graft",
        Act.GRAFT_WAIT,
        where or "look for a gap once a month",
        (state.reason,),
        "the wood beyond the union is thick enough and it cannot be moved",
        sure=Sureness.LIKELY,
        harm=Harm.NONE,
        never=UNION_NEVER,
        look=tree.today + MONTH,
    )


def _notch(tree: TreeFacts, branch: BranchFacts, state: GraftState) -> Verdict:
    answer = may(tree, branch, Work.NOTCH)
    if answer.say is not Say.YES and answer.from_date is None:
        if tree.calendar.stage in BARE or tree.calendar.stage is Stage.LEAF_DROP:
            return _wait(
                tree,
                branch,
                state,
                "ready; rest is no time to cut. Notch it once the "
                "next flush is hard, cut it free three to six weeks later",
            )
        waits = GraftState(False, False, "", answer.reasons[0])
        return _wait(tree, branch, waits, f"ready, once {answer.condition or 'that is over'}")
    made = act(
        tree,
        branch,
        "notch",
        Act.NOTCH,
        "a third of the feed below the union, if your hand cannot move the union",
        (state.reason,),
        "the union moves, or a gap shows",
        harm=Harm.FEEDS,
        works=(Work.NOTCH,),
        caution="blades",
        look=tree.today + MONTH,
        never=("Do not cut the feed through", *UNION_NEVER),
    )
    return held(tree, branch, made, Work.NOTCH)


def _sever(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    state = sever_gate(tree, branch, tree.today)
    if not state.open:
        return _wait(tree, branch, state, "leave it in shade; look for wilt on hot days")
    answer = may(tree, branch, Work.SEVER)
    if answer.say is not Say.YES and answer.from_date is None:
        waits = GraftState(False, False, "", answer.reasons[0])
        return _wait(tree, branch, waits, f"ready, once {answer.condition or 'that is over'}")
    made = act(
        tree,
        branch,
        "sever",
        Act.SEVER,
        "the feed, flush at the union; two weeks of shade after",
        (state.reason,),
        "it wilts on a hot day",
        harm=Harm.FEEDS,
        works=(Work.SEVER,),
        caution="blades",
        never=("Do not wire it this season",),
    )
    return held(tree, branch, made, Work.SEVER)


def rim(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Refresh a rim that has stalled, leave one that closes, look next season between."""
    if branch.kind is not Kind.SCAR:
        return None
    now, was, years = branch.open_mm, branch.open_was_mm, branch.open_years
    if now is None or was is None or not years:
        how = "measure how wide the scar is open"
        if now is not None:
            how = "measure how wide the scar is open again next season"
        return look_first(
            tree,
            branch,
            "scar",
            how,
            "It is not known how fast it closes",
            measure="rim a year",
            harm=Harm.COSMETIC,
        )
    if now <= 0:
        return None
    yearly = (was - now) / years
    share = yearly / was
    reason = Reason(
        f"The rim closed {mm(was - now)} of {mm(was)} in {plural(round(years), 'season')}, "
        f"{percent(max(share, 0))} a year; {_closing(now, yearly)}",
        "rim a year",
        share,
        REFRESH_BELOW,
        "",
        "common-practice",
        Grade.MEASURED,
    )
    if share >= REFRESH_BELOW:
        where = "leave it to close" if share >= LEAVE_FROM else "look at it again next season"
        return act(
            tree,
            branch,
            "scar",
            Act.LEAVE,
            where,
            (reason,),
            "the rim stops for a season",
            harm=Harm.NONE,
            look=tree.today + timedelta(days=365 if share < LEAVE_FROM else 180),
        )
    made = act(
        tree,
        branch,
        "rim",
        Act.RIM,
        "pare {1 mm} to {2 mm} of the rim to green, level or a little "
        "hollow, and seal it; a third of the girth at most",
        (reason,),
        "the rim moves by itself this season",
        works=(Work.RIM,),
        caution="blades",
        never=("Do not refresh it in a wet spell or in heat", "Keep the shoot that helps the scar"),
    )
    return held(tree, branch, made, Work.RIM)


def _closing(now: float, yearly: float) -> str:
    if yearly <= 0:
        return "it does not close at this rate"
    return f"closed in about {plural(max(1, round(now / yearly)), 'season')} at this rate"
