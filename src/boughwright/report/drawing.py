"""A tree as an ink line drawing: markup of one picture, with marks, words and links in it.

The picture is plain SVG: classes for a page to colour, presentation attributes that stand alone,
no style and no script. Every branch is a link with a wide stroke to tap.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING
from urllib.parse import quote

import numpy as np

from boughwright.report import drawing_ground as ground
from boughwright.report.drawing_labels import (
    SIZE,
    Placed,
    Wanted,
    ink_cells,
    place,
)
from boughwright.report.drawing_marks import bar, beyond_path, mark_paths, reached_line
from boughwright.report.drawing_model import Mark, Role
from boughwright.report.drawing_paths import (
    Seen,
    Stroke,
    centre,
    dashes,
    outlines,
    strokes,
)
from boughwright.report.drawing_words import PlainSpeech, Speech, label_groups, summary

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.report.drawing_model import Drawing, DrawnBranch
    from boughwright.tree.model import Floats

__all__ = ["Speech", "line_drawing", "thumb"]

TAP_PX = 24.0
"""Width of the unseen stroke that takes a tap. [px]"""
WIDE_PX = 560.0
"""From this width on quiet primaries are named too, and a label is one line."""
LABEL_ROOM_PX = 12_500.0
"""Page for each label, so that a small page is not all words; the least urgent are left out."""
FAR, NEAR = -0.2, 0.2
"""How near a branch stands to be drawn as far or near, over the tree's half width."""
FRONT_OF_TRUNK = 0.12
"""Branches nearer than this are drawn over the trunk, the others behind it."""
DEPTHS = ("far", "middle", "near")


def line_drawing(
    drawing: Drawing,
    *,
    front_deg: float = 0.0,
    width: float = 700.0,
    height: float = 620.0,
    labels: bool = True,
    ink_only: bool = False,
    highlight: str | None = None,
    units: str = "mm",
    speech: Speech | None = None,
    href: str = "/trees/{tree}/branches/{branch}",
    key: str = "tree",
) -> str:
    """Return a tree as an ink line drawing.

    Parameters
    ----------
    drawing : Drawing
        The tree.
    front_deg : float
        How far the front is turned for this view, clockwise from above. [degrees]
    width, height : float
        Size of the picture. [px]
    labels : bool
        Write name and act beside the branches that ask for something; from `WIDE_PX` on the
        names of quiet primaries too.
    ink_only : bool
        For print in black: roles are told by patterns.
    highlight : str, optional
        Identity of a branch to draw strong and to name whatever its act.
    units : str
        ``mm`` or ``in``, for the scale bar.
    speech : Speech, optional
        Puts words and lengths in the grower's form; plain English when absent.
    href : str
        Where a branch leads, with ``{tree}`` and ``{branch}``.
    key : str
        Start of the ids in the markup; differs between drawings on one page.

    Returns
    -------
    str
        An ``svg`` element.
    """
    said = speech or PlainSpeech(units)
    seen = ground.fitted(drawing, front_deg, width, height, margin=_margin(width, labels=labels))
    made, beyond = strokes(drawing, seen)
    near = _nearness(drawing, seen)
    level = tuple(np.digitize(near, (FAR, NEAR)).tolist())
    page = _Page(drawing, seen, made, beyond, level, near, highlight, href, ink_only, key)
    parts = [
        ground.drawn(drawing, seen, width, height, units, said),
        _wood(page),
        _marks(page),
        _taps(page, said),
    ]
    if labels:
        parts.append(_labels(page, width, height, said))
    title, about = summary(drawing, front_deg, said)
    kind = "tree-drawing ink-only" if ink_only else "tree-drawing"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{kind}" role="group" '
        f'viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}" '
        f'aria-labelledby="{key}-title" aria-describedby="{key}-about" fill="none" '
        f'stroke-linecap="round" stroke-linejoin="round">'
        f'<title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-about">{escape(about)}</desc>'
        f"{_patterns(key) if ink_only else ''}{''.join(parts)}</svg>"
    )


