"""How numbers, days, lengths and temperatures are written in each language and unit."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Final

from boughwright.usecases.spoken import LENGTH, length_as_written

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

DAY_FIRST: Final = "day first"
MONTH_FIRST: Final = "month first"
YEAR_FIRST: Final = "year first"

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
WEEKDAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

MONTH_NAMES: Final[Mapping[str, tuple[str, ...]]] = {
    "en": MONTHS,
    "de": ("Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September",
           "Oktober", "November", "Dezember"),
}  # fmt: skip
DAY_NAMES: Final[Mapping[str, tuple[str, ...]]] = {
    "en": WEEKDAYS,
    "de": ("Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"),
}
SHORT_DAY: Final = {"en": 3, "de": 2}
"""Letters of a weekday's short form."""

WRITTEN_DAY: Final = (
    r"(?:(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)\w* )?\d{1,2} (?:" + "|".join(MONTHS) + r")(?: \d{4})?"
)
"""A day as sentences of the core write it: ``18 June`` or ``Thu 18 June 2026``."""
_DAY: Final = re.compile(
    r"\b(?:(Mon|Tue|Wed|Thu|Fri|Sat|Sun)\w* )?(\d{1,2}) (" + "|".join(MONTHS) + r")(?: (\d{4}))?\b"
)
_DEGREES: Final = re.compile(
    r"(?P<by>\b(?:by|um) )?(?P<first>-?\d+(?:\.\d+)?)(?P<join> (?:to|and|bis|und) )?"
    r"(?(join)(?P<second>-?\d+(?:\.\d+)?)) °C(?! d\b)"
    r"(?P<than> (?:warmer|colder|cooler|wärmer|kälter|more|less|mehr|weniger)\b)?"
)
"""A temperature, a span of two, or a difference (``by 2 °C``, ``1.5 °C warmer``)."""


def number_text(value: float, language: str, *, decimals: int | None = None) -> str:
    """Return a number with the language's decimal mark, as short as it can be unless told."""
    text = f"{value:.{decimals}f}" if decimals is not None else f"{value:.6g}"
    return marked(text, language)


def marked(number: str, language: str) -> str:
    """Return a number written with a point with the decimal mark of the language."""
    return number.replace(".", ",") if language == "de" else number


def day_text(on: date, order: str, language: str, *, year: bool, weekday: str = "short") -> str:
    """Return a day in the grower's order.

    Parameters
    ----------
    on : date
    order : str
        ``day first``, ``month first`` (English only) or ``year first`` (2026-06-18).
    language : str
    year : bool
        Whether the year is told. In ``year first`` it always is.
    weekday : str
        ``short`` (Thu), ``long`` (Thursday) or ``none``.
    """
    name = DAY_NAMES[language][on.weekday()]
    head = {"short": name[: SHORT_DAY[language]], "long": name, "none": ""}[weekday]
    if order == YEAR_FIRST:
        return f"{head} {on.isoformat()}".strip()
    body = _month_and_day(on.day, on.month, order, language)
    tail = f" {on.year}" if year else ""
    comma = "," if weekday == "long" and language == "de" else ""
    return f"{head}{comma} {body}{tail}".strip()


def _month_and_day(day: int, month: int, order: str, language: str) -> str:
    name = MONTH_NAMES[language][month - 1]
    if language == "de":
        return f"{day}. {name}"
    return f"{name} {day}" if order == MONTH_FIRST else f"{day} {name}"


def range_text(first: date, last: date, order: str, language: str, *, year: bool) -> str:
    """Return a span of days: ``18 to 24 June``, ``28 June to 3 July``."""
    if first == last:
        return day_text(first, order, language, year=year, weekday="none")
    to = " bis " if language == "de" else " to "
    same = first.year == last.year and first.month == last.month
    if same and order != YEAR_FIRST:
        name = MONTH_NAMES[language][first.month - 1]
        tail = f" {first.year}" if year else ""
        if language == "de":
            return f"{first.day}.{to}{last.day}. {name}{tail}"
        if order == MONTH_FIRST:
            return f"{name} {first.day}{to}{last.day}{tail}"
        return f"{first.day}{to}{last.day} {name}{tail}"
    ends = (
        day_text(
            on, order, language, year=year and (on is last or on.year != last.year), weekday="none"
        )
        for on in (first, last)
    )
    return to.join(ends)


def retell_days(text: str, order: str, language: str, today: date | None) -> str:
    """Return a sentence with its English days in the grower's order and language."""
    if language == "en" and order == DAY_FIRST:
        return text
    return _DAY.sub(lambda found: _retold(found, order, language, today), text)


def _retold(found: re.Match[str], order: str, language: str, today: date | None) -> str:
    weekday, day, month, year = found.groups()
    number = MONTHS.index(month) + 1
    head = ""
    if weekday:
        at = next(i for i, name in enumerate(WEEKDAYS) if name.startswith(weekday))
        head = DAY_NAMES[language][at][: SHORT_DAY[language]] + " "
    if order == YEAR_FIRST:
        whole = int(year) if year else _nearest_year(int(day), number, today)
        if whole is not None:
            return f"{head}{whole}-{number:02d}-{int(day):02d}"
    return head + _month_and_day(int(day), number, order, language) + (f" {year}" if year else "")


def _nearest_year(day: int, month: int, today: date | None) -> int | None:
    """Return the year in which a day without one lies nearest to today."""
    if today is None:
        return None
    years = (today.year - 1, today.year, today.year + 1)
    fits = [year for year in years if (month, day) != (2, 29) or year % 4 == 0]
    return min(fits, key=lambda year: abs((date(year, month, day) - today).days), default=None)


def retell_degrees(text: str, unit: str, language: str) -> str:
    """Return a sentence with its °C in the grower's unit; warmth sums (°C d) stay as they are."""
    if "°C" not in text or (unit == "C" and language == "en"):
        return text
    return _DEGREES.sub(lambda found: _degrees(found, unit, language), text)


def _degrees(found: re.Match[str], unit: str, language: str) -> str:
    step = bool(found["by"] or found["than"])
    ends = [end for end in (found["first"], found["second"]) if end is not None]
    shown = (degrees_as_written(end, unit, language, step=step) for end in ends)
    joined = (found["join"] or "").join(shown)
    return f"{found['by'] or ''}{joined} °{unit}{found['than'] or ''}"


def degrees_as_written(number: str, unit: str, language: str, *, step: bool = False) -> str:
    """Return °C in a unit, without its sign, to the decimals it was written with.

    A step, the difference of two temperatures, turns without the offset of 32.
    """
    if unit == "F":
        value = float(number) * 1.8 + (0.0 if step else 32.0)
        number = f"{round(value, 1) + 0.0:.1f}" if step and "." in number else f"{round(value)}"
    return marked(number, language)


def retell_lengths(text: str, units: str, language: str) -> str:
    """Return a sentence with its ``{12.1 mm}`` in the grower's unit and decimal mark."""
    if "{" not in text:
        return text
    return LENGTH.sub(lambda found: marked(length_as_written(found[1], units), language), text)


def units_pass(units: str, temperature: str, language: str) -> Callable[[str], str]:
    """Return what puts lengths and temperatures of a sentence into the grower's units."""
    return lambda text: retell_degrees(retell_lengths(text, units, language), temperature, language)
