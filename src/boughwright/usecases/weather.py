"""Take a daily weather file into the book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from boughwright.errors import FileError
from boughwright.intake.weather import read_weather
from boughwright.journal.events import standing
from boughwright.journal.garden import garden_of
from boughwright.store.book import Book
from boughwright.usecases.day import quiet
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from boughwright.intake.weather_rows import OnBad, WeatherFile
    from boughwright.journal.events import FieldValue
    from boughwright.usecases.shapes import Json

READ_SHARE: Final = 0.7
"""How much of the work is done once the file is read."""


@dataclass(frozen=True, slots=True)
class WeatherTaken:
    """What became of a weather file: days new, changed and the same, and what was refused."""

    station: str
    file: WeatherFile
    new: int
    changed: int
    same: int
    unused: str = ""
    """Why no place uses this weather, in words; empty when one does, or there are none yet."""


def load_weather(
    path: Path, station: str, file: Path, *, on_bad: OnBad = "skip", today: date | None = None,
    date_order: str | None = None, progress: Callable[[float], object] = quiet,
) -> WeatherTaken:  # fmt: skip
    """Read a weather file and keep its days; days already kept are replaced, others stay.

    Parameters
    ----------
    path, file : Path
        The book, made when there is none, and the weather file.
    station : str
        Name that places give as their weather, else the place's own key or name.
    on_bad : {"skip", "refuse"}
        Leave bad rows out and list them, or take nothing when one is bad.
    today : date, optional
        Days after it are forecasts.
    date_order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means, when the file does not show it.
    progress : callable
        Told the share done, 0..1.

    Raises
    ------
    FileError, TextError
        When the file cannot be read, or a row is bad and ``on_bad`` is ``refuse``.
    StoreError
        When the book cannot be written.
    """
    read = read_weather(
        file, today=today or date.today(), on_bad=on_bad, date_order=date_order  # type: ignore[arg-type]  # the command offers just these words
    )  # fmt: skip
    if not read.days:
        raise FileError("holds no day that can be used", where=str(file),
                        allowed="at least one day with a temperature",
                        todo="See docs/weather-files.md")  # fmt: skip
    progress(READ_SHARE)
    with Book.open(path, create=True) as book:
        places = garden_of(standing(event for event in book.events() if event.tree is None)).places
        known = _stations(places)
        station = known.get(station.casefold(), station)
        put = book.put_weather(station, read.days, file=file.name)
    progress(1.0)
    used = ", ".join(sorted(set(known.values())))
    unused = "" if not known or station in known.values() else (
        f"No place uses the weather of {station!r}. Those in use: {used}. Load it under one of "
        "these, or name it in the column weather of places.csv."
    )  # fmt: skip
    return WeatherTaken(station, read, put.new, put.changed, put.same, unused)


def _stations(places: Mapping[str, Mapping[str, FieldValue]]) -> dict[str, str]:
    """Return the stations that places use, by every word that may mean one, in small letters."""
    own = {key: str(place.get("weather") or key) for key, place in places.items()}
    words = {str(places[key].get("name") or key).casefold(): name for key, name in own.items()}
    words |= {key.casefold(): name for key, name in own.items()}
    return words | {name.casefold(): name for name in own.values()}


def weather_shape(answer: WeatherTaken) -> dict[str, Json]:
    """Return what was taken in its JSON shape."""
    return shaped(
        "boughwright/load-weather",
        1,
        {
            "station": answer.station,
            "new": answer.new,
            "changed": answer.changed,
            "same": answer.same,
            "unused": answer.unused,
            "refused": answer.file.refused,
            "refused_count": answer.file.refused_count,
            "notes": answer.file.notes,
        },
    )
