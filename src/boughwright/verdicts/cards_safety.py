"""Cards on sick and dead wood."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Work
from boughwright.sources import Grade
from boughwright.verdicts.making import act, look_first
from boughwright.verdicts.verdict import Act, Harm, Reason, Sureness, Verdict
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

CANKER_DAYS: Final = timedelta(days=3)
"""Sick wood seen is cut within these days of the first dry one (starting value)."""


def canker(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Cut sunken dead bark out into clean wood, on a dry day, with clean blades."""
    seen = branch.signs.get("canker")
    if seen is None:
        return None
    dry = tree.outlook.dry_from
    reason = Reason(
        f"Sunken dead bark was seen on {day(seen)}", "sign", source="grower", grade=Grade.MEASURED
    )
    return act(
        tree,
        branch,
        "canker",
        Act.CUT_SICK,
        "{20 mm} into clean wood, on a dry day",
        (reason,),
        "a scratch shows green wood under it",
        sure=Sureness.LIKELY,
        harm=Harm.IRREVERSIBLE,
        earliest=dry if dry is not None and dry > tree.today else None,
        latest=max(dry or tree.today, tree.today) + CANKER_DAYS,
        works=(Work.CUT,),
        caution="blade hygiene",
        structural=False,
        share=0.0,
        never=(
            "Do not cut while the bark is wet",
            "Do not use the blade elsewhere before it is clean",
            "Check local rules: some kinds must be reported",
        ),
    )


def dying(tree: TreeFacts, branch: BranchFacts) -> Verdict | None:
    """Test a branch that looks dead before anything is cut."""
    sign = "dead" if "dead" in branch.signs else "dieback" if "dieback" in branch.signs else ""
    if not sign:
        return None
    return look_first(
        tree,
        branch,
        "looks dead",
        "scratch the bark at two points and look for green",
        f"It was logged as {sign} on {day(branch.signs[sign])}",
        measure="sign",
        flip="green shows under the bark",
    )
