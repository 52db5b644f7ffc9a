"""``boughwright stages``: where each tree is in its year, and what the weather threatens."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import Column, short_day, table, wrap
from boughwright.settings import book_path
from boughwright.units import show_date
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from datetime import date

    from boughwright.season.stages import DateRange
    from boughwright.usecases.stages import StageLine, Strip

_COLUMNS = (
    Column("tree", 21),
    Column("stage", 15),
    Column("since", 14),
    Column("next", 24),
)


@click.command("stages")
@common
@click.pass_obj
def command(book: str | None, on: date | None, units: str | None, *, as_json: bool) -> None:
    """Show each tree's stage and dates, and the frost, heat and wet-leaf alarms."""
    from boughwright.usecases.stages import stage_shape, stage_strip  # noqa: PLC0415

    with progress("Working out the garden") as tell:
        answer = stage_strip(book_path(book), on=on, progress=tell)
    if as_json:
        show_json(stage_shape(answer))
    else:
        click.echo(stages_text(answer, units or "mm"))


def stages_text(answer: Strip, units: str) -> str:
    """Return the strip as text: alarms first."""
    today = answer.today
    lines = [f"Stages and weather, {show_date(today)}", ""]
    told: dict[str, list[str]] = {}
    for line in answer.lines:
        for alarm in line.alarms:
            told.setdefault(
                f"{spoken(alarm.reason, units)} {spoken(alarm.todo, units)}", []
            ).append(line.tree)
    if told:
        lines.append("Alarms:")
        for text, trees in told.items():
            lines.append(wrap(f"{', '.join(trees)}: {text}", indent=2, hang=4))
        lines.append("")
    else:
        lines += ["No alarm for the days that are read or forecast.", ""]
    lines.append(table(_COLUMNS, [_row(line, today) for line in answer.lines]))
    notes: dict[str, list[str]] = {}
    for line in answer.lines:
        for note in line.calendar.notes:
            notes.setdefault(spoken(note, units), []).append(line.tree)
    lines.append("")
    for note, trees in notes.items():
        lines.append(wrap(f"{', '.join(trees)}: {note}", hang=2))
    lines.append(wrap("A date with a ? is the model's; +- gives the days it may be off."))
    return "\n".join(lines)


def _row(line: StageLine, today: date) -> tuple[str, ...]:
    following = ""
    if line.next_stage is not None and line.next_starts is not None:
        following = f"{line.next_stage.word} {_range(line.next_starts, today)}"
    return (
        f"{line.tree} ({line.shelf})",
        line.calendar.stage.word,
        _range(line.calendar.since, today),
        following,
    )


def _range(when: DateRange, today: date) -> str:
    if when.likely is None:
        return "?"
    text = short_day(when.likely, today)[4:]
    if when.seen:
        return text
    ends = [abs((end - when.likely).days) for end in (when.early, when.late) if end is not None]
    return f"{text}? +-{max(ends)}" if ends else f"{text}?"
