"""What starting costs and touches: help loads no heavy library, importing touches nothing."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from boughwright.cli import COMMANDS

if TYPE_CHECKING:
    from pathlib import Path

HEAVY = {"numpy", "scipy", "sqlalchemy", "alembic", "platformdirs", "pandas"}

CALLS = [["--help"], ["--version"], *([name, "--help"] for name in COMMANDS)]


@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_help_loads_no_heavy_library(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "boughwright", *words],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in done.stderr.split("\n")}
    assert {"boughwright", "click"} <= loaded  # the list is really that of the command
    assert not loaded & HEAVY
    assert "Usage: boughwright" in done.stdout or done.stdout.startswith("Boughwright ")


WATCHED_IMPORT = """
import os, pkgutil, sys

touched = []

def watch(event, args):
    if event == "open" and isinstance(args[2], int):
        if args[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND):
            touched.append((event, args[0]))
    elif event.startswith(("socket.", "subprocess.", "os.mkdir", "os.rename", "os.remove",
                           "os.system", "os.exec", "os.fork", "sqlite3.connect", "shutil.")):
        touched.append((event, args))

sys.addaudithook(watch)
import boughwright
for found in pkgutil.walk_packages(boughwright.__path__, "boughwright."):
    if not found.name.endswith("__main__") and ".migrations." not in found.name:
        __import__(found.name)  # what stands under migrations is run by Alembic alone
if touched:
    sys.exit(repr(touched))
"""


def test_importing_every_module_writes_prints_and_connects_to_nothing(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WATCHED_IMPORT],
        env={"HOME": str(tmp_path), "PYTHONDONTWRITEBYTECODE": "1"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert list(tmp_path.iterdir()) == []


def test_the_watch_of_the_import_test_sees_a_written_file(tmp_path: Path) -> None:
    written = WATCHED_IMPORT.replace("import boughwright\n", "import boughwright\nopen('x', 'w')\n")
    done = subprocess.run(
        [sys.executable, "-c", written], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "('open', 'x')" in done.stderr
