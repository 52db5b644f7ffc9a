"""Square codes: what is drawn is what the library computed, and it stands in a quiet frame."""

from __future__ import annotations

import re

import pytest
import segno

from boughwright.web.guard.codes import QUIET, square_code, terminal_code

TEXTS = ["http://192.168.1.50:8170/pair#" + "A" * 32, "http://10.0.0.2:8172/"]
BLOCKS = {"█": (False, False), "▀": (False, True), "▄": (True, False), " ": (True, True)}


def dark_squares(text: str) -> set[tuple[int, int]]:
    matrix = segno.make(text, error="m", micro=False).matrix
    return {
        (x + QUIET, y + QUIET) for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark
    }


@pytest.mark.parametrize("text", TEXTS)
def test_the_path_covers_just_the_dark_squares(text: str) -> None:
    code = square_code(text)
    drawn: list[tuple[int, int]] = []
    for x, y, width, back in re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", code.path):
        assert width == back
        drawn += [(int(x) + i, int(y)) for i in range(int(width))]
    assert len(drawn) == len(set(drawn))
    assert set(drawn) == dark_squares(text)
    assert max(max(xy) for xy in drawn) == code.side - QUIET - 1
    assert re.fullmatch(r"[Mhvz0-9 -]+", code.path)


@pytest.mark.parametrize("text", TEXTS)
def test_the_terminals_code_is_the_same(text: str) -> None:
    drawn = set()
    coloured = terminal_code(text).split("\n")
    # White on black by colour codes, so that it is dark on light in a terminal of either kind.
    assert all(line.startswith("\x1b[97;40m") and line.endswith("\x1b[0m") for line in coloured)
    lines = [line[8:-4] for line in coloured]
    for row, line in enumerate(lines):
        for x, mark in enumerate(line):
            above, below = BLOCKS[mark]
            drawn |= {(x, 2 * row)} if above else set()
            drawn |= {(x, 2 * row + 1)} if below else set()
    assert drawn == dark_squares(text)
    assert {len(line) for line in lines} == {square_code(text).side}
    assert len(lines[0]) <= 80
