"""Where a number comes from, and how far it can be trusted.

Every value that reaches a screen carries a source key of ``sources.toml`` and a grade. The grade
of a result is the weakest of the grades that went into it.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import IntEnum
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from boughwright.errors import UnknownNameError

if TYPE_CHECKING:
    from collections.abc import Iterable


class Grade(IntEnum):
    """How a value was come by; the higher, the weaker."""

    MEASURED = 0
    """Read off this garden's trees, or published for this species."""
    BORROWED = 1
    """Published for a near relative, or common practice of the trade."""
    GUESS = 2
    """A starting value of ours, meant to be overwritten by readings."""

    @property
    def word(self) -> str:
        """The word shown on screens and written in tables."""
        return self.name.lower()

    @classmethod
    def of(cls, word: str) -> Grade:
        """Return the grade written as ``word`` in a table."""
        try:
            return cls[word.strip().upper()]
        except KeyError:
            raise UnknownNameError(
                f"grade {word!r} is not known",
                allowed="measured, borrowed or guess",
                todo="Mend the table row",
            ) from None


def weakest(grades: Iterable[Grade]) -> Grade:
    """Return the weakest of some grades; `Grade.MEASURED` when there are none."""
    return max(grades, default=Grade.MEASURED)


@dataclass(frozen=True, slots=True)
class Source:
    """One entry of ``sources.toml``."""

    key: str
    text: str
    kind: str
    """``published``, ``memory`` (as remembered), ``trade``, ``guess`` or ``standard``."""


@cache
def all_sources() -> dict[str, Source]:
    """Return every source by key."""
    raw = tomllib.loads(files("boughwright").joinpath("sources.toml").read_text("utf-8"))
    return {key: Source(key, row["text"], row["kind"]) for key, row in raw.items()}


def source(key: str) -> Source:
    """Return the source with that key, or raise `UnknownNameError`."""
    try:
        return all_sources()[key]
    except KeyError:
        raise UnknownNameError(
            f"source {key!r} is not listed", allowed="a key of sources.toml", todo="Add it there"
        ) from None
