"""What a garden folder gives while it is read: records, problems, notes, and who is called what."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from boughwright.errors import BoughwrightError
from boughwright.intake.tables_problems import Problem
from boughwright.journal.check import check
from boughwright.journal.codec import body_to_json
from boughwright.journal.columns import slug
from boughwright.journal.events import BranchSet, Event, TreeSet
from boughwright.journal.names import is_name, normal_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.intake.folder_sheet import RowRead
    from boughwright.intake.weather_dates import DateOrder
    from boughwright.journal.codec import JsonValue
    from boughwright.journal.events import Body

NAMESPACE = UUID("8f0c6a4e-6f2b-5d0e-9c1a-3b7d52e41c90")
"""Under which the ids of records made from table rows are worked out."""


@dataclass(slots=True)
class Names:
    """Keys of trees, or of one tree's branches, and the words that lead to them."""

    keys: dict[str, int] = field(default_factory=dict)
    """Row of each key."""
    _now: dict[str, set[str]] = field(default_factory=dict)
    _once: dict[str, set[str]] = field(default_factory=dict)

    def add(self, key: str, row: int, *words: str | None) -> None:
        """Enter a key with the words that mean it."""
        self.keys[key] = row
        for word in (key, *words):
            if word:
                self._now.setdefault(plain(word), set()).add(key)

    def add_old(self, key: str, word: str) -> None:
        """Enter a name that a key bore before."""
        self._once.setdefault(plain(word), set()).add(key)

    def find(self, text: str) -> list[str]:
        """Return the keys a word may mean: the key itself, else its bearers, else old bearers."""
        if text in self.keys:
            return [text]
        word = plain(text)
        return sorted(self._now.get(word) or self._once.get(word) or ())

    def words(self) -> list[str]:
        """Return every word known."""
        return list(self._now)


def plain(word: str) -> str:
    """Return a word so that spellings of one name are equal."""
    return slug(normal_name(word) if is_name(word) else word) or word.strip().casefold()


