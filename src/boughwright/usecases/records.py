"""What is written of a tree or a branch, oldest first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from boughwright.journal.events import BranchSet, Measured, TreeSet, Worked, standing
from boughwright.journal.receipt import receipt
from boughwright.journal.terms import Quantity
from boughwright.store.reader import Reader
from boughwright.tree.naming import find
from boughwright.usecases.called import named
from boughwright.usecases.day import read_trees
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path

    from boughwright.journal.events import Event
    from boughwright.tree.model import Tree
    from boughwright.usecases.shapes import Json

TRUNK = "trunk"
"""Lasting key of every tree's trunk."""


@dataclass(frozen=True, slots=True)
class Record:
    """One event in plain words."""

    on: date
    who: str
    place: str
    words: str
    id: str


@dataclass(frozen=True, slots=True)
class Records:
    """A tree's or a branch's history."""

    tree: str
    place: str
    today: date
    lines: tuple[Record, ...]


def records(
    path: Path,
    tree: str,
    place: str = "",
    *,
    on: date | None = None,
    facts: bool = False,
    units: str | None = None,
) -> Records:
    """Return the history of a tree, or of one of its branches.

    Parameters
    ----------
    facts : bool
        Also list how the tree and its branches were entered.

    Raises
    ------
    UnknownNameError, AmbiguousNameError, StoreError
    """
    garden, today, trees = read_trees(path, on=on)
    here = trees[named(tree, trees)]
    unit = units or str(garden.fields.get("units") or "mm")
    with Reader.open(path) as reader:
        own = reader.events(here.id)
    return records_of(here, own, place, today=today, units=unit, facts=facts)


def records_of(
    here: Tree,
    own: Iterable[Event],
    place: str = "",
    *,
    today: date,
    units: str = "mm",
    facts: bool = False,
) -> Records:
    """Return the history of a tree already read, or of one of its branches.

    Parameters
    ----------
    here : Tree
        As it stands today.
    own : iterable of Event
        Everything written of it, in any order.
    place : str
        One of its branches or zones; empty for all.
    today : date
        What happened later is left out.
    units : str
        Unit that lengths are told in.
    facts : bool
        Also list how the tree and its branches were entered.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
    """
    wanted = {here.branches.ids[row] for row in find(here, place).rows} if place else None
    lines = [
        _told(event, here, today, units)
        for event in standing(own)
        if event.on <= today
        and (wanted is None or event.branch in wanted or (TRUNK in wanted and _of_trunk(event)))
        and (facts or not isinstance(event.body, (TreeSet, BranchSet)))
    ]
    return Records(here.name, place, today, tuple(lines))


def _of_trunk(event: Event) -> bool:
    """Tell whether something said of the whole tree is a reading of its trunk."""
    body = event.body
    return event.branch is None and isinstance(body, Measured) and body.what is Quantity.TRUNK


def _told(event: Event, tree: Tree, today: date, units: str) -> Record:
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    place = names.get(event.branch or "", str(getattr(event.body, "zone", "")))
    body = event.body
    if isinstance(body, Worked) and body.donor in names:
        body = replace(body, donor=names[body.donor])
    words = receipt(body, place, on=event.on, today=today, units=units)
    return Record(event.on, event.who, place, words, str(event.id))


def records_shape(answer: Records) -> dict[str, Json]:
    """Return the records in their JSON shape."""
    return shaped(
        "boughwright/records",
        1,
        {"on": answer.today, "tree": answer.tree, "place": answer.place, "records": answer.lines},
    )
