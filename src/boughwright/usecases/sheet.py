"""One tree head to foot: every living branch with its verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.names import head_to_foot
from boughwright.usecases.day import open_day, quiet
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.cautions import caution_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Line:
    """One branch on the sheet: what is known of it and what to do."""

    branch: BranchFacts
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Sheet:
    """One tree on the day. ``whole`` are verdicts on the tree itself; ``lines`` apex first."""

    day: TreeDay
    today: date
    units: str
    whole: tuple[Verdict, ...]
    lines: tuple[Line, ...]
    cautions: tuple[str, ...]


def sheet(
    path: Path, tree: str, *, on: date | None = None, progress: Callable[[float], object] = quiet
) -> Sheet:
    """Return one tree's sheet.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    StoreError
        When the book cannot be read.
    """
    return sheet_of(open_day(path, on=on, only=tree, progress=progress), tree)


def sheet_of(garden: GardenDay, tree: str) -> Sheet:
    """Return one tree's sheet from a garden already worked out.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    day = garden.tree(tree)
    by_row = {branch.row: branch for branch in day.branches}
    lines = sorted(
        (Line(by_row[v.row], v) for v in day.verdicts), key=lambda x: head_to_foot(x.branch.name)
    )
    keys = dict.fromkeys(v.caution for v in (*day.whole, *day.verdicts) if v.caution)
    return Sheet(
        day,
        garden.today,
        garden.settings.units,
        day.whole,
        tuple(lines),
        tuple(caution_text(key) for key in keys),
    )


def sheet_shape(answer: Sheet) -> dict[str, Json]:
    """Return the sheet in its JSON shape."""
    facts = answer.day.facts
    return shaped(
        "boughwright/sheet",
        1,
        {
            "on": answer.today,
            "tree": {"id": facts.tree, "name": facts.name},
            "species": facts.species.botanical if facts.species else None,
            "stage": facts.calendar.stage,
            "vigour": facts.vigour,
            "vigour_why": facts.vigour_why,
            "phase": facts.phase,
            "contradictions": facts.contradictions,
            "whole": [verdict_body(v) for v in answer.whole],
            "branches": [
                branch_body(line.branch) | {"verdict": verdict_body(line.verdict)}
                for line in answer.lines
            ],
            "cautions": answer.cautions,
        },
    )


def verdict_body(verdict: Verdict) -> dict[str, object]:
    """Return a verdict's parts as the shapes show them; the rule's own name stays inside."""
    return {
        "act": verdict.act,
        "where": verdict.where,
        "earliest": verdict.earliest,
        "latest": verdict.latest,
        "minutes": verdict.minutes,
        "reasons": verdict.reasons,
        "sureness": verdict.sureness,
        "harm": verdict.harm,
        "flip": verdict.flip,
        "never": verdict.never,
        "notes": verdict.notes,
        "caution": caution_text(verdict.caution) if verdict.caution else "",
        "next_look": verdict.next_look,
    }


def branch_body(branch: BranchFacts) -> dict[str, object]:
    """Return a branch's measures as the shapes show them."""
    return {
        "name": branch.name,
        "kind": branch.kind,
        "zone": branch.zone,
        "phase": branch.phase,
        "vigour": branch.vigour,
        "base_mm": branch.base_mm,
        "trunk_mm": branch.trunk_mm,
        "step": branch.step,
        "target_step": branch.target_step,
        "target_base_mm": branch.target_base_mm,
        "reached": branch.reached,
        "node_mm": branch.node_mm,
        "room_mm": branch.room_mm,
        "internode_share": branch.internode_share,
        "season_end_mm": branch.base_forecast_mm,
        "seasons_to_target": branch.seasons_to_target,
    }
