"""One browser for each module of tests of the scripts; a device and a server for each test."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from bench_pages import Bench, serving
from browser_help import PHONE, browser

if TYPE_CHECKING:
    from collections.abc import Iterator


# A module's browser ends with it: while one runs, no other event loop may be started.
@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    with browser() as opened:
        yield opened


@pytest.fixture
def bench() -> Iterator[Bench]:
    with serving(Bench()) as served:
        yield served


@pytest.fixture
def device(chromium: Any) -> Iterator[Any]:
    context = chromium.new_context(viewport=PHONE, has_touch=True)
    context.set_default_timeout(10_000)
    yield context
    context.close()


LOST_NETWORK = ("Failed to load resource", "An unknown error occurred when fetching the script")


@pytest.fixture
def page(device: Any) -> Iterator[Any]:
    """Open a page, and fail on anything that the browser complains of but a lost network."""
    opened = device.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    opened.on("console", lambda told: faults.append(told.text) if told.type == "error" else None)
    yield opened
    assert [fault for fault in faults if not fault.startswith(LOST_NETWORK)] == []
