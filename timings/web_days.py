"""How fast a garden that is kept in memory answers. Prints ms and ratios; asserts nothing.

Run: ``python timings/web_days.py``; ``--smoke`` measures a small garden only. The large one has
150 trees of 120 branches and ten years of journal.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from boughwright.usecases.call_up import call_up_of
from boughwright.usecases.day import open_day
from boughwright.usecases.kept import KeptBook
from boughwright.usecases.lines import SentLine, take_lines
from boughwright.usecases.reading import completions, reading_of
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.sheet import sheet_of
from boughwright.usecases.stages import strip_of
from boughwright.usecases.wires import all_wire_of

sys.path.insert(0, str(Path(__file__).parent))

from garden_of_size import TODAY, write_garden  # the folder is put on the path first

if TYPE_CHECKING:
    from collections.abc import Callable

SIZES = ((15, 120, 10), (150, 120, 10))
"""Trees, branches of each, years of journal."""


def timed(task: Callable[[], object], times: int = 20) -> tuple[float, float]:
    """Return the median and the 95th of a hundred of a task's wall time. [ms]."""
    took = []
    for _ in range(times):
        begun = time.perf_counter()
        task()
        took.append(1000 * (time.perf_counter() - begun))
    took.sort()
    return statistics.median(took), took[min(times - 1, int(0.95 * times))]


def measured(path: Path) -> dict[str, tuple[float, float]]:
    """Return the times of the questions that pages ask, on one garden."""
    fresh = timed(lambda: open_day(path), 3)
    kept = KeptBook(path)
    cold = timed(kept.day, 1)
    number = iter(range(10**6))

    def phrase() -> Phrase:
        n = next(number)
        return Phrase(f"tree {n % 15} 1L base {9 + n / 1000:.3f}", TODAY, id=uuid4())

    def one_line() -> None:
        say(path, [phrase()])

    said = timed(one_line)
    kept.day()

    def after_a_line() -> float:
        one_line()
        begun = time.perf_counter()
        kept.day()
        return 1000 * (time.perf_counter() - begun)

    after = sorted(after_a_line() for _ in range(20))
    now = datetime.now(UTC)

    def outbox() -> None:
        lines = [SentLine(uuid4(), now - timedelta(minutes=i), phrase().text) for i in range(20)]
        take_lines(path, lines, sent=now, now=now, device="phone")

    garden = kept.day()
    times = {
        "open afresh": fresh,
        "first day": cold,
        "day, nothing new": timed(kept.day, 200),
        "say one line": said,
        "day after it": (statistics.median(after), after[18]),
        "20 lines of an outbox": timed(outbox, 5),
        "call-up": timed(lambda: call_up_of(garden)),
        "sheet": timed(lambda: sheet_of(garden, "tree-7")),
        "all wire": timed(lambda: all_wire_of(garden)),
        "stages": timed(lambda: strip_of(garden)),
        "reading of a line": timed(lambda: reading_of(garden, "2R wire on 2 al", "tree-7", TODAY)),
        "completions": timed(lambda: completions(garden, "2R w", "tree-7")),
    }
    kept.day()
    times["records"] = timed(lambda: kept.records("tree-7"))
    kept.close()
    return times


def main() -> None:
    """Measure a small garden and one of ten times its trees."""
    sizes = SIZES[:1] if "--smoke" in sys.argv else SIZES
    before: dict[str, tuple[float, float]] = {}
    with tempfile.TemporaryDirectory() as name:
        for trees, branches, years in sizes:
            path = Path(name) / f"{trees}.book"
            events = write_garden(path, trees=trees, branches=branches, readings=years, years=years)
            print(f"\n{trees} trees x {branches} branches, {years} years: {events} events")
            print(f"{'':24} {'p50 ms':>9} {'p95 ms':>9} {'x small':>8}")
            times = measured(path)
            for what, (middle, high) in times.items():
                ratio = f"{middle / before[what][0]:8.1f}" if before else ""
                print(f"{what:24} {middle:9.2f} {high:9.2f} {ratio}")
            before = times


if __name__ == "__main__":
    main()
