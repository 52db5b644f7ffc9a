"""Tables of things: places, shelves, trees and branches, each row one of them."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from boughwright.errors import BoughwrightError, TextError
from boughwright.intake.folder_gather import Names, plain
from boughwright.intake.weather_dates import read_date
from boughwright.journal.check import check_field
from boughwright.journal.columns import BRANCH_READINGS, TREE_READINGS, slug
from boughwright.journal.events import BranchSet, Measured, PlaceSet, ShelfSet, TreeSet
from boughwright.journal.fields import FIELDS_OF
from boughwright.journal.names import is_name, normal_name
from boughwright.species.tables import find as find_species

if TYPE_CHECKING:
    from collections.abc import Mapping

    from boughwright.intake.folder_gather import Gathering
    from boughwright.intake.folder_sheet import RowRead, Sheet
    from boughwright.journal.events import FieldValue
    from boughwright.journal.fields import Field
    from boughwright.journal.terms import Quantity

_OLD_NAME = re.compile(r"(.+?)\s+until\s+(\S+)")
_KEYS = frozenset({"tree", "name", "tag", "branch", "old_names"})


def fields_of(gathering: Gathering, row: RowRead, of: str) -> dict[str, FieldValue]:
    """Return the fields that a row gives of a tree, branch, place or shelf; bad ones are listed."""
    found: dict[str, FieldValue] = {}
    for name, value in row.values.items():
        if name not in FIELDS_OF[of]:
            continue
        try:
            check_field(of, name, value)
        except BoughwrightError as error:
            gathering.refuse_error(row, name, error)
            row.bad.add(name)
        else:
            found[name] = value
    return found


# --- places --------------------------------------------------------------------------------------


def read_places(sheet: Sheet, gathering: Gathering) -> list[tuple[RowRead, PlaceSet]]:
    """Read the table of places; their records wait until the earliest day is known."""
    found = []
    for row in sheet.rows():
        name = row.text("name")
        key = row.text("place") or slug(name)
        if not key:
            gathering.refuse(row, "place", "the row names no place", todo="Give it a name")
        elif _is_new(gathering, row, gathering.places, key, "place"):
            gathering.places.add(key, row.number, name)
            found.append((row, PlaceSet(key, fields_of(gathering, row, "place"))))
    return found


def read_shelves(sheet: Sheet, gathering: Gathering) -> list[tuple[RowRead, ShelfSet]]:
    """Read the table of shelves; their records wait until the earliest day is known."""
    found = []
    for row in sheet.rows():
        name = row.text("name")
        key = row.text("shelf") or slug(name)
        places = gathering.places.find(row.text("place")) or [row.text("place")]
        if len(gathering.places.keys) == 1 and not row.text("place"):
            places = list(gathering.places.keys)
        if not key or not places[0]:
            lacking = "shelf" if not key else "place"
            gathering.refuse(row, lacking, f"the row names no {lacking}", todo="Name it")
            continue
        names = gathering.shelves.setdefault(places[0], Names())
        if _is_new(gathering, row, names, key, "shelf"):
            names.add(key, row.number, name)
            found.append((row, ShelfSet(places[0], key, fields_of(gathering, row, "shelf"))))
    return found


def _is_new(gathering: Gathering, row: RowRead, names: Names, key: str, kind: str) -> bool:
    first = names.keys.get(key)
    if first is None:
        return True
    gathering.refuse(row, kind, f"{key!r} is already in row {first}", f"one row for each {kind}",
                     f"Give each {kind} its own name, or its own key in the column {kind}",
                     )  # fmt: skip
    return False


# --- trees ---------------------------------------------------------------------------------------


def enter_trees(sheet: Sheet, gathering: Gathering) -> None:
    """Learn which trees there are, in a first walk through their table."""
    names: dict[str, int] = {}
    for row in sheet.rows(only=_KEYS, quiet=True):
        key = _tree_key(row)
        if key and key not in gathering.trees.keys:
            gathering.trees.add(key, row.number, row.text("name"), row.text("tag"))
            word = plain(row.text("name"))
            if word and word in names:
                gathering.doubt(row, "name", f"the tree of row {names[word]} is called "
                                f"{row.text('name')!r} too", "Give one of them another name",
                                )  # fmt: skip
            names.setdefault(word, row.number)


def _tree_key(row: RowRead) -> str:
    return row.text("tree") or slug(row.text("name")) or row.text("name")


def read_trees(sheet: Sheet, gathering: Gathering) -> None:
    """Read the table of trees."""
    for row in sheet.rows():
        key = _tree_key(row)
        if not key:
            gathering.refuse(row, "name", "the row names no tree", todo="Give it a name")
        elif gathering.trees.keys.get(key) != row.number:
            _is_new(gathering, row, gathering.trees, key, "tree")
        else:
            _tree(gathering, row, key)


def _tree(gathering: Gathering, row: RowRead, key: str) -> None:
    day = _day(gathering, row, "on", gathering.default_day) or gathering.default_day
    fields = fields_of(gathering, row, "tree")
    _species(gathering, row, fields)
    _stand(gathering, row, fields)
    given = "on" in row.values
    strength = _taken_apart(gathering, row, fields, day)
    gathering.add(row, TreeSet(fields), day, given=given, tree=key)
    if strength is not None:
        gathering.add(row, TreeSet({"vigour": strength[0]}), strength[1], tree=key)
    _readings(gathering, row, TREE_READINGS, day, key, None)


def _species(gathering: Gathering, row: RowRead, fields: dict[str, FieldValue]) -> None:
    name = fields.get("species")
    if not isinstance(name, str):
        return
    try:
        find_species(name)
    except BoughwrightError as error:
        del fields["species"]
        gathering.refuse_error(row, "species", error)


def _stand(gathering: Gathering, row: RowRead, fields: dict[str, FieldValue]) -> None:
    """Turn the names of place and shelf into their keys; list those that no table has."""
    place, shelf = fields.get("place"), fields.get("shelf")
    if isinstance(place, str):
        fields["place"] = _key_of(gathering, row, "place", place, gathering.places)
    if isinstance(shelf, str):
        names = gathering.shelves.get(str(fields.get("place")), Names())
        fields["shelf"] = _key_of(gathering, row, "shelf", shelf, names)


def _key_of(gathering: Gathering, row: RowRead, kind: str, text: str, names: Names) -> str:
    keys = names.find(text)
    if len(keys) == 1:
        return keys[0]
    table = {"place": "places.csv", "shelf": "shelves.csv"}[kind]
    gathering.doubt(row, kind, f"no row of {table} is called {text!r}", f"Add it to {table}")
    return text


def _taken_apart(
    gathering: Gathering, row: RowRead, fields: dict[str, FieldValue], day: date
) -> tuple[FieldValue, date] | None:
    """Take strength out of the fields when it was judged on another day than the row's."""
    if "vigour" not in fields or "vigour_on" in row.bad:
        return None
    on = _day(gathering, row, "vigour_on", day)
    if on == day:
        return None
    strength = fields.pop("vigour")
    return None if on is None else (strength, on)


