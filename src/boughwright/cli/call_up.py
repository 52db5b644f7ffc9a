"""``boughwright call-up``: what the collection needs this week against the hours at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import Column, counted, minutes, spoken, table, window, wrap
from boughwright.settings import book_path
from boughwright.units import show_date

if TYPE_CHECKING:
    from datetime import date

    from boughwright.benchwork.jobs import BenchJob, TreeCall
    from boughwright.usecases.call_up import Called


@click.command("call-up")
@click.option("--hours", type=click.FloatRange(0, 112), help="Bench hours at hand; else yours.")
@click.option("--days", type=click.IntRange(1, 60), default=7, show_default=True,
              help="How many days to look ahead.")  # fmt: skip
@common
@click.pass_obj
def command(book: str | None, hours: float | None, days: int, on: date | None,
            units: str | None, *, as_json: bool) -> None:  # fmt: skip
    """Say what needs the bench this week, against your hours.

    Trees stand in the order of the harm done if they are skipped.
    """
    from boughwright.usecases.call_up import call_up_for, call_up_shape  # noqa: PLC0415

    answer = call_up_for(book_path(book), on=on, hours=hours, days=days)
    if as_json:
        show_json(call_up_shape(answer))
    else:
        click.echo(call_up_text(answer, units or answer.garden.settings.units))


def call_up_text(answer: Called, units: str) -> str:
    """Return the call-up as text."""
    call = answer.call
    name = answer.garden.garden.fields.get("name") or "Your garden"
    lines = [f"{name}, {show_date(call.today)}", "", wrap(_sentence(answer)), ""]
    for number, tree in enumerate(call.now, 1):
        lines += [*_tree(number, tree, call.today, units), ""]
    if call.slips:
        lines += ["What slips:", ""]
        rows = [
            (s.name, f"{s.job.act}: {s.job.places}", _day(s.to, call.today), spoken(s.cost, units))
            for s in call.slips
        ]
        columns = (Column("tree", 17), Column("job", 22), Column("to", 11), Column("cost", 24))
        lines += [table(columns, rows), ""]
    if call.calm:
        lines += ["Nothing to do now:", ""]
        lines += [
            wrap(f"{t.name}: {spoken(t.headline, units)}", indent=2, hang=4) for t in call.calm
        ]
        lines.append("")
    lines += [wrap(spoken(note, units), hang=2) for note in answer.notes]
    cautions = _cautions(call.now)
    if cautions:
        lines += ["", "Take care:", *(wrap(text, indent=2, hang=4) for text in cautions)]
    return "\n".join(lines).rstrip()


def _sentence(answer: Called) -> str:
    call = answer.call
    if not call.now:
        return f"No tree needs the bench before {show_date(call.until, today=call.today)}."
    jobs = sum(len(tree.jobs) for tree in call.now)
    text = (
        f"{counted(len(call.now), 'tree').capitalize()} with {counted(jobs, 'job')} before "
        f"{show_date(call.until, today=call.today)}: {minutes(call.hours_planned * 60)} of your "
        f"{minutes(call.hours * 60)}."
    )
    if call.hours_planned > call.hours:
        text += f" That is {minutes((call.hours_planned - call.hours) * 60)} over: harm that "
        text += "cannot be undone does not wait."
    return f"{text} {counted(len(call.slips), 'job').capitalize()} {_verb(len(call.slips))}."


def _verb(number: int) -> str:
    return "slips" if number == 1 else "slip"


def _tree(number: int, tree: TreeCall, today: date, units: str) -> list[str]:
    head = f"{number}. {tree.name}"
    right = f"{_by(tree.act_by, today)}  {minutes(tree.minutes)}"
    lines = [f"{head}{right.rjust(80 - len(head))}"]
    for job in tree.jobs:
        lines += _job(job, today, units)
    return lines


def _job(job: BenchJob, today: date, units: str) -> list[str]:
    what = f"{job.act}: {job.places}" if job.places else str(job.act)
    when = window(job.earliest, job.latest, today)
    tail = f"{when}, {minutes(job.minutes)}, {job.sureness.word}" if job.minutes else (
        f"{when}, {job.sureness.word}"
    )  # fmt: skip
    lines = [wrap(f"{what} ({tail})", indent=3, hang=5)]
    lines.append(wrap(spoken(job.reason, units), indent=5))
    return lines


def _by(day: date | None, today: date) -> str:
    return f"by {show_date(day, today=today)}" if day else "no hurry"


def _day(day: date | None, today: date) -> str:
    return (
        f"{day.day} {day:%b}" + ("" if day.year == today.year else f" {day.year}") if day else "?"
    )


def _cautions(trees: tuple[TreeCall, ...]) -> list[str]:
    from boughwright.verdicts.cautions import caution_text  # noqa: PLC0415

    keys = dict.fromkeys(job.caution for tree in trees for job in tree.jobs if job.caution)
    return [caution_text(key) for key in keys]
