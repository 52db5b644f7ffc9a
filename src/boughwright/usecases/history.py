"""A tree's records as a page reads them: newest first, by kind and branch, and with the day mended.

What was taken back is not shown. A record is never changed: to mend its day it is taken back and
entered again on the right one.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from uuid6 import uuid7

from boughwright.journal.check import check
from boughwright.journal.events import (
    Event,
    LookAgain,
    Measured,
    Noted,
    Photographed,
    PhotoMarked,
    PhotoScaled,
    Promised,
    Saw,
    Withdrawn,
    Worked,
    standing,
)
from boughwright.journal.terms import Work
from boughwright.store.book import Book
from boughwright.units import show_date
from boughwright.usecases.records import records_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date
    from pathlib import Path
    from uuid import UUID

    from boughwright.tree.model import Tree


class Sort(StrEnum):
    """What a record is about."""

    WORK = "work"
    WIRE = "wire"
    READING = "reading"
    SIGN = "sign"
    PROMISE = "promise"
    PHOTO = "photo"
    NOTE = "note"
    FACT = "fact"
    """How the tree and its branches were entered; listed only when asked for."""


SORT: Final[Mapping[type, Sort]] = {
    Worked: Sort.WORK,
    Measured: Sort.READING,
    Saw: Sort.SIGN,
    Promised: Sort.PROMISE,
    LookAgain: Sort.PROMISE,
    Photographed: Sort.PHOTO,
    PhotoMarked: Sort.PHOTO,
    PhotoScaled: Sort.PHOTO,
    Noted: Sort.NOTE,
}
WIRED: Final = frozenset({Work.WIRE_ON, Work.WIRE_OFF, Work.GUY_ON, Work.GUY_OFF})
KEPT_ELSEWHERE: Final = frozenset({Sort.PHOTO, Sort.FACT})
"""Photos are taken back with their marks, facts are mended where they are entered."""
FORMULA_SIGNS: Final = "=+-@\t\r"
"""A cell that begins so would be run by a spreadsheet; it gets an apostrophe before it."""
HEADS: Final = ("on", "place", "kind", "what", "who", "id")


@dataclass(frozen=True, slots=True)
class Told:
    """One record: ``doubts`` are the contradictions it has a part in."""

    on: date
    who: str
    branch: str
    place: str
    words: str
    sort: Sort
    id: UUID
    doubts: tuple[str, ...]

    @property
    def mendable(self) -> bool:
        """True when it can be taken back, or moved to another day, by itself."""
        return self.sort not in KEPT_ELSEWHERE


@dataclass(frozen=True, slots=True)
class History:
    """Records of a tree or of one branch, newest first. ``counts`` are those of every kind."""

    tree: str
    name: str
    place: str
    sort: Sort | None
    lines: tuple[Told, ...]
    counts: Mapping[Sort, int]


def history_of(
    here: Tree,
    own: Sequence[Event],
    place: str = "",
    sort: Sort | None = None,
    *,
    today: date,
    units: str = "mm",
) -> History:
    """Return the records of a tree, or of one branch, newest first.

    Parameters
    ----------
    here : Tree
        As it stands today.
    own : sequence of Event
        Everything written of it, in any order.
    place : str
        Name or lasting id of a branch, or a zone; empty for all.
    sort : Sort, optional
        Only these; None for all but facts.
    today : date
        What happened later is left out.
    units : str
        Unit that lengths are told in.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When no branch, or more than one, is meant.
    """
    ids = here.branches.ids
    called = here.branches.names[ids.index(place)] if place in ids else place
    events = {str(event.id): event for event in own}
    doubts = _doubts(here)
    told = [
        _told(events[line.id], line.place, _undated(line.words, line.on, today), doubts)
        for line in records_of(here, own, called, today=today, units=units, facts=True).lines
    ]
    told.reverse()
    counts = Counter(one.sort for one in told)
    wanted = [
        one for one in told if one.sort is sort or (sort is None and one.sort is not Sort.FACT)
    ]
    return History(here.id, here.name, called, sort, tuple(wanted), counts)


def _told(event: Event, place: str, words: str, doubts: Mapping[UUID, tuple[str, ...]]) -> Told:
    return Told(event.on, event.who, event.branch or "", place, words, sort_of(event), event.id,
                doubts.get(event.id, ()))  # fmt: skip


def sort_of(event: Event) -> Sort:
    """Return what a record is about."""
    body = event.body
    if isinstance(body, Worked) and body.work in WIRED:
        return Sort.WIRE
    return SORT.get(type(body), Sort.FACT)


def _undated(words: str, on: date, today: date) -> str:
    """Return a record's words without its day, which stands above it once for all of that day."""
    return words if on == today else words.removesuffix(f", {show_date(on, today=today)}")


def _doubts(here: Tree) -> dict[UUID, tuple[str, ...]]:
    """Return what contradicts each record that has a part in a contradiction."""
    found: dict[UUID, tuple[str, ...]] = {}
    for one in here.contradictions:
        for event in one.events:
            found[event] = (*found.get(event, ()), one.what)
    return found


def history_csv(answer: History) -> str:
    """Return the records as a table that spreadsheets read, newest first."""
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(HEADS)
    for one in answer.lines:
        cells = (one.on.isoformat(), one.place, one.sort.value, one.words, one.who, str(one.id))
        table.writerow([_cell(cell) for cell in cells])
    return out.getvalue()


def _cell(text: str) -> str:
    return f"'{text}" if text.startswith(tuple(FORMULA_SIGNS)) else text


# --- mending --------------------------------------------------------------------------------------


def found_in(own: Iterable[Event], record: UUID) -> Event | None:
    """Return a record that counts, by its id; None when there is none."""
    return next((event for event in standing(own) if event.id == record), None)


def redate(
    path: Path,
    tree: str,
    record: UUID,
    on: date,
    *,
    today: date,
    who: str = "",
    now: datetime | None = None,
) -> UUID | None:
    """Move a record to another day, and return its new id.

    Parameters
    ----------
    path : Path
        The book.
    tree : str
        Lasting id of the tree.
    record : UUID
        The record. None is returned when it does not count.
    on : date
        The day it happened.
    today : date
        The day it is mended.
    who : str
        Who mends it.
    now : datetime, optional
        The moment it is mended.

    Raises
    ------
    RangeError, RecordError
        When it cannot have happened on that day; nothing is written then.
    StoreError
        When the book cannot be written.
    """
    moment = now or datetime.now(UTC)
    with Book.open(path) as book, book.turn() as turn:
        event = found_in([*turn.garden_events(), *turn.events(tree)], record)
        if event is None:
            return None
        if event.on == on:
            return event.id
        moved = replace(event, on=on, recorded=moment, id=uuid7())
        check(moved)
        back = Event(Withdrawn(record), today, tree=tree, who=who, recorded=moment)
        turn.append([back, moved])
    return moved.id
