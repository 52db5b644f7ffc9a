"""What a book looks like on disk, in plain constants that cost nothing to import."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from boughwright.season.record import Origin

APPLICATION_ID = 0x42574254
"""Written into the SQLite header, so that a foreign database is never taken for a book."""

REVISIONS = ("0001",)
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


@dataclass(frozen=True, slots=True)
class WeatherPut:
    """What an import of weather did, in days."""

    new: int
    changed: int
    same: int