def _day(gathering: Gathering, row: RowRead, column: str, rule: date) -> date | None:
    """Return a day of a row, by rule when it is empty; None when it cannot be."""
    if column in row.bad:
        return None
    value = row.values.get(column)
    if not isinstance(value, date):
        return rule
    if gathering.day_fits(row, column, value):
        return value
    row.bad.add(column)
    del row.values[column]
    return None


def _readings(
    gathering: Gathering, row: RowRead, columns: Mapping[str, tuple[Quantity, Field]], day: date,
    tree: str, branch: str | None,
) -> None:  # fmt: skip
    """Take the measures of a row, but for those that the table of measures has too."""
    mine = [name for name in columns if isinstance(row.values.get(name), int | float)]
    given = "measured_on" in row.values or "on" in row.values
    if not given and "on" in row.bad and "measured_on" not in row.bad:
        return  # listed already: with its day the row lost the day of its measures
    on = _day(gathering, row, "measured_on", day) if mine else None
    if on is None:
        if mine and "measured_on" in row.bad:
            gathering.refuse(row, "measured_on", f"{', '.join(mine)} not taken: their day is not "
                             "known", todo="Mend measured_on")  # fmt: skip
        return
    for name in mine:
        what, value = columns[name][0], row.values[name]
        assert isinstance(value, int | float)
        if (tree, branch, what, on, float(value)) not in gathering.read:
            gathering.add(row, Measured(what, float(value)), on, given=given, column=name,
                          tree=tree, branch=branch)  # fmt: skip


