"""How long a call-up takes, cold, and how it grows. Prints seconds and ratios; asserts nothing.

Run: python timings/call_up.py
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from garden_of_size import write_garden  # the folder is put on the path first


def seconds(path: Path, *words: str) -> float:
    """Return the wall time of one command in a new process, the best of three. [s]."""
    best = float("inf")
    for _ in range(3):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "boughwright", "--book", str(path), *words],
            check=True,
            stdout=subprocess.DEVNULL,
            env=os.environ,
        )
        best = min(best, time.perf_counter() - begun)
    return best


def grow(title: str, sizes: list[tuple[int, int, int]], vary: int, scratch: Path) -> None:
    """Measure a call-up over growing gardens and print seconds and the ratio to linear growth."""
    print(f"\n{title}")
    print(f"{'trees':>6} {'branches':>8} {'readings':>8} {'events':>8} {'cold s':>7} {'x size':>7} "
          f"{'x time over start':>18}")  # fmt: skip
    empty = scratch / "empty.book"
    if not empty.exists():
        write_garden(empty, trees=0, branches=0)
    start = seconds(empty, "call-up")
    first: tuple[int, float] | None = None
    for size in sizes:
        trees, branches, readings = size
        path = scratch / f"{title.rsplit(maxsplit=1)[-1]}-{trees}-{branches}-{readings}.book"
        events = write_garden(path, trees=trees, branches=branches, readings=readings)
        took = seconds(path, "call-up")
        first = first or (size[vary], took - start)
        times, grown = size[vary] / first[0], (took - start) / first[1]
        print(f"{trees:6d} {branches:8d} {readings:8d} {events:8d} {took:7.2f} {times:7.0f} "
              f"{grown:18.1f}")  # fmt: skip


def main() -> None:
    """Measure sizes over a factor of 100 in trees, branches and readings."""
    with tempfile.TemporaryDirectory() as name:
        scratch = Path(name)
        grow("more trees", [(n, 120, 3) for n in (2, 20, 200)], 0, scratch)
        grow("more branches", [(4, n, 3) for n in (16, 160, 1600)], 1, scratch)
        grow("more readings", [(4, 120, n) for n in (2, 20, 200)], 2, scratch)
        path = scratch / "promise.book"
        write_garden(path, trees=150, branches=120)
        print(
            f"\n150 trees x 120 branches, cold: {seconds(path, 'call-up'):.2f} s (promise 5, aim 2)"
        )
        print(f"one sheet of that garden, cold: {seconds(path, 'sheet', 'Tree 7'):.2f} s")
        print(f"--help, cold: {seconds(path, '--help'):.3f} s (aim 0.15)")


if __name__ == "__main__":
    main()
