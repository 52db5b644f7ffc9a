"""Keeping a tree's names right: rename a branch, graft between two, turn the front, let a tree go.

Names change, identities do not: an old name, in whatever phrase, still reaches the branch that bore
it unless another bears it now.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError
from boughwright.journal.check import check
from boughwright.journal.events import BranchSet, FrontTurned, Saw, TreeSet, Worked
from boughwright.journal.names import SIDES, between
from boughwright.journal.terms import GraftKind, Kind, Sign, Work
from boughwright.tree.naming import find, side_now
from boughwright.usecases.enter import branch_name_of, enter_branch
from boughwright.usecases.entry import Entered, FieldFault, fault_of, fresh_key, open_desk

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.journal.events import Body
    from boughwright.tree.model import Tree
    from boughwright.usecases.entry import Writer


def rename_branch(path: Path, tree: str, branch: str, name: str, writer: Writer) -> Entered:
    """Give a branch another name; its old one still reaches it.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch.
    StoreError
        When there is no book, or it cannot be written.
    """
    return enter_branch(path, tree, branch, {"name": name}, writer)


def graft_between(
    path: Path, tree: str, lower: str, upper: str, side: str, writer: Writer,
    *, kind: GraftKind | None = None, donor: str = "", own_donor: bool = True,
) -> Entered:  # fmt: skip
    """Enter a graft between two primaries: between 2R and 3B on the left it is ``2.5Lg``.

    Parameters
    ----------
    lower, upper : str
        Names of the primaries below and above it.
    side : str
        ``L``, ``R``, ``B`` or ``F``, or its word.
    kind : GraftKind, optional
        How it was made, when known.
    donor : str
        The branch, or with ``own_donor`` False the other tree, that its shoot comes from; empty
        when not known.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    StoreError
        When there is no book, or it cannot be written.
    """
    letter = next((k for k, word in SIDES.items() if side.casefold() in (k.casefold(), word)), "")
    if not letter:
        return Entered(tree, (FieldFault("side", f"{side!r} is not a side",
                                         ", ".join(SIDES.values()), "Choose a side"),))  # fmt: skip
    with open_desk(path, writer) as desk:
        here = desk.tree(tree)
        names, fault = _between(here, lower, upper, letter)
        if fault is None and donor and own_donor:
            donor, fault = _donor(here, donor)
        if fault is not None:
            return Entered(tree, (fault,))
        key = fresh_key(names, here.branches.ids, otherwise="graft")
        work = Work.GRAFT_IN if own_donor else Work.GRAFT_ON
        done = Worked(work, method=kind.value if kind else "", donor=donor or None)
        entered = BranchSet({"name": names, "kind": Kind.GRAFT.value})
        events = [desk.event(entered, tree, key), desk.event(done, tree, key)]
        return desk.write(key, events, place=names)


def _between(
    tree: Tree, lower: str, upper: str, side: str
) -> tuple[str, FieldFault | None]:  # fmt: skip
    rows = tree.branches
    found = []
    for field, word in (("lower", lower), ("upper", upper)):
        try:
            where = find(tree, word).rows
        except BoughwrightError as error:
            return "", fault_of(field, error)
        if len(where) != 1:
            return "", FieldFault(field, f"{word!r} means more than one branch", "one branch",
                                  "Name one branch")  # fmt: skip
        found.append(rows.names[where[0]])
    taken = [*rows.names, *(old for aliases in rows.aliases for old in aliases)]
    try:
        return between(found[0], found[1], side, graft=True, taken=taken), None
    except BoughwrightError as error:
        return "", FieldFault("lower", error.what, error.allowed,
                              error.todo or "Name the lower one first")  # fmt: skip


def _donor(tree: Tree, word: str) -> tuple[str, FieldFault | None]:
    try:
        rows = find(tree, word).rows
    except BoughwrightError as error:
        return "", fault_of("donor", error)
    if len(rows) != 1:
        return "", FieldFault("donor", f"{word!r} means more than one branch", "one branch",
                              "Name one branch")  # fmt: skip
    return tree.branches.ids[rows[0]], None


def turn_front(path: Path, tree: str, degrees: float, writer: Writer) -> Entered:
    """Move a tree's front clockwise, seen from above; names stay, sides are worked out afresh.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        desk.tree(tree)
        event = desk.event(FrontTurned(degrees), tree)
        try:
            check(event)
        except BoughwrightError as error:
            return Entered(tree, (fault_of("degrees", error),))
        return desk.write(tree, [event] if degrees % 360.0 else [])


def new_sides(tree: Tree) -> dict[str, str]:
    """Return, by branch key, the side that a primary now stands on where its name says another."""
    rows = tree.branches
    found = {}
    for row, name in enumerate(rows.names):
        side = side_now(tree, row)
        if rows.order[row] == 1 and side and name[:1].isdigit() and side not in name.upper():
            found[rows.ids[row]] = SIDES[side]
    return found


def tree_gone(path: Path, tree: str, how: str, writer: Writer) -> Entered:
    """Write down that a tree is sold, given away or dead; its records stay.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        facts = desk.tree(tree).facts
        if facts.get("gone_on") is not None:
            return Entered(tree)
        body = TreeSet({"gone_on": writer.on, "gone_how": how.strip() or None})
        return desk.write(tree, [desk.event(body, tree)])


def tree_back(path: Path, tree: str, writer: Writer) -> Entered:
    """Take back that a tree is gone.

    Raises
    ------
    UnknownNameError
        When there is no such tree.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        if desk.tree(tree).facts.get("gone_on") is None:
            return Entered(tree)
        return desk.write(tree, [desk.event(TreeSet({"gone_on": None, "gone_how": None}), tree)])


HOWS: Final = ("cut", "fallen", "dead")
"""How a branch goes: cut off at its base, fallen, or dead."""


def branch_gone(
    path: Path, tree: str, branch: str, how: str, day: str, writer: Writer
) -> Entered:  # fmt: skip
    """Write down that a branch is gone: as the cut that took it, as dead wood, or as fallen.

    Its name and its records stay.

    Parameters
    ----------
    how : str
        One of `HOWS`.
    day : str
        Since when, as typed; empty is the writer's day.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        name = branch_name_of(desk.tree(tree), branch)
        values, faults = desk.read("branch", {"gone_on": day})
        on = values.get("gone_on") or writer.on
        if not faults and isinstance(on, date) and on > writer.on:
            faults = [FieldFault("gone_on", "the day is still to come",
                                 "today or a day before", "Mend the day")]  # fmt: skip
        if how not in HOWS:
            faults = [*faults, FieldFault("how", f"{how!r} is not known", ", ".join(HOWS),
                                          "Choose one of these")]  # fmt: skip
        if faults or not isinstance(on, date):
            return Entered(branch, tuple(faults))
        body: Body = (
            Worked(Work.CUT, to="base") if how == "cut"
            else Saw(Sign.DEAD) if how == "dead"
            else BranchSet({"gone_on": on})
        )  # fmt: skip
        return desk.write(branch, [replace(desk.event(body, tree, branch), on=on)], place=name)


def branch_back(path: Path, tree: str, branch: str, writer: Writer) -> Entered:
    """Take back that a branch is gone.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        name = branch_name_of(desk.tree(tree), branch)
        event = desk.event(BranchSet({"gone_on": None}), tree, branch)
        return desk.write(branch, [event], place=name)