# --- branches ------------------------------------------------------------------------------------


def enter_branches(sheet: Sheet, gathering: Gathering) -> None:
    """Learn which branches there are, in a first walk through their table."""
    for row in sheet.rows(only=_KEYS, quiet=True):
        trees = gathering.trees.find(row.text("tree"))
        if not row.text("tree") and len(gathering.trees.keys) == 1:
            trees = list(gathering.trees.keys)
        key = _branch_key(row)
        if len(trees) != 1 or not key:
            continue
        names = gathering.branches.setdefault(trees[0], Names())
        if key not in names.keys:
            names.add(key, row.number, row.text("name"))
            for match in _OLD_NAME.finditer(row.text("old_names").replace(";", " ; ")):
                names.add_old(key, match[1].lstrip("; "))


def _branch_key(row: RowRead) -> str:
    name = row.text("name")
    return row.text("branch") or plain(name)


def read_branches(sheet: Sheet, gathering: Gathering) -> None:
    """Read the table of branches."""
    for row in sheet.rows():
        tree = gathering.tree_of(row)
        if tree is None:
            continue
        key = _branch_key(row)
        names = gathering.branches.get(tree, Names())
        if not key:
            gathering.refuse(row, "name", "the row names no branch", "1L, 2R-1, top, scar front",
                             "Give it a name")  # fmt: skip
        elif names.keys.get(key) != row.number:
            _is_new(gathering, row, names, key, "branch")
        else:
            _branch(gathering, row, tree, key)


def _branch(gathering: Gathering, row: RowRead, tree: str, key: str) -> None:
    day = _day(gathering, row, "on", gathering.default_day) or gathering.default_day
    fields = fields_of(gathering, row, "branch")
    name = fields.get("name")
    if name is None and is_name(key):
        name = key
    if isinstance(name, str):
        fields["name"] = normal_name(name) if is_name(name) else name
    for one in ("parent", "job_for", "shaded_by", "donor"):
        _refer(gathering, row, fields, tree, one)
    given = "on" in row.values
    strength = _taken_apart(gathering, row, fields, day)
    for on, called in _history(gathering, row, fields, day):
        gathering.add(row, BranchSet(called), on, tree=tree, branch=key)
    gathering.add(row, BranchSet(fields), day, given=given, tree=tree, branch=key)
    if strength is not None:
        gathering.add(row, BranchSet({"vigour": strength[0]}), strength[1], tree=tree, branch=key)
    _readings(gathering, row, BRANCH_READINGS, day, tree, key)


def _refer(
    gathering: Gathering, row: RowRead, fields: dict[str, FieldValue], tree: str, name: str
) -> None:
    """Turn the name of another branch into its key; one not in the table keeps the key of later."""
    text = fields.get(name)
    if not isinstance(text, str):
        return
    keys = gathering.branches[tree].find(text)
    if len(keys) == 1:
        fields[name] = keys[0]
        return
    if is_name(text):
        fields[name] = plain(text)
    if name != "parent" and plain(text) != "trunk":  # an unknown parent is found when replayed
        what = "fits more than one branch" if keys else "is no branch of this tree in the table"
        gathering.doubt(row, name, f"{text!r} {what}", "Add that branch, or mend the name")


def _history(
    gathering: Gathering, row: RowRead, fields: dict[str, FieldValue], day: date
) -> list[tuple[date, dict[str, FieldValue]]]:
    """Return what a branch was called from when, and take its name out of the fields then."""
    entered = _day(gathering, row, "entered_on", day)
    told: list[tuple[date, dict[str, FieldValue]]] = []
    since = day if entered is None else entered
    for part in filter(str.strip, row.text("old_names").split(";")):
        match = _OLD_NAME.fullmatch(part.strip())
        try:
            if match is None:
                raise TextError(f"{part.strip()!r} does not say until when",
                                allowed="4R until 2026-03-01", todo="Mend or empty it")  # fmt: skip
            until = read_date(match[2], None, gathering.today)
        except TextError as error:
            gathering.refuse_error(row, "old_names", error)
            continue
        told.append((since, {"name": match[1]}))
        since = until
    if told or since != day:
        name = fields.pop("name", None)
        told.append((since, {} if name is None else {"name": name}))
    return told
