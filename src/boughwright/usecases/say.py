"""Write down bench phrases: read them, find the branches, keep the events, echo plain words.

A line may bear an id made on the device. Sent again it changes nothing and is answered as it was
the first time, and it can be taken back by that id, even before it has come.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from boughwright.errors import AmbiguousNameError, RecordError, UnknownNameError
from boughwright.journal.codec import to_record
from boughwright.journal.events import Event, Withdrawn, standing
from boughwright.journal.garden import garden_of
from boughwright.journal.phrases import parse
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.bench import Bench, numbered
from boughwright.usecases.called import named
from boughwright.usecases.line_ids import event_id, line_id, taking_back_id
from boughwright.usecases.shapes import shaped
from boughwright.usecases.writing import (
    Said,
    Stamp,
    as_note,
    callable_names,
    last_said,
    mended,
    stranger,
    taken_back,
    told,
    written,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from boughwright.journal.phrases import Line
    from boughwright.store.layout import KeptLine
    from boughwright.usecases.shapes import Json

__all__ = [
    "Phrase", "Said", "backdated", "said_shape", "say", "standing_day", "take", "take_back",
    "withdraw", "withdraw_line",
]  # fmt: skip

NOT_HERE_YET = "That line is not here yet. It is taken back when it comes."
CAME_TAKEN_BACK = "This line was taken back before it came."
BEFORE_NOT_HERE = "The line before this one is not here, so nothing is taken over from it."
A_MOMENT = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Phrase:
    """One line to write down.

    Parameters
    ----------
    text : str
        As typed or spoken.
    on : date
        The day it is said.
    tree : str, optional
        Name, tag or id of the tree at hand.
    who : str
        Who says it; else who writes by the garden's settings.
    now : datetime, optional
        The moment it was said.
    units : str, optional
        Unit that lengths are told in; else the garden's.
    id : UUID, optional
        The line's own id, made on the device: version 4 or 7.
    after : UUID, optional
        Id of the line before it on the same device: what ``same``, ``undo``, ``not`` and a place
        that is not named go back to. When left out, the line that ``who`` wrote last.
    alone : bool
        Go back to no line but ``after``, so that what other devices write changes nothing.
    device : str
        The device it comes from.
    """

    text: str
    on: date
    tree: str | None = None
    who: str = ""
    now: datetime | None = None
    units: str | None = None
    id: UUID | None = None
    after: UUID | None = None
    alone: bool = False
    device: str = ""


def say(path: Path, phrases: Sequence[Phrase], *, create: bool = False) -> list[Said]:
    """Write down bench phrases, each as its own line of the book.

    Parameters
    ----------
    path : Path
        The book.
    phrases : sequence of Phrase
        In the order said.
    create : bool
        Make the book when there is none.

    Returns
    -------
    list of Said
        One a phrase. Everything in them is on the disk.

    Raises
    ------
    TextError
        When a line is empty.
    UnknownNameError
        When no tree is meant, or the tree named is not in the book.
    RecordError
        When another line was kept under the id before.
    """
    answers = []
    with Book.open(path, create=create) as book:
        bench = Bench()
        for phrase in phrases:
            with book.turn() as turn:
                bench.sit_down(turn)
                said = take(bench, phrase)
            answers.append(said)
    return answers


def withdraw(
    path: Path, tree: str, record: str, *, on: date, who: str = "", units: str | None = None
) -> Said:
    """Take back one record of a tree, however old.

    Parameters
    ----------
    path : Path
        The book.
    tree : str
        Name, tag or key of the tree.
    record : str
        The record's id, or its last letters as `records` gives them.
    on : date
        The day it is taken back.
    who : str
        Who takes it back; else who writes by the garden's settings.
    units : str, optional
        Unit that lengths are told in; else the garden's.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When no tree or record is meant, or more than one.
    """
    with Book.open(path) as book, book.turn() as turn:
        bench = Bench()
        bench.sit_down(turn)
        trees = bench.called()
        here = bench.tree(trees[named(tree, trees)].id)
        wanted = record.strip().casefold().replace("-", "")
        counted = standing(bench.events(here.id))
        found = [event for event in counted if wanted and event.id.hex.endswith(wanted)]
        if not found:
            raise UnknownNameError(
                f"no record of {here.name} that counts has the id {record!r}",
                allowed="an id that boughwright records --ids lists",
                todo="Copy it from there",
            )
        if len(found) > 1:
            raise AmbiguousNameError(
                f"{len(found)} records of {here.name} end in {record!r}",
                allowed=", ".join(event.id.hex[-12:] for event in found[:5]),
                todo="Give more of the id",
            )
        stamp = _stamp(bench, on, who, None, units)
        said = taken_back(f"withdraw {record}", found, here, stamp)
        turn.append(said.events)
    return said


def withdraw_line(
    path: Path,
    line: UUID,
    *,
    on: date,
    who: str = "",
    now: datetime | None = None,
    units: str | None = None,
    id: UUID | None = None,  # noqa: A002  # the same word as in `Phrase`
    device: str = "",
) -> Said:
    """Take back a whole line by its id. Done again, it changes nothing.

    A line that has not come yet is kept when it comes, and taken back at once.

    Parameters
    ----------
    path : Path
        The book.
    line : UUID
        Id of the line to take back.
    on, who, now, units, device
        As in `Phrase`.
    id : UUID, optional
        Id of this taking back, made on the device; when left out, it follows from ``line``.

    Raises
    ------
    RecordError
        When another line was kept under the id before.
    """
    with Book.open(path) as book, book.turn() as turn:
        bench = Bench()
        bench.sit_down(turn)
        stamp = _stamp(bench, on, who, now, units)
        return take_back(bench, line, stamp, id_=id or taking_back_id(line), device=device)


# --- in one turn at writing -----------------------------------------------------------------------


def take(bench: Bench, phrase: Phrase) -> Said:
    """Write down one line in the turn that ``bench`` takes.

    Raises
    ------
    TextError, UnknownNameError, AmbiguousNameError, RecordError
        See `say`; nothing is written then.
    """
    if phrase.id is None:
        said, _, _ = _understood(bench, phrase)
        bench.turn.append(said.events)
        return said
    text, asked = _storable(phrase.text), _storable(phrase.tree or "")
    known = bench.turn.line(str(line_id(phrase.id)))
    if known is not None:
        return _again(bench, known, text=text, asked=asked)
    said, tree, stamp = _understood(bench, phrase)
    said = _kept_once(bench, phrase.id, said, tree, stamp)
    back = _against(bench, phrase.id, said.events)
    if back:
        bench.turn.append(back)
        said = replace(said, doubts=(*said.doubts, CAME_TAKEN_BACK))
    bench.keep(said, stamp, id_=phrase.id, asked=asked, text=text, after=phrase.after, tree=tree,
               device=phrase.device)  # fmt: skip
    return said


def take_back(
    bench: Bench,
    line: UUID,
    stamp: Stamp,
    *,
    id_: UUID,
    after: UUID | None = None,
    device: str = "",
) -> Said:
    """Take back a line in the turn that ``bench`` takes; see `withdraw_line`.

    Raises
    ------
    RecordError
    """
    known = bench.turn.line(str(line_id(id_)))
    if known is not None:
        return _again(bench, known, text="", asked="", withdraws=line)
    target = bench.turn.line(str(line))
    events = [] if target is None else bench.events_of(target)
    # A taking back that came before its line has had no tree until now.
    tree = events[0].tree if events else None if target is None else target.tree
    if tree is None or not events:
        doubt = NOT_HERE_YET if target is None else "There is nothing to take back."
        said = Said("", None, (), (), (doubt,), (), units=stamp.units)
    else:
        said = _line_taken_back(bench, id_, events, tree, stamp)
    bench.keep(said, stamp, id_=id_, after=after, withdraws=line, tree=tree, device=device)
    return said


def _line_taken_back(
    bench: Bench, id_: UUID, events: Sequence[Event], tree: str, stamp: Stamp
) -> Said:
    """Take back every event of a line, and say what no longer counts and what counts again."""
    here = bench.tree(tree)
    back = _backs(id_, events, stamp.now, stamp.who, stamp.today)
    back = (*back, *_against(bench, id_, back))
    before = {event.id: event for event in standing(bench.events(tree))}
    after = {event.id: event for event in standing([*bench.events(tree), *back])}
    gone = [event for event in before.values() if event.id not in after]
    again = [event for event in after.values() if event.id not in before]
    bench.turn.append(back)
    receipts = (
        *(f"Taken back: {told(event, here, stamp, gone)}" for event in gone),
        *(f"Counts again: {told(event, here, stamp, again)}" for event in again),
    )
    doubts = () if receipts else ("There is nothing to take back.",)
    return Said("", here.name, back[: len(events)], receipts, doubts, (), len(gone), stamp.units)


def _backs(
    id_: UUID, events: Sequence[Event], now: datetime, who: str, on: date
) -> tuple[Event, ...]:
    """Return what takes the events of a line back, numbered as they are."""
    return tuple(
        Event(Withdrawn(e.id), on, tree=e.tree, who=who, recorded=now, id=event_id(id_, n))
        for n, e in enumerate(events)
    )


def _against(bench: Bench, id_: UUID, events: Sequence[Event]) -> tuple[Event, ...]:
    """Return what takes the events of a line back for lines that came before it."""
    back: list[Event] = []
    for line in bench.turn.lines_against(str(id_)):
        if bench.counts(line):
            now, on = datetime.fromisoformat(line.recorded), date.fromisoformat(line.on_day)
            back += _backs(UUID(line.id), events, now, line.who, on)
    return tuple(back)


def _again(
    bench: Bench, known: KeptLine, *, text: str, asked: str, withdraws: UUID | None = None
) -> Said:
    """Answer a line that was kept before as it was answered then."""
    if (known.text, known.asked, known.withdraws) != (text, asked, withdraws and str(withdraws)):
        said = f"said {known.text!r}" if known.text else "took a line back"
        raise RecordError(
            f"a line with the id {known.id} was kept before and {said}",
            allowed="a new id for a new line",
            todo="Send it again under an id of its own",
        )
    return bench.answered(known)


def _kept_once(bench: Bench, id_: UUID, said: Said, tree: str, stamp: Stamp) -> Said:
    """Write the events of a line under its ids, or find them there from a loaded folder."""
    events = numbered(id_, said.events)
    there = bench.turn.events_with([str(event.id) for event in events])
    if not there:
        bench.turn.append(events)
        return replace(said, events=events)
    here = bench.tree(tree)
    receipts = tuple(told(event, here, stamp, there) for event in there)
    return replace(said, events=tuple(there), receipts=receipts, known=True)


def _storable(text: str) -> str:
    """Return text without the halves of letters that no file can hold."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _stamp(bench: Bench, on: date, who: str, now: datetime | None, units: str | None) -> Stamp:
    settings = bench.settings
    return Stamp(now or datetime.now(UTC), who or settings.who, on, units or settings.units)


