"""What a weather file gives: days, rows that were refused and why, and notes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import isnan, nan
from typing import TYPE_CHECKING, Literal, TypeAlias

from boughwright.errors import FileError
from boughwright.season.record import Origin

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

OnBad: TypeAlias = Literal["skip", "refuse"]
"""``skip``: bad rows are left out and listed. ``refuse``: with one bad row nothing is taken."""

LIMITS: Mapping[str, tuple[float, float, str]] = {
    "t_min_c": (-60.0, 60.0, "°C"),
    "t_max_c": (-60.0, 60.0, "°C"),
    "rain_mm": (0.0, 2000.0, "mm a day"),
    "humidity_pct": (0.0, 100.0, "%"),
    "wind_ms": (0.0, 75.0, "m/s"),
    "sun_mj": (0.0, 50.0, "MJ/m² a day"),
}
"""Legal range and unit of each value. The wettest day on record had 1825 mm; no sun at the top of
the air gives 50 MJ/m² in a day (from memory)."""

_HINT = {
    "t_min_c": "Is the column in °F? Then write °F in its header",
    "t_max_c": "Is the column in °F? Then write °F in its header",
    "rain_mm": "Check the unit in the header",
    "wind_ms": "Check the unit in the header",
    "sun_mj": "Check the unit in the header",
}
EARLIEST = date(1700, 1, 1)
DAYS_AHEAD = 20
"""How far ahead of today a forecast may reach. [d]"""

MISSING_MARKS = frozenset(
    float(f"-{nines}{tail}")
    for nines in ("99", "999", "9999", "99999")
    for tail in ("", ".9", ".99")
)
"""Numbers that stations write for "not read": -99, -999.9 and the like."""

_KEPT_REFUSALS = 500


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One day of weather. nan is unknown.

    Units as in `boughwright.season.record.Weather`; ``origin`` is read, bench or forecast.
    """

    on: date
    t_min_c: float = nan
    t_max_c: float = nan
    rain_mm: float = nan
    humidity_pct: float = nan
    wind_ms: float = nan
    sun_mj: float = nan
    origin: Origin = Origin.READ


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A row, or one value of it, that was not taken."""

    file: str
    row: int
    what: str
    allowed: str = ""
    todo: str = ""

    def __str__(self) -> str:
        """Return one line for the grower."""
        parts = [f"{self.file}, row {self.row}: {self.what}"]
        parts += [f"Allowed: {self.allowed}"] if self.allowed else []
        parts += [self.todo] if self.todo else []
        return ". ".join(parts) + "."


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """All that was read from one file.

    Parameters
    ----------
    file : str
        The name of the file.
    station : str
        The station named in the file; empty when it names none.
    days : tuple of WeatherDay
        By date, each date and origin once.
    refused : tuple of RefusedRow
        The first 500 rows or values that were not taken.
    refused_count : int
        How many there were in all.
    notes : tuple of str
        What the grower should know about how the file was read.
    """

    file: str
    station: str
    days: tuple[WeatherDay, ...]
    refused: tuple[RefusedRow, ...]
    refused_count: int
    notes: tuple[str, ...]


class Gathering:
    """Takes days one by one, refuses the bad ones, and keeps no more than one of each date."""

    def __init__(self, path: Path, today: date) -> None:
        self.file = path.name
        self._today = today
        self._last = today + timedelta(days=DAYS_AHEAD)
        self._days: dict[tuple[date, Origin], tuple[int, WeatherDay]] = {}
        self._refused: list[RefusedRow] = []
        self._refused_count = 0
        self._turned = 0
        self.notes: list[str] = []

    def refuse(self, row: int, what: str, allowed: str = "", todo: str = "") -> None:
        """Put a row on the list of refused ones."""
        self._refused_count += 1
        if len(self._refused) < _KEPT_REFUSALS:
            self._refused.append(RefusedRow(self.file, row, what, allowed, todo))

    def add(
        self, row: int, on: date, values: Mapping[str, float], origin: Origin | None = None
    ) -> None:
        """Take a day, or refuse its row.

        Parameters
        ----------
        row : int
            Where it stands in the file, the first line being 1.
        on : date
        values : mapping of field to float
            nan where unknown.
        origin : Origin, optional
            When the file does not say: a forecast after today, else read.
        """
        if not self._day_fits(row, on, origin) or not self._values_fit(row, values):
            return
        if origin is None:
            origin = Origin.FORECAST if on > self._today else Origin.READ
            self._turned += origin == Origin.FORECAST
        day = WeatherDay(on, **values, origin=origin)
        first = self._days.setdefault((on, origin), (row, day))
        if first[1] is not day and not _same(first[1], day):
            self.refuse(row, f"{on} is already in row {first[0]} with other values",
                        "one row a day", "Keep the right one of the two")  # fmt: skip

    def finish(self, on_bad: OnBad, station: str = "") -> WeatherFile:
        """Return what was gathered.

        Raises
        ------
        FileError
            When there is no day at all, or something was refused and ``on_bad`` is ``refuse``.
        """
        if on_bad == "refuse" and self._refused:
            first = self._refused[0]
            more = f" (and {self._refused_count - 1} more)" if self._refused_count > 1 else ""
            raise FileError(f"{first.what}{more}; nothing was taken",
                            where=f"{self.file}, row {first.row}", allowed=first.allowed,
                            todo=first.todo or "Mend the row, or say that bad rows are skipped",
                            )  # fmt: skip
        if not self._days:
            why = (
                f"; all {self._refused_count} were refused. {self._refused[0]}"
                if self._refused
                else ""
            )
            raise FileError(f"no row of weather could be read{why}", where=self.file,
                            allowed="a header and one row a day",
                            todo="See docs/weather-files.md")  # fmt: skip
        if self._turned:
            self.notes.append(f"Rows after today, taken as a forecast: {self._turned}")
        days = tuple(day for _, day in self._days.values())
        return WeatherFile(self.file, station, tuple(sorted(days, key=lambda day: day.on)),
                           tuple(self._refused), self._refused_count, tuple(self.notes),
                           )  # fmt: skip

    def _day_fits(self, row: int, on: date, origin: Origin | None) -> bool:
        if on > self._last:
            self.refuse(row, f"{on} is more than {DAYS_AHEAD} days ahead",
                        f"up to {self._last}", "Check the date")  # fmt: skip
        elif on > self._today and origin in (Origin.READ, Origin.BENCH):
            self.refuse(row, f"{on} is still to come, so it cannot have been read",
                        "forecast in the column kind", "Check the date")  # fmt: skip
        elif on < EARLIEST:
            self.refuse(row, f"{on} is too early", f"from {EARLIEST}", "Check the date")
        else:
            return True
        return False

    def _values_fit(self, row: int, values: Mapping[str, float]) -> bool:
        for name, value in values.items():
            low, high, unit = LIMITS[name]
            if value < low or value > high:
                self.refuse(row, f"{name} is {value:g}", f"{low:g} to {high:g} {unit}",
                            _HINT.get(name, "Mend or empty it"))  # fmt: skip
                return False
        low, high = values.get("t_min_c", nan), values.get("t_max_c", nan)
        if low > high:
            self.refuse(row, f"the lowest, {low:g} °C, is above the highest, {high:g} °C",
                        "t_min_c not above t_max_c",
                        "Check both, or whether the columns are swapped")  # fmt: skip
            return False
        return True


def _same(one: WeatherDay, other: WeatherDay) -> bool:
    pairs = ((getattr(one, name), getattr(other, name)) for name in LIMITS)
    return all(a == b or (isnan(a) and isnan(b)) for a, b in pairs)
