"""``boughwright doubts``: records that cannot both be right."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import counted, wrap
from boughwright.settings import book_path
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from datetime import date


@click.command("doubts")
@common
@click.pass_obj
def command(book: str | None, on: date | None, units: str | None, *, as_json: bool) -> None:
    """List records that cannot both be right. None is changed; you say which holds."""
    from boughwright.usecases.doubts import doubts, doubts_shape, units_of  # noqa: PLC0415

    found = doubts(book_path(book), on=on)
    if as_json:
        show_json(doubts_shape(found))
        return
    unit = units or units_of(book_path(book))
    click.echo(f"{counted(len(found), 'doubt').capitalize()}.")
    for doubt in found:
        place = f" {doubt.place}" if doubt.place else ""
        text = f"{doubt.tree}{place}: {doubt.what.what} {doubt.what.todo}"
        click.echo(wrap(spoken(text, unit), indent=2, hang=4))
