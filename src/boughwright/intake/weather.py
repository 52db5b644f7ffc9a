"""Read a weather file of any kind we know: its first line tells which."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.intake.weather_csv import read_weather_csv
from boughwright.intake.weather_ghcn import is_long, is_wide, read_weather_ghcn
from boughwright.intake.weather_text import encoding_of, text_lines

if TYPE_CHECKING:
    from datetime import date

    from boughwright.intake.weather_dates import DateOrder
    from boughwright.intake.weather_ghcn import Units
    from boughwright.intake.weather_rows import OnBad, WeatherFile


def read_weather(
    path: Path | str,
    *,
    today: date,
    on_bad: OnBad = "skip",
    date_order: DateOrder | None = None,
    station: str | None = None,
    units: Units | None = None,
) -> WeatherFile:
    """Read a daily weather file: our own table, or GHCN-Daily in its long or wide shape.

    Parameters
    ----------
    path : path
        CSV text, plain or packed with gzip.
    today : date
        Rows after it are forecasts; at most 20 days ahead.
    on_bad : {"skip", "refuse"}
        Leave bad rows out and list them, or take nothing when one is bad.
    date_order : {"dmy", "mdy"}, optional
        For our own table: what ``3/4/2026`` means, when the file does not show it.
    station, units : optional
        For GHCN-Daily: which station, and which units an export has.

    Returns
    -------
    WeatherFile

    Raises
    ------
    FileError, TextError
        See `read_weather_csv` and `read_weather_ghcn`.
    """
    path = Path(path)
    encoding, _ = encoding_of(path)
    first = next((line for line in text_lines(path, encoding) if line.strip()), "")
    if is_long(first) or is_wide(first):
        return read_weather_ghcn(path, today=today, on_bad=on_bad, station=station, units=units)
    return read_weather_csv(path, today=today, on_bad=on_bad, date_order=date_order)
