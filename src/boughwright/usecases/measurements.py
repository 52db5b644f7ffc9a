"""Every reading of a tree or of one of its branches, as numbers, oldest first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.terms import QUANTITY_UNIT
from boughwright.tree.naming import find
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from datetime import date

    from boughwright.tree.model import Measure, Tree
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class Measurements:
    """The readings that stand on a day. ``place`` is the branch asked for, empty for all."""

    today: date
    tree: Tree
    place: str
    read: tuple[Measure, ...]


def measurements_of(garden: GardenDay, tree: str, place: str = "") -> Measurements:
    """Return the readings of a tree, or of one of its branches or zones.

    Readings of the tree as a whole belong to every branch's tree, not to a branch.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or place, or more than one tree.
    """
    here = garden.tree(tree).tree
    wanted = frozenset(find(here, place).rows) if place else None
    read = [one for one in here.measures if wanted is None or one.branch in wanted]
    read.sort(key=lambda one: one.on)
    return Measurements(garden.today, here, place, tuple(read))


def measurements_shape(answer: Measurements) -> dict[str, Json]:
    """Return the readings in their JSON shape."""
    rows = answer.tree.branches

    def body(one: Measure) -> dict[str, object]:
        part = one.branch >= 0
        return {
            "on": one.on,
            "branch": rows.ids[one.branch] if part else None,
            "place": rows.names[one.branch] if part else "",
            "what": one.what,
            "value": one.value,
            "unit": QUANTITY_UNIT[one.what],
            "sd": one.sd,
            "how": one.how,
            "who": one.who,
            "record": one.event,
        }

    return shaped(
        "boughwright/measurements",
        1,
        {
            "on": answer.today,
            "tree": {"id": answer.tree.id, "name": answer.tree.name},
            "place": answer.place,
            "measurements": [body(one) for one in answer.read],
        },
    )
