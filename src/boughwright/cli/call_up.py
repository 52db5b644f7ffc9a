"""``boughwright call-up``: what the collection needs this week against the hours at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, number, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import (
    WIDTH,
    Column,
    counted,
    minutes,
    short_day,
    table,
    trusted,
    window,
    wrap,
)
from boughwright.settings import book_path
from boughwright.units import show_date
from boughwright.usecases.spoken import spoken
from boughwright.usecases.week import is_feed, week_of

if TYPE_CHECKING:
    from datetime import date

    from boughwright.benchwork.jobs import BenchJob
    from boughwright.usecases.call_up import Called
    from boughwright.usecases.week import BenchTree, Later, Round, Week


@click.command("call-up")
@click.option("--hours", type=click.FloatRange(0, 112), callback=number,
              help="Bench hours at hand; else yours.")  # fmt: skip
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

    with progress("Working out the garden") as tell:
        answer = call_up_for(book_path(book), on=on, hours=hours, days=days, progress=tell)
    if as_json:
        show_json(call_up_shape(answer))
    else:
        click.echo(call_up_text(answer, units or answer.garden.settings.units))


def call_up_text(answer: Called, units: str) -> str:
    """Return the call-up as text: the bench first, then weather, feed, and what waits."""
    call = answer.call
    week = week_of(call)
    name = answer.garden.garden.fields.get("name") or "Your garden"
    parts = [[f"{name}, {show_date(call.today)}"], [wrap(_sentence(answer))]]
    parts += [_tree(number, one, call.today, units) for number, one in enumerate(week.bench, 1)]
    parts.append(_rounds("From the weather:", week.weather, call.today, units))
    parts.append(_rounds("Feed:", week.feed, call.today, units))
    parts.append(_later(week.later, call.today, units))
    parts.append(_slipped(week, call.today, units))
    if week.alone:
        names = ", ".join(tree.name for tree in week.alone)
        parts.append([wrap(f"No bench work, leave alone: {names}.", hang=2)])
    parts.append([wrap(spoken(note, units), hang=2) for note in answer.notes])
    cautions = [wrap(text, indent=2, hang=4) for text in week.cautions]
    if cautions:
        parts.append(["Take care:", *cautions])
    return "\n\n".join("\n".join(lines) for lines in parts if lines)


def _sentence(answer: Called) -> str:
    call = answer.call
    if not call.now:
        return f"No tree needs you before {show_date(call.until, today=call.today)}."
    jobs = sum(len(tree.jobs) for tree in call.now)
    text = (
        f"{counted(len(call.now), 'tree').capitalize()} with {counted(jobs, 'job')} before "
        f"{show_date(call.until, today=call.today)}: {minutes(call.hours_planned * 60)} of your "
        f"{minutes(call.hours * 60)}."
    )
    if call.over_hours > 0:
        text += f" Work that cannot wait is {minutes(call.over_hours * 60)} over your hours."
    return f"{text} {counted(len(call.slips), 'job').capitalize()} {_verb(len(call.slips))}."


def _verb(number: int) -> str:
    return "slips" if number == 1 else "slip"


def _tree(number: int, one: BenchTree, today: date, units: str) -> list[str]:
    head = f"{number}. {one.tree.name}"
    right = f"{_by(one.act_by, today)}  {minutes(one.minutes)}"
    if len(head) + 2 + len(right) <= WIDTH:
        lines = [f"{head}{right.rjust(WIDTH - len(head))}"]
    else:
        lines = [wrap(head, hang=3), right.rjust(WIDTH)]
    for job in one.jobs:
        lines += _job(job, today, units)
    return lines


def _job(job: BenchJob, today: date, units: str) -> list[str]:
    when = window(job.earliest, job.latest, today)
    tail = f"{when}, {minutes(job.minutes)}, {job.sureness.word}"
    lines = [wrap(f"{job.act}: {job.places} ({tail})", indent=3, hang=5)]
    asks = job.act.value in ("look first", "keep wire") and job.how not in job.reason
    text = f"{job.reason}: {job.how}" if asks else job.reason
    lines.append(wrap(trusted(text, job.grade, units), indent=5))
    return lines


def _rounds(title: str, rounds: tuple[Round, ...], today: date, units: str) -> list[str]:
    """Return jobs that many trees share, told once each with the trees they are for."""
    if not rounds:
        return []
    lines = [f"{title} {minutes(sum(one.minutes for one in rounds))}"]
    for one in rounds:
        when = window(one.job.earliest, one.job.latest, today)
        day = "" if when == "no hurry" else f" ({when})"
        names = ", ".join(tree.name for tree in one.trees)
        lines.append(wrap(f"{names}{day}: {_told(one.job, units)}", indent=3, hang=5))
    return lines


def _told(job: BenchJob, units: str) -> str:
    reason, how = trusted(job.reason, job.grade, units), job.how.rstrip(".")
    if is_feed(job):
        return f"{how}; {reason[:1].lower()}{reason[1:]}" if how else reason
    return f"{reason} {how}." if how else reason


def _later(later: tuple[Later, ...], today: date, units: str) -> list[str]:
    lines = ["Opens later:"] if later else []
    for one in later:
        job = one.job
        when = window(job.earliest, job.latest, today)
        text = f"{one.tree.name}, {job.act}: {job.places} ({when}). "
        text += f"{trusted(job.reason, job.grade, units)} Missed, it costs {one.missed}."
        lines.append(wrap(spoken(text, units), indent=3, hang=5))
    return lines


def _slipped(week: Week, today: date, units: str) -> list[str]:
    """Return what slips: a table of what the wait costs, then what costs nothing but the wait."""
    if not (week.dear or week.idle):
        return []
    lines = ["What slips:"]
    if week.dear:
        told: dict[tuple[str, str, str], list[str]] = {}
        for s in week.dear:
            key = (f"{s.job.act}: {s.job.places}", _slip_day(s.to, today), spoken(s.cost, units))
            told.setdefault(key, []).append(s.name)
        rows = [(", ".join(names), *key) for key, names in told.items()]
        columns = (Column("tree", 17), Column("job", 24), Column("to", 10), Column("cost", 21))
        lines += ["", table(columns, rows), ""]
    idle: dict[str, list[str]] = {}
    for slip in week.idle:
        day = "" if slip.to is None else f" to {short_day(slip.to, today)}"
        idle.setdefault(f"{slip.name}{day}", []).append(slip.job.act.value)
    if idle:
        lines.append("   With nothing lost but the wait:")
        lines += [
            wrap(f"{name}: {', '.join(acts)}", indent=3, hang=5) for name, acts in idle.items()
        ]
    return lines


def _slip_day(day: date | None, today: date) -> str:
    return "?" if day is None else short_day(day, today)


def _by(day: date | None, today: date) -> str:
    if day is None:
        return "no hurry"
    return "today" if day <= today else f"by {show_date(day, today=today)}"
