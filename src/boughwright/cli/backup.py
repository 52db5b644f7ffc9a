"""``boughwright backup``: copy the book, checked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import wrap
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over a copy that is there.")
@common
@click.pass_obj
def command(book: str | None, file: Path, on: date | None, units: str | None,
            *, force: bool, as_json: bool) -> None:  # fmt: skip
    """Copy the book to FILE. The copy is read back and counted."""
    from boughwright.usecases.keep import copy_out, held_shape  # noqa: PLC0415

    with progress("Copying the book"):
        held = copy_out(book_path(book), file, force=force)
    if as_json:
        show_json(held_shape("backup", held))
        return
    click.echo(wrap(f"Copied to {file}, read back whole: {held}.", hang=2))
