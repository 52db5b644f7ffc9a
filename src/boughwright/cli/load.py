"""``boughwright load``: take a garden folder into the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import counted, wrap
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date

_SHOWN = 20


@click.command("load")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--on-bad", type=click.Choice(["skip", "refuse"]), default="skip",
              show_default=True, help="Leave bad rows out, or take nothing.")  # fmt: skip
@common
@click.pass_obj
def command(book: str | None, folder: Path, on_bad: str, on: date | None, units: str | None,
            *, as_json: bool) -> None:  # fmt: skip
    """Take FOLDER, a garden of plain tables, into the book; see docs/garden-folder.md.

    Lengths without a unit are mm, or inches with --units in.
    """
    from boughwright.usecases.folder import load, taken_shape  # noqa: PLC0415

    taken = load(book_path(book), folder, on_bad=on_bad, units=units or "mm")  # type: ignore[arg-type]  # the choice offers just these words
    if as_json:
        show_json(taken_shape(taken))
        return
    click.echo(
        f"{counted(taken.new_events, 'new record')} of {len(taken.read.events)} in the folder; "
        f"{counted(taken.weather_days, 'weather day')} new or changed."
    )
    if taken.read.problems:
        click.echo(f"{counted(len(taken.read.problems), 'thing')} not taken:")
    for problem in taken.read.problems[:_SHOWN]:
        click.echo(wrap(str(problem), indent=2, hang=4))
    if len(taken.read.problems) > _SHOWN:
        click.echo(f"  and {len(taken.read.problems) - _SHOWN} more; --json lists them")
