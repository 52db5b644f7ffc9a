"""May I do this work on this day? The whole answer: condition, toll, pairs and quiet time.

Wire that bites and sick wood always come off; nothing here stands in their way.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.pairs import heavy_of, pairs
from boughwright.benchwork.quiet import quiet
from boughwright.benchwork.toll import (
    LEAF,
    MEDIUM,
    ONE_BRANCH,
    UNSAID,
    Load,
    Toll,
    points,
    toll_of,
    weight_word,
)
from boughwright.journal.terms import Kind, Vigour, Work
from boughwright.sources import Grade
from boughwright.verdicts.answer import Answer, Say, strictest
from boughwright.verdicts.conditions import may
from boughwright.verdicts.rules import strength
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import day, listed

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from boughwright.benchwork.pairs import Done
    from boughwright.journal.terms import GraftKind
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

_SICK: Final = ("canker", "dead")
AFTER_HEAT_C: Final = 29.0
_TIPS: Final = frozenset({Work.CUT, Work.PINCH, Work.TWO, Work.RUB})


def load_of(
    branch: BranchFacts | None, work: Work, share: float | None, *, hard: bool = False,
    structural: bool = False, graft: GraftKind | None = None,
) -> Load:  # fmt: skip
    """Return a work as the toll sees it; the part of the crown is that of the branch.

    ``share`` is of the branch when one is named, else of the tree. A cut on one branch with no
    share is structural.
    """
    chop = hard and branch is not None and branch.kind is Kind.TRUNK
    bears = (
        1.0 if branch is None else ONE_BRANCH if branch.leaf_share is None else branch.leaf_share
    )
    if work in LEAF or work is Work.REPOT:
        return Load(work, share, bears, hard)
    if work is Work.CUT and branch is not None and share is None:
        structural = True
    if share is None:
        share = UNSAID if branch is None and work is not Work.LEAF_FULL else 1.0
    return Load(work, share, share * bears, hard, structural, chop, graft)


def must(branch: BranchFacts | None, work: Work) -> bool:
    """Return whether a work is done whatever the tree bears: biting wire off, sick wood out."""
    if branch is None:
        return False
    if work is Work.CUT:
        return any(sign in branch.signs for sign in _SICK)
    return work is Work.WIRE_OFF and branch.wire is not None and branch.wire.seen_grade >= 3


def toll_answer(tree: TreeFacts, toll: Toll, cost: float, on: date) -> Answer | None:
    """Refuse a work the tree has no points for, with the day that frees them.

    Parameters
    ----------
    tree : TreeFacts
    toll : Toll
        As of any day.
    cost : float
        Points the work costs.
    on : date
        The day asked about.
    """
    if cost <= 0 or toll.fits(cost, on):
        return None
    if toll.bears is None:
        text = f"Its strength is not known, and this is a {weight_word(cost)} work"
        return Answer(Say.NOT_NOW, (_points(text, cost, MEDIUM),), None,
                      "you look and say how strong it is")  # fmt: skip
    if toll.bears <= Vigour.WEAK:
        text = toll.why or f"It is {toll.bears.word}: only works that cost it nothing"
        return Answer(Say.NOT_NOW, (_points(text, cost, 0.0),), None, "one good flush is over",
                      "let it run and feed as advised")  # fmt: skip
    if cost > toll.six_weeks:
        text = f"This takes {_n(cost)} points of toll; it bears {_n(toll.six_weeks)} in six weeks"
        return Answer(Say.NOT_NOW, (_points(text, cost, toll.six_weeks),), None,
                      "it is split in two or it grows stronger", "do it in stages")  # fmt: skip
    frees = toll.frees_on(cost, on)
    season, recent = toll.used_on(on)
    if season + cost > toll.room + 1e-9:
        text = (
            f"It has spent {_n(season)} of the {_n(toll.room)} points of toll it bears this season"
        )
        limit = toll.room
    else:
        text = f"It has spent {_n(recent)} of the {_n(toll.six_weeks)} points of toll "
        text += "it bears in six weeks"
        limit = toll.six_weeks
    text += f"; this takes {_n(cost)}"
    return Answer(Say.NOT_NOW, (_points(text, cost, limit),), frees,
                  f"enough is free on {day(frees)}" if frees else "")  # fmt: skip


def toll_left(toll: Toll, cost: float, on: date) -> Reason | None:
    """Return the sentence of what is left, None while the tree's strength is unknown."""
    if toll.season is None:
        return None
    season, recent = toll.used_on(on)
    left = max(0.0, toll.season - season)
    six = max(0.0, min(toll.six_weeks - recent, left))
    text = f"{_n(left)} of {_n(toll.season)} points of toll are left this season, "
    text += f"{_n(six)} in these six weeks"
    return _points(f"{text}; this takes {_n(cost)}", cost, six)


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _points(text: str, value: float, limit: float) -> Reason:
    return Reason(text, "toll", value, limit, "points", "starting-value", Grade.GUESS)


