"""One browser and one server for each module of tests of the pages, on a garden of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from bench_browser import PHONE, SIZES, WAIT_MS, Heard, Served, in_ci, missing, opened, serving

from boughwright.demo.build import build

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


# A module's browser ends with it: while one runs, no other event loop may be started.
@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    reason = missing()
    if reason and in_ci():
        pytest.fail(reason, pytrace=False)
    if reason:
        pytest.skip(reason)
    with opened() as browser:
        yield browser


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the demonstration garden once; each server gets a copy."""
    path = tmp_path_factory.mktemp("browser-demo") / "demo.book"
    build(path)
    return path


@pytest.fixture(scope="module")
def served(chromium: Any, demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    assert chromium
    with serving(demo, tmp_path_factory.mktemp("garden")) as one:
        yield one


@pytest.fixture(params=list(SIZES))
def size(request: pytest.FixtureRequest) -> str:
    name: str = request.param
    return name


@pytest.fixture
def heard() -> Heard:
    return Heard()


@pytest.fixture
def device(chromium: Any, served: Served) -> Iterator[Any]:
    """Return a phone, with nothing kept on it."""
    context = chromium.new_context(**PHONE, base_url=served.address)
    context.set_default_timeout(WAIT_MS)
    yield context
    context.close()


@pytest.fixture
def page(chromium: Any, served: Served, size: str, heard: Heard) -> Iterator[Any]:
    """Return a page of a phone and of a laptop; it may not complain nor ask another machine."""
    context = chromium.new_context(**SIZES[size], base_url=served.address, reduced_motion="reduce")
    context.set_default_timeout(WAIT_MS)
    one = context.new_page()
    heard.listen(one)
    yield one
    context.close()
    assert heard.faults == []
    assert heard.strangers(served.address) == []
