"""Books made once and copied for each test that writes into one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from grower_garden import Grower, calm_lines, copy_book, empty_book

from boughwright.demo.build import build

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture(scope="session")
def calm() -> list[str]:
    """Return the lines of a mild weather file without a gap."""
    return calm_lines()


@pytest.fixture(scope="session")
def bare_book(tmp_path_factory: pytest.TempPathFactory, calm: list[str]) -> Path:
    """Return a book with a place and its weather and no tree; never written into."""
    folder = tmp_path_factory.mktemp("bare")
    return empty_book(folder / "bare.book", folder, calm)


@pytest.fixture
def grower(tmp_path: Path, bare_book: Path) -> Grower:
    """Return a grower with an empty book of their own."""
    return Grower(copy_book(bare_book, tmp_path / "garden.book"))


@pytest.fixture
def more_growers(tmp_path: Path, bare_book: Path) -> Callable[[str], Grower]:
    """Return a function that gives a grower with another empty book."""
    return lambda name: Grower(copy_book(bare_book, tmp_path / f"{name}.book"))


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the book of the demonstration garden; never written into."""
    path = tmp_path_factory.mktemp("demo") / "demo.book"
    build(path)
    return path


@pytest.fixture
def demo(tmp_path: Path, demo_book: Path) -> Grower:
    """Return a grower with a copy of the demonstration garden."""
    return Grower(copy_book(demo_book, tmp_path / "demo.book"))
