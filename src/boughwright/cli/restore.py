"""``boughwright restore``: put a copy back in the book's place."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, new_book, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import wrap

if TYPE_CHECKING:
    from datetime import date


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Take the place of the book that is there.")
@common
@click.pass_obj
def command(book: str | None, file: Path, on: date | None, units: str | None,
            *, force: bool, as_json: bool) -> None:  # fmt: skip
    """Put FILE, a copy made by backup, in the book's place. The old book is kept beside it."""
    from boughwright.usecases.keep import held_shape, put_back  # noqa: PLC0415

    with progress("Putting the book back"):
        held, kept = put_back(file, new_book(book), force=force)
    if as_json:
        show_json(held_shape("restore", held, kept))
        return
    click.echo(wrap(f"Put back: {held}.", hang=2))
    if kept is not None:
        click.echo(wrap(f"The book that was there is kept as {kept}.", hang=2))
