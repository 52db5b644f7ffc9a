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

from garden_of_size import write_garden  # noqa: E402  # the folder is put on the path first


def seconds(path: Path, *words: str) -> float:
    """Return the wall time of one command in a new process, the best of three. [s]"""
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


def main() -> None:
    """Measure sizes over a factor of 100 in trees and print the table."""
    with tempfile.TemporaryDirectory() as scratch:
        print(f"{'trees':>6} {'branches':>8} {'events':>8} {'cold s':>8} {'per tree ms':>12}")
        first = None
        for trees in (2, 15, 50, 150, 200):
            path = Path(scratch) / f"garden-{trees}.book"
            events = write_garden(path, trees=trees, branches=120)
            took = seconds(path, "call-up")
            first = took if first is None else first
            print(f"{trees:6d} {120:8d} {events:8d} {took:8.2f} {1000 * took / trees:12.1f}")
            if trees == 150:
                print(f"  one sheet, cold: {seconds(path, 'sheet', 'Tree 7'):.2f} s")
        print(f"--help, cold: {seconds(path, '--help'):.3f} s")


if __name__ == "__main__":
    main()
