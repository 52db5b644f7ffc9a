"""A tree of no known species still gets a plain answer for its wire, and nothing breaks."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from boughwright.sources import Grade
from boughwright.usecases.enter import enter_branch, enter_place, enter_tree
from boughwright.usecases.entry import Writer
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.sheet import sheet
from boughwright.usecases.start import begin
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(2026, 6, 9)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book with one tree of a species that no table knows, its first branch wired."""
    path = tmp_path / "g.book"
    writer = Writer(DAY)
    begin(path)
    enter_place(path, None, {"name": "Home", "latitude": "51.5"}, writer)
    tree = enter_tree(path, None, {"name": "Odd one", "species": "Arbor inventa"}, writer)
    assert not tree.faults
    branch = {"name": "1L", "height_mm": "80"}
    assert not enter_branch(path, "odd-one", None, branch, writer).faults
    say(path, [Phrase("1L base 8; 1L wire on 2 al", DAY, tree="odd-one")])
    return path


def test_its_wire_is_looked_at_by_habit_and_the_unknown_is_said(book: Path) -> None:
    (line,) = [x for x in sheet(book, "Odd one", on=DAY).lines if x.branch.name == "1L"]
    (note,) = [note for note in line.verdict.notes if note.act is Act.KEEP_WIRE]
    assert "next look 23 June" in note.text
    assert note.grade is Grade.GUESS
