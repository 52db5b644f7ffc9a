"""A garden written as a folder of plain tables: everything once, and once more to be read.

``records.csv`` holds every record of the journal, withdrawn ones too. The other tables show the
garden as it stands, for a spreadsheet or any other program. The folder is made beside its place and
moved there when it is whole.
"""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import numpy as np
import tomli_w

from boughwright.errors import FileError
from boughwright.journal.codec import body_to_json
from boughwright.journal.columns import (
    BRANCHES,
    FORMAT,
    GARDEN_FILE,
    PLACES,
    RECORDS,
    SHELVES,
    TABLES,
    TREES,
    VERSION,
    WEATHER_COLUMNS,
    WEATHER_FOLDER,
    station_file,
)
from boughwright.journal.events import once, standing
from boughwright.journal.fields import GARDEN_FIELDS
from boughwright.report.tables_rows import (
    TreeRows,
    by_tree,
    happening,
    places,
    record,
    shelves,
    table_of,
)
from boughwright.season.record import Origin

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from boughwright.journal.events import Event
    from boughwright.journal.garden import Garden
    from boughwright.report.tables_rows import Row
    from boughwright.season.record import Weather

_ALWAYS = frozenset({"tree", "branch", "name", "species"})
"""Columns that are written though every cell is empty, where the table has them."""

_KIND = {Origin.READ: "read", Origin.BENCH: "bench", Origin.FORECAST: "forecast"}


