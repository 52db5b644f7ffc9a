"""``boughwright sheet``: one tree head to foot."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import short_day, trusted, window, wrap
from boughwright.settings import book_path
from boughwright.units import show_date, show_length
from boughwright.usecases.spoken import spoken
from boughwright.verdicts.words import percent

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.sheet import Line, Sheet
    from boughwright.verdicts.verdict import Verdict


@click.command("sheet")
@click.argument("tree")
@click.option("--all", "whole", is_flag=True, help="Also the branches to leave alone, one by one.")
@common
@click.pass_obj
def command(book: str | None, tree: str, on: date | None, units: str | None,
            *, whole: bool, as_json: bool) -> None:  # fmt: skip
    """Show TREE head to foot: every branch, what to do, why, and what would change it."""
    from boughwright.usecases.sheet import sheet, sheet_shape  # noqa: PLC0415

    with progress("Working out the garden") as tell:
        answer = sheet(book_path(book), tree, on=on, progress=tell)
    if as_json:
        show_json(sheet_shape(answer))
    else:
        click.echo(sheet_text(answer, units or answer.units, whole=whole))


def sheet_text(answer: Sheet, units: str, *, whole: bool = False) -> str:
    """Return the sheet as text."""
    facts, today = answer.day.facts, answer.today
    species = facts.species.botanical if facts.species else answer.day.species_doubt
    vigour = facts.vigour.word if facts.vigour is not None else "strength unknown"
    about = [species, facts.phase.value if facts.phase else "phase unknown", vigour,
             f"stage: {facts.calendar.stage.word}"]  # fmt: skip
    lines = [wrap(f"{facts.name}, {show_date(today)}"), wrap("; ".join(about)), ""]
    for verdict in answer.whole:
        lines += [*_verdict("the tree", "", verdict, today, units), ""]
    calm = [line for line in answer.lines if _calm(line) and not whole]
    for line in answer.lines:
        if line not in calm:
            lines += [
                *_verdict(line.branch.name, _facts(line, units), line.verdict, today, units),
                "",
            ]
    if calm:
        names = ", ".join(line.branch.name for line in calm)
        lines += [wrap(f"Leave alone ({len(calm)}): {names}", hang=2), ""]
    for sentence in facts.contradictions:
        lines.append(wrap(f"Cannot both be right: {spoken(sentence, units)}", hang=2))
    if answer.cautions:
        lines += ["Take care:", *(wrap(text, indent=2, hang=4) for text in answer.cautions)]
    return "\n".join(lines).rstrip()


def _calm(line: Line) -> bool:
    return line.verdict.act.value == "leave alone"


def _facts(line: Line, units: str) -> str:
    branch = line.branch
    parts = []
    if branch.base_mm is not None:
        parts.append(f"base {show_length(branch.base_mm, units)}")
    if branch.target_base_mm is not None and branch.reached is not None:
        wanted = show_length(branch.target_base_mm, units)
        parts.append(f"{percent(branch.reached)} of {wanted}")
    if branch.internode_share is not None:
        parts.append(f"node {branch.internode_share:.2f} of room to outline")
    return ", ".join(parts)


def _verdict(name: str, facts: str, verdict: Verdict, today: date, units: str) -> list[str]:
    where = spoken(verdict.where, units)
    told = where.endswith(".")  # whole sentences: they stand below the head
    place = f", {where}" if where and not told else ""
    when = window(verdict.earliest, verdict.latest, today)
    head = f"{name}: {verdict.act}{place} ({when}, {verdict.sureness.word})"
    lines = [wrap(head, hang=2)]
    if told:
        lines.append(wrap(where, indent=2))
    if facts:
        lines.append(wrap(facts, indent=2))
    lines += [wrap(trusted(r.text, r.grade, units), indent=2) for r in verdict.reasons]
    if verdict.flip:
        lines.append(wrap(f"Would change if {spoken(verdict.flip, units)}.", indent=2))
    lines += [
        wrap(f"- {spoken(text.rstrip('.'), units)}.", indent=2, hang=4) for text in verdict.never
    ]
    notes = (spoken(note.text.rstrip("."), units) for note in verdict.notes)
    lines += [wrap(f"Also: {note}.", indent=2, hang=4) for note in notes]
    if verdict.next_look is not None:
        soon = verdict.next_look <= today
        lines.append(
            "  Look today." if soon else f"  Look again {short_day(verdict.next_look, today)}."
        )
    return lines
