"""How verdicts put lengths, shares, days and names into plain sentences.

Lengths stand in curly braces, ``{12.1 mm}``, so that a screen can turn them into inches.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

_MONTHS = (
    "",
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def mm(length: float) -> str:
    """Return a length as ``{12.1 mm}``, without decimals from 20 mm on."""
    return f"{{{length:.0f} mm}}" if abs(length) >= 20 else f"{{{length:.1f} mm}}"


LINES_PERCENT = (85, 90, 95)
"""Lines that verdicts turn on, in per cent."""


def percent(share: float) -> str:
    """Return a share as ``74 %``, rounded, but never up onto a line that was just missed."""
    shown = round(share * 100)
    if shown in LINES_PERCENT and share * 100 < shown - 1e-6:
        shown -= 1
    return f"{shown} %"


def day(on: date) -> str:
    """Return a day as ``18 June``."""
    return f"{on.day} {_MONTHS[on.month]}"


def listed(names: Iterable[str]) -> str:
    """Return names as ``1L, 4R and apex``."""
    *most, last = tuple(names) or ("",)
    return f"{', '.join(most)} and {last}" if most else last


def plural(count: int, one: str, many: str = "") -> str:
    """Return ``1 season`` or ``3 seasons``."""
    return f"{count} {one if count == 1 else many or one + 's'}"
