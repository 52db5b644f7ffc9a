"""All wire on all trees, what bites first on top."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from boughwright.usecases.day import open_day, quiet
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from boughwright.tree.model import Wire
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json
    from boughwright.wire.window import WireWindow


@dataclass(frozen=True, slots=True)
class WireLine:
    """One wire: where it is, what it is, and its dates.

    ``tree_id`` and ``branch`` are the lasting ids of its tree and branch; ``branch`` is empty for
    wire on a zone.
    """

    tree: str
    place: str
    wire: Wire
    window: WireWindow
    tree_id: str
    branch: str


@dataclass(frozen=True, slots=True)
class AllWire:
    """Every wire that is on, what must come off first on top."""

    today: date
    units: str
    lines: tuple[WireLine, ...]


def all_wire(
    path: Path,
    *,
    on: date | None = None,
    tree: str | None = None,
    progress: Callable[[float], object] = quiet,
) -> AllWire:
    """Return all wire on all trees, or on one.

    Raises
    ------
    UnknownNameError, StoreError
    """
    return all_wire_of(open_day(path, on=on, only=tree, progress=progress), tree)


def all_wire_of(garden: GardenDay, tree: str | None = None) -> AllWire:
    """Return all wire of a garden already worked out, or that of one of its trees.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    lines = []
    for day in garden.trees if tree is None else (garden.tree(tree),):
        by_event = {(wire.event, wire.branch): wire for wire in day.tree.wires if wire.off is None}
        for window in day.windows:
            wire = by_event[window.wire, window.row]
            place = day.tree.branches.names[window.row] if window.row >= 0 else wire.zone or "all"
            branch = day.tree.branches.ids[window.row] if window.row >= 0 else ""
            lines.append(WireLine(day.facts.name, place, wire, window, day.facts.tree, branch))
    lines.sort(key=lambda x: (x.window.seen_grade < 3, x.window.off_by or date.max,
                              x.window.look_by or date.max, x.tree, x.place))  # fmt: skip
    return AllWire(garden.today, garden.settings.units, tuple(lines))


def all_wire_shape(answer: AllWire) -> dict[str, Json]:
    """Return all wire in its JSON shape."""
    return shaped(
        "boughwright/wire",
        1,
        {
            "on": answer.today,
            "wires": [
                {
                    "tree": line.tree,
                    "tree_id": line.tree_id,
                    "branch": line.branch,
                    "place": line.place,
                    "gauge_mm": line.wire.gauge_mm,
                    "metal": line.wire.metal,
                    "strands": line.wire.strands,
                    "put_on": line.wire.on,
                    "look_by": line.window.look_by,
                    "off_by": line.window.off_by,
                    "first_line": line.window.line,
                    "allowed_sink": line.window.allowed,
                    "bitten": line.window.bitten,
                    "set": line.window.set,
                    "hold_from": line.window.hold_from,
                    "share_used": line.window.share_used,
                    "seen_grade": _known(line.window.seen_grade),
                    "seen_on": line.window.seen_on,
                    "likely_grade": _known(line.window.likely_grade),
                    "wirings": _known(line.window.wirings),
                    "grade": line.window.grade,
                }
                for line in answer.lines
            ],
        },
    )


def _known(number: int) -> int | None:
    return None if number < 0 else number