@dataclass(slots=True)
class Gathering:
    """Takes records one by one and keeps count of what was refused."""

    now: datetime
    who: str
    units: str
    date_order: DateOrder | None
    today: date
    default_day: date
    events: list[Event] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    origin: dict[UUID, tuple[str, int]] = field(default_factory=dict)
    trees: Names = field(default_factory=Names)
    branches: dict[str, Names] = field(default_factory=dict)
    places: Names = field(default_factory=Names)
    shelves: dict[str, Names] = field(default_factory=dict)
    read: set[tuple[object, ...]] = field(default_factory=set)
    """Readings of the table of measures: tree, branch, what, day, value."""
    _seen: dict[str, int] = field(default_factory=dict)
    earliest: date = date.max

    @property
    def recorded(self) -> datetime:
        """When rows that do not say were entered: now, never before the day that counts as today.

        Not a moment later either, or what is said next would seem older than these rows.
        """
        if self.now.date() >= self.today:
            return self.now
        return datetime.combine(self.today, time(12), UTC)

    def refuse(
        self, row: RowRead, column: str, what: str, allowed: str = "", todo: str = ""
    ) -> None:
        """List a row, or one cell of it, that is not taken."""
        self.problems.append(
            Problem(row.file, row.number, column, what, allowed, todo, line=str(row.line))
        )

    def refuse_error(self, row: RowRead, column: str, error: BoughwrightError) -> None:
        """List a row, or one cell of it, with the error that says why."""
        self.refuse(row, column, error.what, error.allowed, error.todo)

    def refuse_file(self, file: str, error: BoughwrightError, row: int = 0) -> None:
        """List a file that could not be read."""
        self.problems.append(Problem(file, row, "", error.what, error.allowed, error.todo))

    def doubt(self, row: RowRead, column: str, what: str, todo: str = "") -> None:
        """List something that was taken but may not be meant so."""
        self.problems.append(Problem(row.file, row.number, column, what, todo=todo, refused=False))

    def day_fits(self, row: RowRead, column: str, on: date) -> bool:
        """Tell whether something can have happened that day; list it when not."""
        if on <= self.today + timedelta(days=1):
            return True
        self.refuse(row, column, f"{on} is still to come", f"up to {self.today}", "Mend the day")
        return False

    def add(
        self, row: RowRead, body: Body, on: date, *, given: bool = True, column: str = "",
        tree: str | None = None, branch: str | None = None,
    ) -> Event | None:  # fmt: skip
        """Take a record made from a row; one that cannot be right is listed instead.

        Parameters
        ----------
        row : RowRead
            Where it comes from; tells who and when entered.
        body : Body
        on : date
        given : bool
            The row says the day; a day by rule is no part of the record's id.
        column : str
            Which column to name when it is refused.
        tree, branch : str, optional
        """
        recorded = row.values.get("recorded")
        entered = recorded if isinstance(recorded, datetime) else None
        named = str(row.values.get("who") or "")
        content = [tree, branch, on.isoformat() if given else "", *body_to_json(body), named,
                   "" if entered is None else entered.isoformat()]  # fmt: skip
        if entered is not None and isinstance(body, TreeSet | BranchSet) and on > entered.date():
            entered = None  # the row was changed after it was saved
        moment = (entered or self.recorded) + timedelta(microseconds=row.made if entered
                                                        else len(self.events))  # fmt: skip
        event = Event(body, on, tree, branch, named or self.who, moment, self._id(content))
        try:
            check(event, imported=True)
        except BoughwrightError as error:
            self.refuse_error(row, column or row.column_of(error.what), error)
            return None
        row.made += 1
        self.events.append(event)
        self.origin[event.id] = (row.file, row.number)
        if given:
            self.earliest = min(self.earliest, on)
        return event

    def _id(self, content: Sequence[object]) -> UUID:
        """Return an id that is the same whenever the same row is read.

        The second of two rows that say the same gets an id of its own, for both were meant.
        """
        text = json.dumps(content, sort_keys=True, ensure_ascii=False, default=str)
        number = self._seen[text] = self._seen.get(text, 0) + 1
        return uuid5(NAMESPACE, text if number == 1 else f"{text}#{number}")

    # ---- names

    def tree_of(self, row: RowRead) -> str | None:
        """Return the key of the tree a row names; list the row when there is none."""
        text = row.values.get("tree")
        if not isinstance(text, str):
            if len(self.trees.keys) == 1 and "tree" not in row.bad:
                return next(iter(self.trees.keys))
            self.refuse(
                row, "tree", "the row names no tree", "a tree of trees.csv", "Name its tree"
            )
            return None
        return self._one(row, "tree", text, self.trees, "tree of trees.csv")

    def branch_of(self, row: RowRead, tree: str, text: str) -> str | None:
        """Return the key of a branch; list the row when there is none."""
        found = self.branches.setdefault(tree, Names())
        if text.casefold() == "trunk" and not found.find(text):
            return "trunk"
        return self._one(row, "branch", text, found, f"branch of {tree} in branches.csv")

    def _one(self, row: RowRead, column: str, text: str, names: Names, kind: str) -> str | None:
        keys = names.find(text)
        if len(keys) == 1:
            return keys[0]
        if keys:
            self.refuse(row, column, f"{text!r} fits more than one {column}", ", ".join(keys),
                        "Use its lasting key")  # fmt: skip
        else:
            known = ", ".join(_nearest(text, names)) or f"none: the {column} was not taken"
            self.refuse(row, column, f"no {kind} is called {text!r}", known,
                        f"Mend the name, or add the {column}")  # fmt: skip
        return None


def _nearest(text: str, names: Names) -> list[str]:
    import difflib  # noqa: PLC0415  # only once something has gone wrong

    words = names.words()
    near = difflib.get_close_matches(plain(text), words, n=3) or words[:5]
    return sorted({key for word in near for key in names.find(word)})


def details_of(row: RowRead, names: Sequence[str]) -> dict[str, JsonValue]:
    """Return a row's values as the details of a record, dates as text."""
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in row.values.items()
        if name in names and value is not None
    }
