"""``boughwright demo``: make the demonstration garden and show its week."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import wrap
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date

BOOK = "demo"


@click.command("demo")
@common
@click.pass_obj
def command(book: str | None, on: date | None, units: str | None, *, as_json: bool) -> None:
    """Make the demonstration garden afresh and show what it needs this week.

    Weir Lane Garden, its trees and its weather are invented from end to end.
    """
    from boughwright.cli.call_up import call_up_text  # noqa: PLC0415
    from boughwright.demo.build import build  # noqa: PLC0415
    from boughwright.usecases.call_up import call_up_for, call_up_shape  # noqa: PLC0415

    name = book or BOOK
    path = book_path(name)
    with progress("Making the demonstration garden") as tell:
        build(path, progress=tell)
    answer = call_up_for(path, on=on)
    if as_json:
        show_json(call_up_shape(answer))
        return
    click.echo("Everything in this garden is invented, its weather too.\n")
    click.echo(call_up_text(answer, units or answer.garden.settings.units))
    click.echo("")
    more = f'Go on with:  boughwright --book {name} sheet "ditch field maple"'
    click.echo(more)
    click.echo(
        wrap(f"The book is {path}. Its today is the day above unless you give --on.", hang=2)
    )
