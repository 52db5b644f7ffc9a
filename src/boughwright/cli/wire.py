"""``boughwright wire``: all wire on all trees."""

from __future__ import annotations

from math import isnan
from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import Column, counted, short_day, table, wrap
from boughwright.settings import book_path
from boughwright.sources import Grade
from boughwright.units import show_date, show_length

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from boughwright.usecases.wires import AllWire, WireLine

_COLUMNS = (
    Column("tree and place", 23),
    Column("wire, put on", 15),
    Column("look by", 10),
    Column("off by", 10),
    Column("set", 7),
    Column("used", 5, right=True),
)


@click.command("wire")
@click.option("--tree", help="Only this tree.")
@common
@click.pass_obj
def command(book: str | None, tree: str | None, on: date | None, units: str | None,
            *, as_json: bool) -> None:  # fmt: skip
    """Show all wire that is on: when to look, when it must be off, how much is used."""
    from boughwright.usecases.wires import all_wire, all_wire_shape  # noqa: PLC0415

    with progress("Working out the garden") as tell:
        answer = all_wire(book_path(book), on=on, tree=tree, progress=tell)
    if as_json:
        show_json(all_wire_shape(answer))
    else:
        click.echo(wire_text(answer, units or answer.units))


def wire_text(answer: AllWire, units: str) -> str:
    """Return all wire as text, what must come off first on top."""
    if not answer.lines:
        return f"No wire is on, {show_date(answer.today)}."
    today = answer.today
    due = sum(
        1
        for x in answer.lines
        if x.window.seen_grade >= 3 or (x.window.off_by is not None and x.window.off_by <= today)
    )
    head = (
        f"{counted(len(answer.lines), 'wire').capitalize()} on, {show_date(today)}; {due} due off."
    )
    rows = _grouped(answer.lines, today, units)
    foot = (
        "Used: likely share of the sink its phase allows. Off by is the day one in ten such wires "
        "would have used all of it. Grades: 0 slides, 1 snug, 2 a line shows, 3 bitten, 4 deep, "
        "5 closed over. A ? marks dates that rest on guesses, not yet on your own readings. "
        "Wear eye protection when you cut wire; its ends spring."
    )
    return "\n".join([head, "", table(_COLUMNS, rows), "", wrap(foot)])


def _grouped(lines: Sequence[WireLine], today: date, units: str) -> list[tuple[str, ...]]:
    """Return table rows; wires of one tree that read the same stand on one row."""
    places: dict[tuple[str, ...], list[str]] = {}
    for line in lines:
        places.setdefault((line.tree, *_row(line, today, units)), []).append(line.place)
    return [
        (f"{tree}: {', '.join(names)}{seen}", *rest)
        for (tree, seen, *rest), names in places.items()
    ]


def _row(line: WireLine, today: date, units: str) -> tuple[str, ...]:
    window, wire = line.window, line.wire
    gauge = "?" if isnan(wire.gauge_mm) else show_length(wire.gauge_mm, units)
    metal = wire.metal.value if wire.metal else "?"
    strands = f" x{wire.strands}" if wire.strands > 1 else ""
    seen = f"; grade {window.seen_grade} seen" if window.seen_grade >= 0 else ""
    off = "now" if _now(line, today) else _day(window.off_by, today)
    settled = "?" if window.hold_from is None else short_day(window.hold_from, today)[4:]
    if window.wirings > 1:
        settled = f"{window.wirings} goes"
    used = window.share_used[1]
    doubt = "?" if window.grade is Grade.GUESS else ""
    return (
        seen,
        f"{gauge} {metal}{strands}, {short_day(wire.on, today)[4:]}",
        _day(window.look_by, today),
        off,
        settled,
        "?" if isnan(used) else f"{min(used, 9.99) * 100:.0f}%{doubt}",
    )


def _now(line: WireLine, today: date) -> bool:
    off = line.window.off_by
    return line.window.seen_grade >= 3 or (off is not None and off <= today)


def _day(day: date | None, today: date) -> str:
    return "-" if day is None else short_day(day, today)
