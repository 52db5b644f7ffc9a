"""Forms: the garden, its places and shelves, trees and branches.

A field left out is not touched; a field left empty goes back to unknown. Only what changed is
written, and nothing when one field is wrong.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.errors import AmbiguousNameError, BoughwrightError, UnknownNameError
from boughwright.journal.events import (
    BranchSet,
    GardenSet,
    PlaceSet,
    ShelfSet,
    TreeSet,
)
from boughwright.journal.fields import BRANCH_FIELDS
from boughwright.journal.names import clock_after_turn, is_name, normal_name
from boughwright.species.tables import find as find_species
from boughwright.tree.naming import find, name_key
from boughwright.tree.story import tell
from boughwright.usecases.called import folded
from boughwright.usecases.entry import (
    Entered,
    FieldFault,
    fault_of,
    fresh_key,
    only_changed,
    open_desk,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from boughwright.journal.events import Event, FieldValue
    from boughwright.tree.model import Tree
    from boughwright.usecases.entry import Desk, Given, Writer

REFS: Final = tuple(row.name for row in BRANCH_FIELDS.values() if row.kind == "ref")
"""Fields of a branch that name another branch."""


def enter_garden(path: Path, fields: Given, writer: Writer, *, create: bool = False) -> Entered:
    """Enter settings of the garden.

    Parameters
    ----------
    path : Path
        The book.
    fields : mapping of str to value
        Fields of `boughwright.journal.fields.GARDEN_FIELDS`.
    writer : Writer
    create : bool
        Make the book when there is none.

    Raises
    ------
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer, create=create) as desk:
        values, faults = desk.read("garden", fields)
        home = values.get("home")
        if home is not None:
            values["home"] = _key_of(str(home), desk.garden.places, "home", "place", faults)
        if faults:
            return Entered("", tuple(faults))
        changed = only_changed(values, desk.garden.fields)
        return desk.write("", [desk.event(GardenSet(changed))] if changed else [])


def enter_place(path: Path, key: str | None, fields: Given, writer: Writer) -> Entered:
    """Enter a place, or new values for one; ``key`` None makes a new one.

    A new place needs a name and a latitude. The first place stays the home of the garden, where
    trees stand that name no other, unless the garden says otherwise.

    Raises
    ------
    UnknownNameError
        When no place has that key.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        values, faults = desk.read("place", fields)
        places = desk.garden.places
        known = known_as(places, key, "place")
        faults += needed(values, known, {"name": "its name", "latitude": "degrees north"})
        faults += _taken(values.get("name"), places, key, "place")
        if faults:
            return Entered(key or "", tuple(faults))
        made = key or fresh_key(str(values["name"]), places, otherwise="place")
        changed = only_changed(values, known)
        events = [desk.event(PlaceSet(made, changed))] if changed else []
        if key is None and len(places) == 1 and desk.garden.fields.get("home") is None:
            events.append(desk.event(GardenSet({"home": next(iter(places))})))
        return desk.write(made, events)


def enter_shelf(
    path: Path, place: str, key: str | None, fields: Given, writer: Writer
) -> Entered:  # fmt: skip
    """Enter a shelf of a place, or new values for one; ``key`` None makes a new one.

    Raises
    ------
    UnknownNameError
        When there is no such place or shelf.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        known_as(desk.garden.places, place, "place")
        values, faults = desk.read("shelf", fields)
        shelves = {name: f for (at, name), f in desk.garden.shelves.items() if at == place}
        known = known_as(shelves, key, "shelf")
        faults += needed(values, known, {"name": "its name"})
        faults += _taken(values.get("name"), shelves, key, "shelf")
        if faults:
            return Entered(key or "", tuple(faults))
        made = key or fresh_key(str(values["name"]), shelves, otherwise="shelf")
        changed = only_changed(values, known)
        return desk.write(made, [desk.event(ShelfSet(place, made, changed))] if changed else [])


