"""What a book looks like on disk, in plain constants that cost nothing to import."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from boughwright.season.record import Origin

APPLICATION_ID = 0x42574254
"""Written into the SQLite header, so that a foreign database is never taken for a book."""

REVISIONS = ("0001", "0002")
"""Every layout there has been, oldest first. The last one is written."""

BUSY_S = 30.0
"""How long a second writer waits for the first. [s]"""

Row: TypeAlias = tuple[int, str, str, int, str | None, str | None, str, str, str, str]
"""One event as stored text: the columns of `EVENT_COLUMNS`."""

EVENT_COLUMNS = (
    "seq",
    "id",
    "kind",
    "version",
    "tree",
    "branch",
    "on_day",
    "who",
    "recorded",
    "body",
)

WEATHER_FIELDS = ("t_min_c", "t_max_c", "rain_mm", "humidity_pct", "wind_ms", "sun_mj")
"""The measured columns of a weather day; NULL is unknown."""

ORIGIN_WORDS = {Origin.BENCH: "bench", Origin.READ: "read", Origin.FORECAST: "forecast"}
"""What is kept beside each other for one day, the one believed first in front."""


LINE_COLUMNS = (
    "id",
    "asked",
    "text",
    "after_line",
    "withdraws",
    "tree",
    "on_day",
    "who",
    "recorded",
    "device",
    "answer",
)


@dataclass(frozen=True, slots=True)
class KeptLine:
    """A line that came under an id of its own, as it was taken; the columns of `LINE_COLUMNS`.

    Parameters
    ----------
    id : str
        The line's id, a UUID made on the device.
    asked : str
        The tree it was said of, as the device named it; empty when it named none.
    text : str
        What was said; empty for a line that takes another back.
    after_line : str, optional
        Id of the line it goes on from.
    withdraws : str, optional
        Id of the line it takes back.
    tree : str, optional
        Lasting id of the tree it was written of.
    on_day : str
        The day it was said.
    who : str
        Who said it.
    recorded : str
        The moment its records bear.
    device : str
        The device it came from.
    answer : str
        What was answered, as JSON.
    """

    id: str
    asked: str
    text: str
    after_line: str | None
    withdraws: str | None
    tree: str | None
    on_day: str
    who: str
    recorded: str
    device: str
    answer: str


@dataclass(frozen=True, slots=True)
class WeatherPut:
    """What an import of weather did, in days."""

    new: int
    changed: int
    same: int
