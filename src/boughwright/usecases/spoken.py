"""How every screen puts a sentence of the core into the grower's units: lengths and shares."""

from __future__ import annotations

import re

from boughwright.units import show_length
from boughwright.verdicts.words import percent

__all__ = ["LENGTH", "percent", "spoken"]

LENGTH = re.compile(r"\{(-?\d+(?:\.\d+)?) mm\}")
"""A length as sentences of the core carry it: ``{12.1 mm}``."""


def spoken(text: str, units: str) -> str:
    """Return a sentence of the core with its ``{12.1 mm}`` lengths in the grower's unit."""
    return LENGTH.sub(lambda found: length_as_written(found[1], units), text)


def length_as_written(number: str, units: str) -> str:
    """Return a length of ``number`` mm, to the decimals it was written with when shown in mm."""
    decimals = len(number.partition(".")[2]) if units == "mm" else None
    return show_length(float(number), units, decimals=decimals)
