"""``boughwright say``: write down a bench phrase."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import wrap
from boughwright.settings import book_path
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from boughwright.usecases.say import Said


@click.command("say")
@click.argument("phrase", nargs=-1, required=True)
@click.option("--tree", help="The tree, when the phrase does not begin with it.")
@click.option("--who", default="", help="Who says it.")
@common
@click.pass_obj
def command(book: str | None, phrase: tuple[str, ...], tree: str | None, who: str,
            on: date | None, units: str | None, *, as_json: bool) -> None:  # fmt: skip
    """Write down what you did or saw: "2R wire on 2 al", "apex leaf thin most".

    "undo" takes the last line back; boughwright withdraw an older one. Words that are not
    understood are kept as a note.
    """
    from boughwright.usecases.say import Phrase, said_shape, say, standing_day  # noqa: PLC0415

    path = book_path(book)
    day = on or standing_day(path) or date.today()
    (said,) = say(path, [Phrase(" ".join(phrase), day, tree=tree, who=who, units=units)])
    if as_json:
        show_json(said_shape(said))
        return
    echo_said(said)


def echo_said(said: Said) -> None:
    """Print what became of a line."""
    click.echo(wrap(f"{said.tree}:"))
    for receipt in said.receipts:
        click.echo(wrap(spoken(receipt, said.units), indent=2, hang=4))
    for doubt in said.doubts:
        click.echo(wrap(spoken(doubt, said.units), indent=2, hang=4))
