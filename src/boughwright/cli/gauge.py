"""``boughwright gauge``: which wire holds a bend on this branch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.progress import progress
from boughwright.cli.text import trusted, wrap
from boughwright.settings import book_path
from boughwright.units import show_date, show_length
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.gauge import Gauge
    from boughwright.wire.choice import WireChoice


@click.command("gauge")
@click.argument("tree")
@click.argument("place")
@click.option("--bend", type=click.Choice(["gentle", "moderate", "strong"]), default="moderate",
              show_default=True, help="How hard: radius over 40, 20 to 40, or under 20 diameters.",
              )  # fmt: skip
@click.option("--metal", type=click.Choice(["al", "cu"]), default="al", show_default=True)
@click.option("--lowering", is_flag=True, help="The branch is brought down.")
@common
@click.pass_obj
def command(book: str | None, tree: str, place: str, bend: str, metal: str, on: date | None,
            units: str | None, *, lowering: bool, as_json: bool) -> None:  # fmt: skip
    """Say which wire holds a bend on PLACE of TREE, beside the trade's rule of thumb."""
    from boughwright.journal.terms import Bend, Metal  # noqa: PLC0415
    from boughwright.usecases.gauge import gauge_for, gauge_shape  # noqa: PLC0415

    with progress("Working out the wire"):
        answer = gauge_for(book_path(book), tree, place, bend=Bend(bend), metal=Metal(metal),
                           lowering=lowering, on=on)  # fmt: skip
    if as_json:
        show_json(gauge_shape(answer))
    else:
        click.echo(gauge_text(answer, units or answer.units))


def gauge_text(answer: Gauge, units: str) -> str:
    """Return the answer as text, the wire first."""
    choice = answer.choice
    base = show_length(answer.base_mm, units)
    lines = [
        wrap(_first(choice, units)),
        f"  {answer.tree} {answer.place}, base {base}, {answer.bend} bend",
        "",
    ]
    for sentence in _facts(choice, units):
        lines.append(wrap(sentence, indent=2, hang=4))
    lines += [wrap(spoken(text, units), indent=2, hang=4) for text in choice.warnings]
    lines += ["", *_now(answer, units)]
    lines += [wrap(f"Take care: {text}", hang=2) for text in choice.cautions]
    return "\n".join(lines)


def _first(choice: WireChoice, units: str) -> str:
    if choice.guy:
        return "A padded guy, no wire."
    if choice.gauge_mm is None:
        return "No common gauge fits."
    strands = {1: "", 2: ", two strands", 3: ", three strands"}[choice.strands]
    return f"{show_length(choice.gauge_mm, units)} {choice.metal.word}{strands}."


def _facts(choice: WireChoice, units: str) -> list[str]:
    trade = choice.trade
    low, high = show_length(trade.low_mm, units), show_length(trade.high_mm, units)
    rule = low if low == high else f"{low} to {high}"
    told = []
    if choice.hold is not None and choice.over_bend is not None:
        bend = "no over-bend" if choice.over_bend < 1.05 else (
            f"bend it {choice.over_bend:.2f} times as tight as wanted"
        )  # fmt: skip
        told.append(f"It holds {choice.hold:.2f} of what the bend asks after a day: {bend}.")
    told.append(
        f"One wire of {show_length(choice.steady_gauge_mm, units)} would need no over-bend."
    )
    told.append(
        f"The trade's rule of thumb: {rule}, bent {trade.over_bend_high:.2f} times as tight."
    )
    told.append(f"Smallest safe radius in one go: {show_length(choice.safe_radius_mm, units)}.")
    if not choice.guy:
        told.append(f"Coil it at {choice.coil_deg[0]:.0f} to {choice.coil_deg[1]:.0f} degrees.")
    if choice.length_mm is not None and choice.mass_g is not None:
        told.append(f"Cut {show_length(choice.length_mm, units)}, {choice.mass_g:.0f} g.")
    told.append(f"How far to trust it: {choice.grade.word}.")
    return told


def _now(answer: Gauge, units: str) -> list[str]:
    now = answer.now
    when = f", from {show_date(now.from_date, today=answer.today)}" if now.from_date else ""
    lines = [f"Wire it now? {now.say.value.capitalize()}{when}."]
    return lines + [wrap(trusted(r.text, r.grade, units), indent=2, hang=4) for r in now.reasons]
