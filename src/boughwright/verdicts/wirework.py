"""The conditions of putting wire on: bark, sap, weather, and what the tree has been through.

Common practice in the trade. Wire near a graft that is not weaned is refused with all that moves
a union, in `boughwright.verdicts.conditions`.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Work
from boughwright.season.stages import Stage
from boughwright.verdicts.asking import (
    WET_DISEASE,
    Asked,
    Check,
    hot_now,
    hot_soon,
    not_now,
    sick,
)
from boughwright.verdicts.rules import SOFT, is_primary, stage_start, trait_number, trait_word
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from boughwright.verdicts.answer import Answer
    from boughwright.verdicts.facts import BranchFacts

WOODY_MM: Final = 3.0
"""A primary from this base on is woody (starting value)."""
REST_WEEKS: Final = 2.0
"""A run that wire has lined rests this long before new wire."""


def weather(asked: Asked) -> Answer | None:
    """Keep strong bends ten days off heat and off hard frost, and all wire off hot days."""
    low = asked.tree.outlook.t_min_10d_c
    if asked.hard and low is not None and low <= -5.0:
        text = "Frost of -5 °C or less comes; a fresh strong bend needs 14 days without it"
        return not_now(
            text,
            condition="14 days without such frost",
            reason=Reason(text, "lowest of ten days", low, -5.0, "°C"),
        )
    return hot_soon(asked) if asked.hard else hot_now(asked)


def no_wire_yet(asked: Asked) -> Answer | None:
    """Refuse a second wire on a run that still carries one."""
    branch = asked.branch
    if branch is None or branch.wire is None or branch.wire_on is None:
        return None
    return not_now(
        f"Wire is on it since {day(branch.wire_on)}",
        condition="that wire is off and no mark shows",
        instead="look at the wire that is on",
    )


def bark_ready(asked: Asked) -> Answer | None:
    """Refuse new wire on bark just let out of a bite; a lined run rests two weeks."""
    branch = asked.branch
    if branch is None or branch.released_grade is None or branch.released_grade < 2:
        return None
    if branch.released_grade >= 3:
        text = "The bark was bitten less than a year ago"
        return not_now(
            text,
            condition="the lips are level",
            instead="hold it by a guy",
            reason=Reason(text, "grade at wire off", branch.released_grade, 3.0),
        )
    off = next(
        (w for w in asked.tree.works if w.work is Work.WIRE_OFF and w.row == branch.row), None
    )
    ready = None if off is None else off.on + timedelta(weeks=REST_WEEKS)
    if ready is None or ready <= asked.on:
        return None
    return not_now(
        "Wire left a line on it; it rests two weeks",
        from_date=ready,
        condition="two weeks are over",
        instead="hold it by a guy",
    )


def wood_ready(asked: Asked) -> Answer | None:
    """Refuse new wire on brittle shoots, on woody primaries full of sap, and bends as sap rises."""
    hard = stage_start(asked.tree, Stage.HARD, asked.on)
    brittle = trait_word(asked.tree, "brittle")
    if brittle in (None, "flush") and asked.stage in SOFT:
        return not_now(
            "Its shoots snap while they are full of sap",
            from_date=hard,
            condition="the shoots are firm",
        )
    if asked.stage in SOFT and asked.branch is not None and _woody(asked.branch):
        return not_now(
            "A woody branch is wired before the buds swell, or once the flush is hard",
            from_date=hard,
            condition="the first flush is hard",
        )
    bleeds = trait_number(asked.tree, "bleeds")
    if asked.hard and asked.stage is Stage.SWELL and (bleeds is None or bleeds >= 2):
        return not_now(
            "Sap is rising; strong bends tear now",
            from_date=hard,
            condition="the first flush is hard",
        )
    return None


def _woody(branch: BranchFacts) -> bool:
    return is_primary(branch) and (branch.base_mm is None or branch.base_mm >= WOODY_MM)


def rest(asked: Asked) -> Answer | None:
    """Refuse new wire soon after all leaves were taken, and strong bends on a sick tree."""
    bare = [
        w
        for w in asked.tree.works
        if w.work is Work.LEAF_FULL and 0.5 < (asked.on - w.on).days / 7.0 < 8
    ]
    if bare:
        return not_now(
            "New leaf is coming after all leaves were taken",
            condition="the new leaf is hard",
            from_date=bare[0].on + timedelta(weeks=8),
        )
    if not asked.hard:
        return None
    return sick(asked, WET_DISEASE, instead="take sick leaves off on a dry day")


ON: Final[tuple[Check, ...]] = (no_wire_yet, bark_ready, wood_ready, weather, rest)
