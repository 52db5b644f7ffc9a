"""``boughwright withdraw``: take back one record, however old."""

from __future__ import annotations

from datetime import date

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.say import echo_said
from boughwright.settings import book_path


@click.command("withdraw")
@click.argument("tree")
@click.argument("record")
@click.option("--who", default="", help="Who takes it back.")
@common
@click.pass_obj
def command(book: str | None, tree: str, record: str, who: str, on: date | None,
            units: str | None, *, as_json: bool) -> None:  # fmt: skip
    """Take back one record of TREE; "records TREE --ids" gives the id RECORD.

    It stays in the book as taken back, and counts no more.
    """
    from boughwright.usecases.say import said_shape, standing_day, withdraw  # noqa: PLC0415

    path = book_path(book)
    day = on or standing_day(path) or date.today()
    said = withdraw(path, tree, record, on=day, who=who, units=units)
    if as_json:
        show_json(said_shape(said, "withdraw"))
    else:
        echo_said(said)
