"""Which wire holds this branch: gauge, metal, strands, how far to over-bend, how much to cut."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING

from boughwright.benchwork.may_i import may_i
from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.journal.terms import Bend, Metal, Work
from boughwright.season.stages import Stage
from boughwright.tree.naming import find
from boughwright.usecases.day import open_day
from boughwright.usecases.shapes import shaped
from boughwright.wire.choice import choose

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.answer import Answer
    from boughwright.wire.choice import WireChoice

BRITTLE_STAGES = frozenset({Stage.FIRST_LEAF, Stage.RUNNING, Stage.SECOND_PUSH})
"""Stages in which new wood is turgid and snaps."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """The wire for one bend on one branch, and whether it may go on now."""

    tree: str
    place: str
    base_mm: float
    bend: Bend
    today: date
    units: str
    choice: WireChoice
    now: Answer


def gauge_for(
    path: Path,
    tree: str,
    place: str,
    *,
    bend: Bend = Bend.MODERATE,
    metal: Metal = Metal.ALUMINIUM,
    lowering: bool = False,
    on: date | None = None,
) -> Gauge:
    """Return what holds a bend on one branch.

    Parameters
    ----------
    path : Path
        The book.
    tree, place : str
        The tree and one branch of it.
    bend : Bend
        How hard it is to be bent.
    metal : Metal
    lowering : bool
        The branch is brought down.
    on : date, optional
        The day to take as today.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch, or the base of the branch was never read.
    AmbiguousNameError
        When the place means more than one branch.
    """
    garden = open_day(path, on=on, only=tree)
    return gauge_of(garden, tree, place, bend=bend, metal=metal, lowering=lowering)


def gauge_of(
    garden: GardenDay,
    tree: str,
    place: str,
    *,
    bend: Bend = Bend.MODERATE,
    metal: Metal = Metal.ALUMINIUM,
    lowering: bool = False,
) -> Gauge:
    """Return what holds a bend, from a garden already worked out; see `gauge_for`.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
    """
    day = garden.tree(tree)
    row = _one_row(day, place)
    base = float(day.tree.branches.base_mm[row])
    if isnan(base):
        raise UnknownNameError(
            f"the base of {place} was never read",
            where=day.facts.name,
            allowed="a branch with a base",
            todo=f"Caliper it and say: {day.facts.name} {place} base 6.5",
        )
    length = float(day.tree.branches.length_mm[row])
    choice = choose(
        base,
        bend=bend,
        metal=metal,
        species=day.species,
        in_flush=day.facts.calendar.stage in BRITTLE_STAGES,
        lowering=lowering,
        branch_lengths_mm=() if isnan(length) else (length,),
    )
    branch = next(b for b in day.branches if b.row == row)
    now = may_i(day.facts, branch, Work.WIRE_ON, hard=bend is Bend.STRONG)
    name = day.tree.branches.names[row]
    return Gauge(day.facts.name, name, base, bend, garden.today, garden.settings.units, choice, now)


def _one_row(day: TreeDay, place: str) -> int:
    rows = [row for row in find(day.tree, place).rows if not day.tree.branches.gone[row]]
    if len(rows) == 1:
        return rows[0]
    names = ", ".join(day.tree.branches.names[row] for row in rows) or "none living"
    raise AmbiguousNameError(
        f"{place!r} means more than one branch",
        where=day.facts.name,
        allowed=names,
        todo="Name one branch",
    )


def gauge_shape(answer: Gauge) -> dict[str, Json]:
    """Return the answer in its JSON shape."""
    choice = answer.choice
    return shaped(
        "boughwright/gauge",
        1,
        {
            "on": answer.today,
            "tree": answer.tree,
            "place": answer.place,
            "base_mm": answer.base_mm,
            "bend": answer.bend,
            "guy": choice.guy,
            "metal": choice.metal,
            "gauge_mm": choice.gauge_mm,
            "strands": choice.strands,
            "hold": choice.hold,
            "over_bend": choice.over_bend,
            "steady_gauge_mm": choice.steady_gauge_mm,
            "trade_gauge_mm": (choice.trade.low_mm, choice.trade.high_mm),
            "trade_over_bend": (choice.trade.over_bend_low, choice.trade.over_bend_high),
            "coil_deg": choice.coil_deg,
            "length_mm": choice.length_mm,
            "mass_g": choice.mass_g,
            "safe_radius_mm": choice.safe_radius_mm,
            "warnings": choice.warnings,
            "cautions": choice.cautions,
            "grade": choice.grade,
            "now": answer.now.say,
            "now_reasons": answer.now.reasons,
            "now_from": answer.now.from_date,
        },
    )