def thumb(drawing: Drawing, width: float = 96.0, height: float = 72.0) -> str:
    """Return a small picture of a tree for a list: wood and soil alone, no words or links."""
    seen = ground.fitted(drawing, 0.0, width, height, margin=0.02, pot=False)
    shapes = outlines(_bold(drawing, seen))
    fine = []
    for part, branch in enumerate(drawing.branches):
        if branch.order > 1 and branch.kind != "scar":
            xy = seen.xy[drawing.span(part)]
            fine.append(np.stack([xy[[0, -3]], xy[[-3, -1]]]))
    shoots = dashes(np.concatenate(fine)) if fine else ""
    twigs = dashes(seen.twigs[:: max(len(seen.twigs) // 160, 1)]) if len(seen.twigs) else ""
    soil = f"M{seen.across - 0.4 * width:.1f} {seen.soil:.1f}h{0.8 * width:.1f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="tree-thumb" viewBox="0 0 {width:g} '
        f'{height:g}" width="{width:g}" height="{height:g}" aria-hidden="true" fill="none" '
        f'stroke-linecap="round"><path class="twig" d="{twigs}" stroke="currentColor" '
        f'stroke-width="0.4"/><path d="{shoots}" stroke="currentColor" stroke-width="0.8"/>'
        f'<path d="{"".join(shapes)}" fill="currentColor"/>'
        f'<path class="soil" d="{soil}" stroke="currentColor" stroke-width="1"/></svg>'
    )


def _margin(width: float, *, labels: bool) -> float:
    """Return the share of the width left free on each side, for words."""
    if not labels:
        return 0.03
    return 0.13 if width >= WIDE_PX else 0.08


def _bold(drawing: Drawing, seen: Seen) -> list[Stroke]:
    """Return trunk and primaries of a small picture, with fewer points."""
    made = []
    for part, branch in enumerate(drawing.branches):
        if branch.order <= 1 and branch.kind != "scar":
            xy, radius = seen.xy[drawing.span(part)], seen.radius[drawing.span(part)]
            step = max(len(radius) // 8, 1)
            made.append(Stroke(xy[::step], np.maximum(radius[::step], 0.4), part > 0))
    return made


@dataclass(frozen=True, slots=True)
class _Page:
    """A drawing laid out, as its parts are written."""

    drawing: Drawing
    seen: Seen
    strokes: Sequence[Stroke]
    beyond: Sequence[Stroke | None]
    level: tuple[int, ...]
    """Of each part: 0 far, 1 in the middle, 2 near."""
    near: Floats
    highlight: str | None
    href: str
    ink_only: bool
    key: str

    def classes(self, part: int) -> str:
        """Return the classes of a part of the tree."""
        branch = self.drawing.branches[part]
        words = ["branch", "gone" if _taken(branch) else branch.role.value]
        words += ["trunk"] if part == 0 else []
        words.append(DEPTHS[self.level[part]])
        if branch.id == self.highlight:
            words.append("chosen")
        return " ".join(words)

    def link(self, part: int) -> str:
        """Return where a part leads."""
        branch = quote(self.drawing.branches[part].id, safe="")
        where = self.href.replace("{tree}", quote(self.drawing.tree, safe=""))
        return escape(where.replace("{branch}", branch), quote=True)


def _taken(branch: DrawnBranch) -> bool:
    return branch.beyond and branch.quiet


def _nearness(drawing: Drawing, seen: Seen) -> Floats:
    """Return how near each part stands on the whole; those beside the trunk behind it."""
    near = np.add.reduceat(seen.near, drawing.first[:-1]) / np.diff(drawing.first)
    near[0] = FRONT_OF_TRUNK
    return np.asarray(near)


# --- wood ----------------------------------------------------------------------------------------


def _wood(page: _Page) -> str:
    """Return all wood, the far first, each with a thin edge of paper over what is behind it."""
    shapes = outlines(page.strokes)
    twigs = _twig_groups(page)
    order = np.argsort(page.near, kind="stable").tolist()
    parts = []
    for depth, word in enumerate(DEPTHS):
        for kind in ("gone", "twigs"):
            lines = twigs[depth, kind]
            if len(lines):
                parts.append(f'<path class="{kind} {word}" d="{dashes(lines)}"'
                             f' stroke="currentColor" stroke-width="0.75"/>')  # fmt: skip
        for part in order:
            if page.level[part] == depth:
                parts.append(_part(page, part, shapes[part]))
    return f'<g class="wood">{"".join(parts)}</g>'


def _part(page: _Page, part: int, shape: str) -> str:
    branch = page.drawing.branches[part]
    body = _body(page, part, shape)
    if branch.order <= 1 and branch.kind != "scar" and not _taken(branch):
        body = _halo(page, part) + body + ground.bark(page.strokes[part], whole=part == 0)
    cut = page.beyond[part]
    if cut is not None:
        body += beyond_path(cut)
    if page.level[part] == 0:
        body += f'<g stroke="currentColor">{_mark(page, part)}</g>'
    return f'<g class="{page.classes(part)}" data-branch="{escape(branch.id)}">{body}</g>'


def _body(page: _Page, part: int, shape: str) -> str:
    """Return the wood of one part: filled, or a thin line where a cut takes it away."""
    branch = page.drawing.branches[part]
    line = 'stroke="currentColor"'
    if _taken(branch):
        return f'<path d="{centre(page.strokes[part])}" {line} stroke-width="1.2"/>'
    if branch.kind == "scar":
        return f'<path class="scar" d="{shape}" fill="#fff" {line} stroke-width="1.6"/>'
    if page.ink_only and branch.role in PATTERNS:
        fill = f"url(#{page.key}-{branch.role.value})"
        return f'<path d="{shape}" fill="{fill}" {line} stroke-width="0.9"/>'
    return f'<path d="{shape}" fill="currentColor"/>'


def _halo(page: _Page, part: int) -> str:
    """Return the edge of paper round a branch that is not far, from a little out on."""
    if part == 0 or page.level[part] == 0:
        return ""
    (shape,) = outlines([page.strokes[part].part(0.1, 1.0, 9)])
    return f'<path class="halo" d="{shape}" fill="#fff" stroke="#fff" stroke-width="3"/>'


def _twig_groups(page: _Page) -> dict[tuple[int, str], Floats]:
    """Return the twigs by depth, those a cut takes away apart."""
    drawing = page.drawing
    depth = np.asarray(page.level)
    gone = np.asarray([_taken(b) for b in drawing.branches], bool)[drawing.twig_of]
    for part, branch in enumerate(drawing.branches):
        if branch.cut_mm is not None:
            on = np.flatnonzero(drawing.twig_of == part)
            gone[on] = _stand_beyond(drawing, part, drawing.twigs[on, 0], branch.cut_mm)
    at = depth[drawing.twig_of]
    lines = page.seen.twigs
    return {
        (k, kind): lines[(at == k) & (gone if kind == "gone" else ~gone)]
        for k in range(len(DEPTHS)) for kind in ("gone", "twigs")
    }  # fmt: skip


def _stand_beyond(drawing: Drawing, part: int, starts: Floats, cut_mm: float) -> Floats:
    points = drawing.points[drawing.span(part)]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    off = np.linalg.norm(starts[:, None] - points[None], axis=2)
    return np.asarray(along[off.argmin(axis=1)] > cut_mm)


PATTERNS = {
    Role.RUN: '<path d="M0 5L5 0" stroke="#000" stroke-width="1"/>',
    Role.ACT: '<path d="M0 0h5v5h-5z" fill="#000"/>'
    '<path d="M0 2.5h5" stroke="#fff" stroke-width="0.9"/>',
    Role.HARM: '<path d="M0 0h5v5h-5z" fill="#000"/>',
    Role.LOOK: '<circle cx="2.5" cy="2.5" r="1.1" fill="#000"/>',
}
"""What tells roles apart in black: slanted lines, black with white lines, solid, and dots."""


def _patterns(key: str) -> str:
    made = [
        f'<pattern id="{key}-{role.value}" width="5" height="5" patternUnits="userSpaceOnUse">'
        f"{body}</pattern>"
        for role, body in PATTERNS.items()
    ]
    return f"<defs>{''.join(made)}</defs>"


# --- marks, taps, labels -------------------------------------------------------------------------


def _marks(page: _Page) -> str:
    """Return the marks of all but far branches, whose marks stand behind the nearer wood."""
    parts = []
    for part in range(len(page.drawing.branches)):
        body = _mark(page, part) if page.level[part] > 0 else ""
        if body:
            branch = page.drawing.branches[part]
            parts.append(
                f'<g class="{page.classes(part)}" data-branch="{escape(branch.id)}">{body}</g>'
            )
    return f'<g class="marks" stroke="currentColor">{"".join(parts)}</g>'


def _mark(page: _Page, part: int) -> str:
    branch, stroke = page.drawing.branches[part], page.strokes[part]
    body = ""
    if branch.order == 1 and branch.reached is not None and branch.kind != "top":
        body += f'<g class="reached">{reached_line(stroke, branch.reached)}</g>'
    if branch.mark is not Mark.LEAVE and not _taken(branch):
        body += mark_paths(branch, stroke)
    return body + (bar(stroke) if branch.keep else "")


def _taps(page: _Page, said: Speech) -> str:
    """Return the unseen strokes that take taps; those that ask for something lie on top."""
    every = list(enumerate(page.drawing.branches))
    every.sort(key=lambda one: (not one[1].quiet, one[1].order > 0, one[1].order))
    parts = []
    for part, branch in every:
        words = f"{branch.name}: {said.word(branch.act)}" if branch.act else branch.name
        tab = ' tabindex="-1"' if branch.quiet else ""
        parts.append(
            f'<g class="{page.classes(part)}" data-branch="{escape(branch.id)}">'
            f'<a href="{page.link(part)}" aria-label="{escape(words)}"{tab}>'
            f"<title>{escape(words)}</title>"
            f'<path class="tap" d="{centre(page.strokes[part])}" stroke="none" '
            f'stroke-width="{TAP_PX:g}" pointer-events="stroke"/></a></g>'
        )
    return f'<g class="taps">{"".join(parts)}</g>'


def _labels(page: _Page, width: float, height: float, said: Speech) -> str:
    wide = width >= WIDE_PX
    groups = label_groups(page.drawing, said, quiet=wide, also=page.highlight)
    groups = groups[: round(width * height / LABEL_ROOM_PX)]
    groups.sort(key=lambda one: float(page.strokes[one.part].xy[-1, 1]))
    wanted = []
    for group in groups:
        stroke = page.strokes[group.part]
        branch = page.drawing.branches[group.part]
        point, _, _ = stroke.at(0.0 if branch.kind == "scar" else 1.0 if branch.cut_mm else 0.86)
        lines = (group.name, group.word) if group.word and not wide else (
            f"{group.name} {group.word}".strip(),)  # fmt: skip
        wanted.append(Wanted(lines, (float(point[0]), float(point[1]))))
    ink = ink_cells(_ink_points(page), width, height)
    floor = int((page.seen.soil + 4) // 4)
    ink[floor:] = 8.0
    found = place(wanted, ink, middle=page.seen.across)
    parts = [
        _label(page, group.part, group.name, group.word, one, spot)
        for group, one, spot in zip(groups, wanted, found, strict=True)
        if spot is not None
    ]
    return f'<g class="labels" aria-hidden="true" font-size="{SIZE:g}">{"".join(parts)}</g>'


def _ink_points(page: _Page) -> Floats:
    """Return points close together along all wood, thick wood across its width too."""
    seen, first = page.seen, page.drawing.first
    start = np.setdiff1d(np.arange(len(seen.xy) - 1), first[1:-1] - 1)
    shares = np.linspace(0.0, 1.0, 6)[:, None, None]
    along = seen.xy[start] * (1.0 - shares) + seen.xy[start + 1] * shares
    wide = np.stack([seen.radius[start], np.zeros(len(start))], axis=1)
    wood = [along + off * wide for off in (-0.8, 0.0, 0.8)]
    twigs = [seen.twigs[:, 0] * (1 - s) + seen.twigs[:, 1] * s for s in (0.5, 1.0)]
    return np.concatenate([*(one.reshape(-1, 2) for one in wood), *twigs])


def _label(page: _Page, part: int, name: str, word: str, wanted: Wanted, spot: Placed) -> str:
    branch = page.drawing.branches[part]
    lead = ""
    if spot.lead is not None:
        (x, y), (ax, ay) = spot.lead, wanted.anchor
        lead = (
            f'<path class="lead" d="M{x:.1f} {y:.1f}L{ax:.1f} {ay:.1f}" stroke="currentColor" '
            f'stroke-width="0.8"/>'
        )
    x = spot.x + wanted.width - 2.0 if spot.left else spot.x + 2.0
    anchor = ' text-anchor="end"' if spot.left else ""
    bold = f'<tspan font-weight="700">{escape(name)}</tspan>'
    if len(wanted.lines) > 1:
        rest = f'<tspan x="{x:.1f}" dy="{SIZE + 3:g}">{escape(word)}</tspan>'
    else:
        rest = f" {escape(word)}" if word else ""
    chosen = " chosen" if branch.id == page.highlight else ""
    classes = f"label {branch.role.value}{chosen}"
    return (
        f'<g class="{classes}" data-branch="{escape(branch.id)}">{lead}'
        f'<a href="{page.link(part)}" tabindex="-1"><text x="{x:.1f}" y="{spot.y + SIZE:.1f}"'
        f'{anchor} fill="currentColor">{bold}{rest}</text></a></g>'
    )