def feeder(branch: BranchFacts | None, work: Work, *, whole: bool) -> Answer | None:
    """Refuse to take a branch off that feeds a graft or a scar; warn on a trim."""
    if branch is None or not branch.feeds or work not in _TIPS:
        return None
    text = f"A shoot of it feeds {listed(branch.feeds)}"
    reason = Reason(text, "job", source="grower")
    if whole:
        return Answer(Say.NOT_NOW, (reason,), None, f"{listed(branch.feeds)} can do without it",
                      "keep the shoot that feeds and trim the rest")  # fmt: skip
    return Answer(Say.YES, (replace(reason, text=f"{text}: keep that shoot whole"),))


def seen_on(tree: TreeFacts, on: date) -> TreeFacts:
    """Return the tree as it is asked about on a later day: heat that is over by then is forgotten.

    The forecast gives one highest day, that of the spell; beyond the spell it warns of nothing.
    """
    look = tree.outlook
    over = look.hot_to if look.hot_to is not None else look.hot_from
    if over is None or on <= over or look.t_max_10d_c is None:
        return tree
    calm = replace(look, t_max_10d_c=min(look.t_max_10d_c, AFTER_HEAT_C))
    return replace(tree, outlook=calm)


def wire_first(branch: BranchFacts | None, work: Work) -> Answer | None:
    """Put wire off before a cut, a leaf work or a pinch on the same branch."""
    if branch is None or branch.wire is None or work not in _TIPS | LEAF:
        return None
    text = "Take its wire off first: wire hides what to cut"
    return Answer(Say.YES, (Reason(text, "order of works"),))


def may_i(
    tree: TreeFacts,
    branch: BranchFacts | None,
    work: Work,
    on: date | None = None,
    share: float | None = None,
    *,
    hard: bool = False,
    structural: bool = False,
    graft: GraftKind | None = None,
    planned: Iterable[Done] = (),
    toll: Toll | None = None,
    cost: float | None = None,
) -> Answer:
    """Say whether a work may be done, counting what the tree has been through.

    Parameters
    ----------
    tree : TreeFacts
    branch : BranchFacts, optional
        None asks for the tree as a whole.
    work : Work
    on : date, optional
        The day; today when not given.
    share : float, optional
        0..1 of the leaf, shoots or roots of the branch or tree it takes.
    hard : bool
        A wound over a third of the trunk, a strong bend, or over 30 % of the roots.
    structural : bool
        A cut that shapes the branch for good.
    graft : GraftKind, optional
        For grafts.
    planned : iterable of Done
        Heavy works already on the list.
    toll : Toll, optional
        The tree's toll when works on a list are to be counted too.
    cost : float, optional
        Points it adds to a sitting already planned; what it costs alone when not given.

    Returns
    -------
    Answer
        The strictest of all rules. A yes carries what toll is left.
    """
    when = tree.today if on is None else on
    tree = seen_on(tree, when)
    first = may(tree, branch, work, share=share, hard=hard, on=when)
    if must(branch, work):
        return first
    load = load_of(branch, work, share, hard=hard, structural=structural, graft=graft)
    counted = toll_of(tree, when) if toll is None else toll
    cost = points(load) if cost is None else cost
    row = -1 if branch is None else branch.row
    answers = [first, feeder(branch, work, whole=structural or hard), wire_first(branch, work)]
    answers += pairs(tree, heavy_of(work, share, hard=hard), when, row=row, planned=planned)
    if cost > 0:
        answers.append(quiet(tree, row, work, when))
    bears = strength(tree, branch)
    if bears is None or bears > Vigour.WEAK:  # else its condition has said all there is to say
        answers.append(toll_answer(tree, counted, cost, when))
    whole = strictest([a for a in answers if a is not None])
    left = toll_left(counted, cost, when) if cost > 0 else None
    if left is not None and whole.say is Say.YES:
        whole = replace(whole, reasons=(*whole.reasons, left))
    return replace(whole, caution=first.caution)
