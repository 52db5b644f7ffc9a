"""What every form shares: reading what was typed, one clear fault a field, writing what changed."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError, TextError, UnknownNameError
from boughwright.intake.tables_cells import read_cell
from boughwright.journal.check import check, check_field
from boughwright.journal.columns import slug
from boughwright.journal.events import Event, TreeSet, standing
from boughwright.journal.fields import FIELDS_OF
from boughwright.journal.garden import garden_of
from boughwright.journal.receipt import receipt
from boughwright.settings import settings_of
from boughwright.store.book import Book
from boughwright.tree.replay import replay
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date
    from pathlib import Path
    from typing import TypeAlias

    from boughwright.intake.weather_dates import DateOrder
    from boughwright.journal.events import Body, FieldValue
    from boughwright.journal.fields import Field
    from boughwright.journal.garden import Garden
    from boughwright.settings import Settings
    from boughwright.store.turn import Turn
    from boughwright.tree.model import Tree
    from boughwright.usecases.shapes import Json

    Given: TypeAlias = Mapping[str, FieldValue]
    """What a form gave: text as it was typed, or values; a field left out is not touched."""

MOST_TEXT: Final = 400
"""Longest text of one field, in characters."""
LONGEST_KEY: Final = 60
RESERVED_KEYS: Final = frozenset({"new", "all", "trunk"})
"""Keys that mean something else where a tree or branch is named."""
_ORDER: Final[Mapping[str, DateOrder]] = {"day first": "dmy", "month first": "mdy"}


@dataclass(frozen=True, slots=True)
class FieldFault:
    """What is wrong with one field of a form, what is allowed, and what to do."""

    field: str
    what: str
    allowed: str = ""
    todo: str = ""


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of a form.

    ``key`` is the lasting key it is about. With a fault nothing was written. ``changed`` names the
    fields that were; ``doubts`` are plain words about what was taken and may still be wrong.
    """

    key: str
    faults: tuple[FieldFault, ...] = ()
    events: tuple[Event, ...] = ()
    changed: tuple[str, ...] = ()
    receipts: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """True when nothing was wrong; then all that changed is on the disk."""
        return not self.faults


@dataclass(frozen=True, slots=True)
class Writer:
    """Who writes, for which day, and when it is entered."""

    on: date
    who: str = ""
    now: datetime | None = None


def fault_of(name: str, error: BoughwrightError) -> FieldFault:
    """Return an error as the fault of one field."""
    return FieldFault(name, error.what, error.allowed, error.todo)


# --- the book while a form is taken ---------------------------------------------------------------


class Desk:
    """One turn at writing for one form; only what the form needs is read."""

    def __init__(self, turn: Turn, writer: Writer) -> None:
        self.turn, self.writer = turn, writer

    @cached_property
    def garden(self) -> Garden:
        """The garden as it stands, whatever the day."""
        return garden_of(standing(self.turn.garden_events()))

    @property
    def settings(self) -> Settings:
        """The garden's settings."""
        return settings_of(self.garden.fields)

    @cached_property
    def trees(self) -> dict[str, dict[str, FieldValue]]:
        """The facts of every tree as they were entered, by its key."""
        found: dict[str, dict[str, FieldValue]] = {tree: {} for tree in self.turn.tree_ids()}
        for event in standing([*self.turn.garden_events(), *self.turn.facts_of_trees()]):
            if event.tree is not None and isinstance(event.body, TreeSet):
                found[event.tree].update(event.body.fields)
        return found

    def events(self, tree: str) -> list[Event]:
        """Return everything that bears on one tree."""
        return [*self.turn.garden_events(), *self.turn.events(tree)]

    def tree(self, key: str) -> Tree:
        """Return one tree as it stands.

        Raises
        ------
        UnknownNameError
            When no tree has that key.
        """
        if key not in self.trees:
            names = ", ".join(str(f.get("name") or k) for k, f in self.trees.items()) or "none yet"
            raise UnknownNameError(f"no tree has the key {key!r}", allowed=names,
                                   todo="Choose one of the trees")  # fmt: skip
        return replay(key, self.events(key))

    def event(self, body: Body, tree: str | None = None, branch: str | None = None) -> Event:
        """Return an event of this writing."""
        who = self.writer.who or self.settings.who
        recorded = self.writer.now or datetime.now(UTC)
        return Event(body, self.writer.on, tree=tree, branch=branch, who=who, recorded=recorded)

    def read(self, of: str, given: Given) -> tuple[dict[str, FieldValue], list[FieldFault]]:
        """Return the values of a form, in the program's units, and what is wrong with them."""
        order = _ORDER.get(self.settings.dates)
        return read_given(of, given, units=self.settings.units, order=order, today=self.writer.on)

    def write(
        self, key: str, events: Iterable[Event], *, place: str = "", doubts: Iterable[str] = ()
    ) -> Entered:
        """Write events down, all of them or none, and tell what was taken.

        Raises
        ------
        BoughwrightError
            When an event cannot be right; nothing is written then.
        """
        made = tuple(events)
        for event in made:
            check(event)
        self.turn.append(made)
        units = self.settings.units
        told = tuple(
            receipt(e.body, place, on=e.on, today=self.writer.on, units=units) for e in made
        )
        names = [name for e in made for name in getattr(e.body, "fields", {})]
        return Entered(key, (), made, tuple(dict.fromkeys(names)), told, tuple(doubts))


