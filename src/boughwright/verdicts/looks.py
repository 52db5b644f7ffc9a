"""Looks that the grower asked for: those nothing has answered yet, as verdicts on the day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from boughwright.journal.names import WHOLE
from boughwright.sources import Grade
from boughwright.tree.looks import holds
from boughwright.tree.model import Seen
from boughwright.verdicts.facts import AskedLook
from boughwright.verdicts.verdict import Act, Harm, Reason, Sureness, Verdict
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from boughwright.tree.model import Look, Measure, Tree, WorkDone
    from boughwright.verdicts.facts import TreeFacts

LOOK_AGAIN: Final = "look again"
LOOK_MINUTES: Final = 3.0


def asked_looks(tree: Tree) -> tuple[AskedLook, ...]:
    """Return the looks asked for that nothing written from their day on has answered, by day.

    A later look asked for at the same place takes the place of an earlier one.
    """
    latest: dict[tuple[int, str], Look] = {}
    for look in tree.looks:  # oldest first
        zone = "" if look.zone.casefold() in WHOLE else look.zone
        latest[look.branch, zone] = look
    rows = tree.branches
    found = [
        AskedLook(look.due, row, rows.names[row] if row >= 0 else zone)
        for (row, zone), look in latest.items()
        if not (row >= 0 and rows.gone[row]) and not _answered(tree, look)
    ]
    return tuple(sorted(found, key=lambda one: (one.due, one.row, one.place)))


def _answered(tree: Tree, look: Look) -> bool:
    """Tell whether the branch, the zone or the tree was written of from the look's day on."""
    return any(
        one.on >= look.due and _speaks_of(one, look)
        for records in (tree.seen, tree.works, tree.measures)
        for one in records
    )


def _speaks_of(one: Seen | WorkDone | Measure, look: Look) -> bool:
    whole = look.branch < 0 and (not look.zone or look.zone.casefold() in WHOLE)
    if whole or (look.branch >= 0 and one.branch == look.branch):
        return True
    if isinstance(one, Seen):  # looking over the whole tree, or the zone, answers for its parts
        asked = Seen(look.event, look.on, look.branch, one.sign, None, None, look.zone)
        return holds(one, asked)
    zone = getattr(getattr(one, "what", None), "zone", "")
    return look.branch < 0 and bool(zone) and zone.casefold() == look.zone.casefold()


def due_looks(tree: TreeFacts) -> list[Verdict]:
    """Return one verdict for each look asked for whose day has come, on the tree as a whole."""
    return [_due(one) for one in tree.looks if one.due <= tree.today]


def _due(one: AskedLook) -> Verdict:
    reason = Reason(
        f"You asked to look again on {day(one.due)}",
        "look asked for",
        source="grower",
        grade=Grade.MEASURED,
    )
    return Verdict(
        -1,
        LOOK_AGAIN,
        Act.LOOK_FIRST,
        f"{one.place}: {LOOK_AGAIN}" if one.place else LOOK_AGAIN,
        (reason,),
        "you write down what you see",
        Sureness.SURE,
        Harm.IMPROVEMENT,
        minutes=LOOK_MINUTES,
        next_look=one.due,
    )


def by_the_look(tree: TreeFacts, verdict: Verdict) -> Verdict:
    """Return a verdict whose next look is no later than the one the grower asked for."""
    days = [max(one.due, tree.today) for one in tree.looks if one.row in (-1, verdict.row)]
    asked = min(days, default=None)
    if asked is None or (verdict.next_look is not None and verdict.next_look <= asked):
        return verdict
    return replace(verdict, next_look=asked)


__all__ = ["LOOK_AGAIN", "AskedLook", "asked_looks", "by_the_look", "due_looks"]
