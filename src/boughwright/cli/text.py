"""Plain text for a terminal: tables within 80 columns, wrapped sentences, lengths in a unit.

Colour is never used, so it can carry no meaning.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.sources import Grade
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

WIDTH = 80


def trusted(text: str, grade: Grade, units: str) -> str:
    """Return a sentence with its full stop, saying so when it rests on a guess."""
    told = spoken(text.rstrip("."), units)
    return f"{told} (guess)." if grade is Grade.GUESS else f"{told}."


def wrap(text: str, *, indent: int = 0, hang: int | None = None, width: int = WIDTH) -> str:
    """Wrap a sentence to the page, the first line indented, the rest hanging."""
    return textwrap.fill(
        text,
        width,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent if hang is None else hang),
        break_long_words=False,
        break_on_hyphens=False,
    )


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, its width, and whether it holds numbers (set to the right)."""

    head: str
    width: int
    right: bool = False


def table(columns: Sequence[Column], rows: Iterable[Sequence[str]], *, indent: int = 0) -> str:
    """Return a table; a cell too long for its column is wrapped onto lines below.

    Raises
    ------
    ValueError
        When the columns together are wider than the page.
    """
    if indent + sum(c.width for c in columns) + 2 * (len(columns) - 1) > WIDTH:
        raise ValueError(f"columns are wider than {WIDTH}")
    lines = [_line([c.head for c in columns], columns, indent)]
    lines.append(_line(["-" * len(c.head) for c in columns], columns, indent))
    for row in rows:
        cells = [
            textwrap.wrap(cell, c.width, break_on_hyphens=False) or [""]
            for cell, c in zip(row, columns, strict=True)
        ]
        height = max(map(len, cells))
        for i in range(height):
            lines.append(_line([x[i] if i < len(x) else "" for x in cells], columns, indent))
    return "\n".join(lines)


def _line(cells: Sequence[str], columns: Sequence[Column], indent: int) -> str:
    parts = (
        cell.rjust(c.width) if c.right else cell.ljust(c.width)
        for cell, c in zip(cells, columns, strict=True)
    )
    return (" " * indent + "  ".join(parts)).rstrip()


def minutes(value: float) -> str:
    """Return bench time as a grower says it: ``50 min``, ``1 h 10``."""
    whole = round(value / 5) * 5 if value >= 10 else max(1, round(value))
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return ``no trees``, ``1 tree`` or ``3 trees``."""
    if number == 0:
        return f"no {many or one + 's'}"
    return f"{number} {one if number == 1 else many or one + 's'}"


def window(earliest: date | None, latest: date | None, today: date) -> str:
    """Return a window of days as a grower says it."""
    opens = earliest if earliest is not None and earliest > today else None
    if opens is not None and latest is not None:
        return f"{short_day(opens, today)} to {short_day(latest, today)}"
    if opens is not None:
        return f"from {short_day(opens, today)}"
    if latest is None:
        return "no hurry"
    return "today" if latest <= today else f"by {short_day(latest, today)}"


def short_day(day: date, today: date) -> str:
    """Return a day in few letters: ``Thu 18 Jun``, with the year when it is not today's."""
    text = f"{day:%a} {day.day} {day:%b}"
    return text if day.year == today.year else f"{text} {day.year}"
