"""Feed advice from the facts of one tree."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from boughwright.feed.hold import FeedAdvice, FeedState, advice
from boughwright.journal.terms import Work
from boughwright.season.stages import Stage
from boughwright.verdicts.rules import stage_on, stage_start, strength

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.facts import TreeFacts

RUNNING_CD: Final = 60.0
CLOSING_CD: Final = 250.0
"""Warmth since leaf-out at which shoots start to run, and at which they close. [°C d]"""
STANDS_S: Final = 30.0


def extended(tree: TreeFacts) -> float | None:
    """Return the share of the first flush's length that is out, None before leaf-out."""
    warmth = tree.calendar.warmth_since_leaf_out_cd
    if math.isnan(warmth):
        return None
    return min(1.0, max(0.0, (warmth - RUNNING_CD) / (CLOSING_CD - RUNNING_CD)))


def late_share(tree: TreeFacts, on: date) -> float | None:
    """Return the share of late thickening that lies behind, None when its ends are unknown."""
    starts = tree.calendar.starts
    first, last = starts.get(Stage.LATE_THICKENING), starts.get(Stage.COLOUR)
    if first is None or last is None or first.likely is None or last.likely is None:
        return None
    span = (last.likely - first.likely).days
    return (on - first.likely).days / span if span > 0 else None


def feed_advice(tree: TreeFacts, on: date) -> FeedAdvice:
    """Return the feed advice for a tree on a day."""
    look = tree.outlook
    hot_day = look.hot_from is not None and look.hot_from <= on <= (look.hot_to or look.hot_from)
    ahead = (on - tree.today).days / 7.0
    bare = [w.weeks_ago + ahead for w in tree.works if w.work is Work.LEAF_FULL and w.this_season]
    mix = tree.phase_mix or ({tree.phase: 1.0} if tree.phase is not None else {})
    weeks = tree.weeks_since_repot if tree.repot_this_season else None
    return advice(
        FeedState(
            on=on,
            stage=stage_on(tree, on),
            phase_mix=mix,
            show_phase=tree.show_phase or (tree.apex_phase if not mix else None),
            vigour=strength(tree),
            repot_weeks=None if weeks is None else weeks + ahead,
            extended=extended(tree),
            late_share=late_share(tree, on),
            t_max_c=look.t_max_10d_c if hot_day else None,
            hot_to=look.hot_to,
            wilting=tree.wilting,
            saturated=tree.drain_s is not None and tree.drain_s > STANDS_S,
            bare_weeks=min(bare, default=None),
            hard_from=stage_start(tree, Stage.HARD, on),
        )
    )