# --- what was typed -------------------------------------------------------------------------------


def read_given(
    of: str, given: Given, *, units: str, order: DateOrder | None, today: date
) -> tuple[dict[str, FieldValue], list[FieldFault]]:
    """Read the fields of a form.

    Parameters
    ----------
    of : str
        ``garden``, ``place``, ``shelf``, ``tree`` or ``branch``.
    given : mapping of str to value
        Text as typed, empty for unknown; or values in mm, °C and degrees.
    units : str
        What a length without a unit is in: ``mm`` or ``in``.
    order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means.
    today : date
        For years of two digits.

    Returns
    -------
    tuple of dict and list of FieldFault
        Values that may be taken, and one fault for each that may not.
    """
    values: dict[str, FieldValue] = {}
    faults = []
    for name, value in given.items():
        row = FIELDS_OF[of].get(name)
        try:
            if row is not None and isinstance(value, str):
                value = _typed(row, value, units, order, today)  # noqa: PLW2901  # read in place
            check_field(of, name, value)
        except BoughwrightError as error:
            faults.append(fault_of(name, error))
        else:
            values[name] = value
    return values, faults


def _typed(row: Field, text: str, units: str, order: DateOrder | None, today: date) -> FieldValue:
    """Read one field as it was typed; None when it was left empty."""
    clean = " ".join(text.split())
    if not clean:
        return None
    if row.kind in ("text", "ref"):
        if len(clean) > MOST_TEXT:
            raise TextError(f"the text has {len(clean)} letters",
                                   allowed=f"up to {MOST_TEXT}", todo="Shorten it")  # fmt: skip
        return clean
    if row.kind == "choice":  # some words of choice are capitals: C and F
        spelled = {word.casefold(): word for word in row.choices}
        clean = spelled.get(clean.casefold(), clean)
        if clean in row.choices:
            return clean
    return read_cell(clean, row, unit=units, order=order, today=today)


def only_changed(
    values: Mapping[str, FieldValue], known: Mapping[str, FieldValue]
) -> dict[str, FieldValue]:
    """Return the values that differ from what is known; unknown and never given are one."""
    return {name: value for name, value in values.items() if known.get(name) != value}


def fresh_key(name: str, taken: Iterable[str], *, otherwise: str) -> str:
    """Return a lasting key for a name: plain, safe in an address, and not taken.

    Parameters
    ----------
    name : str
        Any words in any script.
    taken : iterable of str
        Keys in use; capitals make no difference.
    otherwise : str
        What to begin from when the name has no letter or digit.
    """
    start = slug(name)[:LONGEST_KEY].strip("-.") or otherwise
    used = {key.casefold() for key in taken} | RESERVED_KEYS
    number, key = 2, start
    while key in used:
        key, number = f"{start}-{number}", number + 1
    return key


def entered_shape(answer: Entered) -> dict[str, Json]:
    """Return what became of a form in its JSON shape."""
    return shaped(
        "boughwright/entered",
        1,
        {
            "key": answer.key,
            "ok": answer.ok,
            "faults": answer.faults,
            "changed": answer.changed,
            "receipts": answer.receipts,
            "doubts": answer.doubts,
            "records": [event.id for event in answer.events],
        },
    )


@contextmanager
def open_desk(path: Path, writer: Writer, *, create: bool = False) -> Iterator[Desk]:
    """Open a book for one form: what is read and written inside is one turn.

    Raises
    ------
    StoreError
        When there is no book, or it cannot be written.
    """
    with Book.open(path, create=create) as book, book.turn() as turn:
        yield Desk(turn, writer)