def _understood(bench: Bench, phrase: Phrase) -> tuple[Said, str, Stamp]:
    """Turn one phrase into events, with the tree they are of; nothing is stored here."""
    stamp = _stamp(bench, phrase.on, phrase.who, _moment(bench, phrase), phrase.units)
    trees = bench.called()
    hand = trees[named(phrase.tree, trees)].id if phrase.tree else _at_hand(bench, phrase, stamp)
    last = _line_before(bench, phrase, hand, stamp) if hand else []
    # A new day begins a new bench session: no place carries over.
    session = [event for event in last if event.on == phrase.on]
    place, bodies = last_said(session, bench.tree(hand)) if hand and session else ("", [])
    line = parse(
        phrase.text,
        today=phrase.on,
        units=stamp.units,
        trees=callable_names(trees),
        last_place=place,
        last_bodies=bodies,
    )
    tree = trees[named(line.tree, trees)].id if line.tree else hand
    if tree is None:
        raise UnknownNameError(
            "no tree is named and none was written of before",
            allowed=", ".join(tree.name for tree in trees) or "a tree of the book",
            todo="Begin the line with the tree's name, or give --tree",
        )
    odd = stranger(line) if not (line.tree or phrase.tree) else ""
    if odd:
        line = as_note(line, f"No tree is called {odd!r}; the line is kept as a note only.")
    if _goes_back(line) and phrase.after and bench.turn.line(str(phrase.after)) is None:
        line = replace(line, doubts=(*line.doubts, BEFORE_NOT_HERE))
    if line.undo or line.not_places or line.moved_to:
        last = _line_before(bench, phrase, tree, stamp)
        said = mended(line, last, bench.tree(tree), stamp)
        return replace(said, doubts=(*said.doubts, *line.doubts)), tree, stamp
    return written(line, bench.tree(tree), stamp), tree, stamp