def write_folder(
    target: Path | str,
    *,
    events: Sequence[Event],
    garden: Garden,
    weather: Mapping[str, Weather],
    force: bool = False,
) -> list[Path]:
    """Write a garden folder.

    Parameters
    ----------
    target : path
        A new or empty folder, or one that this function wrote before.
    events : sequence of Event
        Every record, withdrawn ones too, in any order.
    garden : Garden
        Settings, places and shelves as they stand.
    weather : mapping of str to Weather
        By station. Days filled in or taken from normals are left out.
    force : bool
        Write into a folder that holds other things. Files of the same name are replaced, all
        others kept.

    Returns
    -------
    list of Path
        The files written, in order.

    Raises
    ------
    FileError
        When the folder holds other things and ``force`` is not set, or the disk refuses.
    """
    target = Path(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        made = _beside(target)
        try:
            names = _write(made, events, garden, weather)
            _may_replace(target, names, force=force)
            _put_in_place(made, target, names)
        finally:
            shutil.rmtree(made, ignore_errors=True)
    except OSError as error:
        raise FileError(f"the folder cannot be written: {error.strerror or error}",
                        where=str(target), todo="Choose another place") from error  # fmt: skip
    return [target / name for name in names]


def garden_tables(events: Sequence[Event], garden: Garden) -> dict[str, list[Row]]:
    """Return the rows of every readable table, by file name; tables without a row are left out."""
    now = standing(events)
    rows: dict[str, list[Row]] = {table.file: [] for table in TABLES}
    rows[PLACES.file] = places(garden, now)
    rows[SHELVES.file] = shelves(garden, now)
    trees = {tree: TreeRows(tree, group) for tree, group in sorted(by_tree(now).items())}
    for tree in trees.values():
        row = tree.tree_row()
        rows[TREES.file] += [] if row is None else [row]
        rows[BRANCHES.file] += tree.branch_rows()
    for event in now:
        table = table_of(event)
        if table is not None:
            mine = trees.get(event.tree or "")
            rows[table.file].append(
                happening(event, table, mine.name_of(event.branch) if mine else "")
            )
    return {file: found for file, found in rows.items() if found}


# --- files ---------------------------------------------------------------------------------------


def _write(
    folder: Path, events: Sequence[Event], garden: Garden, weather: Mapping[str, Weather]
) -> list[str]:
    """Write every file into an empty folder and return their names, a slash between folders."""
    known = {n: garden.fields[n] for n in GARDEN_FIELDS if garden.fields.get(n) is not None}
    settings = {"format": FORMAT, "version": VERSION} | known
    (folder / GARDEN_FILE).write_bytes(tomli_w.dumps(settings).encode("utf-8"))
    header = [column.name for column in RECORDS.columns]
    _write_csv(folder / RECORDS.file, header, _records(events))
    names = [GARDEN_FILE, RECORDS.file]
    tables = garden_tables(events, garden)
    for table in TABLES:
        rows = tables.get(table.file, [])
        if rows:
            used = {name for row in rows for name, text in row.items() if text} | _ALWAYS
            columns = [one.name for one in table.columns if one.name in used]
            _write_csv(folder / table.file, columns, rows)
            names.append(table.file)
    if weather:
        (folder / WEATHER_FOLDER).mkdir()
    for station, days in sorted(weather.items()):
        name = f"{WEATHER_FOLDER}/{station_file(station)}"
        _write_csv(folder / name, WEATHER_COLUMNS, _weather_rows(days))
        names.append(name)
    return names


def _write_csv(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows([row.get(name, "") for name in columns] for row in rows)


def _records(events: Sequence[Event]) -> Iterator[Row]:
    for event in sorted(once(events).values(), key=lambda event: event.order):
        _, _, details = body_to_json(event.body)
        body = json.dumps(details, sort_keys=True, ensure_ascii=False, allow_nan=False)
        yield record(event) | {"body": body}


def _weather_rows(weather: Weather) -> Iterator[Row]:
    fields = WEATHER_COLUMNS[2:]
    values = np.stack([getattr(weather, name) for name in fields], axis=1)
    computed = np.isin(weather.origin, (Origin.FILLED, Origin.NORMAL))
    values[computed, :2] = np.nan
    first = np.datetime64(weather.start)
    for day in np.flatnonzero(np.any(~np.isnan(values), axis=1)).tolist():
        kind = _KIND.get(Origin(int(weather.origin[day])), "")
        row = {"date": str(first + day), "kind": kind}
        row |= {
            name: f"{value!r}".removesuffix(".0")
            for name, value in zip(fields, values[day].tolist(), strict=True)
            if value == value  # noqa: PLR0124  # not nan
        }
        yield row


def _beside(target: Path) -> Path:
    """Make an empty folder beside a target, on the same disk, with a name of its own."""
    made = target.parent / f".{target.name}-{uuid4().hex[:12]}"
    made.mkdir()
    return made


def _may_replace(target: Path, names: Sequence[str], *, force: bool) -> None:
    """Refuse a target that is a file, or holds what an earlier writing did not make."""
    if not target.exists() and not target.is_symlink():
        return
    if not target.is_dir():
        raise FileError("a file of that name is there", where=str(target),
                        allowed="a new or empty folder", todo="Choose another name")  # fmt: skip
    there = {one.relative_to(target).as_posix() for one in target.rglob("*") if not one.is_dir()}
    ours = {GARDEN_FILE, RECORDS.file, *(table.file for table in TABLES), *names}
    foreign = sorted(there - ours)
    earlier = {GARDEN_FILE, RECORDS.file} <= there and not foreign
    if there and not earlier and not force:
        held = ", ".join(foreign or sorted(there))[:200]
        raise FileError(f"the folder holds other things: {held}", where=str(target),
                        allowed="a new or empty folder, or one written before",
                        todo="Choose another folder, or say that it may be written into",
                        )  # fmt: skip


def _put_in_place(made: Path, target: Path, names: Sequence[str]) -> None:
    """Move the finished folder to its place, taking along what else the old one holds."""
    if not target.exists():
        made.rename(target)
        return
    stale = {RECORDS.file, *(table.file for table in TABLES), *names}
    for one in sorted(target.rglob("*")):
        name = one.relative_to(target).as_posix()
        if one.is_dir() or name in stale:
            continue
        (made / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(one, made / name)
    old = _beside(target)
    target.rename(old / "was")
    try:
        made.rename(target)
    except OSError:
        (old / "was").rename(target)
        raise
    shutil.rmtree(old)
