"""``boughwright serve``: open the book at the bench, in a browser."""

from __future__ import annotations

import gc
import sys
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import Day, new_book

if TYPE_CHECKING:
    from datetime import date


@click.command("serve")
@click.option("--port", type=click.IntRange(1, 65533), metavar="N",
              help="Port to use; else the first free one from 8170.")  # fmt: skip
@click.option("--lan", is_flag=True, help="Let paired devices in the home network in too.")
@click.option("--https", is_flag=True, help="With --lan: seal what is sent there.")
@click.option("--open/--no-open", "open_", default=None,
              help="Show it in the browser; yes when started by hand.")  # fmt: skip
@click.option("--on", type=Day(), help="The day to take as today.")
@click.pass_obj
def command(book: str | None, port: int | None, on: date | None,
            *, lan: bool, https: bool, open_: bool | None) -> None:  # fmt: skip
    """Open the book in a browser, on this computer or on devices at home.

    Only this computer can reach it unless --lan is given. Ctrl-C stops it.
    """
    gc.enable()  # unlike other commands this one runs for days
    from boughwright.web.serve import Plan, serve  # noqa: PLC0415

    by_hand = sys.stdin.isatty() and sys.stdout.isatty()
    plan = Plan(port, lan=lan, https=https, open_browser=by_hand if open_ is None else open_)
    serve(new_book(book), plan, tell=click.echo, today=None if on is None else lambda: on)
