"""When a graft may be notched or severed: the gate that cards and questions share.

A thread graft needs an exit 1.3 times its entry; an approach graft needs wood above the union
1.15 times the feed below it, lips joined all round and a union that cannot be moved. Both need a
full season. Starting values of the trade.
"""

# ruff: noqa: PLR0911  (a rule of the trade is a row of guards, one return each)
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import GraftKind, Work
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import mm

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.facts import BranchFacts, TreeFacts

RATIO: Final = {GraftKind.THREAD: 1.30, GraftKind.APPROACH: 1.15}
FULL_YEAR_DAYS: Final = 340
_BARE_DAYS: Final = {
    Stage.LEAF_DROP: 250, Stage.EARLY_REST: 270, Stage.DEEP_REST: 300, Stage.SWELL: 330,
}  # fmt: skip
"""Days since grafting from which, in a bare stage, a whole season in leaf lies behind it."""


@dataclass(frozen=True, slots=True)
class GraftState:
    """Whether the gate is open, and why or why not.

    ``lost``: it moved or gapped, so it is never cut free. ``ask`` names the one fact that is
    missing, empty when none is.
    """

    open: bool
    lost: bool
    ask: str
    reason: Reason


def full_season(tree: TreeFacts, branch: BranchFacts, on: date) -> bool | None:
    """Return whether the graft has had a full season, None when its day is unknown."""
    if branch.grafted_on is None:
        return None
    days = (on - branch.grafted_on).days
    return days >= _BARE_DAYS.get(tree.calendar.stage, FULL_YEAR_DAYS)


def notch_gate(tree: TreeFacts, branch: BranchFacts, on: date) -> GraftState:
    """Return whether the feed of a graft may be notched."""
    if branch.union_gap or (branch.union_moves and branch.graft_kind is GraftKind.THREAD):
        what = "A gap shows at the union" if branch.union_gap else "The union moves"
        return GraftState(False, True, "", Reason(what, "union", grade=Grade.MEASURED))
    if branch.union_moves:
        return GraftState(
            False, True, "", Reason("The union still moves", "union", grade=Grade.MEASURED)
        )
    season = full_season(tree, branch, on)
    if season is False:
        text = "It has not had a full season"
        return GraftState(False, False, "", Reason(text, "age of the graft"))
    if branch.graft_kind is None:
        return _ask("say if it is a thread or an approach graft")
    need = RATIO[branch.graft_kind]
    if branch.exit_mm is None or branch.entry_mm is None:
        return _ask("measure the wood above the union and the feed below it")
    ratio = branch.exit_mm / branch.entry_mm
    reason = Reason(
        f"{mm(branch.exit_mm)} above the union over {mm(branch.entry_mm)} below is {ratio:.2f}; "
        f"it needs {need:.2f}",
        "exit over entry",
        ratio,
        need,
        "",
        "common-practice",
        Grade.MEASURED,
    )
    if ratio < need - 1e-9:
        return GraftState(False, False, "", reason)
    return _signs(branch, season, reason)


def _signs(branch: BranchFacts, season: bool | None, reason: Reason) -> GraftState:
    """Return the gate of a graft that is thick enough: what must still be seen."""
    if season is None:
        return _ask("say when it was grafted")
    if branch.graft_kind is GraftKind.THREAD:
        if branch.union_gap is None:
            return _ask("look for a gap at the union")
        return GraftState(True, False, "", reason)
    if branch.lips_joined is None:
        return _ask("look if the lips have joined all round")
    if not branch.lips_joined:
        return GraftState(False, False, "", Reason("The lips have not joined all round", "union"))
    if branch.union_moves is None:
        return _ask("try by hand if the union moves")
    return GraftState(True, False, "", reason)


def _ask(what: str) -> GraftState:
    return GraftState(False, False, what, Reason(f"One fact is missing: {what}", "union"))


def notched_weeks(tree: TreeFacts, branch: BranchFacts) -> float | None:
    """Return the weeks since its feed was last notched, None when it never was."""
    return next(
        (w.weeks_ago for w in tree.works if w.work is Work.NOTCH and w.row == branch.row), None
    )


def sever_gate(tree: TreeFacts, branch: BranchFacts, on: date) -> GraftState:
    """Return whether a graft may be cut free: the notch held three warm weeks with no wilt."""
    state = notch_gate(tree, branch, on)
    if not state.open:
        return state
    weeks = notched_weeks(tree, branch)
    if weeks is None:
        text = "Its feed has not been notched yet"
        return GraftState(False, False, "", Reason(text, "notch"))
    if weeks < 3:
        text = f"The notch is {weeks:.0f} weeks old; it needs three to six warm weeks"
        return GraftState(False, False, "", Reason(text, "notch", weeks, 3.0, "weeks"))
    if "wilt" in branch.signs or tree.wilting:
        return GraftState(False, False, "", Reason("It wilted after the notch", "wilt"))
    return state
