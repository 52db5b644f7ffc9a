"""How fast the pages answer and the tree in the round is set up. Prints figures; asserts nothing.

Run: ``python timings/web_pages.py``; ``--smoke`` measures the demonstration garden only. The large
garden has 150 trees of 120 branches and ten years of journal. Aims: p95 under 150 ms warm, first
paint of the week's page under 1 s, at most 60 kB of scripts (gzipped) where no tree stands in the
round, 3,000 segments set up in under 150 ms.
"""

from __future__ import annotations

import gzip
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "frontend"))
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "browser"))

from bench_browser import MAPLE, PHONE, Served, missing, opened, ready  # folders are on the path
from garden_of_size import write_garden  # as above

from boughwright.demo.build import build
from boughwright.web.state import DIST

if TYPE_CHECKING:
    from collections.abc import Sequence

TIMES = 20
PAGES = (
    "/", "/trees", "/trees/{tree}", "/trees/{tree}/branches/{branch}", "/trees/{tree}/bench",
    "/trees/{tree}/paper", "/trees/{tree}/records", "/trees/{tree}/facts", "/trees/{tree}/photos",
    "/wire", "/wire/strip", "/weather", "/may-i?tree={tree}", "/promises", "/stock", "/sure",
    "/say", "/settings", "/api/trees/{tree}/drawing",
)  # fmt: skip
SEGMENTS = 3_000


def answered(served: Served, tree: str, branch: str) -> None:
    """Print the time of each page on the server, warm."""
    print(f"{'page':42} {'p50 ms':>8} {'p95 ms':>8} {'kB':>7}")
    with httpx.Client(base_url=served.address, timeout=120) as client:
        for pattern in PAGES:
            path = pattern.replace("{tree}", tree).replace("{branch}", branch)
            first = client.get(path)
            took = sorted(_took(client, path) for _ in range(TIMES))
            told = "" if first.status_code == 200 else f"  answers {first.status_code}"
            print(f"{pattern:42} {statistics.median(took):8.1f} {took[int(0.95 * TIMES)]:8.1f} "
                  f"{len(first.content) / 1000:7.1f}{told}")  # fmt: skip


def _took(client: httpx.Client, path: str) -> float:
    begun = time.perf_counter()
    client.get(path)
    return 1000 * (time.perf_counter() - begun)


def painted(browser: Any, served: Served) -> None:
    """Print the first paint of the week's page, on a device that has kept nothing."""
    took = []
    for _ in range(5):
        context = browser.new_context(**PHONE, base_url=served.address)
        page = context.new_page()
        page.goto("/")
        ready(page)
        took.append(page.evaluate(
            "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN"
        ))  # fmt: skip
        context.close()
    print(f"first paint of the week: {statistics.median(took):.0f} ms (median of {len(took)})")


def scene(browser: Any) -> None:
    """Print how long a tree of many segments takes to stand in the round."""
    from bench_pages import Bench, serving  # noqa: PLC0415

    made = Bench()
    made.pieces = SEGMENTS
    took = []
    with serving(made) as bench:
        for _ in range(5):
            page = browser.new_page(viewport=PHONE["viewport"])
            page.goto(f"{bench.address}/trees/elm")
            page.locator("[data-scene][data-ready=yes]").wait_for(timeout=60_000)
            took.append(page.evaluate(
                "() => performance.getEntriesByName('scene-setup')[0].duration"
            ))  # fmt: skip
            page.close()
    print(f"{SEGMENTS} segments set up and drawn: {statistics.median(took):.0f} ms, "
          "by software graphics")  # fmt: skip


def weights(
    names: Sequence[str] = ("app.js", "app.css", "scene.js", "marker.js", "closer.js"),
) -> None:
    """Print what a browser fetches beside the pages, gzipped."""
    for name in names:
        print(
            f"{name:12} {len(gzip.compress((DIST / name).read_bytes(), 9)) / 1000:7.1f} kB gzipped"
        )


def measured(book: Path, tree: str, branch: str, browser: Any) -> None:
    """Measure one garden."""
    served = Served(book)
    begun = time.perf_counter()
    served.start()
    print(f"up, with its first day: {time.perf_counter() - begun:.1f} s")
    try:
        answered(served, tree, branch)
        if browser is not None:
            painted(browser, served)
    finally:
        served.stop()


def main() -> None:
    """Measure the demonstration garden and the large one."""
    weights()
    with tempfile.TemporaryDirectory() as name:
        demo, large = Path(name) / "demo.book", Path(name) / "large.book"
        build(demo)
        gardens = [("the demonstration garden", demo, MAPLE, "4r")]
        if "--smoke" not in sys.argv:
            write_garden(large, trees=150, branches=120, readings=10, years=10)
            gardens.append(("150 trees x 120 branches, 10 years", large, "tree-7", "1l"))
        if missing():
            print(missing())
            for told, book, tree, branch in gardens:
                print(f"\n{told}")
                measured(book, tree, branch, None)
            return
        with opened() as browser:
            scene(browser)
            for told, book, tree, branch in gardens:
                print(f"\n{told}")
                measured(book, tree, branch, browser)


if __name__ == "__main__":
    main()
