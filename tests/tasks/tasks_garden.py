"""A garden that is entered through the forms alone, for the proofs of the tasks."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from boughwright.demo.weather import WEIR_LANE, rows
from boughwright.usecases.day import open_day
from boughwright.usecases.enter import enter_branch, enter_garden, enter_place, enter_tree
from boughwright.usecases.enter_readings import enter_readings
from boughwright.usecases.entry import Entered, Writer
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.start import begin
from boughwright.usecases.weather import load_weather

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.say import Said

TODAY = date(2026, 6, 9)
PLACE = "bench"
EARLY = date(2024, 3, 1)


def writer(on: date = TODAY, step: int = 0) -> Writer:
    moment = datetime(on.year, on.month, on.day, 18, tzinfo=UTC) + timedelta(seconds=step)
    return Writer(on, "grower", moment)


@dataclass
class Forms:
    """One book and a grower who fills in forms and says phrases, each a second later."""

    path: Path
    step: int = field(default=0)

    def writer(self, on: date = TODAY) -> Writer:
        self.step += 1
        return writer(on, self.step)

    def lay_ground(self) -> None:
        """Make the book with one place and its weather."""
        begin(self.path)
        taken(enter_garden(self.path, {"name": "Written garden"}, self.writer(EARLY)))
        fields = {"name": "Bench", "latitude": 46.4, "elevation_m": 230.0}
        assert taken(enter_place(self.path, None, fields, self.writer(EARLY))).key == PLACE

    def load_weather(self, scratch: Path) -> None:
        file = scratch / "weather.csv"
        file.write_text("\n".join(rows(WEIR_LANE)) + "\n", encoding="utf-8")
        load_weather(self.path, PLACE, file, today=TODAY)

    def plant(self, name: str = "Gate maple", **facts: object) -> str:
        given = {"name": name, "species": "field maple", "phase": "primary structure",
                 "vigour": "strong", "height_mm": 440.0} | facts  # fmt: skip
        return taken(enter_tree(self.path, None, given, self.writer(EARLY))).key

    def branch(
        self, tree: str, name: str, on: date = EARLY, *, marked: bool = True,
        read_on: date = date(2026, 6, 7), **fields: object,
    ) -> str:  # fmt: skip
        """Enter a branch; measures among the fields become readings of ``read_on``."""
        reads = {k: fields.pop(k) for k in ("base", "trunk", "node", "room", "length", "open")
                 if k in fields}  # fmt: skip
        key = taken(
            enter_branch(self.path, tree, None, {"name": name} | fields, self.writer(on))
        ).key
        taken(enter_readings(self.path, tree, key, reads, self.writer(read_on), marked=marked))
        return key

    def say(self, text: str, tree: str, on: date = TODAY) -> Said:
        self.step += 1
        now = datetime(on.year, on.month, on.day, 20, tzinfo=UTC) + timedelta(seconds=self.step)
        (said,) = say(self.path, [Phrase(text, on, tree=tree, who="grower", now=now)])
        assert not said.doubts, (text, said.doubts)
        assert not said.unread, (text, said.unread)
        return said

    def day(self, on: date = TODAY) -> GardenDay:
        return open_day(self.path, on=on)

    def tree(self, key: str, on: date = TODAY) -> TreeDay:
        return self.day(on).tree(key)


def taken(entered: Entered) -> Entered:
    assert entered.ok, entered.faults
    return entered
