"""Quiet time: how long a tree, or a part of it, is left in peace after a work, and what ends it.

Quiet time is counted in weeks of growth. It never holds up works that cost nothing, nor the rest
of the same round within a week. Works done while bare hold into leaf only when they took roots,
a large limb or made a graft. Common practice in the trade; of a range the cautious end.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.toll import (
    FREE,
    LEAF,
    UNSAID,
    Load,
    past_load,
    points,
)
from boughwright.journal.terms import Work
from boughwright.season.stages import Stage
from boughwright.verdicts.answer import Answer, Say
from boughwright.verdicts.rules import BARE, stage_on, stage_start
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.facts import PastWork, TreeFacts

SAME_ROUND_DAYS: Final = 7
SEASON_WEEKS: Final = 52.0
BACK: Final = {
    Work.CUT: "buds open at the cuts", Work.TWO: "new tips move", Work.PINCH: "new tips move",
    Work.BUD_SELECT: "new tips move", Work.WIRE_ON: "tips move and no shoot is limp",
    Work.LEAF_CLEAR: "new leaf has opened and coloured",
    Work.LEAF_THIN: "new leaf has opened and coloured",
    Work.LEAF_PAIR: "new leaf has opened and coloured", Work.LEAF_FULL: "the second leaf is hard",
    Work.GRAFT_IN: "the whip grows", Work.GRAFT_ON: "the whip grows",
    Work.NOTCH: "it stands a hot day with no wilt", Work.SEVER: "it stands a hot day with no wilt",
    Work.RIM: "the rim swells", Work.REPOT: "it grows as usual and stands firm in its pot",
}  # fmt: skip
"""Back to work when you see this."""
LARGE_BACK: Final = "strong shoots grow near the wound"
_LOCAL_WEEKS: Final = {
    Work.GRAFT_IN: 4.0, Work.GRAFT_ON: 4.0, Work.NOTCH: 2.0, Work.SEVER: 2.0, Work.RIM: 3.0,
}  # fmt: skip
_WIRE_WEEKS: Final = ((1.0, 1.0), (2.0, 3.0), (9.0, 6.0))
_LEAF_WEEKS: Final = ((0.30, 2.0), (0.60, 4.0), (1.01, 6.0))
_CARRY: Final = frozenset({Work.REPOT, Work.GRAFT_IN, Work.GRAFT_ON})


def quiet_weeks(load: Load) -> float:
    """Return the weeks of growth a part is left in peace after a work."""
    work = load.work
    if work in FREE or work in (Work.TWO, Work.PINCH, Work.BUD_SELECT):
        return 0.0
    if work in LEAF:
        dose = UNSAID if load.dose is None else load.dose
        return next(weeks for limit, weeks in _LEAF_WEEKS if dose < limit)
    if work is Work.WIRE_ON:
        return next(weeks for limit, weeks in _WIRE_WEEKS if points(load) <= limit)
    if load.chop or (work is Work.REPOT and (load.dose or 0.0) > 0.5):
        return SEASON_WEEKS
    if work is Work.CUT and not load.hard:
        return 4.0 if points(load) >= 2.0 else 1.0
    return _LOCAL_WEEKS.get(work, 8.0)


def back_when(load: Load) -> str:
    """Return the sign that ends a quiet time, empty where there is none."""
    if load.work is Work.CUT and (load.hard or load.chop):
        return LARGE_BACK
    return BACK.get(load.work, "")


def quiet(tree: TreeFacts, row: int, work: Work, on: date) -> Answer | None:
    """Refuse a work while the tree, or this branch, is still in a quiet time.

    Parameters
    ----------
    tree : TreeFacts
    row : int
        Row of the branch, -1 for the whole tree.
    work : Work
    on : date
    """
    if work in FREE or stage_on(tree, on) in BARE:
        return None
    for past in tree.works:
        ends = _ends(tree, past, row, work, on)
        if ends is None:
            continue
        when, load = ends
        text = f"It is left in peace after the {past.work.value} of {day(past.on)}"
        return Answer(Say.NOT_NOW, (Reason(text, "weeks since", past.weeks_ago,
                                           quiet_weeks(load), "weeks"),),
                      when, back_when(load))  # fmt: skip
    return None


def _ends(
    tree: TreeFacts, past: PastWork, row: int, work: Work, on: date
) -> tuple[date, Load] | None:
    """Return when the quiet time of a past work ends, None when it does not hold this work."""
    if past.work in FREE or past.on >= on or not past.this_season:
        return None
    if past.work is work and (on - past.on).days <= SAME_ROUND_DAYS:
        return None
    load = past_load(past)
    whole = past.row < 0 or load.hard or past.work in (Work.REPOT, Work.LEAF_FULL)
    if past.work in _LOCAL_WEEKS:
        whole = False
    if not whole and past.row != row:
        return None
    weeks = quiet_weeks(load)
    if past.work is Work.REPOT and load.hard and weeks < SEASON_WEEKS:
        hard = stage_start(tree, Stage.HARD, past.on)
        end = hard or past.on + timedelta(weeks=weeks)
    else:
        end = _from(tree, past, load) + timedelta(weeks=weeks)
    return (end, load) if end > on else None


def _from(tree: TreeFacts, past: PastWork, load: Load) -> date:
    """Return the day from which growth counts: leaf-out, for works that carry over from rest."""
    leaf = tree.calendar.leaf_out.likely
    carries = past.work in _CARRY or load.hard
    return leaf if carries and leaf is not None and leaf > past.on else past.on
