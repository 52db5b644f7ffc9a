"""``boughwright load``: take a garden folder into the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, new_book, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import counted, wrap
from boughwright.usecases.spoken import spoken

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

    with progress("Reading the folder"):
        taken = load(new_book(book), folder, on_bad=on_bad, units=units or "mm", on=on)  # type: ignore[arg-type]  # the choice offers just these words
    if as_json:
        show_json(taken_shape(taken))
        return
    new = counted(taken.new_events, "new record").capitalize()
    click.echo(
        f"{new} of {len(taken.read.events)} in the folder; "
        f"{counted(taken.weather_days, 'weather day')} new or changed."
    )
    problems = taken.read.problems
    _list("not taken", [str(p) for p in problems if p.refused], units or "mm")
    _list("taken, but to look at", [str(p) for p in problems if not p.refused], units or "mm")


def _list(what: str, lines: list[str], units: str) -> None:
    if not lines:
        return
    click.echo(f"{counted(len(lines), 'thing').capitalize()} {what}:")
    for line in lines[:_SHOWN]:
        click.echo(wrap(spoken(line, units), indent=2, hang=4))
    if len(lines) > _SHOWN:
        click.echo(f"  and {len(lines) - _SHOWN} more; --json lists them")
