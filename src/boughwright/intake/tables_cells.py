"""One cell of a plain table: from its text to the value that the column holds."""

from __future__ import annotations

import difflib
import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeAlias

from boughwright.errors import TextError
from boughwright.intake.weather_dates import read_date
from boughwright.journal.columns import UNKNOWN, unguard
from boughwright.journal.fields import Field
from boughwright.journal.terms import QUANTITY_UNIT
from boughwright.units import parse_length_mm, parse_number

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from boughwright.intake.weather_dates import DateOrder
    from boughwright.journal.terms import Quantity

Value: TypeAlias = "str | float | int | bool | date | None"

_WORDS = frozenset(("text", "ref", "reading"))
"""Kinds that stay text here; a reading waits for what was measured."""

_LENGTH = Field("length", "number", "", "mm")
_LENGTH_WORDS: Mapping[str, str] = {"inch": "in", "inches": "in", '"': "in", "millimetres": "mm"}
_NOTHING = frozenset(("", "-", "--", "na", "n/a", "nan", "none", "null"))
_YES_NO: Mapping[str, bool] = {
    **dict.fromkeys(("yes", "y", "true", "1", "x", "ja", "oui", "si", "sí"), True),
    **dict.fromkeys(("no", "n", "false", "0", "nein", "non"), False),
}
_SAME_CHOICE: Mapping[str, str] = {
    "aluminium": "al", "aluminum": "al", "alu": "al", "copper": "cu",
    "inches": "in", "inch": "in", "millimetres": "mm", "on": "wire on", "off": "wire off",
    "color": "colour",
}  # fmt: skip


def is_blank(text: str, column: Field) -> bool:
    """Tell whether a cell says nothing."""
    bare = text.strip().casefold()
    nothing = column.kind not in _WORDS and bare in _NOTHING and bare not in column.choices
    return not bare or nothing


def read_cell(
    text: str, column: Field, *, unit: str, order: DateOrder | None, today: date
) -> Value:
    """Read a cell that is not blank.

    Parameters
    ----------
    text : str
    column : Field
    unit : str
        What a length without a unit is in: ``mm``, ``cm``, ``m`` or ``in``.
    order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means.
    today : date
        For years of two digits.

    Returns
    -------
    value
        None for a lone ``?``: back to unknown.

    Raises
    ------
    TextError
        When it is not a value of that column.
    """
    bare = text.strip()
    if bare == UNKNOWN:
        return None
    if column.kind in _WORDS:
        return unguard(bare)
    if column.kind == "number":
        return _number(bare, column, unit)
    if column.kind == "date":
        return read_date(bare, order, today)
    return _OTHERS[column.kind](bare, column)


_FACTORS: Mapping[str, Mapping[str, float]] = {
    "s": {"s": 1.0, "sec": 1.0, "min": 60.0},
    "g": {"g": 1.0, "kg": 1000.0},
}


def read_reading(text: str, what: Quantity, unit: str) -> float:
    """Read a reading in the unit of what was measured.

    Parameters
    ----------
    text : str
        With or without its own unit.
    what : Quantity
    unit : str
        What a number without a unit is in; empty: the quantity's own, mm for lengths.

    Raises
    ------
    TextError
        When it is not such a reading.
    """
    own = QUANTITY_UNIT[what]
    if own == "mm":
        return _number(text.strip(), _LENGTH, _LENGTH_WORDS.get(unit.casefold(), unit.casefold()))
    parts = re.fullmatch(r"\s*(.*?\d)\s*([a-z]*)\s*", text.casefold())
    factor = _FACTORS[own].get((parts[2] or unit.casefold() or own) if parts else "")
    if parts is None or factor is None:
        raise TextError(f"{what.value} is {text!r}{f' {unit}' if unit else ''}",
                        allowed=" or ".join(_FACTORS[own]), todo="Mend the number or its unit",
                        )  # fmt: skip
    return parse_number(parts[1]) * factor


def _number(text: str, column: Field, unit: str) -> float:
    if column.unit == "mm":
        if unit in ("cm", "m") and re.search(r"\d\s*$", text):
            return parse_length_mm(f"{text} {unit}")
        return parse_length_mm(text, bare=unit or "mm")
    if column.unit == "0-1" and text.endswith("%"):
        return parse_number(text[:-1]) / 100.0
    return parse_number(_without_unit(text, column.unit))


def _without_unit(text: str, unit: str) -> str:
    """Take the column's own unit off the end of a number."""
    if unit and text.casefold().endswith(unit.casefold()):
        return text[: -len(unit)]
    return text


def _count(text: str, column: Field) -> int:
    value = parse_number(_without_unit(text, column.unit))
    if value != int(value):
        raise TextError(f"{text!r} is not a whole number", allowed="1, 2, 3", todo="Mend it")
    return int(value)


def _yes_no(text: str, _column: Field) -> bool:
    value = _YES_NO.get(text.casefold())
    if value is None:
        raise TextError(f"{text!r} is neither yes nor no", allowed="yes or no", todo="Mend it")
    return value


def _choice(text: str, column: Field) -> str:
    word = " ".join(re.sub(r"[-_]+", " ", text.casefold()).split())
    if word not in column.choices:
        word = _SAME_CHOICE.get(word, word)
    if word in column.choices:
        return word
    near = difflib.get_close_matches(word, column.choices, n=3)
    hint = f"Perhaps {' or '.join(near)}" if near else "Use one of these words"
    raise TextError(f"{column.name} is {text!r}", allowed=", ".join(column.choices), todo=hint)


def _moment(text: str, _column: Field) -> datetime:
    try:
        value = datetime.fromisoformat(text)
    except ValueError as error:
        raise TextError(f"{text!r} is not a time", allowed="2026-06-09 08:30:00, in UTC",
                        todo="Mend or empty it") from error  # fmt: skip
    return value if value.tzinfo is not None else value.replace(tzinfo=UTC)


_OTHERS: Mapping[str, Callable[[str, Field], Value]] = {
    "count": _count,
    "yes-no": _yes_no,
    "choice": _choice,
    "moment": _moment,
}
