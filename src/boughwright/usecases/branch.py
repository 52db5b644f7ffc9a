"""One branch on the day: where it stands, what is measured of it and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.errors import UnknownNameError
from boughwright.usecases.charts import row_of
from boughwright.usecases.shapes import shaped
from boughwright.usecases.sheet import Line, branch_body, verdict_body

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class Branch:
    """One living branch of one tree, with the line that the tree's sheet has for it."""

    day: TreeDay
    today: date
    line: Line


def branch_of(garden: GardenDay, tree: str, branch: str) -> Branch:
    """Return one branch from a garden already worked out.

    Parameters
    ----------
    garden : GardenDay
    tree : str
        Lasting key, name or tag of the tree.
    branch : str
        Lasting key or name of the branch.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When there is no such tree or branch, the branch is gone, or the tree's name fits two.
    """
    day = garden.tree(tree)
    row = row_of(day, branch)
    verdict = next((v for v in day.verdicts if v.row == row), None)
    facts = next((b for b in day.branches if b.row == row), None)
    if verdict is None or facts is None:
        raise UnknownNameError(
            f"{day.tree.branches.names[row]} of {day.facts.name} is gone",
            allowed="a living branch of its sheet",
            todo="Read its records instead",
        )
    return Branch(day, garden.today, Line(facts, verdict))


def branch_shape(answer: Branch) -> dict[str, Json]:
    """Return the branch in its JSON shape."""
    facts, rows = answer.line.branch, answer.day.tree.branches
    parent = int(rows.parent[facts.row])
    return shaped(
        "boughwright/branch",
        1,
        {
            "on": answer.today,
            "tree": {"id": answer.day.facts.tree, "name": answer.day.facts.name},
            "id": rows.ids[facts.row],
            "order": rows.order[facts.row],
            "parent": rows.ids[parent] if parent >= 0 else None,
            "aliases": rows.aliases[facts.row],
            **branch_body(facts),
            "verdict": verdict_body(answer.line.verdict),
        },
    )
