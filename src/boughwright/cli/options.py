"""What every command takes: the day, the unit, and JSON instead of text."""

from __future__ import annotations

import json
from datetime import date, datetime
from math import isnan
from typing import TYPE_CHECKING, Any, TypeVar

import click

from boughwright.errors import TextError
from boughwright.settings import book_path, data_folder

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

F = TypeVar("F", bound="Callable[..., Any]")

_YEARS = range(1700, 2200)
"""Years that a day may lie in; the earliest is that of weather files."""

_FORMS = ("%Y-%m-%d", "%d %B %Y", "%d %b %Y", "%d-%B-%Y", "%d-%b-%Y", "%d.%m.%Y")


def read_day(text: str) -> date:
    """Read a day: ``2026-06-09``, ``9 June 2026``, ``9-Jun-2026`` or ``9.6.2026``.

    Raises
    ------
    TextError
        When it is none of these, no such day exists, or it lies centuries away.
    """
    cleaned = " ".join(text.split())
    for form in _FORMS:
        try:
            day = datetime.strptime(cleaned, form).date()  # a day has no zone
        except ValueError:
            continue
        if day.year in _YEARS:
            return day
    raise TextError(
        f"{text!r} is not a day of the calendar",
        where="--on",
        allowed=f"2026-06-09, 9 June 2026 or 9.6.2026, from {_YEARS[0]} to {_YEARS[-1]}",
        todo="Write the day again",
    )


class Day(click.ParamType[date]):
    """A day on the command line; see `read_day`."""

    name = "DATE"

    def convert(self, value: Any, param: Any, ctx: Any) -> date:
        """Turn the option's text into a day."""
        return value if isinstance(value, date) else read_day(value)


def number(_: click.Context, option: click.Parameter, value: float | None) -> float | None:
    """Turn down ``nan``, which passes every range.

    Raises
    ------
    click.BadParameter
    """
    if value is not None and isnan(value):
        raise click.BadParameter("nan is not in the range of numbers.", param=option)
    return value


def new_book(name: str | None) -> Path:
    """Return the file of a book that may have to be made; its data folder is made when missing."""
    path = book_path(name)
    if path.parent == data_folder():
        path.parent.mkdir(parents=True, exist_ok=True)
    return path


def common(function: F) -> F:
    """Add ``--on``, ``--units`` and ``--json`` to a command."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text."),
        click.option(
            "--units", type=click.Choice(["mm", "in"]), help="Unit of lengths; else the garden's."
        ),
        click.option("--on", type=Day(), help="The day to take as today."),
    ):
        function = option(function)
    return function


def show_json(answer: object) -> None:
    """Print an answer as JSON."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=1))
