"""Square codes that a phone's camera reads: as a path to draw on a page, as text in a terminal."""

from __future__ import annotations

from dataclasses import dataclass

QUIET = 4
"""Empty squares round the code, without which cameras do not find it."""
_WHITE_ON_BLACK, _AS_BEFORE = "\x1b[97;40m", "\x1b[0m"


@dataclass(frozen=True, slots=True)
class SquareCode:
    """A code to draw: the outline of its dark squares, and how many squares a side has."""

    path: str
    side: int


def square_code(text: str) -> SquareCode:
    """Return the code of a text, for a page."""
    rows = _rows(text)
    runs = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            width = next((i for i, dark in enumerate(row[x:]) if not dark), len(row) - x)
            runs.append(f"M{x + QUIET} {y + QUIET}h{width}v1h-{width}z")
            x += width
    return SquareCode("".join(runs), len(rows) + 2 * QUIET)


def terminal_code(text: str) -> str:
    """Return the code of a text as lines of half blocks, dark on light whatever the colours."""
    rows = _rows(text)
    empty = [False] * (len(rows) + 2 * QUIET)
    framed = [
        *[empty] * QUIET,
        *([*[False] * QUIET, *row, *[False] * QUIET] for row in rows),
        *[empty] * (QUIET + len(rows) % 2),
    ]
    blocks = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
    lines = (
        "".join(blocks[above, below] for above, below in zip(*framed[i : i + 2], strict=True))
        for i in range(0, len(framed), 2)
    )
    return "\n".join(f"{_WHITE_ON_BLACK}{line}{_AS_BEFORE}" for line in lines)


def _rows(text: str) -> list[list[bool]]:
    import segno  # noqa: PLC0415  # only where a code is shown

    code = segno.make(text, error="m", micro=False)
    return [[bool(dark) for dark in row] for row in code.matrix]
