"""Records that cannot both be right, listed for the grower and never mended silently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.events import standing
from boughwright.journal.garden import garden_of
from boughwright.settings import settings_of
from boughwright.store.reader import Reader
from boughwright.usecases.day import read_trees
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path

    from boughwright.tree.model import Contradiction, Tree
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class Doubt:
    """One contradiction and the tree and branch it is about."""

    tree: str
    place: str
    what: Contradiction


def doubts(path: Path, *, on: date | None = None) -> tuple[Doubt, ...]:
    """Return every contradiction in the book, tree by tree.

    Raises
    ------
    StoreError
    """
    _, _, trees = read_trees(path, on=on)
    return doubts_of(trees)


def doubts_of(trees: Iterable[Tree]) -> tuple[Doubt, ...]:
    """Return every contradiction of trees already read, tree by tree."""
    return tuple(
        Doubt(tree.name, tree.branches.names[c.branch] if c.branch >= 0 else "", c)
        for tree in trees
        for c in tree.contradictions
    )


def units_of(path: Path) -> str:
    """Return the unit of lengths that the garden of a book is told in."""
    with Reader.open(path) as reader:
        events = reader.garden_events()
    return settings_of(garden_of(standing(events)).fields).units


def doubts_shape(answer: tuple[Doubt, ...]) -> dict[str, Json]:
    """Return the doubts in their JSON shape."""
    return shaped(
        "boughwright/doubts",
        1,
        {
            "doubts": [
                {
                    "tree": doubt.tree,
                    "place": doubt.place,
                    "kind": doubt.what.kind,
                    "what": doubt.what.what,
                    "todo": doubt.what.todo,
                    "events": doubt.what.events,
                }
                for doubt in answer
            ]
        },
    )
