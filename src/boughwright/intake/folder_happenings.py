"""Tables of happenings, each row one record; and the table that holds every record."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

from boughwright.errors import BoughwrightError, TextError
from boughwright.intake.folder_gather import details_of
from boughwright.intake.folder_sheet import RowRead
from boughwright.intake.tables import Line, encoding, read_header, rows_of
from boughwright.intake.tables_cells import read_reading
from boughwright.intake.tables_problems import Problem
from boughwright.journal.check import check
from boughwright.journal.codec import KINDS, body_from_json, from_record
from boughwright.journal.columns import RECORDS, unguard
from boughwright.journal.events import Measured, TraitSet
from boughwright.journal.names import WHOLE, is_zone, normal_zone
from boughwright.journal.terms import Quantity, Work
from boughwright.species.tables import find as find_species
from boughwright.species.tables import trait_meanings, with_overrides

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.intake.folder_gather import Gathering
    from boughwright.intake.folder_sheet import Sheet
    from boughwright.intake.tables_cells import Value
    from boughwright.journal.codec import JsonValue
    from boughwright.journal.columns import Table
    from boughwright.journal.events import Body

_ENVELOPE = frozenset({"tree", "branch", "on", "who", "recorded", "unit", "off"})
_NO_TREE = frozenset({"note"})
"""Kinds of happenings that may be of the whole garden."""


def read_happenings(sheet: Sheet, table: Table, gathering: Gathering) -> None:
    """Read a table of which each row is one record; a row with one bad cell is not taken."""
    for row in sheet.rows():
        lacking = [n for n in table.needs if n not in row.values and n not in row.bad]
        for name in lacking:
            gathering.refuse(row, name, f"the row has no {name}", todo="Fill it in")
        if lacking or row.bad:
            continue
        try:
            _happening(gathering, row, table)
        except BoughwrightError as error:
            gathering.refuse_error(row, row.column_of(error.what), error)


def _happening(gathering: Gathering, row: RowRead, table: Table) -> None:
    tree = branch = None
    if row.text("tree") or table.kind not in _NO_TREE:
        tree = gathering.tree_of(row)
        if tree is None:
            return
    place, zone = _place(gathering, row, table, tree)
    if place and tree is not None:
        branch = gathering.branch_of(row, tree, place)
        if branch is None:
            return
    details = details_of(row, [one.name for one in table.columns if one.name not in _ENVELOPE])
    if zone:
        details["zone"] = zone
    _refer_donor(gathering, tree, details)
    for body, on, column in _bodies(gathering, row, table, details):
        _take(gathering, row, body, on, column, tree, branch)


def _place(gathering: Gathering, row: RowRead, table: Table, tree: str | None) -> tuple[str, str]:
    """Return the branch a row names and its zone; a zone in the column of branches is one too."""
    place, zone = row.text("branch"), row.text("zone")
    if place.casefold() in WHOLE:
        return "", zone
    names = gathering.branches.get(tree or "")
    known = names is not None and bool(names.find(place))
    if place and not known and not zone and table.column("zone") and is_zone(place):
        return "", normal_zone(place)
    return place, zone


def _refer_donor(gathering: Gathering, tree: str | None, details: dict[str, JsonValue]) -> None:
    donor = details.get("donor")
    if isinstance(donor, str) and tree is not None and tree in gathering.branches:
        keys = gathering.branches[tree].find(donor)
        details["donor"] = keys[0] if len(keys) == 1 else donor


def _take(
    gathering: Gathering, row: RowRead, body: Body, on: date, column: str,
    tree: str | None, branch: str | None,
) -> None:  # fmt: skip
    if not gathering.day_fits(row, column, on):
        return
    event = gathering.add(row, body, on, tree=tree, branch=branch)
    if event is not None and isinstance(body, Measured):
        gathering.read.add((tree, branch, body.what, on, body.value))


def _bodies(
    gathering: Gathering, row: RowRead, table: Table, details: dict[str, JsonValue]
) -> list[tuple[Body, date, str]]:
    """Return what a row says: one record, or two for wire that went on and came off."""
    version = KINDS[table.kind][1]
    if table.kind == "measure":
        _measure(gathering, row, details)
    elif table.works and Work.WIRE_ON.value in table.works:
        return _wire(row, details, version)
    return [(body_from_json(table.kind, version, details), _date(row, "on"), "on")]


def _date(row: RowRead, column: str) -> date:
    value = row.values.get(column)
    if not isinstance(value, date):
        raise TextError(f"{column} is not given", allowed="2026-06-09", todo="Fill it in")
    return value


def _measure(gathering: Gathering, row: RowRead, details: dict[str, JsonValue]) -> None:
    """Turn the numbers of a reading into the unit of what was measured."""
    what = Quantity(str(details["what"]))
    said = row.text("unit") or row.units.get("value", "") or gathering.units
    length = what not in (Quantity.DRAIN, Quantity.WEIGHT)
    unit = said if length or row.text("unit") else ""
    for name in ("value", "earlier", "sd"):
        if name in details:
            details[name] = read_reading(str(details[name]), what, unit)


def _wire(
    row: RowRead, details: dict[str, JsonValue], version: int
) -> list[tuple[Body, date, str]]:
    """Return a wiring and, when the row says so, its coming off."""
    explicit = "work" in details
    work = details.setdefault("work", Work.WIRE_ON.value)
    if work == Work.WIRE_OFF.value:
        column = "on" if "on" in row.values or "off" not in row.values else "off"
        return [(body_from_json("work", version, details), _date(row, column), column)]
    end = ("bite", "method")
    off: dict[str, JsonValue] = {"work": Work.WIRE_OFF.value}
    if "off" in row.values:
        off |= {name: details.pop(name) for name in end if name in details}
        off |= {"zone": details["zone"]} if "zone" in details else {}
        bodies: list[tuple[Body, date, str]] = []
        if "on" in row.values:
            bodies.append((body_from_json("work", version, details), _date(row, "on"), "on"))
            if _date(row, "off") < _date(row, "on"):
                raise TextError(f"off is {_date(row, 'off')}, before the wire went on",
                                allowed=f"from {_date(row, 'on')}", todo="Mend one of the two days",
                                )  # fmt: skip
        return [*bodies, (body_from_json("work", version, off), _date(row, "off"), "off")]
    if "bite" in details and not explicit:
        raise TextError(f"bite is {details['bite']}, but the wire is not said to be off",
                        allowed="the day it came off in the column off",
                        todo="Fill in off, or put the grade in signs.csv")  # fmt: skip
    return [(body_from_json("work", version, details), _date(row, "on"), "on")]


# --- species values ------------------------------------------------------------------------------


def read_species(
    sheet: Sheet, table: Table, gathering: Gathering
) -> list[tuple[RowRead, TraitSet]]:
    """Read the grower's own species values; their records wait for the earliest day."""
    found = []
    for row in sheet.rows():
        lacking = [n for n in table.needs if n not in row.values and n not in row.bad]
        for name in lacking:
            gathering.refuse(row, name, f"the row has no {name}", todo="Fill it in")
        if lacking or row.bad:
            continue
        try:
            found.append((row, _trait(row)))
        except BoughwrightError as error:
            column = "species" if "species" in error.what else "value"
            gathering.refuse_error(row, "trait" if "trait" in error.what else column, error)
    return found


