"""What was not taken from a garden folder, and why: every row of it, in full."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """Something of a garden folder that was not taken, or was taken but cannot be right.

    Parameters
    ----------
    file : str
        Name of the file, with its folder for weather.
    row : int
        Row of the file, the first being 1; 0 for the file as a whole.
    column : str
        As the column is called here; empty for a whole row.
    what, allowed, todo : str
        What is wrong, what would have been accepted, what to do.
    refused : bool
        It was not taken. Otherwise it was taken and is only listed: records that contradict each
        other, a name that leads nowhere yet.
    line : str
        The row as it stands in the file, for what was refused.
    """

    file: str
    row: int
    column: str
    what: str
    allowed: str = ""
    todo: str = ""
    refused: bool = True
    line: str = ""

    def __str__(self) -> str:
        """Return one line for the grower."""
        where = [self.file]
        where += [f"row {self.row}"] if self.row else []
        where += [self.column] if self.column else []
        parts = [f"{', '.join(where)}: {self.what}"]
        parts += [f"Allowed: {self.allowed}"] if self.allowed else []
        parts += [self.todo] if self.todo else []
        return ". ".join(part.rstrip(".") for part in parts) + "."
