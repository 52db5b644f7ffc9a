"""Books made once, and a grower with an empty one."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from tasks_garden import Forms

from boughwright.demo.build import build
from boughwright.usecases.day import open_day

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.day import GardenDay


@pytest.fixture(scope="session")
def ground(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a book with a place and its weather and no tree; never written into."""
    folder = tmp_path_factory.mktemp("ground")
    forms = Forms(folder / "ground.book")
    forms.lay_ground()
    forms.load_weather(folder)
    return forms.path


@pytest.fixture
def forms(tmp_path: Path, ground: Path) -> Forms:
    """Return a grower with a book of their own."""
    shutil.copyfile(ground, tmp_path / "own.book")
    return Forms(tmp_path / "own.book", step=1000)


@pytest.fixture(scope="session")
def demo_garden(tmp_path_factory: pytest.TempPathFactory) -> GardenDay:
    """Return the demonstration garden on its day."""
    path = tmp_path_factory.mktemp("tasks-demo") / "demo.book"
    build(path)
    return open_day(path)
