"""The rows of the readable tables: trees and branches as they stand, and what happened to them.

A cell of a tree or branch holds what was set by hand. What a work, a sign or a reading changed is
left to their own tables, so that reading the tables back gives the same tree.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date
from decimal import Decimal
from typing import TYPE_CHECKING, TypeAlias

from boughwright.journal.codec import body_to_json
from boughwright.journal.columns import (
    BRANCH_READINGS,
    HAPPENINGS,
    SPECIES,
    TREE_READINGS,
    UNKNOWN,
    guard,
)
from boughwright.journal.events import (
    BranchSet,
    FrontTurned,
    Measured,
    PlaceSet,
    ShelfSet,
    TreeSet,
)
from boughwright.journal.fields import BRANCH_FIELDS, TREE_FIELDS
from boughwright.journal.names import clock_after_turn
from boughwright.journal.terms import QUANTITY_UNIT
from boughwright.tree.story import tell

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import datetime
    from uuid import UUID

    from boughwright.journal.codec import JsonValue
    from boughwright.journal.columns import Table
    from boughwright.journal.events import Event
    from boughwright.journal.fields import Field
    from boughwright.journal.garden import Garden
    from boughwright.journal.terms import Quantity
    from boughwright.tree.story import Part, Story

Row: TypeAlias = "dict[str, str]"
"""Cells by column; a column that is missing is empty."""


def cell(value: object) -> str:
    """Return a value as a cell: dates ISO, yes and no as words, numbers without exponent."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        plain = format(Decimal(repr(value if isinstance(value, int) else float(value))), "f")
        return plain.removesuffix(".0")
    if isinstance(value, date):
        return value.isoformat()
    return guard(str(value))


def moment(value: datetime) -> str:
    """Return a moment in UTC, without its offset."""
    return value.astimezone(UTC).replace(tzinfo=None).isoformat(sep=" ")


def places(garden: Garden, standing: Sequence[Event]) -> list[Row]:
    """Return a row for each place, dated when it was entered."""
    first: dict[str, date] = {}
    for event in standing:
        if isinstance(event.body, PlaceSet):
            first.setdefault(event.body.place, event.on)
    return [
        {"place": cell(place)} | _cells(fields) | {"on": cell(first.get(place))}
        for place, fields in garden.places.items()
    ]


def shelves(garden: Garden, standing: Sequence[Event]) -> list[Row]:
    """Return a row for each shelf, dated when it was entered."""
    first: dict[tuple[str, str], date] = {}
    for event in standing:
        if isinstance(event.body, ShelfSet):
            first.setdefault((event.body.place, event.body.shelf), event.on)
    return [
        {"place": cell(key[0]), "shelf": cell(key[1])} | _cells(fields)
        | {"on": cell(first.get(key))}
        for key, fields in garden.shelves.items()
    ]  # fmt: skip


def _cells(fields: Mapping[str, object]) -> Row:
    return {name: cell(value) for name, value in fields.items()}


class TreeRows:
    """The rows of one tree.

    Parameters
    ----------
    tree : str
        Its lasting identity.
    events : sequence of Event
        Its standing events, in replay order.
    """

    def __init__(self, tree: str, events: Sequence[Event]) -> None:
        self.tree = tree
        self._story = tell(tree, events)
        self._by_id = {event.id: event for event in events}
        self._shown = shown_names(self._story)

    def name_of(self, branch: str | None) -> str:
        """Return how a branch is written in the tables: its name, or its key when names clash."""
        return "" if branch is None else guard(self._shown.get(branch, branch))

    def tree_row(self) -> Row | None:
        """Return the row of the tree, None when nothing was ever entered of it."""
        story = self._story
        sets = [event for event in story.events if isinstance(event.body, TreeSet)]
        readings = self._latest(None, TREE_READINGS)
        if not sets and not readings:
            return None
        row: Row = {"tree": cell(self.tree)}
        mine = {event.id for event in sets}
        for name in TREE_FIELDS:
            if story.facts_by.get(name) in mine:
                value = story.facts.get(name)
                row[name] = UNKNOWN if value is None else cell(value)
        if "vigour" in row:
            row["vigour_on"] = cell(self._by_id[story.facts_by["vigour"]].on)
        return row | readings | _entered(sets)

    def branch_rows(self) -> Iterator[Row]:
        """Give a row for every part of the tree that is named in its records."""
        sets: dict[str, list[Event]] = defaultdict(list)
        front, fronts = 0.0, {}
        for event in self._story.events:
            if isinstance(event.body, FrontTurned):
                front += event.body.degrees
            elif isinstance(event.body, BranchSet) and event.branch is not None:
                sets[event.branch].append(event)
                fronts[event.branch] = front
        for part in self._story.parts.values():
            yield self._branch_row(part, sets[part.id], fronts.get(part.id, 0.0))

    def _branch_row(self, part: Part, sets: list[Event], front_deg: float) -> Row:
        row: Row = {"tree": cell(self.tree), "branch": cell(part.id)}
        mine = {event.id for event in sets}
        for name in BRANCH_FIELDS:
            if part.set_by.get(name) in mine:
                value = part.fields.get(name)
                if name == "clock" and isinstance(value, int | float):
                    value = clock_after_turn(float(value), front_deg)
                elif BRANCH_FIELDS[name].kind == "ref" and value is not None:
                    value = self._shown.get(str(value), value)
                row[name] = UNKNOWN if value is None else cell(value)
        row |= _last_set(sets, "vigour", part) | _last_set(sets, "gone_on", part)
        row |= _named(part, sets)
        row |= self._latest(part.id, BRANCH_READINGS)
        if not sets and part.first is not None:
            row["on"] = cell(part.first[0])
        return row | _entered(sets)

    def _latest(self, branch: str | None, columns: Mapping[str, tuple[Quantity, Field]]) -> Row:
        """Return the readings of the last day on which one of these columns was measured."""
        wanted = {what: name for name, (what, _) in columns.items()}
        found: Row = {}
        day: date | None = None
        for event in self._story.events:
            body = event.body
            if event.branch != branch or not isinstance(body, Measured) or body.what not in wanted:
                continue
            if event.on != day:
                found, day = {}, event.on
            found[wanted[body.what]] = cell(body.value)
        return found | ({"measured_on": cell(day)} if found else {})


