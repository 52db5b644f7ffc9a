"""Dates as files write them; the order of day and month is never guessed."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Literal, TypeAlias

from boughwright.errors import TextError

if TYPE_CHECKING:
    from collections.abc import Iterable

DateOrder: TypeAlias = Literal["dmy", "mdy"]
"""Which comes first in 3/4/2026: the day or the month."""

_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d\d)(\d\d)")
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4}|\d\d)")
_SLASHED = re.compile(r"(\d{1,2})([-/])(\d{1,2})\2(\d{4}|\d\d)")
_MIDNIGHT = re.compile(r"[T ]+00:00(?::00(?:\.0+)?)?(?:Z|[+-]00:?00)?$")
_CLOCK = re.compile(r"[T ]+\d{1,2}:\d\d")
_FORMS = "2026-06-09, 20260609, 9.6.2026 or 9/6/2026"


def is_slashed(text: str) -> bool:
    """Tell whether a date leaves open which of its numbers is the month."""
    return _SLASHED.fullmatch(_MIDNIGHT.sub("", text.strip())) is not None


def order_of(texts: Iterable[str]) -> DateOrder | None:
    """Find whether day or month comes first from numbers above 12; None when none is.

    It stops at the first date that tells. A file that contradicts itself further on has those
    rows refused one by one, for there is no thirteenth month.
    """
    for text in texts:
        match = _SLASHED.fullmatch(_MIDNIGHT.sub("", text.strip()))
        if match and (int(match[1]) > 12) != (int(match[3]) > 12):
            return "dmy" if int(match[1]) > 12 else "mdy"
    return None


def read_date(text: str, order: DateOrder | None, today: date) -> date:
    """Read one date.

    Parameters
    ----------
    text : str
    order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means.
    today : date
        Years of two digits are the latest that is not beyond next year.

    Raises
    ------
    TextError
        When it is no date, or its order is not known.
    """
    bare = _MIDNIGHT.sub("", text.strip())
    if match := _ISO.fullmatch(bare):
        parts = match[1], match[3], match[4]
    elif match := _COMPACT.fullmatch(bare):
        parts = match[1], match[2], match[3]
    elif match := _DOTTED.fullmatch(bare):
        parts = match[3], match[2], match[1]
    elif match := _SLASHED.fullmatch(bare):
        if order is None:
            raise ask(text)
        day, month = (match[1], match[3]) if order == "dmy" else (match[3], match[1])
        parts = match[4], month, day
    elif _CLOCK.search(bare):
        raise TextError(f"{text!r} has a time of day", allowed="one row a day",
                        todo="Make daily rows of hourly ones first")  # fmt: skip
    else:
        raise TextError(f"{text!r} is not a date", allowed=_FORMS, todo="Mend the date")
    try:
        return date(_year(parts[0], today), int(parts[1]), int(parts[2]))
    except ValueError as error:
        raise TextError(f"there is no day {text!r}", allowed=_FORMS,
                        todo="Check day and month") from error  # fmt: skip


def _year(text: str, today: date) -> int:
    year = int(text)
    if len(text) == 4:
        return year
    year += today.year // 100 * 100
    return year - 100 if year > today.year + 1 else year


def ask(text: str) -> TextError:
    """Return the error that asks which number is the month."""
    return TextError(f"{text!r} does not tell whether day or month comes first",
                     allowed="dmy or mdy", todo="Say which order the file has")  # fmt: skip