def _trait(row: RowRead) -> TraitSet:
    species, trait = row.text("species"), row.text("trait").casefold().replace(" ", "_")
    value: Value = row.values["value"]
    known = with_overrides(find_species(species), {trait: value})
    if value is not None and trait_meanings()[trait].kind != "text":
        value = known.traits[trait].value
    return TraitSet(species, trait, value)


# --- every record --------------------------------------------------------------------------------


def read_records(path: Path, gathering: Gathering) -> None:
    """Read the table of all records, one by one; rows that cannot be taken are listed."""
    file = path.name
    try:
        encoded, notes = encoding(path, RECORDS.row)
        gathering.notes += [f"{file}: {note}" for note in notes]
        rows = rows_of(path, encoded)
        first = next(rows, None)
        cells = first.cells if isinstance(first, Line) else []
        header = read_header(cells, RECORDS)
        names = {at: column.name for at, column in header.columns.items()}
        if header.passed:
            gathering.notes.append(f"{file}: columns not taken: {', '.join(header.passed)}")
        for line in rows:
            if isinstance(line, Line):
                _record(gathering, RowRead(file, line), names)
            else:
                gathering.problems.append(
                    Problem(file, line.number, "", f"the row cannot be taken apart ({line.why})",
                            todo="Look for a quotation mark that is never closed", line=line.line)
                )  # fmt: skip
    except BoughwrightError as error:
        gathering.refuse_file(file, error)


def _record(gathering: Gathering, row: RowRead, names: dict[int, str]) -> None:
    cells = {
        name: unguard(row.line.cells[at]) for at, name in names.items() if at < len(row.line.cells)
    }
    version, body = cells.get("version", ""), cells.get("body", "")
    try:
        record: dict[str, object] = {
            "v": int(version) if version.strip().isdecimal() else version,
            "id": cells.get("id", "").strip(),
            "kind": cells.get("kind", "").strip(),
            "tree": cells.get("tree") or None,
            "branch": cells.get("branch") or None,
            "on": cells.get("on", "").strip(),
            "who": cells.get("who", ""),
            "recorded": cells.get("recorded", "").strip(),
            "body": _json(body),
        }
        event = from_record(record)
        check(event, imported=True)
    except BoughwrightError as error:
        gathering.refuse_error(row, _column_of(error.what, cells), error)
        return
    gathering.events.append(event)
    gathering.origin[event.id] = (row.file, row.number)


def _json(text: str) -> object:
    try:
        return json.loads(text)
    except ValueError as error:
        shown = text[:60] or "empty"
        raise TextError(f"body is not JSON: {shown}", allowed='an object such as {"text": "dry"}',
                        todo="Mend the body") from error  # fmt: skip


def _column_of(what: str, cells: dict[str, str]) -> str:
    word = what.split(" ", 1)[0]
    if word in cells:
        return word
    return "version" if word == "v" else "body"
