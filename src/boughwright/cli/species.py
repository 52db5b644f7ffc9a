"""``boughwright species``: what is reckoned for a species, and where each value comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from boughwright.cli.options import common, show_json
from boughwright.cli.text import Column, table, wrap
from boughwright.units import MM_PER_INCH
from boughwright.usecases.spoken import spoken

if TYPE_CHECKING:
    from datetime import date

    from boughwright.usecases.species import TraitLine

_UNIT_WORDS = frozenset({"mm", "cm", "cm2", "c"})
_COLUMNS = (
    Column("value of", 30),
    Column("value", 12, right=True),
    Column("range, unit", 21),
    Column("grade", 8),
)


@click.command("species")
@click.argument("name")
@common
def command(name: str, on: date | None, units: str | None, *, as_json: bool) -> None:
    """Show what is reckoned for the species NAME, botanical or common.

    Override any of it for your garden or one tree in species.csv; see docs/garden-folder.md.
    """
    from boughwright.usecases.species import species_shape, species_values  # noqa: PLC0415

    species, lines = species_values(name)
    if as_json:
        show_json(species_shape(species, lines))
        return
    click.echo(f"{species.botanical}, {species.plain}\n")
    rows = [_row(line, units or "mm") for line in lines]
    click.echo(table(_COLUMNS, [row for row in rows if len(row[1]) <= _COLUMNS[1].width]))
    for name_, words, *_ in rows:
        if len(words) > _COLUMNS[1].width:
            click.echo(wrap(f"{name_}: {words}", hang=2))
    click.echo("\nSources:")
    for text in dict.fromkeys(line.source for line in lines):
        click.echo(wrap(text, indent=2, hang=4))
    click.echo("")
    click.echo(wrap("A guess is a starting value; your own readings and overrides replace it."))


def _row(line: TraitLine, units: str) -> tuple[str, ...]:
    trait = line.trait
    inches = trait.unit == "mm" and units == "in"
    factor, unit = (1 / MM_PER_INCH, "in") if inches else (1.0, trait.unit)
    span = ""
    if trait.low is not None and trait.high is not None:
        span = f"{trait.low * factor:.3g} to {trait.high * factor:.3g}"
    if unit == "0-3":  # a step of none, little, some, much
        unit = "of 3"
    value = trait.value * factor if inches and isinstance(trait.value, float) else trait.value
    words = [word for word in line.name.split("_") if word not in _UNIT_WORDS]
    return " ".join(words), spoken(_word(value), units), f"{span} {unit}".strip(), trait.grade.word


def _word(value: float | str | bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else f"{value:.4g}"
