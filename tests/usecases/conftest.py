"""The demonstration garden's book, and a small book without weather for lines that are said."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from usecases_book import write_two_trees

from boughwright.demo.build import build

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demonstration garden's book; never written into."""
    path = tmp_path_factory.mktemp("demo") / "demo.book"
    build(path)
    return path


@pytest.fixture(scope="session")
def two_trees(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a book of two trees with three branches each; never written into."""
    path = tmp_path_factory.mktemp("two") / "two.book"
    write_two_trees(path)
    return path


@pytest.fixture
def book(tmp_path: Path, two_trees: Path) -> Path:
    """Return a copy of the book of two trees that a test may write to."""
    return shutil.copyfile(two_trees, tmp_path / "own.book")
