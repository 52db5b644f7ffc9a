"""A line as it would be taken, while it is still being typed: nothing is written here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from boughwright.errors import BoughwrightError, TextError
from boughwright.journal.phrases import parse
from boughwright.tree.naming import find
from boughwright.usecases.called import named
from boughwright.usecases.completing import completions
from boughwright.usecases.shapes import shaped
from boughwright.usecases.writing import (
    Stamp,
    as_note,
    callable_names,
    last_said,
    mended,
    stranger,
    written,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from boughwright.journal.events import Event
    from boughwright.journal.phrases import Line
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json

__all__ = ["Reading", "completions", "reading_of", "reading_shape"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line would do.

    Parameters
    ----------
    text : str
        The line.
    tree, tree_id : str
        Name and lasting id of the tree meant; empty when none is.
    receipts : tuple of str
        What would be written, in plain words.
    doubts : tuple of str
        What would be kept as a note only, and why; or why nothing could be written.
    unread : tuple of str
        Words that nothing is made of.
    branches : tuple of str
        Lasting ids of the branches meant, in the order named. Those of a zone are its living
        branches.
    ready : bool
        Something of it would be written.
    units : str
        Unit that lengths are told in.
    """

    text: str
    tree: str = ""
    tree_id: str = ""
    receipts: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    branches: tuple[str, ...] = ()
    ready: bool = False
    units: str = "mm"


def reading_of(
    garden: GardenDay,
    text: str,
    tree: str | None,
    on: date,
    place: str = "",
    last: Sequence[Event] = (),
) -> Reading:
    """Return what a line would do if it were said now.

    Parameters
    ----------
    garden : GardenDay
        The garden worked out.
    text : str
        The line so far.
    tree : str, optional
        Name, tag or id of the tree at hand.
    on : date
        The day it is said.
    place : str
        The place at hand, for a line that names none.
    last : sequence of Event
        The standing events of the line before it, for ``same``, ``undo`` and ``not``.

    Returns
    -------
    Reading
        Nothing in it is written down. A line that cannot be taken has a doubt that says why.
    """
    units = garden.settings.units
    if not text.strip():
        return Reading(text, units=units)
    try:
        return _read(garden, text, tree, on, place, last)
    except BoughwrightError as error:
        return Reading(text, doubts=(str(error),), units=units)


def _read(
    garden: GardenDay,
    text: str,
    tree: str | None,
    on: date,
    place: str,
    last: Sequence[Event],
) -> Reading:
    trees = [day.tree for day in garden.trees]
    hand = trees[named(tree, trees)] if tree else None
    session = [event for event in last if event.on == on]
    before, bodies = last_said(session, hand) if hand else ("", [])
    line = parse(
        text,
        today=on,
        units=garden.settings.units,
        trees=callable_names(trees),
        last_place=place or before,
        last_bodies=bodies,
    )
    here = trees[named(line.tree, trees)] if line.tree else hand
    if here is None:
        raise TextError(
            "no tree is named",
            allowed=", ".join(one.name for one in trees) or "a tree of the garden",
            todo="Begin the line with the tree's name",
        )
    odd = stranger(line) if not (line.tree or tree) else ""
    if odd:
        line = as_note(line, f"No tree is called {odd!r}; the line is kept as a note only.")
    stamp = Stamp(datetime.now(UTC), garden.settings.who, on, garden.settings.units)
    back = line.undo or line.not_places or line.moved_to
    said = mended(line, last, here, stamp) if back else written(line, here, stamp)
    return Reading(
        text,
        here.name,
        here.id,
        said.receipts,
        said.doubts,
        said.unread,
        _branches(line, here),
        ready=bool(said.receipts),
        units=garden.settings.units,
    )


def _branches(line: Line, tree: Tree) -> tuple[str, ...]:
    """Return the lasting ids of the branches that a line means."""
    rows: dict[int, None] = {}
    for entry in line.entries:
        left_out = {row for place in entry.excepts for row in _rows(tree, place)}
        for place in entry.places:
            rows |= dict.fromkeys(row for row in _rows(tree, place) if row not in left_out)
    for place in line.not_places:
        rows |= dict.fromkeys(_rows(tree, place))
    return tuple(tree.branches.ids[row] for row in rows)


def _rows(tree: Tree, place: str) -> tuple[int, ...]:
    try:
        return find(tree, place).rows
    except BoughwrightError:
        return ()


def reading_shape(answer: Reading) -> dict[str, Json]:
    """Return what a line would do in its JSON shape."""
    return shaped(
        "boughwright/reading",
        1,
        {
            "phrase": answer.text,
            "tree": answer.tree or None,
            "tree_id": answer.tree_id or None,
            "receipts": answer.receipts,
            "doubts": answer.doubts,
            "unread": answer.unread,
            "branches": answer.branches,
            "ready": answer.ready,
        },
    )
