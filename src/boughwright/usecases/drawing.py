"""One tree drawn from its own measures, with the mark of each branch's verdict in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from boughwright.journal.terms import Kind, Zone
from boughwright.report.drawing import line_drawing, thumb
from boughwright.report.drawing_model import Drawing, DrawnBranch, Mark, Role
from boughwright.tree.build import LOWER_BELOW, MIDDLE_BELOW
from boughwright.tree.shape import PARTS, shape_of
from boughwright.tree.shape_known import NODE_ONE_SHARE
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from boughwright.tree.model import Floats
    from boughwright.tree.shape import Shape
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import Verdict

__all__ = ["Drawing", "drawing_of", "drawing_shape", "line_drawing", "thumb"]

MARKS: dict[Act, Mark] = {
    Act.WIRE_OFF: Mark.WIRE_OFF,
    Act.WIRE_ON: Mark.WIRE_ON,
    Act.KEEP_WIRE: Mark.WIRE_ON,
    Act.LET_RUN: Mark.RUN,
    Act.RAISE: Mark.RAISE,
    Act.GUY: Mark.GUY,
    Act.GRAFT: Mark.GRAFT,
    Act.GRAFT_WAIT: Mark.GRAFT,
    Act.NOTCH: Mark.GRAFT,
    Act.LOOK_FIRST: Mark.LOOK,
    Act.RIM: Mark.RIM,
    Act.TWO: Mark.TWO,
    Act.BUD_SELECT: Mark.TWO,
} | dict.fromkeys(
    (Act.SHORTEN, Act.CUT_TO_PAIR, Act.CUT_TO_LEAF, Act.CUT_PAST, Act.SWAP_LEADER, Act.REMOVE,
     Act.RUB, Act.PINCH, Act.SEVER, Act.CUT_SICK),
    Mark.CUT,
) | dict.fromkeys(
    (Act.WEAKEN, Act.LEAF_CLEAR, Act.LEAF_THIN, Act.LEAF_PAIR, Act.LEAF_FULL, Act.FRUIT_OFF),
    Mark.THIN,
)  # fmt: skip
"""The mark of each act that has one."""

PLAIN = frozenset({Act.LEAVE, Act.REST, Act.FEED, Act.REPOT, Act.PROTECT})
"""Acts that leave the line plain: they are for the whole tree, or ask for nothing."""

QUIET = frozenset({Act.LEAVE, Act.REST, Act.KEEP_WIRE, Act.GRAFT_WAIT, Act.FEED, Act.REPOT})
"""Acts that ask nothing of this branch today: drawn in ink."""

STUB_MM = 3.0
"""Wood left beyond the node of a cut, the middle of 2 to 4 mm. Common practice."""
OUTER_SHARE = 0.86
"""Where a cut of the outer shoot is drawn when no node was measured."""
SHARE_OF: dict[Act, tuple[float, bool]] = {
    Act.REMOVE: (0.0, True),
    Act.RUB: (0.0, True),
    Act.SEVER: (0.0, True),
    Act.PINCH: (1.0, True),
    Act.SHORTEN: (0.5, True),
    Act.CUT_SICK: (0.5, False),
    Act.CUT_PAST: (0.2, False),
}
"""Where along a branch other cuts stand, and whether the act itself says so."""


def drawing_of(day: TreeDay) -> Drawing:
    """Return the drawing of one tree on its day."""
    shape = shape_of(day.tree)
    facts = {branch.row: branch for branch in day.branches}
    verdicts = {verdict.row: verdict for verdict in day.verdicts}
    cuts = {row: _cut(day, shape, row, v) for row, v in verdicts.items() if _is_cut(v)}
    place = {int(row): part for part, row in enumerate(shape.rows)}
    branches = tuple(
        _drawn(day, shape, part, facts.get(row), verdicts.get(row), cuts, place)
        for row, part in place.items()
    )
    size = np.ptp(shape.points, axis=0)
    return Drawing(
        tree=day.tree.id,
        name=day.tree.name,
        branches=branches,
        points=shape.points,
        radius=shape.radius,
        first=shape.first,
        sunk_mm=shape.sunk_mm,
        twigs=shape.twigs,
        twig_of=shape.twig_of,
        zones=_zones(shape.outline_mm),
        outline_mm=shape.outline_mm,
        outline_known=shape.outline_known,
        pot_mm=shape.pot_mm,
        size_mm=(float(size[0]), float(shape.points[:, 1].max()), float(size[2])),
    )


def drawing_shape(drawing: Drawing) -> dict[str, Json]:
    """Return the drawing in its JSON shape: flat lists of numbers, to 0.1 mm.

    Each branch has ``points`` as x, y, z, radius, x, y, z, radius and so on from its start
    outward; ``twigs`` are x, y, z of both ends, each hanging on the branch at its place in
    ``twig_of``.
    """
    flat = np.round(np.column_stack([drawing.points, drawing.radius]), 1) + 0.0
    answer = shaped(
        "boughwright/drawing",
        1,
        {
            "tree": {"id": drawing.tree, "name": drawing.name},
            "size_mm": [round(side, 1) for side in drawing.size_mm],
            "outline_mm": drawing.outline_mm,
            "outline_known": drawing.outline_known,
            "pot_mm": [round(side, 1) for side in drawing.pot_mm],
            "zones": [{"zone": zone, "height_mm": round(at, 1)} for zone, at in drawing.zones],
            "branches": [_branch_body(branch) for branch in drawing.branches],
            "twig_of": drawing.twig_of.tolist(),
        },
    )
    # The long lists are put in as they are: they hold numbers alone and need no look at each.
    bodies: Any = answer["branches"]
    for part, body in enumerate(bodies):
        body["points"] = flat[drawing.span(part)].ravel().tolist()
    twigs: Any = (np.round(drawing.twigs, 1) + 0.0).ravel().tolist()
    return answer | {"twigs": twigs}


def _branch_body(branch: DrawnBranch) -> dict[str, object]:
    return {
        "id": branch.id,
        "name": branch.name,
        "kind": branch.kind,
        "zone": branch.zone or None,
        "order": branch.order,
        "parent": branch.parent if branch.parent >= 0 else None,
        "act": branch.act,
        "mark": branch.mark,
        "role": branch.role,
        "cut_mm": _tenth(branch.cut_mm),
        "cut_known": branch.cut_known,
        "keep": branch.keep,
        "beyond": branch.beyond,
        "reached": branch.reached,
        "base_mm": branch.base_mm,
        "target_base_mm": _tenth(branch.target_base_mm),
        "inferred": branch.inferred,
    }


def _tenth(length: float | None) -> float | None:
    return None if length is None else round(length, 1)


def _zones(outline: float) -> tuple[tuple[str, float], ...]:
    edges = (0.0, LOWER_BELOW, MIDDLE_BELOW, 1.0)
    return tuple(
        (zone.value, outline * (low + high) / 2.0)
        for zone, low, high in zip(Zone, edges, edges[1:], strict=False)
    )


def _drawn(
    day: TreeDay,
    shape: Shape,
    part: int,
    facts: BranchFacts | None,
    verdict: Verdict | None,
    cuts: dict[int, tuple[float, bool]],
    place: dict[int, int],
) -> DrawnBranch:
    rows = day.tree.branches
    row = int(shape.rows[part])
    up = int(rows.parent[row])
    cut = cuts.get(row)
    parent_cut = cuts.get(up)
    zone = int(rows.zone[row])
    return DrawnBranch(
        id=rows.ids[row],
        name=rows.names[row],
        kind=tuple(Kind)[int(rows.kind[row])].value,
        zone=tuple(Zone)[zone].value if zone >= 0 else "",
        order=int(rows.order[row]),
        parent=place.get(up, -1),
        act=verdict.act.value if verdict else "",
        mark=MARKS.get(verdict.act, Mark.LEAVE) if verdict else Mark.LEAVE,
        role=_role(verdict),
        cut_mm=cut[0] if cut else None,
        cut_known=bool(cut and cut[1]),
        keep=bool(facts and ((facts.job is not None and facts.job_met is not True) or facts.feeds)),
        beyond=parent_cut is not None and up > 0 and _along(shape, place[up], part) > parent_cut[0],
        reached=facts.reached if facts else None,
        base_mm=facts.base_mm if facts else None,
        target_base_mm=facts.target_base_mm if facts else None,
        inferred=tuple(
            word for word, drawn in zip(PARTS, shape.inferred[part], strict=True) if drawn
        ),
    )


def _role(verdict: Verdict | None) -> Role:
    if verdict is None or verdict.act in QUIET:
        return Role.INK
    if verdict.act is Act.LET_RUN:
        return Role.RUN
    if verdict.act is Act.LOOK_FIRST:
        return Role.LOOK
    return Role.HARM if verdict.harm is Harm.IRREVERSIBLE else Role.ACT


# --- the place of a cut --------------------------------------------------------------------------


def _is_cut(verdict: Verdict) -> bool:
    return MARKS.get(verdict.act) is Mark.CUT


def _cut(day: TreeDay, shape: Shape, row: int, verdict: Verdict) -> tuple[float, bool]:
    """Return where along its line a branch is cut, in mm, and whether that place is measured."""
    part = int(np.searchsorted(shape.rows, row))
    length = float(_lengths(shape.line(part)[0])[-1])
    bark = float(shape.sunk_mm[part])
    at, known = _node_place(day, shape, row, verdict, length)
    return float(np.clip(at, min(bark + 1.0, 0.9 * length), 0.97 * length)), known


def _node_place(
    day: TreeDay, shape: Shape, row: int, verdict: Verdict, length: float
) -> tuple[float, bool]:
    """Return the place of the node a cut is made at, by what the verdict says of it."""
    rows = day.tree.branches
    node, room = float(rows.node_mm[row]), float(rows.room_mm[row])
    # Room is counted from the first node, so that node stands where the room begins.
    told = not np.isnan(rows.length_mm[row])
    first = length - room if told else NODE_ONE_SHARE * room
    act = verdict.act
    if act is Act.SWAP_LEADER:
        return _shoot_place(day, shape, row, verdict)
    if act is Act.CUT_PAST and not np.isnan(room):
        return first + STUB_MM, told
    if act in (Act.CUT_TO_PAIR, Act.CUT_TO_LEAF) and not np.isnan(node + room):
        return first + node + STUB_MM, told
    share, exact = SHARE_OF.get(act, (OUTER_SHARE, False))
    return share * length, exact


def _shoot_place(day: TreeDay, shape: Shape, row: int, verdict: Verdict) -> tuple[float, bool]:
    """Return the place just above the shoot that takes over, the outermost when none is named."""
    rows = day.tree.branches
    words = verdict.where.split()
    shoots = [part for part, one in enumerate(shape.rows) if rows.parent[one] == row]
    named = [part for part in shoots if rows.names[int(shape.rows[part])] in words]
    own = int(np.searchsorted(shape.rows, row))
    places = [_along(shape, own, part) for part in named or shoots]
    known = bool(named) and not np.isnan(rows.along_mm[int(shape.rows[named[0]])])
    return max(places, default=0.0) + STUB_MM, known


def _along(shape: Shape, parent: int, part: int) -> float:
    """Return how far along its parent's line a part starts, in mm."""
    points, _ = shape.line(parent)
    start = shape.line(part)[0][0]
    way = np.diff(points, axis=0)
    square = np.maximum((way**2).sum(axis=1), 1e-12)
    share = np.clip(((start - points[:-1]) * way).sum(axis=1) / square, 0.0, 1.0)
    off = np.linalg.norm(points[:-1] + share[:, None] * way - start, axis=1)
    step = int(off.argmin())
    return float(_lengths(points)[step] + share[step] * np.sqrt(square[step]))


def _lengths(points: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
