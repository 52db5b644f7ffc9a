"""What a drawn tree stands on: its place on the page, soil, pot and scale, and light on bark."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import numpy as np

from boughwright.report.drawing_paths import polyline, seen_from
from boughwright.units import MM_PER_INCH, show_length

if TYPE_CHECKING:
    from boughwright.report.drawing_model import Drawing
    from boughwright.report.drawing_paths import Seen, Stroke
    from boughwright.report.drawing_words import Speech

SCALE_STEPS_MM = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
SCALE_STEPS_IN = (0.5, 1.0, 2.0, 4.0, 8.0, 20.0, 40.0)
SCALE_PX = 110.0
"""The scale bar is the longest step that is not longer than this. [px]"""
FOOT_PX = 30.0
"""Room under the pot for the scale. [px]"""


def fitted(
    drawing: Drawing,
    turn_deg: float,
    width: float,
    height: float,
    *,
    margin: float,
    pot: bool = True,
) -> Seen:
    """Lay a tree on a page so that it fits at every turn of the turntable.

    Parameters
    ----------
    drawing : Drawing
    turn_deg : float
        How far the front is turned. [degrees]
    width, height : float
        Size of the page. [px]
    margin : float
        Share of the width left free on each side.
    pot : bool
        Leave room for the pot and the scale.
    """
    half = float(np.hypot(drawing.points[:, 0], drawing.points[:, 2]).max())
    tall = max(drawing.size_mm[1], drawing.outline_mm * 0.5)
    if len(drawing.twigs):
        half = max(half, float(np.hypot(drawing.twigs[..., 0], drawing.twigs[..., 2]).max()))
        tall = max(tall, float(drawing.twigs[..., 1].max()))
    wide = max(2.0 * half, 0.75 * drawing.pot_mm[0] if pot else 0.0, 1.0)
    top = (0.07 if pot else 0.03) * height
    foot = FOOT_PX if pot else 4.0
    deep = _pot_deep(drawing) if pot else 0.0
    scale = min((1.0 - 2.0 * margin) * width / wide, (height - top - foot) / (tall + deep))
    soil = height - foot - scale * deep
    return seen_from(drawing, turn_deg, scale=scale, across=width / 2.0, soil=soil)


def drawn(
    drawing: Drawing, seen: Seen, width: float, height: float, units: str, said: Speech
) -> str:
    """Return soil, pot, scale bar and the height of the outline."""
    half, deep = drawing.pot_mm[0] * seen.scale / 2.0, _pot_deep(drawing) * seen.scale - 6.0
    x, y = seen.across, seen.soil
    rim = y + 3.0
    pot = (
        f"M{x - half:.1f} {rim:.1f}h{2 * half:.1f}l{-0.05 * half:.1f} {deep:.1f}h{-1.9 * half:.1f}z"
    )
    feet = "".join(
        f"M{x + way * 0.72 * half - 0.09 * half:.1f} {rim + deep:.1f}h{0.18 * half:.1f}v3"
        f"h{-0.18 * half:.1f}z"
        for way in (-1.0, 1.0)
    )
    mound = (
        f"M{x - 0.97 * half:.1f} {rim:.1f}Q{x - 0.5 * half:.1f} {y - 1:.1f} {x:.1f} {y:.1f}"
        f"T{x + 0.97 * half:.1f} {rim:.1f}"
    )
    return (
        f'<g class="ground"><path class="pot" d="{pot}{feet}" stroke="currentColor" '
        f'stroke-width="1"/><path class="soil" d="{mound}" stroke="currentColor" '
        f'stroke-width="1.4"/>{_scale(seen, width, height, units)}'
        f"{_height(drawing, width, height, said)}</g>"
    )


def _pot_deep(drawing: Drawing) -> float:
    """Return how much of the pot is drawn: its rim and a little more, so that the tree has room."""
    return min(drawing.pot_mm[1], 0.075 * drawing.size_mm[1])


def _scale(seen: Seen, width: float, height: float, units: str) -> str:
    steps = [s * MM_PER_INCH for s in SCALE_STEPS_IN] if units == "in" else list(SCALE_STEPS_MM)
    long = max((s for s in steps if s * seen.scale <= SCALE_PX), default=steps[0])
    size, x, y = long * seen.scale, 0.02 * width + 1.0, height - 9.0
    text = show_length(long, units, decimals=0 if units != "in" or long >= MM_PER_INCH else 1)
    return (
        f'<path class="scale" d="M{x:.1f} {y - 4:.1f}v4h{size:.1f}v-4" stroke="currentColor" '
        f'stroke-width="1.2"/><text x="{x + size + 7:.1f}" y="{y + 1:.1f}" font-size="14" '
        f'fill="currentColor">{escape(text)}</text>'
    )


def _height(drawing: Drawing, width: float, height: float, said: Speech) -> str:
    if not drawing.outline_known:
        return ""
    text = said.say(f"{{{drawing.outline_mm:.0f} mm}} high")
    return (
        f'<text x="{0.98 * width:.1f}" y="{height - 8:.1f}" text-anchor="end" font-size="14" '
        f'fill="currentColor">{escape(text)}</text>'
    )


# --- light on bark -------------------------------------------------------------------------------

LIGHT_FROM_PX = 3.4
"""Wood thinner than this carries no light. [px]"""

_LIGHTS = (
    # where round the trunk [degrees from its front], from and to along it, thickness [px]
    (-58.0, 0.03, 0.15, 1.3), (-36.0, 0.07, 0.24, 1.5), (-50.0, 0.19, 0.36, 1.4),
    (-24.0, 0.28, 0.43, 1.0), (-52.0, 0.41, 0.58, 1.2), (-30.0, 0.5, 0.64, 0.9),
    (-50.0, 0.62, 0.78, 1.0), (22.0, 0.04, 0.13, 0.9), (40.0, 0.16, 0.26, 0.8),
    (4.0, 0.1, 0.2, 0.9), (30.0, 0.34, 0.45, 0.8), (8.0, 0.52, 0.6, 0.7),
)  # fmt: skip
"""Lines of light on a trunk: more and broader to the left, where the light comes from."""


def bark(stroke: Stroke, *, whole: bool) -> str:
    """Return the light on thick wood as thin lines of paper; empty on thin wood."""
    lights = _LIGHTS if whole else ((-40.0, 0.06, 0.34, 1.0),)
    made = []
    for round_deg, start, end, thick in lights:
        part = stroke.part(start, end, 6)
        if float(part.radius.min()) < LIGHT_FROM_PX:
            continue
        way = np.gradient(part.xy, axis=0)
        size = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-6)
        across = np.stack([-way[:, 1], way[:, 0]], axis=1) / size[:, None]
        if not whole:
            across *= -np.sign(across[:, 1:] + 1e-9)
            offset = 0.35 * part.radius
        else:
            offset = np.sin(np.radians(round_deg)) * part.radius
        line = part.xy + across * offset[:, None]
        made.append(f'<path d="{polyline(line)}" stroke-width="{thick:g}"/>')
    return f'<g class="bark" stroke="#fff">{"".join(made)}</g>' if made else ""
