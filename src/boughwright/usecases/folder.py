"""A garden folder of plain tables: into the book, and out of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from boughwright.errors import FileError
from boughwright.intake.folder import read_folder
from boughwright.journal.events import standing
from boughwright.journal.garden import garden_of
from boughwright.report.tables import write_folder
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from boughwright.intake.folder import FolderRead
    from boughwright.intake.weather_rows import OnBad
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class FolderTaken:
    """What became of a garden folder."""

    read: FolderRead
    new_events: int
    weather_days: int


def load(
    path: Path,
    folder: Path,
    *,
    on_bad: OnBad = "skip",
    units: str = "mm",
    who: str = "",
    now: datetime | None = None,
    on: date | None = None,
) -> FolderTaken:
    """Take a garden folder into the book, made when there is none.

    What is already in the book counts once, so the same folder may be loaded again.

    Parameters
    ----------
    path, folder : Path
        The book and the folder.
    on_bad : {"skip", "refuse"}
        Leave bad rows out and list them, or take nothing when one is bad.
    units : str
        Unit of lengths that name none: ``mm`` or ``in``.
    on : date, optional
        The day to take as today: rows that name no day are of it, and none may lie beyond it.

    Raises
    ------
    FileError
        When the folder cannot be read, or a row is bad and ``on_bad`` is ``refuse``.
    StoreError
        When the book cannot be written.
    """
    moment = now or datetime.now(UTC)
    read = read_folder(folder, on_bad=on_bad, units=units, now=moment, who=who, today=on)
    if read.refused and on_bad == "refuse":
        raise FileError(
            f"{len(read.refused)} rows are wrong; nothing was taken. The first: {read.refused[0]}",
            where=str(folder),
            todo="Mend them, or load again leaving bad rows out",
        )
    with Book.open(path, create=True) as book:
        new = book.append(read.new_to(book.events()))
        days = 0
        for station, rows in read.weather.items():
            put = book.put_weather(station, rows, file=f"weather/{station}.csv")
            days += put.new + put.changed
    return FolderTaken(read, new, days)


def save(path: Path, target: Path, *, force: bool = False) -> list[Path]:
    """Write the whole book out as a garden folder.

    Raises
    ------
    FileError
        When the target holds other things and ``force`` is not given.
    StoreError
        When the book cannot be read.
    """
    with Reader.open(path) as reader:
        events = reader.events()
        weather = {name: reader.weather(name) for name in reader.stations()}
    known = {name: record for name, record in weather.items() if record is not None}
    garden = garden_of(standing(events))
    return write_folder(target, events=events, garden=garden, weather=known, force=force)


def taken_shape(answer: FolderTaken) -> dict[str, Json]:
    """Return what was taken in its JSON shape."""
    return shaped(
        "boughwright/load",
        1,
        {
            "events": len(answer.read.events),
            "new_events": answer.new_events,
            "weather_days": answer.weather_days,
            "problems": answer.read.problems,
        },
    )