def shown_names(story: Story) -> Mapping[str, str]:
    """Return how each part is written: its name where that leads back to it, else its key."""
    bearers: dict[str, set[str]] = defaultdict(set)
    for part in story.parts.values():
        bearers[part.id.casefold()].add(part.id)
        for name, _, _ in part.names:
            bearers[name.casefold()].add(part.id)
    return {
        part.id: part.name if bearers[part.name.casefold()] == {part.id} else part.id
        for part in story.parts.values()
    }


def _last_set(sets: Sequence[Event], name: str, part: Part) -> Row:
    """Return a value as it was last set by hand, with the day for strength."""
    for event in reversed(sets):
        fields = getattr(event.body, "fields", {})
        if name not in fields:
            continue
        value = fields[name]
        if name == "vigour":
            told = UNKNOWN if value is None else cell(value)
            return {name: told, "vigour_on": cell(event.on)}
        if value is None:
            # Alive again: only said where nothing took it away since.
            return {} if part.dead or part.cut_off else {name: UNKNOWN}
        return {name: cell(value)}
    return {}


def _named(part: Part, sets: Sequence[Event]) -> Row:
    if not part.names:
        return {}
    row: Row = {"name": cell(part.name)}
    changes = zip(part.names, part.names[1:], strict=False)
    old = [f"{name} until {since}" for (name, _, _), (_, since, _) in changes]
    if old:
        row["old_names"] = cell("; ".join(old))
    if part.entered is not None and (old or part.entered != sets[-1].on):
        row["entered_on"] = cell(part.entered)
    return row


def _entered(sets: Sequence[Event]) -> Row:
    if not sets:
        return {}
    last = sets[-1]
    return {"on": cell(last.on), "who": cell(last.who), "recorded": moment(last.recorded)}


# --- happenings ----------------------------------------------------------------------------------


def table_of(event: Event) -> Table | None:
    """Return the table that an event is a row of, None for those told by tables of things."""
    kind, _, details = body_to_json(event.body)
    for table in (*HAPPENINGS, SPECIES):
        if table.kind == kind and (not table.works or details["work"] in table.works):
            return table
    return None


def happening(event: Event, table: Table, branch: str) -> Row:
    """Return an event as a row of its table; ``branch`` is how its branch is written."""
    _, _, details = body_to_json(event.body)
    row: Row = {"tree": cell(event.tree), "branch": branch, "on": cell(event.on)}
    row |= {
        name: _detail(value) for name, value in details.items() if table.column(name) is not None
    }
    if isinstance(event.body, Measured):
        row["unit"] = QUANTITY_UNIT[event.body.what]
    row |= {"who": cell(event.who), "recorded": moment(event.recorded)}
    return row


def _detail(value: JsonValue) -> str:
    if value is None:
        return UNKNOWN
    return cell(value["date"] if isinstance(value, dict) else value)


def by_tree(standing: Iterable[Event]) -> dict[str, list[Event]]:
    """Return the standing events of each tree, in order."""
    trees: dict[str, list[Event]] = defaultdict(list)
    for event in standing:
        if event.tree is not None:
            trees[event.tree].append(event)
    return dict(trees)


def record(event: Event) -> Row:
    """Return the columns of the whole record that hold it without loss, but for its body."""
    kind, version, _ = body_to_json(event.body)
    ident: UUID = event.id
    return {
        "id": str(ident), "kind": kind, "version": str(version), "tree": cell(event.tree),
        "branch": cell(event.branch), "on": cell(event.on), "who": cell(event.who),
        "recorded": event.recorded.isoformat(),
    }  # fmt: skip
