"""``boughwright may-i``: may this work be done now?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import Day, common, show_json
from boughwright.cli.text import trusted, wrap
from boughwright.settings import book_path
from boughwright.units import show_date
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.may_i import Asked


@click.command("may-i")
@click.argument("tree")
@click.argument("phrase", nargs=-1, required=True)
@click.option("--day", type=Day(), help="The day you would do it, when not today.")
@common
@click.pass_obj
def command(book: str | None, tree: str, phrase: tuple[str, ...], day: date | None,
            on: date | None, units: str | None, *, as_json: bool) -> None:  # fmt: skip
    """Ask whether a work may be done on TREE, in a bench phrase.

    PHRASE is a place and a work: "2R cut to pair 1", "leaf full", "repot hard".
    """
    from boughwright.usecases.may_i import ask, ask_shape  # noqa: PLC0415

    answer = ask(book_path(book), tree, " ".join(phrase), on=on, day=day)
    if as_json:
        show_json(ask_shape(answer))
    else:
        click.echo(may_i_text(answer, units or answer.units))


def may_i_text(answer: Asked, units: str) -> str:
    """Return the answer as text, the word first."""
    from boughwright.verdicts.cautions import caution_text  # noqa: PLC0415

    told = answer.answer
    where = f" {', '.join(answer.places)}" if answer.places else ""
    amount = f" {answer.work.amount.value}" if answer.work.amount else ""
    asked = f"{answer.tree}{where}: {answer.work.work}{amount}"
    when = f", from {show_date(told.from_date, today=answer.today)}" if told.from_date else ""
    lines = [wrap(f"{told.say.value.capitalize()}{when}. ({asked}, {show_date(answer.on)})")]
    reasons = (trusted(reason.text, reason.grade, units) for reason in told.reasons)
    lines += [wrap(text, indent=2, hang=4) for text in reasons]
    if told.condition:
        lines.append(wrap(f"Opens when: {spoken(told.condition, units)}.", indent=2, hang=4))
    if told.instead:
        lines.append(wrap(f"Instead: {spoken(told.instead, units)}.", indent=2, hang=4))
    cautions = [caution_text(key) for key in told.caution.split("; ") if key]
    lines += [wrap(f"Take care: {text}", indent=2, hang=4) for text in cautions]
    return "\n".join(lines)
