"""Small drawings made by hand, and a reader of the markup that is drawn from them."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np

from boughwright.report.drawing_model import Drawing, DrawnBranch, Mark, Role

SVG = "{http://www.w3.org/2000/svg}"

PLAIN = DrawnBranch(
    id="trunk", name="trunk", kind="trunk", zone="", order=0, parent=-1, act="leave alone",
    mark=Mark.LEAVE, role=Role.INK, cut_mm=None, cut_known=False, keep=False, beyond=False,
    reached=None, base_mm=None, target_base_mm=None, inferred=(),
)  # fmt: skip


def made(*branches, name="Plain tree"):
    """Return a trunk of 200 mm, 10 thick, with level branches of 100 mm at the height of 100.

    The first goes right, the second left, the third to the viewer, the fourth back.
    """
    ways = np.asarray([[1, 0, 0], [-1, 0, 0], [0, 0, 1], [0, 0, -1]], float)
    lines = [np.linspace([0, 0, 0], [0, 200, 0], 49)]
    radius = [np.full(49, 5.0)]
    for way in ways[: len(branches)]:
        lines.append(np.asarray([0, 100, 0]) + np.linspace(0, 100, 13)[:, None] * way)
        radius.append(np.full(13, 3.0))
    counts = [len(line) for line in lines]
    drawn = [
        replace(PLAIN, **({"id": f"b{k}", "name": f"{k + 1}X", "kind": "branch", "order": 1,
                           "parent": 0} | fields))
        for k, fields in enumerate(branches)
    ]  # fmt: skip
    return Drawing(
        tree="plain", name=name, branches=(PLAIN, *drawn), points=np.concatenate(lines),
        radius=np.concatenate(radius), first=np.r_[0, np.cumsum(counts)].astype(np.int32),
        sunk_mm=np.r_[0.0, np.full(len(branches), 5.0)], twigs=np.empty((0, 2, 3)),
        twig_of=np.empty(0, np.int32), zones=(), outline_mm=200.0, outline_known=True,
        pot_mm=(160.0, 30.0), size_mm=(200.0, 200.0, 200.0),
    )  # fmt: skip


def read(svg):
    """Return the tree of elements of a drawing."""
    return ET.fromstring(svg)


def layer(svg, name):
    """Return one layer: ground, wood, marks, taps or labels."""
    return next(g for g in read(svg).iter(f"{SVG}g") if g.get("class") == name)


def numbers(path):
    """Return the absolute points of a path of M, L and C."""
    assert not re.search(r"[a-z]", path), path
    return np.asarray(re.findall(r"-?\d+\.?\d*", path), float).reshape(-1, 2)


def boxes(svg):
    """Return the boxes of labels as (left, top, right, bottom), a letter 0.5 of its size wide."""
    found = []
    for text in layer(svg, "labels").iter(f"{SVG}text"):
        lines = ["".join(text.itertext())]
        spans = list(text.iter(f"{SVG}tspan"))
        if len(spans) > 1:
            lines = [span.text or "" for span in spans]
        wide = max(len(line) for line in lines) * 14 * 0.5
        x, y = float(text.get("x")), float(text.get("y"))
        left = x - wide if text.get("text-anchor") == "end" else x
        found.append((left, y - 12.0, left + wide, y + 3.0 + 17.0 * (len(lines) - 1)))
    return found
