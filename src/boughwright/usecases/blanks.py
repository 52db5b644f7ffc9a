"""Bench phrases with blanks, ``4R node __ room __``: which numbers they ask for, and filled in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import QUANTITY_UNIT, Sign
from boughwright.units import parse_length_mm, parse_number
from boughwright.usecases.bench_phrases import BLANK

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

BREAK: Final = ";"
GAUGE: Final = "on"
"""The word before the blank of a wire: ``wire on __ al``."""
_NO_LENGTHS: Final = {what.value: unit for what, unit in QUANTITY_UNIT.items() if unit != "mm"} | {
    Sign.BITE.value: ""
}
"""Words before blanks that take no length, with the unit of their number."""


@dataclass(frozen=True, slots=True)
class Blank:
    """One number that is asked for: of which branch, and the word before it."""

    place: str
    word: str

    def unit(self, units: str = "mm") -> str:
        """Return the unit of a bare number: the garden's for lengths, mm for wire everywhere."""
        return unit_after(self.word, units)


def unit_after(word: str, units: str = "mm") -> str:
    """Return the unit of a bare number after a word, ``mm`` or ``in`` being the garden's own.

    Wire is sold by the millimetre, so its gauge is in mm in every garden. A grade has no unit.
    """
    return "mm" if word == GAUGE else _NO_LENGTHS.get(word, units)


def blanks_of(phrase: str) -> tuple[Blank, ...]:
    """Return the numbers that a phrase asks for, in order."""
    found = []
    for part in phrase.split(BREAK):
        said = part.split()
        found += [
            Blank(said[0], said[n - 1]) for n, word in enumerate(said) if word == BLANK and n > 0
        ]
    return tuple(found)


def filled(phrase: str, numbers: Sequence[str], *, units: str = "mm") -> str:
    """Return a phrase with its blanks filled; what was left empty is left out.

    Parameters
    ----------
    phrase : str
        With ``__`` for each number.
    numbers : sequence of str
        As typed, with or without a unit; a comma may stand for the decimal point.
    units : str
        What a bare length is in, ``mm`` or ``in``; the phrase itself is told in mm. Seconds, grams
        and grades stay as they are, and a wire's gauge is in mm in every garden.

    Returns
    -------
    str
        Empty when no number was given.

    Raises
    ------
    TextError, RangeError
        When one is no length, or no number where none is asked for.
    """
    given = iter([*numbers, *[""] * phrase.count(BLANK)])
    parts = [_part(part.split(), given, units) for part in phrase.split(BREAK)]
    return f"{BREAK} ".join(part for part in parts if part)


def _part(said: list[str], given: Iterator[str], units: str) -> str:
    """Return one part of a phrase; empty when all its blanks are."""
    words: list[str] = []
    any_given = False
    for word in said:
        if word != BLANK:
            words.append(word)
            continue
        text = next(given).strip()
        if text:
            any_given = True
            words.append(f"{_number(text, words[-1], units):.2f}".rstrip("0").rstrip("."))
        else:
            words.pop()
    return " ".join(words) if any_given else ""


def _number(text: str, word: str, units: str) -> float:
    """Read what was typed after a word: a length in mm, else a number in its own unit."""
    if word in _NO_LENGTHS:
        unit = _NO_LENGTHS[word]
        return parse_number(text.removesuffix(f" {unit}") if unit else text)
    return parse_length_mm(text, bare=unit_after(word, units))
