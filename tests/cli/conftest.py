"""The demonstration garden, built once, and a copy of it for every test that writes."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from boughwright.demo.build import build

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demonstration garden's book; tests that use it only read."""
    path = tmp_path_factory.mktemp("demo") / "demo.book"
    build(path)
    return path


@pytest.fixture
def book(demo_book: Path, tmp_path: Path) -> Path:
    """Return a copy of the demonstration garden's book that a test may write to."""
    for part in demo_book.parent.glob("demo.book*"):
        shutil.copy(part, tmp_path / part.name)
    return tmp_path / demo_book.name
