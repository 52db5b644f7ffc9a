"""The printed description of a garden folder, column by column, made from the tables themselves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from boughwright.journal.columns import (
    FORMAT,
    GARDEN_FILE,
    RECORDS,
    RECORDS_FILE,
    TABLES,
    UNKNOWN,
    VERSION,
    WEATHER_COLUMNS,
    WEATHER_FOLDER,
)
from boughwright.journal.fields import GARDEN_FIELDS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.journal.fields import Field

_KINDS = {
    "text": "text", "ref": "name of a branch", "number": "number", "count": "whole number",
    "yes-no": "yes or no", "date": "date", "moment": "date and time, UTC", "reading": "number",
    "choice": "one of",
}  # fmt: skip

_HEAD = f"""# The garden folder

A garden can be kept as a folder of plain tables. Boughwright writes one and reads one. You can
also make one by hand, in any spreadsheet. This page is made from the program's own list of columns.

## What is in it

| file | what it holds |
|---|---|
| `{GARDEN_FILE}` | settings of the garden |
| `{RECORDS_FILE}` | every record, withdrawn ones too; nothing is lost |
"""

_READING = f"""| `{WEATHER_FOLDER}/NAME.csv` | daily weather of station NAME: `weather-files.md` |

**When `{RECORDS_FILE}` is there, it alone is read.** The other tables are then for your eyes. To
change the garden by its tables, take `{RECORDS_FILE}` out of the folder first. Without it, each row
becomes a record.

The least that works is `trees.csv` with `name` and `species`, and `branches.csv` with `tree`,
`name` and what you measured. To be asked about, a tree needs a place too: `places.csv` with `name`
and `latitude`. With one place only, all trees stand there. Columns may be missing or stand in any
order. Columns and files that are not known are listed and left alone.

## How cells are read

- **Text** is UTF-8, with or without a mark at its start. UTF-16 with its mark and Windows Western
  (cp1252) are read too.
- **Separators** are commas, semicolons or tabs; the header tells. A first line `sep=;` is fine.
- **Headers** may use capitals, spaces and hyphens: `Base mm`, `base-mm` and `base_mm` are one.
- **Lengths** are mm unless the header or the cell says `cm` or `in`: a column `base_in` or
  `Base (in)`, a cell `0.5 in`. A header without a unit, `base`, is in the unit you name at reading.
- **Numbers** may have a decimal comma. Then part the cells by semicolons.
- **Dates** are `2026-06-09`, `20260609` or `9.6.2026`. `9/6/2026` is read when some date in the
  file shows which number is the month, or when you say so.
- **An empty cell** says nothing. A lone `{UNKNOWN}` takes a value back to unknown.
- **A cell that a spreadsheet would run** starts with `=`, `+`, `-` or `@`. In text columns such a
  cell is written with an apostrophe before it, and the apostrophe is taken off when read. So is a
  lone `{UNKNOWN}` that is meant as text.
- Spaces around a cell are dropped.

## Names and keys

A tree has a lasting key in the column `tree`. Left empty, it is made from its name: `Gate hornbeam`
has the key `gate-hornbeam`. A branch has one in the column `branch`: the branch `2R-1` has the key
`2r-1`. Keep the keys when you change a name. All tables take the key or the name.

Columns of measures in `trees.csv` and `branches.csv` become readings of the day `measured_on`. A
reading that stands in `measures.csv` too counts once.

## Reading twice

The id of a record made from a row is worked out from what the row says. So reading the same tables
twice adds nothing. Two equal rows in one table are two records. A row you change is a new record,
and the old one stays in the journal; to go back to an older value, give the row a new day.

## Changing the garden by tables

A small folder that holds only what is new or changed is enough. Load it into the same book.
`trees.csv` must then have a row for each tree named; its key or name alone will do.

- **A new tree or branch** is a new row. Give it the day in `on`.
- **A branch that is called something else now**: its key in `branch`, the new name in `name`, the
  day of the change in `on`. The key is the name it was first entered by, in small letters. All that
  was written of it stays with it, and its old name is still understood.
- **A branch that is gone**: its key, and `gone_on`.
- **A front that was turned** is a row of `fronts.csv`.

Records that were said wrong are taken back with `boughwright withdraw`, not by a table.

## When something cannot be read

Each fault is listed with file, row, column, what is allowed and what to do. You choose: nothing
goes in, or the rest does. In tables of things a bad cell is left out and the rest of its row goes
in; when it is the day in `on`, the measures of the row are left out too. In tables of happenings
the row is left out. Records that contradict each other go in and are
listed.
"""


def folder_page() -> str:
    """Return the page that describes a garden folder."""
    files = "".join(f"| `{table.file}` | each row: {table.row} |\n" for table in TABLES)
    parts = [_HEAD + files + _READING]
    parts.append(f"## `{GARDEN_FILE}`\n\n`format` is `{FORMAT}`, `version` is {VERSION}; both may "
                 f"be left out.\n\n{_columns(GARDEN_FIELDS.values(), 'setting')}")  # fmt: skip
    for table in (RECORDS, *TABLES):
        needs = ", ".join(f"`{name}`" for name in table.needs)
        needed = f" A row needs {needs}." if needs else ""
        parts.append(f"## `{table.file}`\n\nEach row is {table.row}.{needed}\n\n"
                     f"{_columns(table.columns, 'column')}")  # fmt: skip
    columns = ", ".join(f"`{name}`" for name in WEATHER_COLUMNS)
    parts.append(
        f"## `{WEATHER_FOLDER}/NAME.csv`\n\nColumns {columns}. `kind` is `read`, `bench` (read at "
        "the bench, believed first) or `forecast`. Days without any value are left out.\n"
    )
    return "\n".join(parts)


def _columns(columns: Iterable[Field], head: str) -> str:
    rows = [f"| {head} | holds | what it means |", "|---|---|---|"]
    rows += [f"| `{one.name}` | {_holds(one)} | {one.help} |" for one in columns]
    return "\n".join(rows) + "\n"


def _holds(column: Field) -> str:
    kind = _KINDS[column.kind]
    if column.choices:
        return f"{kind}: {', '.join(column.choices)}"
    if math.isfinite(column.low) and math.isfinite(column.high):
        unit = "" if column.unit == "0-1" else f" {column.unit}" if column.unit else ""
        return f"{kind}, {column.low:.10g} to {column.high:.10g}{unit}"
    return kind
