"""Run the command as a grower does, in this process or in one of its own."""

from __future__ import annotations

import csv
import gc
import os
import subprocess
import sys
from importlib.resources import files
from typing import TYPE_CHECKING
from unittest.mock import patch

from click.testing import CliRunner

from boughwright.cli import main

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from click.testing import Result


class _Whole:
    """The whole command, its way of telling errors included, as click's runner calls it."""

    name = "boughwright"

    def main(self, args: list[str], **_: object) -> None:
        with patch.object(sys, "argv", ["boughwright", *args]):
            try:
                main()
            finally:
                gc.enable()  # the command turns collecting off for its own short life


def run(book: Path | None, *words: str) -> Result:
    """Run a command in this process on a book."""
    named = [] if book is None else ["--book", str(book)]
    return CliRunner().invoke(_Whole(), [*named, *words])  # type: ignore[arg-type]


def shown(book: Path | None, *words: str) -> str:
    """Run a command that must succeed and return what it prints."""
    result = run(book, *words)
    assert result.exit_code == 0, (words, result.output, result.exception)
    return result.stdout


def started(
    *words: str, env: Mapping[str, str] | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "boughwright", *words],
        env={**os.environ, **(env or {})},
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def demo_trees() -> list[str]:
    """Return the names of the demonstration garden's trees, as its table gives them."""
    table = files("boughwright.demo").joinpath("garden", "trees.csv").read_text("utf-8")
    return [row["name"] for row in csv.DictReader(table.splitlines())]


READING: dict[str, list[str]] = {
    "call-up": ["call-up"],
    "call-up in few hours": ["call-up", "--hours", "2"],
    "call-up of three weeks": ["call-up", "--days", "21"],
    "call-up in winter": ["call-up", "--on", "2027-01-15"],
    "call-up in summer": ["call-up", "--on", "2026-07-20"],
    "call-up in spring": ["call-up", "--on", "2027-04-20"],
    **{f"sheet of {name}": ["sheet", name] for name in demo_trees()},
    "whole sheet": ["sheet", "gate hornbeam", "--all"],
    "sheet in spring": ["sheet", "ditch field maple", "--on", "2027-04-20"],
    "wire": ["wire"],
    "wire of one tree": ["wire", "--tree", "tile trident"],
    "no wire": ["wire", "--on", "2020-01-01"],
    "stages": ["stages"],
    "stages in autumn": ["stages", "--on", "2026-10-20"],
    "records": ["records", "ditch field maple", "4R"],
    "records with facts": ["records", "river maple", "--facts"],
    "doubts": ["doubts"],
    "may-i yes": ["may-i", "ditch field maple", "2R cut to pair 1"],
    "may-i not now": ["may-i", "ditch field maple", "repot hard"],
    "may-i never": ["may-i", "tall beech", "leaf full"],
    "gauge": ["gauge", "ditch field maple", "1L"],
    "gauge of copper": ["gauge", "ditch field maple", "2R", "--metal", "cu", "--bend", "gentle"],
    "gauge too thick": ["gauge", "gate hornbeam", "1R", "--bend", "strong", "--lowering"],
    "species": ["species", "japanese maple"],
    "species with a rule of its own": ["species", "Fagus sylvatica"],
    "may-i later": ["may-i", "ditch field maple", "1L wire on 2 al", "--day", "2026-07-15"],
}
"""Commands that only read, by the name of their screen. Without ``--on`` they take the
demonstration's own day as today."""
