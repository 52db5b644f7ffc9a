"""The whole program as a grower meets it: a real server on a book of its own, a real browser.

Nothing here stands in for anything: the server is a process that can be killed, the browser is
Debian's Chromium, and what was written is read back from the book's records.
"""

from __future__ import annotations

import csv
import io
import os
import shutil
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx

from boughwright.web.state import DIST

if TYPE_CHECKING:
    from collections.abc import Iterator

CHROMIUM = Path("/usr/bin/chromium")
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
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 1,
}
DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}}
SIZES = {"phone": PHONE, "desk": DESK}
WAIT_MS = 10_000

MAPLE = "ditch-field-maple"
"""The demonstration garden's tree with a plain verdict on nearly every branch."""

UNASKED = "ReadPixels"
"""The browser's own note on how fast its graphics are, when a picture of the page is taken."""


def missing() -> str:
    """Return what these tests want and do not find, empty when all is there."""
    try:
        import playwright  # noqa: F401
    except ImportError:
        return "Playwright is not installed: pip install '.[test]'"
    if not CHROMIUM.exists():
        return f"no Chromium at {CHROMIUM}"
    if not (DIST / "app.js").exists():
        return "the pages' scripts are not built: install the package, or run frontend/build.mjs"
    return ""


@contextmanager
def opened() -> Iterator[Any]:
    """Open Chromium for as long as the block runs."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


@dataclass
class Served:
    """A running server on a book. It may be killed and started again on the same port."""

    book: Path
    port: int = field(default_factory=_free_port)
    _process: subprocess.Popen[bytes] | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start, and wait until the first day is worked out."""
        script = Path(__file__).with_name("bench_server.py")
        self._process = subprocess.Popen(
            [sys.executable, str(script), str(self.book), str(self.port)],
            stdout=subprocess.DEVNULL,
        )
        until = time.monotonic() + 60
        while time.monotonic() < until:
            assert self._process.poll() is None, "the server ended"
            try:
                if httpx.get(f"{self.address}/offline", timeout=20).status_code < 500:
                    return
            except httpx.TransportError:
                pass
            time.sleep(0.1)
        raise AssertionError("the server did not come up")

    def kill(self) -> None:
        """End it as a power cut would."""
        assert self._process is not None
        self._process.kill()
        self._process.wait(20)

    def stop(self) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.terminate()
            self._process.wait(20)

    def records(self, tree: str) -> list[dict[str, str]]:
        """Return every record of a tree that counts, as the page of records gives them."""
        answer = httpx.get(f"{self.address}/trees/{tree}/records.csv", timeout=20)
        answer.raise_for_status()
        return list(csv.DictReader(io.StringIO(answer.text.lstrip("\ufeff"))))

    def said(self, tree: str, part: str) -> list[str]:
        """Return the words of a tree's records that hold ``part``."""
        rows = (" | ".join(row.values()) for row in self.records(tree))
        return [row for row in rows if part in row]


@contextmanager
def serving(demo: Path, folder: Path) -> Iterator[Served]:
    """Serve a fresh copy of the demonstration garden."""
    served = Served(Path(shutil.copy(demo, folder / "garden.book")))
    served.start()
    try:
        yield served
    finally:
        served.stop()


@dataclass
class Heard:
    """What a page let the browser complain of, and where it asked."""

    faults: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    quiet_about: tuple[str, ...] = ()

    def listen(self, page: Any) -> None:
        page.on("pageerror", lambda error: self.faults.append(f"page error: {error}"))
        page.on("console", self._console)
        page.on("request", lambda request: self.asked.append(request.url))

    def _console(self, told: Any) -> None:
        known = (UNASKED, *self.quiet_about)
        if told.type in ("error", "warning") and not any(part in told.text for part in known):
            self.faults.append(f"{told.type}: {told.text}")

    def strangers(self, address: str) -> list[str]:
        """Return every request that left this machine's own server."""
        return [url for url in self.asked if not url.startswith((address, "data:", "blob:"))]

    def clear(self) -> None:
        self.faults.clear()
        self.asked.clear()


def in_ci() -> bool:
    return bool(os.environ.get("CI"))


def ready(page: Any) -> None:
    """Wait until the page's scripts have set it up, and the tree stands where there is one."""
    page.wait_for_function(
        """() => document.readyState === 'complete'
        && !document.querySelector('[data-no-script]:not([hidden])')
        && !document.querySelector('[data-scene]:not([data-ready=yes])')"""
    )