def _moment(bench: Bench, phrase: Phrase) -> datetime:
    """Return the moment a line was said, later than that of the line it goes on from."""
    now = phrase.now or datetime.now(UTC)
    before = bench.turn.line(str(phrase.after)) if phrase.after else None
    return now if before is None else max(now, datetime.fromisoformat(before.recorded) + A_MOMENT)


def _at_hand(bench: Bench, phrase: Phrase, stamp: Stamp) -> str | None:
    if phrase.alone or phrase.after is not None:
        return bench.tree_before(phrase.after)
    return bench.tree_at_hand(stamp.who)


def _line_before(bench: Bench, phrase: Phrase, tree: str, stamp: Stamp) -> list[Event]:
    if phrase.alone or phrase.after is not None:
        return bench.line_before(phrase.after, tree)
    return bench.last_line(tree, stamp.who)


def _goes_back(line: Line) -> bool:
    """Tell whether a line goes back to the one before it."""
    back = line.undo or line.not_places or line.moved_to
    return bool(back) or any(entry.same or not entry.places for entry in line.entries)


# --- days, and the shape --------------------------------------------------------------------------


def standing_day(path: Path) -> date | None:
    """Return the day a demonstration garden takes as today, None for any other book."""
    with Reader.open(path) as reader:
        events = reader.garden_events()
    day = garden_of(standing(events)).fields.get("standing_date")
    return day if isinstance(day, date) else None


def said_shape(answer: Said, command: str = "say") -> dict[str, Json]:
    """Return what became of a line, or of a record taken back, in its JSON shape."""
    return shaped(
        f"boughwright/{command}",
        1,
        {
            "phrase": answer.text,
            "tree": answer.tree,
            "events": [to_record(event) for event in answer.events],
            "receipts": answer.receipts,
            "doubts": answer.doubts,
            "unread": answer.unread,
            "withdrawn": answer.withdrawn,
        },
    )


def backdated(on: date, step: int = 0) -> datetime:
    """Return the evening of a day, for a line written down long ago; ``step`` keeps the order."""
    return datetime(on.year, on.month, on.day, 20, tzinfo=UTC) + timedelta(seconds=step)