def enter_tree(path: Path, key: str | None, fields: Given, writer: Writer) -> Entered:
    """Enter a tree, or new facts of one; ``key`` None makes a new one.

    A new tree needs a name. A common name that covers several species is a fault that lists them;
    a species that is not in the tables is taken, with a doubt.

    Raises
    ------
    UnknownNameError
        When no tree has that key.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        values, faults = desk.read("tree", fields)
        known = {} if key is None else desk.tree(key).facts
        faults += needed(values, known, {"name": "its plain name"})
        living = {k: f for k, f in desk.trees.items() if f.get("gone_on") is None}
        faults += _taken(values.get("name"), living, key, "tree")
        faults += _taken(values.get("tag"), living, key, "tree", field="tag")
        doubts = _species(values, faults)
        _where(desk, values, known, faults)
        if faults:
            return Entered(key or "", tuple(faults), doubts=tuple(doubts))
        made = key or fresh_key(str(values["name"]), desk.trees, otherwise="tree")
        changed = only_changed(values, known)
        event = desk.event(TreeSet(changed), made)
        return desk.write(made, [event] if changed else [], doubts=doubts)


def enter_branch(
    path: Path, tree: str, key: str | None, fields: Given, writer: Writer
) -> Entered:  # fmt: skip
    """Enter a branch, or new facts of one; ``key`` None makes a new one.

    A new branch needs a name. A new name for a known branch renames it: its old name still
    reaches it, unless another branch bears that now.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        here = desk.tree(tree)
        values, faults = desk.read("branch", fields)
        known = {} if key is None else branch_fields(here, desk.events(tree), key)
        faults += needed(values, known, {"name": "1L, 2R-1, top, scar front"})
        doubts = name_faults(here, values, key, faults)
        _refs(here, values, key, faults)
        if faults:
            return Entered(key or "", tuple(faults), doubts=tuple(doubts))
        name = str(values.get("name") or known.get("name"))
        made = key or fresh_key(name, here.branches.ids, otherwise="branch")
        changed = only_changed(values, known)
        event = desk.event(BranchSet(changed), tree, made)
        return desk.write(made, [event] if changed else [], place=name, doubts=doubts)


# --- checks that several forms share --------------------------------------------------------------


def known_as(
    table: Mapping[str, Mapping[str, FieldValue]], key: str | None, what: str
) -> Mapping[str, FieldValue]:
    """Return what is known under a key; nothing for a new thing."""
    if key is None:
        return {}
    if key not in table:
        raise UnknownNameError(f"there is no {what} with the key {key!r}",
                               allowed=", ".join(table) or "none yet",
                               todo=f"Choose one, or make a new {what}")  # fmt: skip
    return table[key]


def needed(
    values: Mapping[str, FieldValue], known: Mapping[str, FieldValue], needs: Mapping[str, str]
) -> list[FieldFault]:
    """Return a fault for each field that a thing cannot do without."""
    after = {**known, **values}
    return [
        FieldFault(name, "it is not given", example, "Fill it in")
        for name, example in needs.items()
        if after.get(name) is None
    ]


def _taken(
    value: FieldValue, table: Mapping[str, Mapping[str, FieldValue]], key: str | None, what: str,
    *, field: str = "name",
) -> list[FieldFault]:  # fmt: skip
    """Return a fault when another thing is already called so."""
    if value is None:
        return []
    others = {k: f for k, f in table.items() if k != key}
    if not any(folded(f.get(field)) == folded(value) for f in others.values()):
        return []
    return [FieldFault(field, f"another {what} has the {field} {value!r}", "one of its own",
                       "Choose another")]  # fmt: skip


def _key_of(
    word: str, table: Mapping[str, Mapping[str, FieldValue]], field: str, what: str,
    faults: list[FieldFault],
) -> FieldValue:  # fmt: skip
    """Return the key that a key or a name means; a fault when it means none."""
    for key, fields in table.items():
        if folded(word) in (folded(key), folded(fields.get("name"))):
            return key
    names = ", ".join(str(f.get("name") or k) for k, f in table.items()) or "none yet"
    faults.append(FieldFault(field, f"there is no {what} {word!r}", names, f"Choose a {what}"))
    return None


def _species(values: dict[str, FieldValue], faults: list[FieldFault]) -> list[str]:
    """Put the botanical name in place of what was typed; return a doubt when it is not known."""
    typed = values.get("species")
    if typed is None:
        return []
    try:
        values["species"] = find_species(str(typed)).botanical
    except AmbiguousNameError as error:
        faults.append(fault_of("species", error))
    except UnknownNameError as error:
        return [f"Its species is not in the tables, so its dates are wider: {error}"]
    return []


def _where(
    desk: Desk, values: dict[str, FieldValue], known: Mapping[str, FieldValue],
    faults: list[FieldFault],
) -> None:  # fmt: skip
    """Put keys in place of the names of a place and a shelf, and check that they belong."""
    if values.get("place") is not None:
        values["place"] = _key_of(
            str(values["place"]), desk.garden.places, "place", "place", faults
        )
    only = next(iter(desk.garden.places)) if len(desk.garden.places) == 1 else None
    home = desk.garden.fields.get("home")
    place = values.get("place") or known.get("place") or home or only
    if place is None and desk.garden.places and not faults:
        names = ", ".join(str(f.get("name") or k) for k, f in desk.garden.places.items())
        faults.append(FieldFault("place", "it is not said where it stands", names,
                                 "Choose a place"))  # fmt: skip
    shelves = {name: f for (at, name), f in desk.garden.shelves.items() if at == place}
    if values.get("shelf") is not None:
        values["shelf"] = _key_of(str(values["shelf"]), shelves, "shelf", "shelf", faults)
    elif "place" in values and known.get("shelf") not in shelves:
        values["shelf"] = None  # it stands at another place now


