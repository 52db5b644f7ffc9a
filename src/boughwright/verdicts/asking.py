"""One question about a work, and the pieces its conditions are made of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, TypeAlias

from boughwright.journal.terms import Work
from boughwright.sources import Grade
from boughwright.verdicts.answer import Answer, Say
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from datetime import date

    from boughwright.journal.terms import Vigour
    from boughwright.season.stages import Stage
    from boughwright.verdicts.facts import BranchFacts, PastWork, TreeFacts

LEAF_WORKS = frozenset({Work.LEAF_CLEAR, Work.LEAF_THIN, Work.LEAF_PAIR, Work.LEAF_FULL})
WET_DISEASE = ("spots", "curl", "canker")
"""Signs that wounds and splashing water spread."""
LEAF_DISEASE = ("spots", "curl", "mildew", "pest")


@dataclass(frozen=True, slots=True)
class Asked:
    """One work asked about. ``share`` of the leaf, shoots or roots it takes, None when not said.

    ``hard``: a wound over a third of the trunk, a strong bend, or over 30 % of the roots.
    ``strength`` is that of the branch where it is weaker than the tree.
    """

    tree: TreeFacts
    branch: BranchFacts | None
    work: Work
    share: float | None
    hard: bool
    on: date
    stage: Stage
    strength: Vigour | None

    @property
    def row(self) -> int:
        """Row of the branch, -1 for the tree."""
        return -1 if self.branch is None else self.branch.row


Check: TypeAlias = Callable[[Asked], Answer | None]
"""A condition: None when it holds."""


def not_now(
    text: str,
    *,
    from_date: date | None = None,
    condition: str = "",
    instead: str = "",
    reason: Reason | None = None,
) -> Answer:
    """Return a *not now* for one plain reason."""
    return Answer(
        Say.NOT_NOW, (reason or Reason(text, "condition"),), from_date, condition, instead
    )


def never(text: str, *, instead: str = "", reason: Reason | None = None) -> Answer:
    """Return a *never* for one plain reason."""
    return Answer(Say.NEVER, (reason or Reason(text, "condition"),), instead=instead)


def sick(asked: Asked, watched: tuple[str, ...], *, instead: str) -> Answer | None:
    """Put a work off while one of some signs of disease is active on the tree."""
    found = [sign for sign in watched if sign in asked.tree.disease]
    if not found:
        return None
    text = f"Active signs on the tree: {', '.join(found)}"
    return not_now(
        text,
        condition="one clean flush is over",
        instead=instead,
        reason=Reason(text, "signs", grade=Grade.MEASURED),
    )


def is_medium(work: Work, share: float | None, hard: bool) -> bool:
    """Return whether a work weighs two points of toll or more on a tree.

    An amount that was not said counts as a third of the crown.
    """
    part = 0.35 if share is None else share
    if work in (Work.REPOT, Work.LEAF_FULL):
        return True
    if work in (Work.LEAF_CLEAR, Work.LEAF_THIN, Work.LEAF_PAIR):
        return part >= 0.3
    if work is Work.CUT:
        return hard or (share is not None and share >= 0.5)
    return work is Work.WIRE_ON and (hard or (share is not None and share >= 0.5))


def past_medium(work: PastWork) -> bool:
    """Return whether a work on record was a medium or heavy one."""
    return is_medium(work.work, work.share, work.hard)


def hot_spell(asked: Asked, days: int) -> Answer | None:
    """Refuse while a spell of 33 °C or more is on or comes within ``days``."""
    look = asked.tree.outlook
    if days and look.t_max_10d_c is None:
        return not_now("The next ten days are not forecast", condition="you load a forecast")
    if look.hot_from is None:
        return None
    last = look.hot_to or look.hot_from
    if last < asked.on or look.hot_from > asked.on + timedelta(days=days):
        return None
    now = look.hot_from <= asked.on
    text = (
        f"It is over 33 °C until {day(last)}"
        if now
        else (f"Heat over 33 °C comes from {day(look.hot_from)} to {day(last)}")
    )
    value = look.t_max_10d_c
    reason = Reason(text, "highest of ten days", value, 33.0, "°C")
    return not_now(
        text,
        from_date=last + timedelta(days=1),
        instead="shade and water",
        reason=reason,
        condition="the heat is over",
    )


def hot_soon(asked: Asked) -> Answer | None:
    """Refuse when 33 °C comes within ten days."""
    return hot_spell(asked, 10)


def hot_now(asked: Asked) -> Answer | None:
    """Refuse while it is 33 °C or more on that day."""
    return hot_spell(asked, 0)


def very_hot_soon(asked: Asked) -> Answer | None:
    """Refuse when 35 °C comes within ten days; lighter leaf works stand 33."""
    peak = asked.tree.outlook.t_max_10d_c
    return None if peak is not None and peak < 35.0 else hot_spell(asked, 10)
