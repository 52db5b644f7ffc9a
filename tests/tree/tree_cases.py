"""Small journals for tests of the tree: a writer of events and a few named trees."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from boughwright.journal.events import (
    BranchSet,
    Event,
    FrontTurned,
    Measured,
    Promised,
    Saw,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)
from boughwright.journal.terms import Quantity, Sign, Work

START = date(2025, 1, 10)


@dataclass
class Book:
    """Writes the events of one tree, each entered on the evening of its day."""

    tree: str = "t"
    events: list[Event] = field(default_factory=list)

    def add(self, body, on=START, branch=None, **envelope):
        number = len(self.events) + 1
        tree = envelope.pop("tree", self.tree)
        recorded = datetime(on.year, on.month, on.day, 20, tzinfo=UTC) + timedelta(seconds=number)
        event = Event(
            body,
            on,
            tree,
            branch,
            envelope.pop("who", "me"),
            envelope.pop("recorded", recorded),
            UUID(int=number),
        )
        self.events.append(event)
        return event.id

    def facts(self, on=START, **fields):
        return self.add(TreeSet(fields), on)

    def branch(self, id_, on=START, **fields):
        return self.add(BranchSet(fields), on, id_)

    def read(self, branch, what, value, on=START, **details):
        return self.add(Measured(Quantity(what), value, **details), on, branch)

    def work(self, branch, work, on=START, **details):
        return self.add(Worked(Work(work), **details), on, branch)

    def saw(self, branch, sign, on=START, **details):
        return self.add(Saw(Sign(sign), **details), on, branch)

    def promise(self, branch, what, on=START, **details):
        return self.add(Promised(what, **details), on, branch)

    def turn(self, degrees, on=START):
        return self.add(FrontTurned(degrees), on)

    def trait(self, species, trait, value, on=START, tree=None):
        return self.add(TraitSet(species, trait, value), on, tree=tree)

    def withdraw(self, event, on=START):
        return self.add(Withdrawn(event), on)


def field_maple():
    """A collected field maple of 440 mm in primary structure, with two grafts and a scar."""
    book = Book("ditch")
    book.facts(
        name="Ditch field maple", species="Acer campestre", height_mm=440.0,
        phase="primary structure",
    )  # fmt: skip
    rows = [  # name, height, clock, trunk beside, base, target step
        ("1L", 95, 9, 47, 12.1, 0.35),
        ("2R", 130, 3, 43, 14.6, 0.34),
        ("3B", 175, 12, 37, 12.4, 0.33),
        ("4R", 215, 2, 32, 9.2, 0.30),
        ("5L", 262, 10, 26, 5.2, 0.28),
        ("6R", 335, 4, 18, 7.9, 0.25),
    ]
    for name, height, clock, trunk, base, target in rows:
        book.branch(f"b{name}", name=name, height_mm=float(height), clock=float(clock),
                    target_step=target)  # fmt: skip
        book.read(f"b{name}", "trunk", float(trunk), marked=True)
        book.read(f"b{name}", "base", base, marked=True)
    book.branch("btop", name="top", height_mm=375.0)
    book.branch("bg", name="2.5Lg", height_mm=155.0, clock=8.0)
    book.branch("scar", name="scar front", height_mm=110.0, clock=6.0)
    book.work("bg", "graft in", date(2025, 6, 8), method="approach", donor="b3B")
    book.read("scar", "open", 46.0, date(2025, 1, 11))
    book.read(None, "trunk", 67.0)
    return book


def row_of(tree, name):
    return tree.branches.names.index(name)


def kinds(tree):
    return sorted(fault.kind for fault in tree.contradictions)
