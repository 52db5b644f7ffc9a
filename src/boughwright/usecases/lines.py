"""Lines that a device kept while it had no signal: taken in together, each once, none for another.

Every line bears an id made on the device, so a device that heard no answer sends the same lines
again and nothing is written twice. A line that cannot be taken never stops the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from boughwright.errors import BoughwrightError, StoreError, TextError
from boughwright.store.book import Book
from boughwright.usecases.bench import Bench
from boughwright.usecases.say import Phrase, Said, take, take_back
from boughwright.usecases.shapes import shaped
from boughwright.usecases.writing import Stamp

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from uuid import UUID

    from boughwright.store.turn import Turn
    from boughwright.usecases.shapes import Json

CLOCK_OFF = timedelta(minutes=2)
"""A device's clock that is further off than this is put right, and that is said."""

MOST_LETTERS = 2000
"""Longest line that is taken. [letters]"""

MOST_LETTERS_OF_A_NAME = 100
"""Longest name of a person, a device or a tree that is taken. [letters]"""


@dataclass(frozen=True, slots=True)
class SentLine:
    """One line as the device kept it: said, or taking another back.

    Parameters
    ----------
    id : UUID
        Made on the device when it was said: version 4 or 7.
    said : datetime
        When it was said, by the device's clock and with its time zone.
    text : str
        The bench phrase; empty when it takes another line back.
    withdraws : UUID, optional
        Id of the line it takes back.
    tree : str, optional
        Name, tag or id of the tree at hand.
    after : UUID, optional
        Id of the line before it on this device.
    who : str
        Who said it.
    """

    id: UUID
    said: datetime
    text: str = ""
    withdraws: UUID | None = None
    tree: str | None = None
    after: UUID | None = None
    who: str = ""


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """What became of one line.

    Parameters
    ----------
    id : UUID
        The line's own id.
    kept : bool
        It is on the disk, and the device may forget it.
    known : bool
        It had come before; ``said`` is what was answered then.
    said : Said, optional
        What was written; None when the line was refused.
    error : str
        Why it was refused, in plain words; empty when it was kept.
    note : str
        What was put right, such as the device's clock; empty when nothing was.
    """

    id: UUID
    kept: bool
    known: bool = False
    said: Said | None = None
    error: str = ""
    note: str = ""


def take_lines(
    path: Path, lines: Sequence[SentLine], *, sent: datetime, now: datetime, device: str
) -> list[LineAnswer]:
    """Take in the lines of a device, each by itself, in the order given.

    Parameters
    ----------
    path : Path
        The book.
    lines : sequence of SentLine
        In the order said.
    sent : datetime
        When they were sent, by the device's clock.
    now : datetime
        The same moment by our own clock.
    device : str
        The device they come from.

    Returns
    -------
    list of LineAnswer
        One a line. What is ``kept`` is on the disk.

    Raises
    ------
    TextError
        When ``sent`` or ``now`` has no time zone.
    StoreError
        When the book cannot be read or written. Lines before may be kept: send them all again.
    """
    off = _moment(now, "now") - _moment(sent, "sent")
    off, note = (off, _clock_note(off)) if abs(off) > CLOCK_OFF else (timedelta(), "")
    clock = _Clock(off, now, note)
    answers = []
    with Book.open(path) as book:
        bench = Bench()
        for line in lines:
            try:
                with book.turn() as turn:
                    answers.append(_take_one(bench, turn, line, clock, device))
            except StoreError:
                raise
            except BoughwrightError as error:
                answers.append(LineAnswer(line.id, kept=False, error=str(error)))
    return answers


@dataclass(frozen=True, slots=True)
class _Clock:
    """How a device's clock is put right."""

    off: timedelta
    now: datetime
    note: str

    def moment(self, said: datetime) -> datetime:
        """Return the moment a line was said, in the device's time zone; never one to come."""
        put_right = _moment(said, "said")
        try:
            put_right += self.off
            put_right.astimezone(UTC)
        except OverflowError as error:
            raise TextError(
                f"the line was said in the year {said.year}",
                allowed="a moment up to now",
                todo="Set the clock of the device and say the line again",
            ) from error
        return put_right if put_right <= self.now else self.now.astimezone(said.tzinfo)


def _take_one(bench: Bench, turn: Turn, line: SentLine, clock: _Clock, device: str) -> LineAnswer:
    bench.sit_down(turn)
    _check(line)
    moment = clock.moment(line.said)
    on = bench.standing_date() or moment.date()
    who, device = _printable(line.who), _printable(device)
    moment = moment.astimezone(UTC)
    if line.withdraws is not None:
        settings = bench.settings
        stamp = Stamp(moment, who or settings.who, on, settings.units)
        said = take_back(bench, line.withdraws, stamp, id_=line.id, after=line.after, device=device)
    else:
        tree = _printable(line.tree or "") or None
        said = take(bench, Phrase(line.text, on, tree, who, moment, id=line.id, after=line.after,
                                  alone=True, device=device))  # fmt: skip
    return LineAnswer(line.id, kept=True, known=said.known, said=said, note=clock.note)


def _check(line: SentLine) -> None:
    if line.withdraws is not None and line.text.strip():
        raise TextError(
            "a line either says something or takes another line back",
            allowed="one of the two",
            todo="Send two lines, each under its own id",
        )
    if len(line.text) > MOST_LETTERS:
        raise TextError(
            f"the line has {len(line.text)} letters",
            allowed=f"up to {MOST_LETTERS}",
            todo="Say it in several lines",
        )


def _moment(given: datetime, name: str) -> datetime:
    if given.tzinfo is None or given.utcoffset() is None:
        raise TextError(
            f"{name} {given.isoformat()} has no time zone",
            allowed="a moment with its time zone, such as 2026-06-09T18:30:00+02:00",
            todo="Send it with the device's time zone",
        )
    return given


def _printable(name: str) -> str:
    """Return a name that can be stored and shown, cut to a length."""
    clean = "".join(letter if letter.isprintable() else " " for letter in name)
    return clean.strip()[:MOST_LETTERS_OF_A_NAME]


def _clock_note(off: timedelta) -> str:
    """Say how far a device's clock is off."""
    minutes = round(abs(off).total_seconds() / 60)
    days, rest = divmod(minutes, 24 * 60)
    hours, rest = divmod(rest, 60)
    parts = [f"{n} {word}" for n, word in ((days, "d"), (hours, "h"), (rest, "min")) if n]
    way = "slow" if off > timedelta() else "fast"
    told = " ".join(parts)
    return f"The clock of this device is {told} {way}. The times of its lines are put right."


def lines_shape(answers: Sequence[LineAnswer]) -> dict[str, Json]:
    """Return what became of the lines of a device in its JSON shape."""
    return shaped(
        "boughwright/lines",
        1,
        {
            "lines": [
                {
                    "id": answer.id,
                    "kept": answer.kept,
                    "known": answer.known,
                    "error": answer.error,
                    "note": answer.note,
                    **_said_body(answer.said),
                }
                for answer in answers
            ]
        },
    )


def _said_body(said: Said | None) -> dict[str, object]:
    return {
        "phrase": said.text if said else "",
        "tree": said.tree if said else None,
        "on": said.events[0].on if said and said.events else None,
        "records": [str(event.id) for event in said.events] if said else [],
        "receipts": said.receipts if said else (),
        "doubts": said.doubts if said else (),
        "unread": said.unread if said else (),
        "withdrawn": said.withdrawn if said else 0,
    }
