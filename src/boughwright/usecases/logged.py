"""What was written down: one line with what was answered to it, and the last lines of the day."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import groupby
from typing import TYPE_CHECKING

from boughwright.errors import UnknownNameError
from boughwright.journal.events import BranchSet, Withdrawn, standing
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.bench import Bench
from boughwright.usecases.line_ids import SAID_ID
from boughwright.usecases.writing import Said, Stamp, taken_back, told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path
    from uuid import UUID

    from boughwright.journal.events import Event
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.kept import KeptBook

MOST_LINES = 12
"""How many of the day's lines are listed."""
LAST_EVENTS = 200
"""How many of a tree's newest records are looked through for them."""


@dataclass(frozen=True, slots=True)
class LineSaid:
    """One line under its own id, as it was answered.

    ``tree`` is the lasting id of its tree, empty when it had none; ``places`` are the branches it
    was written for; ``stands`` tells whether any of it still counts.
    """

    id: UUID
    text: str
    tree: str
    tree_name: str
    on: date
    receipts: tuple[str, ...]
    doubts: tuple[str, ...]
    unread: tuple[str, ...]
    places: tuple[str, ...]
    stands: bool
    takes_back: bool


@dataclass(frozen=True, slots=True)
class LastLine:
    """One line of the day among the last ones.

    ``moment`` and ``who`` tell it from the others of its tree.
    """

    tree: str
    tree_name: str
    moment: datetime
    who: str
    receipts: tuple[str, ...]


def line_said(path: Path, line: UUID) -> LineSaid:
    """Return a line that was written down under an id of its own.

    Raises
    ------
    UnknownNameError
        When none was.
    StoreError
        When the book cannot be read.
    """
    with Reader.open(path) as reader:
        kept = reader.line(str(line))
        if kept is None:
            raise UnknownNameError(
                "no such line was written down", allowed="a line of this book",
                todo="Look for it among the records",
            )  # fmt: skip
        answer = json.loads(kept.answer)
        events = reader.events_with(answer["events"])
        of_tree = reader.events(kept.tree) if kept.tree else []
    counted = {event.id for event in standing(of_tree)}
    names = _names(of_tree)
    places = dict.fromkeys(names[e.branch] for e in events if e.branch in names)
    return LineSaid(
        line,
        kept.text,
        kept.tree or "",
        answer["tree"] or "",
        date.fromisoformat(kept.on_day),
        tuple(answer["receipts"]),
        tuple(answer["doubts"]),
        tuple(answer["unread"]),
        tuple(places),
        stands=any(event.id in counted for event in events),
        takes_back=any(isinstance(event.body, Withdrawn) for event in events),
    )


def _names(events: Iterable[Event]) -> dict[str | None, str]:
    """Return the names that the branches of a tree bear now, by their lasting ids."""
    names: dict[str | None, str] = {}
    for event in standing(events):
        if isinstance(event.body, BranchSet) and event.body.fields.get("name"):
            names[event.branch] = str(event.body.fields["name"])
    return names


def last_lines(
    kept: KeptBook, garden: GardenDay, *, now: datetime, tree: str = ""
) -> list[LastLine]:
    """Return the lines written today or told of today, the last first.

    Parameters
    ----------
    kept : KeptBook
    garden : GardenDay
        The day at hand.
    now : datetime
        This moment, in the grower's time zone.
    tree : str
        Lasting id of the only tree wanted; empty for all.

    Returns
    -------
    list of LastLine
        At most `MOST_LINES`. What was taken back is not among them.
    """
    found: list[LastLine] = []
    for day in garden.trees:
        if tree and day.tree.id != tree:
            continue
        recent = [
            event
            for event in standing(kept.events(day.tree.id)[-LAST_EVENTS:])
            if event.id.version == SAID_ID and _of_today(event, garden.today, now)
        ]
        stamp = Stamp(now, "", garden.today, garden.settings.units)
        found += _lines(recent, day.tree, stamp)
    found.sort(key=lambda line: line.moment, reverse=True)
    return found[:MOST_LINES]


def _of_today(event: Event, today: date, now: datetime) -> bool:
    if isinstance(event.body, Withdrawn):
        return False
    return event.on == today or event.recorded.astimezone(now.tzinfo).date() == now.date()


def _lines(events: list[Event], tree: Tree, stamp: Stamp) -> Iterator[LastLine]:
    events.sort(key=lambda event: (event.recorded, event.who, event.id))
    for (moment, who), group in groupby(events, key=lambda event: (event.recorded, event.who)):
        line = list(group)
        receipts = tuple(told(event, tree, stamp, line) for event in line)
        yield LastLine(tree.id, tree.name, moment, who, receipts)


def take_back_moment(
    path: Path, tree: str, moment: datetime, *, by: str, on: date, who: str
) -> Said:
    """Take back what ``by`` wrote of a tree at one moment: a line of `last_lines`.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    """
    with Book.open(path) as book, book.turn() as turn:
        bench = Bench()
        bench.sit_down(turn)
        if tree not in {one.id for one in bench.called()}:
            raise UnknownNameError(f"there is no tree with the key {tree!r}",
                                   allowed="a tree of the book", todo="Choose one")  # fmt: skip
        last = [event for event in standing(bench.events(tree))
                if event.recorded == moment and event.who == by
                and event.id.version == SAID_ID]  # fmt: skip
        stamp = Stamp(datetime.now(UTC), who or bench.settings.who, on, bench.settings.units)
        said = taken_back("undo", last, bench.tree(tree), stamp)
        turn.append(said.events)
    return said
