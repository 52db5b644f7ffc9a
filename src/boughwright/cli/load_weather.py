"""``boughwright load-weather``: take a daily weather file into the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, new_book, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import counted, wrap

if TYPE_CHECKING:
    from datetime import date

_SHOWN = 20


@click.command("load-weather")
@click.argument("station")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--on-bad", type=click.Choice(["skip", "refuse"]), default="skip",
              show_default=True, help="Leave bad rows out, or take nothing.")  # fmt: skip
@click.option("--dates", type=click.Choice(["dmy", "mdy"]), help="What 3/4/2026 means.")
@common
@click.pass_obj
def command(book: str | None, station: str, file: Path, on_bad: str, dates: str | None,
            on: date | None, units: str | None, *, as_json: bool) -> None:  # fmt: skip
    """Take FILE, a daily weather file, into the book as STATION.

    Reads plain CSV and the public GHCN-Daily format; see docs/weather-files.md.
    """
    from boughwright.usecases.weather import load_weather, weather_shape  # noqa: PLC0415

    with progress("Reading the weather"):
        taken = load_weather(
            new_book(book), station, file, on_bad=on_bad, today=on, date_order=dates  # type: ignore[arg-type]  # the choice offers just these words
        )  # fmt: skip
    if as_json:
        show_json(weather_shape(taken))
        return
    click.echo(
        f"{taken.station}: {counted(taken.new, 'new day')}, {taken.changed} changed, "
        f"{taken.same} as before."
    )
    if taken.unused:
        click.echo(wrap(taken.unused, indent=2, hang=4))
    for note in taken.file.notes:
        click.echo(wrap(str(note), indent=2, hang=4))
    if taken.file.refused_count:
        click.echo(f"{counted(taken.file.refused_count, 'value')} not taken:")
    for row in taken.file.refused[:_SHOWN]:
        click.echo(wrap(str(row), indent=2, hang=4))
    if taken.file.refused_count > _SHOWN:
        click.echo(f"  and {taken.file.refused_count - _SHOWN} more; --json lists them")
