"""Several new branches at once, each with its first readings: all are written, or none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError
from boughwright.journal.check import check
from boughwright.journal.events import BranchSet
from boughwright.tree.naming import name_key
from boughwright.usecases.enter import name_faults, needed
from boughwright.usecases.enter_readings import reading_body
from boughwright.usecases.entry import Entered, FieldFault, fault_of, fresh_key, open_desk

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from boughwright.journal.events import Event
    from boughwright.tree.model import Tree
    from boughwright.usecases.entry import Desk, Writer

ROW_FIELDS: Final = ("name", "height_mm")
ROW_READINGS: Final = ("base", "trunk")
COLUMNS: Final = (*ROW_FIELDS, *ROW_READINGS)
"""What one row of the form asks for."""


def enter_branches(
    path: Path, tree: str, rows: Sequence[Mapping[str, str]], writer: Writer
) -> Entered:
    """Enter new branches with their first readings.

    Parameters
    ----------
    path : Path
        The book.
    tree : str
        Lasting key of the tree.
    rows : sequence of mapping
        Text as typed by column of `COLUMNS`; a row left empty is passed over.
    writer : Writer

    Returns
    -------
    Entered
        Faults name row and column: ``0.base`` is the base of the first row.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        here = desk.tree(tree)
        taken: dict[str, str] = {}
        events: list[Event] = []
        faults: list[FieldFault] = []
        doubts: list[str] = []
        for number, row in enumerate(rows):
            if any(value.strip() for value in row.values()):
                told, wrong = _row(desk, here, row, taken, doubts)
                events += told
                faults += [replace(one, field=f"{number}.{one.field}") for one in wrong]
        if not events and not faults:
            faults = [FieldFault("0.name", "it is not given", "1L, 2R-1, 2.5Lg, top, scar front",
                                 "Fill it in")]  # fmt: skip
        if faults:
            return Entered(tree, tuple(faults))
        return desk.write(tree, events, doubts=doubts)


def _row(
    desk: Desk, tree: Tree, row: Mapping[str, str], taken: dict[str, str], doubts: list[str]
) -> tuple[list[Event], list[FieldFault]]:
    """Return the events of one row, or what is wrong with it."""
    given = {name: row.get(name, "") for name in ROW_FIELDS}
    values, faults = desk.read("branch", given)
    if not any(one.field == "name" for one in faults):
        faults += needed(values, {}, {"name": "1L, 2R-1, top"})
    doubts += name_faults(tree, values, None, faults)
    name = str(values.get("name") or "")
    if name and name_key(name) in taken:
        faults.append(FieldFault("name", f"another branch is called {name}", "a name of its own",
                                 "Choose another"))  # fmt: skip
    key = fresh_key(name, [*tree.branches.ids, *taken.values()], otherwise="branch")
    if name:
        taken.setdefault(name_key(name), key)
    known = {field: value for field, value in values.items() if value is not None}
    events = [desk.event(BranchSet(known), tree.id, key)]
    for what in ROW_READINGS:
        text = row.get(what, "")
        if not text.strip():
            continue
        try:
            body = reading_body(what, text, desk.settings.units, marked=False, how="caliper")
            event = desk.event(body, tree.id, key)
            check(event)
        except BoughwrightError as error:
            faults.append(fault_of(what, error))
        else:
            events.append(event)
    return events, faults
