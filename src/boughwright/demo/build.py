"""Make the demonstration garden through the doors a grower uses: a folder, weather, phrases.

The folder `garden/` beside this file holds the trees and their main branches, and
``bench-book.csv`` the phrases said over the years. Twigs are made up here to agree with them, and
the weather by `boughwright.demo.weather`.
"""

from __future__ import annotations

import csv
import shutil
import tempfile
from datetime import UTC, date, datetime
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.demo.weather import VALDIVIA, WEIR_LANE, rows
from boughwright.usecases.folder import load
from boughwright.usecases.say import Phrase, backdated, say

if TYPE_CHECKING:
    from collections.abc import Callable

BENCH_BOOK = "bench-book.csv"
ENTERED = datetime(2026, 6, 8, 20, tzinfo=UTC)
"""When the folder was taken in; the phrases carry their own evenings."""

TWIG_STEPS = (0.62, 0.56, 0.50, 0.45, 0.40, 0.36, 0.32, 0.29, 0.26)
"""Bases of a branch's side shoots over its own, from the trunk outward."""


def build(path: Path, *, progress: Callable[[float], object] = lambda _: None) -> None:
    """Make the demonstration garden's book afresh at ``path``.

    Parameters
    ----------
    path : Path
        An older book there is removed: the demonstration is always the same.
    progress : callable
        Told the share done, 0..1.
    """
    for old in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        old.unlink(missing_ok=True)
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        folder = _lay_out(Path(scratch) / "garden")
        progress(0.2)
        load(path, folder, on_bad="refuse", who="grower", now=ENTERED)
        progress(0.5)
        phrases = read_bench_book(folder / BENCH_BOOK)
    say(path, phrases)
    progress(1.0)


def read_bench_book(file: Path) -> list[Phrase]:
    """Return the phrases of a bench book, each entered on the evening of its day."""
    with file.open(encoding="utf-8", newline="") as text:
        lines = list(csv.DictReader(text))
    phrases = []
    for step, line in enumerate(lines):
        on = date.fromisoformat(line["on"])
        phrases.append(
            Phrase(line["phrase"], on, tree=line["tree"], who=line["who"], now=backdated(on, step))
        )
    return phrases


def _lay_out(folder: Path) -> Path:
    """Copy the packaged folder and add what is made by script: twigs and weather."""
    with as_file(files("boughwright.demo").joinpath("garden")) as packaged:
        shutil.copytree(packaged, folder)
    _add_twigs(folder / "branches.csv")
    (folder / "weather").mkdir()
    for name, station in (("weir-lane", WEIR_LANE), ("valdivia", VALDIVIA)):
        text = "\n".join(rows(station)) + "\n"
        (folder / "weather" / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def _add_twigs(file: Path) -> None:
    """Give every branch with a number in ``twigs`` that many side shoots, and drop the column."""
    with file.open(encoding="utf-8", newline="") as text:
        reader = csv.DictReader(text)
        heads = [head for head in reader.fieldnames or [] if head != "twigs"]
        made = []
        for row in reader:
            count = int(row.pop("twigs") or 0)
            made.append(row)
            made += [_twig(row, number) for number in range(1, count + 1)]
    with file.open("w", encoding="utf-8", newline="") as text:
        writer = csv.DictWriter(text, heads, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(made)


def _twig(row: dict[str, str], number: int) -> dict[str, str]:
    parent = float(row["base_mm"] or 4.0)
    base = max(1.2, round(parent * TWIG_STEPS[number - 1], 1))
    return {
        "tree": row["tree"],
        "name": f"{row['name']}-{number}",
        "parent": row["name"],
        "along_mm": str(round(12 + 16 * number)),
        "base_mm": str(base),
        "clock": str((float(row["clock"]) + (2 if number % 2 else 10) - 1) % 12 + 1),
        "plan_angle_deg": str(50 + 5 * (number % 4)),
        "outer": "yes" if number > 2 else "no",
        "on": row["on"],
        "measured_on": "2025-11-08",
    }
