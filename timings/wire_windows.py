"""Time and memory of the hold windows of a collection: 10, 100 and 1000 trees of 60 wires.

Run: ``python timings/wire_windows.py``; ``--smoke`` stops at 10 trees. It prints seconds, peak
memory of the arrays and objects made, and the ratio per tenfold; nothing is asserted.
"""

from __future__ import annotations

import sys
import time
import tracemalloc
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from boughwright.species.tables import find
from boughwright.wire.inputs import WiredTree
from boughwright.wire.register import collection_windows

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "wire"))
from wire_fixture import FIRST, branches, calendar, clock, tree, wire

WIRES = 60


def one(number: int, site: object) -> WiredTree:
    """Return a tree of 60 wired branches, a third of them looked at once."""
    draw = np.random.default_rng(number)
    rows = branches(
        phase=draw.integers(-1, 4, WIRES), vigour=draw.integers(0, 4, WIRES),
        outer=draw.integers(0, 2, WIRES), running=draw.integers(-1, 2, WIRES),
    )  # fmt: skip
    on = [FIRST - timedelta(days=int(d)) for d in draw.integers(20, 60, WIRES)]
    look = ((date(FIRST.year, 5, 10), 1),)
    wires = tuple(
        wire(i, i, on[i], gauge_mm=float(g), base_mm=3.0 * float(g), looks=() if i % 3 else look)
        for i, g in enumerate(draw.choice([1.0, 1.5, 2.0, 3.0], WIRES))
    )
    species = find(("Acer buergerianum", "Ulmus parvifolia", "Carpinus betulus")[number % 3])
    return WiredTree(tree(rows, wires), species, site, calendar(date(FIRST.year, 5, 15)))


def main() -> None:
    """Print seconds, memory and the ratio per tenfold."""
    site = clock()
    sizes = (10,) if "--smoke" in sys.argv else (10, 100, 1000)
    collection_windows([one(0, site)])
    before = None
    for size in sizes:
        trees = [one(i, site) for i in range(size)]
        start = time.perf_counter()
        made = collection_windows(trees)
        seconds = time.perf_counter() - start
        tracemalloc.start()
        collection_windows(trees)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        ratio = "" if before is None else f", ratio {seconds / before:.1f}"
        print(f"{size} trees, {sum(map(len, made))} wires: {seconds:.2f} s, {peak:.0f} MB{ratio}")
        before = seconds


if __name__ == "__main__":
    main()
