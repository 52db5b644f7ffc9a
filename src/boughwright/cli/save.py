"""``boughwright save``: write the whole book out as a garden folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import counted
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date


@click.command("save")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over a garden folder that is there.")
@common
@click.pass_obj
def command(book: str | None, folder: Path, on: date | None, units: str | None,
            *, force: bool, as_json: bool) -> None:  # fmt: skip
    """Write the whole book out as FOLDER: one TOML and plain CSV tables, nothing left out."""
    from boughwright.usecases.folder import save  # noqa: PLC0415
    from boughwright.usecases.shapes import shaped  # noqa: PLC0415

    with progress("Writing the folder"):
        written = save(book_path(book), folder, force=force)
    if as_json:
        show_json(shaped("boughwright/save", 1, {"files": [str(path) for path in written]}))
        return
    click.echo(f"Wrote {counted(len(written), 'file')} to {folder}.")
