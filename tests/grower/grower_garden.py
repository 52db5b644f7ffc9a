"""Gardens for the proofs from end to end: a book with weather, trees entered, phrases said.

Everything goes through the doors a grower uses: phrases by `usecases.say`, weather files by
`usecases.weather`, answers by the use case that a command calls. Trees and branches are entered as
events, as the tables of a garden folder enter them. All trees here are written cases.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from boughwright.demo.weather import WEIR_LANE, rows
from boughwright.journal.events import (
    BranchSet,
    Event,
    GardenSet,
    Measured,
    PlaceSet,
    ShelfSet,
    TreeSet,
)
from boughwright.journal.terms import Quantity
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.call_up import call_up_for, call_up_shape
from boughwright.usecases.day import open_day
from boughwright.usecases.may_i import ask
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.weather import load_weather

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from boughwright.journal.events import Body
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.may_i import Asked
    from boughwright.usecases.say import Said
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import Verdict

TODAY = date(2026, 6, 9)
"""A day in June when the first flush is hard."""
STATION = "station"
PLACE = "bench"
CALM = replace(WEIR_LANE, told={}, missing=(), spread_c=1.5, first=date(2022, 9, 1))
"""Mild made-up weather without a gap, a late frost or a hot spell."""


def weather_file(path: Path, lines: list[str]) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def set_days(lines: list[str], told: Mapping[date, str | None]) -> list[str]:
    """Return the lines of a weather file with some days told otherwise, or left out."""
    by_day = {str(day): line for day, line in told.items()}
    kept = [by_day.get(line[:10], line) for line in lines]
    return [line for line in kept if line is not None]


def calm_lines() -> list[str]:
    return list(rows(CALM))


def empty_book(path: Path, scratch: Path, lines: list[str], *, latitude: float = 46.4,
               today: date = TODAY) -> Path:  # fmt: skip
    """Make a book that holds a garden, one place and its weather, and no tree."""
    file = weather_file(scratch / f"{path.stem}-weather.csv", lines)
    load_weather(path, STATION, file, on_bad="refuse", today=today)
    with Book.open(path) as book:
        book.append(
            [
                Event(
                    body, date(2020, 1, 1), who="grower", recorded=datetime(2020, 1, 1, tzinfo=UTC)
                )
                for body in (
                    GardenSet({"name": "Written garden", "who": "grower", "hours_week": 8.0}),
                    PlaceSet(PLACE, {"latitude": latitude, "weather": STATION, "name": "Bench"}),
                    ShelfSet(PLACE, "wall", {"name": "South wall", "offset_c": 1.5}),
                )
            ]
        )
    return path


@dataclass
class Grower:
    """A grower with one book. Each line is written down on the evening of its day."""

    path: Path
    today: date = TODAY
    steps: int = field(default=0)

    def put(
        self, body: Body, on: date, tree: str | None = None, branch: str | None = None
    ) -> Event:
        self.steps += 1
        evening = datetime(on.year, on.month, on.day, 19, tzinfo=UTC) + timedelta(
            seconds=self.steps
        )
        event = Event(body, on, tree=tree, branch=branch, who="grower", recorded=evening)
        with Book.open(self.path) as book:
            book.append([event])
        return event

    def plant(
        self,
        tree: str,
        species: str,
        branches: Mapping[str, Mapping[str, Any]],
        on: date = date(2025, 11, 1),
        read_on: date | None = None,
        **facts: Any,
    ) -> str:
        """Enter a tree and its branches with their readings, in one go.

        Names of measures among a branch's fields (``base``, ``trunk``, ``node`` ...) become
        readings of ``read_on``.
        """  # fmt: skip
        known = {"name": tree.replace("-", " ").capitalize(), "place": PLACE, "species": species}
        first = datetime(on.year, on.month, on.day, 18, tzinfo=UTC)
        bodies: list[tuple[Body, date, str | None]] = [(TreeSet(known | facts), on, None)]
        for name, fields in branches.items():
            told = dict(fields)
            reads = {one: told.pop(one.value) for one in Quantity if one.value in told}
            bodies.append((BranchSet({"name": name} | told), on, name))
            bodies += [
                (Measured(what, value, marked=True), read_on or on, name)
                for what, value in reads.items()
            ]
        events = [
            Event(body, day, tree=tree, branch=branch, who="grower",
                  recorded=max(first, datetime(day.year, day.month, day.day, 18, tzinfo=UTC))
                  + timedelta(milliseconds=n))
            for n, (body, day, branch) in enumerate(bodies)
        ]  # fmt: skip
        with Book.open(self.path) as book:
            book.append(events)
        return tree

    def read_all(self, tree: str, told: list[tuple[Body, date, str]]) -> None:
        """Enter many readings in one go, each on the evening of its day."""
        events = [
            Event(body, on, tree=tree, branch=branch, who="grower",
                  recorded=datetime(on.year, on.month, on.day, 19, tzinfo=UTC))
            for body, on, branch in told
        ]  # fmt: skip
        with Book.open(self.path) as book:
            book.append(events)

    def say(self, text: str, on: date | None = None, tree: str | None = None,
            who: str = "grower") -> Said:  # fmt: skip
        """Say one phrase and check that it was understood."""
        said = self.try_to_say(text, on, tree, who)
        assert not said.doubts, (text, said.doubts)
        assert not said.unread, (text, said.unread)
        return said

    def try_to_say(self, text: str, on: date | None = None, tree: str | None = None,
                   who: str = "grower") -> Said:  # fmt: skip
        self.steps += 1
        day = on or self.today
        now = datetime(day.year, day.month, day.day, 20, tzinfo=UTC) + timedelta(seconds=self.steps)
        (said,) = say(self.path, [Phrase(text, day, tree=tree, who=who, now=now)])
        return said

    def day(self, on: date | None = None) -> GardenDay:
        return open_day(self.path, on=on or self.today)

    def tree_day(self, tree: str, on: date | None = None) -> TreeDay:
        (day,) = open_day(self.path, on=on or self.today, only=tree).trees
        return day

    def may_i(self, tree: str, phrase: str, day: date | None = None) -> Asked:
        return ask(self.path, tree, phrase, on=self.today, day=day)

    def call_up(self, on: date | None = None, **other: Any) -> dict[str, Json]:
        return call_up_shape(call_up_for(self.path, on=on or self.today, **other))

    def events(self) -> list[Event]:
        with Reader.open(self.path) as reader:
            return reader.events()


def copy_book(source: Path, target: Path) -> Path:
    shutil.copyfile(source, target)
    return target


def by_name(day: TreeDay) -> dict[str, tuple[BranchFacts, Verdict]]:
    """Return the facts and the verdict of every living branch."""
    verdict = {one.row: one for one in day.verdicts}
    return {branch.name: (branch, verdict[branch.row]) for branch in day.branches}


def verdict_on(day: TreeDay, name: str) -> Verdict:
    return by_name(day)[name][1]


def row_of(tree: Tree, name: str) -> int:
    return tree.branches.names.index(name)
