"""Where a tree stood: when it came to the place and shelf it stands on today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from boughwright.journal.events import TreeSet, standing

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from boughwright.journal.events import Event

SPOT = ("place", "shelf")
"""The facts that say where a tree stands."""


def moved_on(tree_id: str, events: Iterable[Event], until: date) -> date | None:
    """Return the day a tree last changed its place or shelf.

    Parameters
    ----------
    tree_id : str
    events : iterable of Event
        In any order, with repeats; withdrawn ones do not count.
    until : date
        Later days do not count.

    Returns
    -------
    date or None
        None when it stands where it was first put. Naming a spot for the first time, or the same
        one again, is no move.
    """
    spot: dict[str, object] = {}
    moved = None
    for event in standing(events):
        if event.tree != tree_id or event.on > until or not isinstance(event.body, TreeSet):
            continue
        told = {key: event.body.fields[key] for key in SPOT if key in event.body.fields}
        if any(key in spot and spot[key] != value for key, value in told.items()):
            moved = event.on
        spot.update(told)
    return moved
