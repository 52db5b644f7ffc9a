"""What was done lately is not asked for again: acts that a work on record has carried out.

Facts are read off a tree less often than works are done on it: a node may have been cut past and
its length still stand in the record. A work therefore rests the card that asked for it. How long
is common practice in the trade: structural cuts once a season, work on shoots and leaf once a
flush, pinching every few days while the flush runs.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Work
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from boughwright.verdicts.facts import BranchFacts, PastWork, TreeFacts
    from boughwright.verdicts.verdict import Verdict

PINCH_DAYS: Final = 2
"""A shoot is pinched within one to three days of its first pair, so a round comes again."""
FEED_DAYS: Final = 14
"""A dose lasts two weeks unless the label says otherwise (starting value). [d]"""
ROUND_DAYS: Final = 7
"""The round against disease is made each week while signs stand (starting value). [d]"""
GUARD_DAYS: Final = 7
"""Shade or cover put up so long before a threat begins still stands then. [d]"""


class Rest(Enum):
    """How long a card rests once its work was done."""

    FLUSH = "flush"
    SEASON = "season"


RESTS: Final[dict[Act, Rest]] = {
    Act.REMOVE: Rest.SEASON, Act.CUT_PAST: Rest.SEASON, Act.SWAP_LEADER: Rest.SEASON,
    Act.TWO: Rest.SEASON, Act.BUD_SELECT: Rest.SEASON, Act.RUB: Rest.SEASON,
    Act.RIM: Rest.SEASON, Act.NOTCH: Rest.SEASON,
    Act.SHORTEN: Rest.FLUSH, Act.CUT_TO_PAIR: Rest.FLUSH, Act.CUT_TO_LEAF: Rest.FLUSH,
    Act.WEAKEN: Rest.FLUSH, Act.LEAF_CLEAR: Rest.FLUSH, Act.LEAF_THIN: Rest.FLUSH,
    Act.LEAF_PAIR: Rest.FLUSH, Act.LEAF_FULL: Rest.FLUSH,
}  # fmt: skip
"""Acts that rest; what wire, guys and unions ask for is read off their own state."""

_INSIDE: Final = ("past", "inner shoot")
_ENDS: Final[dict[Act, tuple[str, ...]]] = {
    Act.REMOVE: ("base", "collar"),
    Act.CUT_PAST: _INSIDE,
    Act.SWAP_LEADER: _INSIDE,
    Act.CUT_TO_PAIR: ("pair",),
    Act.CUT_TO_LEAF: ("leaf",),
}
"""What a cut was made to, for each act that is a cut."""


def is_inside(to: str) -> bool:
    """Tell whether a cut took the first node with it: made past it, or to a shoot inside."""
    return to.startswith(_INSIDE)


def done_lately(tree: TreeFacts, branch: BranchFacts, verdict: Verdict) -> bool:
    """Tell whether the work a verdict asks for was done, so that its card rests.

    Parameters
    ----------
    tree, branch : facts
    verdict : Verdict
        As a card made it of these facts.
    """
    if branch.row < 0 or not verdict.works:
        return False
    return any(_carried_out(tree, verdict, past) for past in _works_on(tree, branch, verdict))


def _works_on(tree: TreeFacts, branch: BranchFacts, verdict: Verdict) -> Iterator[PastWork]:
    for past in tree.works:
        if past.row == branch.row and past.work in verdict.works and past.share != 0.0:
            yield past


def _carried_out(tree: TreeFacts, verdict: Verdict, past: PastWork) -> bool:
    if verdict.act is Act.PINCH:
        return (tree.today - past.on).days < PINCH_DAYS
    rest = RESTS.get(verdict.act)
    if rest is None or not (past.this_season if rest is Rest.SEASON else past.this_flush):
        return False
    return past.work is not Work.CUT or _same_cut(verdict.act, past)


def _same_cut(act: Act, past: PastWork) -> bool:
    """Tell whether a cut on record is the one an act asks for; a bare *cut* may be any."""
    if not past.to:
        return act is Act.SHORTEN or past.share is None
    return past.to.startswith(_ENDS.get(act, ()))


def last_on_tree(tree: TreeFacts, work: Work) -> date | None:
    """Return the last day a work was done on the whole tree, None when it never was."""
    for past in tree.works:  # newest first
        if past.work is work and past.row < 0 and not past.zone and past.share != 0.0:
            return past.on
    return None
