"""Units and numbers as people write them; inside the program everything is mm, °C and degrees."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from boughwright.errors import TextError

if TYPE_CHECKING:
    from datetime import date

MM_PER_INCH = 25.4
"""Exact, by the international yard and pound agreement of 1959."""

_LENGTH = re.compile(
    r"^\s*([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(mm|cm|m|in|inch|inches|\")?\s*$", re.I
)
_FACTOR = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "inch": MM_PER_INCH,
           "inches": MM_PER_INCH, '"': MM_PER_INCH}  # fmt: skip


def parse_number(text: str) -> float:
    """Read a number with a decimal point or a decimal comma.

    Raises
    ------
    TextError
        When it is not one finite number, or when a comma may mean thousands (``1,234``
        reads as 1.234; ``1,234.5`` is refused).
    """
    cleaned = text.strip().replace("\u2212", "-").replace("\u00a0", "")
    if "," in cleaned and "." in cleaned:
        raise TextError(f"{text!r} has both a comma and a point", allowed="12.5 or 12,5",
                        todo="Write it without a thousands mark")  # fmt: skip
    try:
        value = float(cleaned.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise TextError(
            f"{text!r} is not a number", allowed="12.5 or 12,5", todo="Mend or empty it"
        )
    return value


def parse_length_mm(text: str, *, bare: str = "mm") -> float:
    """Read a length such as ``12.5``, ``12,5 mm``, ``1/2``-free inches ``0.5 in`` or ``4 cm``.

    Parameters
    ----------
    text : str
        The number with or without its unit.
    bare : str
        The unit of a number that carries none: ``mm`` or ``in``.

    Returns
    -------
    float
        The length. [mm]

    Raises
    ------
    TextError
        When it is not a length.
    """
    match = _LENGTH.match(text)
    if match is None:
        raise TextError(f"{text!r} is not a length", allowed="12.5, 12.5 mm, 1.2 cm or 0.5 in",
                        todo="Mend or empty it")  # fmt: skip
    return parse_number(match[1]) * _FACTOR[(match[2] or bare).lower()]


def show_length(mm: float, unit: str = "mm", *, decimals: int | None = None) -> str:
    """Return a length as the grower reads it: ``12.1 mm``, or ``0.48 in``; ``?`` when unknown."""
    if math.isnan(mm):
        return "?"
    if unit == "in":
        return f"{mm / MM_PER_INCH:.{2 if decimals is None else decimals}f} in"
    places = decimals if decimals is not None else (1 if abs(mm) < 100 else 0)
    return f"{mm:.{places}f} mm"


def celsius(fahrenheit: float) -> float:
    """Turn °F into °C."""
    return (fahrenheit - 32.0) / 1.8


def show_date(day: date, *, today: date | None = None) -> str:
    """Return a date as a grower reads it: ``Thu 18 June``, with the year when it is not today's."""
    text = f"{day:%a} {day.day} {day:%B}"
    return text if today is not None and day.year == today.year else f"{text} {day.year}"
