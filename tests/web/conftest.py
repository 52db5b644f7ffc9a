"""The demonstration garden behind the whole app: one book to read, and a copy for each writer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from demo_app import app_of, browser_on, copy_of

from boughwright.demo.build import build

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demonstration garden's book; tests that use it only read."""
    path = tmp_path_factory.mktemp("web-demo") / "demo.book"
    build(path)
    return path


@pytest.fixture(scope="session")
def reader(demo_book: Path) -> TestClient:
    """Return a browser on the demonstration garden, for tests that only read."""
    return browser_on(app_of(demo_book))


@pytest.fixture
def client(demo_book: Path, tmp_path: Path) -> TestClient:
    """Return a browser on a fresh copy of the demonstration garden."""
    return browser_on(app_of(copy_of(demo_book, tmp_path)))
