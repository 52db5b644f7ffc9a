"""The form that enters several branches at once, a row each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.journal.fields import BRANCH_FIELDS
from boughwright.usecases.enter_branches import COLUMNS
from boughwright.web.forms import told_plainly

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.usecases.entry import FieldFault
    from boughwright.web.forms import Sent
    from boughwright.web.speech import Speaker

ROWS: Final = 3
"""Rows shown at first, and how many more are added at a time."""
MOST_ROWS: Final = 30
EXAMPLES: Final = ("1L", "2R", "3B")
"""Names to begin with: from the soil up, with their sides."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One field of a row."""

    column: str
    name: str
    value: str
    fault: FieldFault | None = None
    example: str = ""
    required: bool = False


def rows_shown(
    sent: Sent | None, words: Speaker, faults: Sequence[FieldFault] = (), *, more: bool = False
) -> list[list[Cell]]:
    """Return the rows of the form as they were typed, with what is wrong beside each field."""
    typed = _count(sent)
    number = min(MOST_ROWS, max(ROWS, typed) + (ROWS if more else 0))
    wrong = {one.field: one for one in reversed(faults)}
    rows = []
    for row in range(number):
        cells = []
        for column in COLUMNS:
            key = f"{row}.{column}"
            fault = wrong.get(key)
            fault = told_plainly(BRANCH_FIELDS.get(column), fault, words)
            value = sent.get(key) if sent is not None else ""
            example = EXAMPLES[row] if column == "name" and row < len(EXAMPLES) else ""
            cells.append(Cell(column, key, value, fault, example, row == 0 and column == "name"))
        rows.append(cells)
    return rows


def rows_sent(sent: Sent) -> list[dict[str, str]]:
    """Return the rows of the form, each by column."""
    return [
        {column: sent.get(f"{row}.{column}") for column in COLUMNS} for row in range(_count(sent))
    ]


def _count(sent: Sent | None) -> int:
    """Return how many rows a form sent."""
    if sent is None:
        return 0
    heads = [name.partition(".")[0] for name in sent.typed if name.endswith(".name")]
    return min(MOST_ROWS, 1 + max((int(head) for head in heads if head.isdecimal()), default=-1))


def cells_at_fault(rows: Sequence[Sequence[Cell]]) -> list[Cell]:
    """Return the cells that something is wrong with, in order."""
    return [cell for row in rows for cell in row if cell.fault]
