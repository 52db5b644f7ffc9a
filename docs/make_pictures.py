"""Make the README's pictures from the demonstration garden: ``python docs/make_pictures.py``.

A real server on a fresh demonstration garden, a real browser as large as a phone and a laptop.
Wants the package with its ``test`` extra, and Chromium at /usr/bin/chromium.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PIL import Image

from boughwright.demo.build import build

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "browser"))

from bench_browser import DESK, MAPLE, PHONE, opened, ready, serving  # the folder is on the path

if TYPE_CHECKING:
    from collections.abc import Callable

PICTURES = Path(__file__).parent / "pictures"
MOST_KB = 250
SHARP = 2
"""Pixels of a phone's picture to one of the page's."""
COLOURS = 128


def _still(_page: Any) -> None:
    """Leave the page as it opened."""


def _branch(page: Any) -> None:
    """Choose a branch, so that its reason is open beside the drawing."""
    page.locator("[data-branches] [data-branch='4r'] a").first.click()
    page.locator("[data-branches] [data-branch='4r'] .branch-card").wait_for()
    page.evaluate("() => scrollTo(0, 0)")


SHOTS: dict[str, tuple[dict[str, Any], str, Callable[[Any], None]]] = {
    "week-phone": (PHONE, "/", _still),
    "tree-phone": (PHONE, f"/trees/{MAPLE}", _still),
    "bench-phone": (PHONE, f"/trees/{MAPLE}/bench", _still),
    "tree-desk": (DESK, f"/trees/{MAPLE}", _branch),
}


def small(png: bytes) -> bytes:
    """Return a picture with few colours: ink on paper needs no more."""
    made = Image.open(io.BytesIO(png)).convert("RGB")
    out = io.BytesIO()
    made.quantize(COLOURS, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    """Make every picture, and tell how large it is."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo.book"
        build(demo)
        garden = Path(folder) / "served"
        garden.mkdir()
        with opened() as browser, serving(demo, garden) as served:
            for name, (size, path, prepare) in SHOTS.items():
                sharp = SHARP if size is PHONE else 1
                context = browser.new_context(
                    **{**size, "device_scale_factor": sharp},
                    base_url=served.address, reduced_motion="reduce",
                )  # fmt: skip
                page = context.new_page()
                page.goto(path)
                ready(page)
                prepare(page)
                page.wait_for_timeout(500)
                png = small(page.screenshot())
                context.close()
                if len(png) > MOST_KB * 1000:
                    raise SystemExit(f"{name} is {len(png) // 1000} kB, over {MOST_KB}")
                (PICTURES / f"{name}.png").write_bytes(png)
                print(f"{name}.png  {len(png) // 1000} kB")


if __name__ == "__main__":
    main()
