"""``boughwright records``: what is written of a tree or a branch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import Column, counted, table
from boughwright.settings import book_path

if TYPE_CHECKING:
    from datetime import date


@click.command("records")
@click.argument("tree")
@click.argument("place", required=False, default="")
@click.option("--facts", is_flag=True, help="Also how the tree and its branches were entered.")
@click.option("--ids", is_flag=True, help="Also the id of each, for boughwright withdraw.")
@common
@click.pass_obj
def command(book: str | None, tree: str, place: str, on: date | None, units: str | None,
            *, facts: bool, ids: bool, as_json: bool) -> None:  # fmt: skip
    """Show what is written of TREE, or of one PLACE on it, oldest first."""
    from boughwright.usecases.records import records, records_shape  # noqa: PLC0415

    answer = records(book_path(book), tree, place, on=on, facts=facts, units=units)
    if as_json:
        show_json(records_shape(answer))
        return
    title = f"{answer.tree} {answer.place}".rstrip()
    click.echo(f"{title}: {counted(len(answer.lines), 'record')}\n")
    columns = [Column("day", 10), Column("what", 44 if ids else 54), Column("who", 12)]
    rows = [[line.on.isoformat(), line.words, line.who] for line in answer.lines]
    if ids:
        columns.append(Column("id", 8))
        rows = [[*row, line.id[-8:]] for row, line in zip(rows, answer.lines, strict=True)]
    if rows:
        click.echo(table(columns, rows))
