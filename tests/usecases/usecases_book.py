"""A small book of two trees, and what a device sends."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_OID, UUID, uuid5

from boughwright.journal.events import BranchSet, Event, PlaceSet, TreeSet, standing
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.lines import SentLine

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.journal.events import Body

TODAY = date(2026, 6, 9)
NOON = datetime(2026, 6, 9, 12, tzinfo=UTC)
ENTERED = datetime(2026, 5, 1, 20, tzinfo=UTC)
TREES = {"elm": "Elm", "oak": "Oak"}
BRANCHES = ("1L", "2R", "3B")


def write_two_trees(path: Path) -> None:
    with Book.open(path, create=True) as book:
        book.append(list(_events()))


def _events() -> list[Event]:
    def event(body: Body, tree: str | None = None, branch: str | None = None) -> Event:
        # As from a row of a table: not said, so that no undo takes it back.
        id_ = uuid5(NAMESPACE_OID, f"{tree} {branch}")
        return Event(body, date(2026, 5, 1), tree, branch, "grower", ENTERED, id_)

    made = [event(PlaceSet("bench", {"name": "Bench", "latitude": 46.4}))]
    for tree, name in TREES.items():
        made.append(event(TreeSet({"name": name, "species": "Ulmus parvifolia"}), tree))
        made += [event(BranchSet({"name": one}), tree, one.casefold()) for one in BRANCHES]
    return made


def line_of(number: int, device: int = 0) -> UUID:
    """Return an id as a device makes it, of version 4 or, on odd devices, 7."""
    if device % 2:
        return UUID(int=(0x0197_0000_0000 + number) << 80 | 0x7 << 76 | 0b10 << 62 | device)
    return UUID(int=(device << 96) | number << 80 | 0x4 << 76 | 0b10 << 62 | number)


@dataclass
class Device:
    """A device that keeps lines and sends them until it hears that they are kept."""

    number: int
    clock: timedelta = timedelta()
    lines: list[SentLine] = field(default_factory=list)
    last: UUID | None = None
    step: int = 0

    def say(self, text: str = "", tree: str | None = None, *, withdraws: UUID | None = None,
            after: bool = True) -> UUID:  # fmt: skip
        """Keep one line, a minute after the one before."""
        self.step += 1
        id_ = line_of(self.step, self.number)
        said = NOON + timedelta(minutes=self.step, seconds=self.number) + self.clock
        before = self.last if after else None
        self.lines.append(SentLine(id_, said, text, withdraws, tree, before, f"d{self.number}"))
        self.last = id_
        return id_


def all_events(path: Path) -> list[Event]:
    with Reader.open(path) as reader:
        return reader.events()


def standing_now(path: Path) -> list[Event]:
    """Return what counts of the whole book, in replay order."""
    return standing(all_events(path))


def said_now(path: Path) -> list[str]:
    """Return what counts and was said, as kinds of body with their branch and detail."""
    return [
        f"{e.tree} {e.branch} {e.on} {e.body}" for e in standing_now(path) if e.recorded != ENTERED
    ]
