"""``boughwright demo``: make the demonstration garden and show its week."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import wrap
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

BOOK = "demo"


@click.command("demo")
@click.option("--serve/--no-serve", "served", default=None,
              help="Then open it in a browser; yes when started by hand.")  # fmt: skip
@click.option("--port", type=click.IntRange(1, 65533), metavar="N",
              help="Port to use; else the first free one from 8170.")  # fmt: skip
@common
@click.pass_obj
def command(book: str | None, on: date | None, units: str | None, port: int | None,
            *, served: bool | None, as_json: bool) -> None:  # fmt: skip
    """Make the demonstration garden afresh, show its week, and open it in a browser.

    Weir Lane Garden, its trees and its weather are invented from end to end. Ctrl-C stops the
    pages; the garden stays.
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
    by_hand = sys.stdin.isatty() and sys.stdout.isatty()
    click.echo("Everything in this garden is invented, its weather too.\n")
    click.echo(call_up_text(answer, units or answer.garden.settings.units))
    click.echo("")
    more = f'Go on with:  boughwright --book {name} sheet "ditch field maple"'
    click.echo(more)
    click.echo(
        wrap(f"The book is {path}. Its today is the day above unless you give --on.", hang=2)
    )
    if by_hand if served is None else served:
        click.echo("")
        _open(path, port, by_hand=by_hand)
    else:
        click.echo(f"In a browser:  boughwright --book {name} serve")


def _open(path: Path, port: int | None, *, by_hand: bool) -> None:
    """Serve the garden until Ctrl-C."""
    gc.enable()  # unlike other commands this one runs on
    from boughwright.web.serve import Plan, serve  # noqa: PLC0415

    serve(path, Plan(port, open_browser=by_hand), tell=click.echo)