# --- branches -------------------------------------------------------------------------------------


def _branch_row(tree: Tree, key: str) -> int:
    if key not in tree.branches.ids:
        raise UnknownNameError(f"{tree.name} has no branch with the key {key!r}",
                               allowed=", ".join(tree.branches.names),
                               todo="Choose one of its branches")  # fmt: skip
    return tree.branches.ids.index(key)


def branch_name_of(tree: Tree, key: str) -> str:
    """Return the name that a branch bears now.

    Raises
    ------
    UnknownNameError
        When the tree has no branch with that key.
    """
    return tree.branches.names[_branch_row(tree, key)]


def branch_fields(tree: Tree, events: Iterable[Event], key: str) -> dict[str, FieldValue]:
    """Return the fields of a branch as they stand, its hour seen from today's front.

    Parameters
    ----------
    tree : Tree
        As it stands.
    events : iterable of Event
        Everything written of it.
    key : str
        The lasting key of the branch.

    Raises
    ------
    UnknownNameError
        When the tree has no branch with that key.
    """
    _branch_row(tree, key)
    story = tell(tree.id, events)
    part = story.parts.get(key)
    if part is None:
        return {"name": key}
    known: dict[str, FieldValue] = {**part.fields, "name": part.name}
    hour = known.get("clock")
    if isinstance(hour, int | float):
        known["clock"] = round(clock_after_turn(float(hour), story.front_deg), 6)
    for event in story.events:
        if event.branch == key and isinstance(event.body, BranchSet):
            for name in ("vigour", "gone_on"):
                if name in event.body.fields:
                    known[name] = event.body.fields[name]
    return known


def name_faults(
    tree: Tree, values: dict[str, FieldValue], key: str | None, faults: list[FieldFault]
) -> list[str]:
    """Check a branch's name and put it in its one written form.

    Parameters
    ----------
    tree : Tree
    values : dict
        What was given; its name is put in its written form.
    key : str, optional
        The branch that the name is for; None for a new one.
    faults : list of FieldFault
        What is wrong is added here.

    Returns
    -------
    list of str
        Doubts, in words.
    """
    typed = values.get("name")
    if typed is None:
        return []
    if not is_name(str(typed)):
        faults.append(FieldFault("name", f"{typed!r} is not a branch name",
                                 "1L, 2R-1, 2.5Lg, top, scar front",
                                 "Give the number from the soil up and the side"))  # fmt: skip
        return []
    name = values["name"] = normal_name(str(typed))
    rows = tree.branches
    for row, other in enumerate(rows.names):
        if rows.ids[row] == key:
            continue
        if name_key(other) == name_key(name) and not rows.gone[row]:
            faults.append(FieldFault("name", f"another branch is called {name}",
                                     "a name of its own", "Choose another"))  # fmt: skip
            return []
    once = [
        rows.names[row]
        for row, old in enumerate(rows.aliases)
        if rows.ids[row] != key and name_key(name) in {name_key(one) for one in old}
    ]
    return [f"{other} was once called {name}; {name} now means this branch" for other in once]


def _refs(
    tree: Tree, values: dict[str, FieldValue], key: str | None, faults: list[FieldFault]
) -> None:
    """Put lasting keys in place of the names of other branches; a parent may not be its own."""
    rows = tree.branches
    for name in REFS:
        word = values.get(name)
        if word is None or word in rows.ids:
            continue
        try:
            found = find(tree, str(word)).rows
        except BoughwrightError as error:
            faults.append(fault_of(name, error))
            continue
        if len(found) != 1:
            faults.append(FieldFault(name, f"{word!r} means more than one branch",
                                     "one branch", "Name one branch"))  # fmt: skip
            continue
        values[name] = rows.ids[found[0]]
    up = values.get("parent")
    if key is not None and up is not None and _grows_from(tree, str(up), key):
        faults.append(FieldFault("parent", "a branch cannot grow from itself or its own shoot",
                                 "a branch nearer the trunk", "Choose another"))  # fmt: skip


def _grows_from(tree: Tree, branch: str, ancestor: str) -> bool:
    rows = tree.branches
    if branch not in rows.ids or ancestor not in rows.ids:
        return branch == ancestor
    row = rows.ids.index(branch)
    while row >= 0:
        if rows.ids[row] == ancestor:
            return True
        row = int(rows.parent[row])
    return False
