"""A made-up garden of any size, for measuring: written into a book through the store's own door."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from boughwright.demo.weather import WEIR_LANE, rows
from boughwright.intake.weather_csv import read_weather_csv
from boughwright.journal.events import (
    BranchSet,
    Event,
    GardenSet,
    Measured,
    PlaceSet,
    Saw,
    TreeSet,
    Worked,
)
from boughwright.journal.terms import Amount, Metal, Quantity, Sign, Work
from boughwright.store.book import Book

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from boughwright.journal.events import Body

SPECIES = ("Acer buergerianum", "Acer palmatum", "Ulmus parvifolia", "Carpinus betulus")
TODAY = date(2026, 6, 9)
ENTERED_ON = date(2014, 3, 1)
"""When the branches were entered, before the years of journal."""
ENTERED = datetime(2026, 6, 8, 20, tzinfo=UTC)


YEAR = (
    (Saw(Sign.BURST), 4, 8),
    (Saw(Sign.FIRST_LEAF), 4, 24),
    (Worked(Work.FEED, amount=Amount.HALF), 5, 20),
    (Saw(Sign.HARD), 5, 28),
    (Worked(Work.LEAF_THIN, amount=Amount.SOME), 6, 4),
    (Worked(Work.FEED, amount=Amount.FULL), 6, 20),
    (Worked(Work.FEED, amount=Amount.FULL), 7, 20),
    (Worked(Work.FEED, amount=Amount.HALF), 8, 28),
    (Saw(Sign.COLOUR), 10, 12),
    (Saw(Sign.LEAF_DROP), 11, 6),
)
"""What is written of a whole tree in a year, with month and day."""

BRANCH_YEAR = (
    (Worked(Work.WIRE_OFF, bite=1), 5, 15),
    (Worked(Work.CUT, to="pair 2"), 6, 2),
    (Worked(Work.WIRE_ON, gauge_mm=2.0, metal=Metal.ALUMINIUM), 11, 9),
)
"""What is written of a primary branch in a year."""


def write_garden(
    path: Path, *, trees: int, branches: int, readings: int = 3, years: int = 0
) -> int:
    """Write a garden and its weather into a new book; return the number of events.

    ``years`` of a bench journal come before this one: signs of the seasons, feeding, a cut and a
    wire on every primary branch.
    """
    file = path.with_suffix(".csv")
    file.write_text("\n".join(rows(WEIR_LANE)) + "\n", encoding="utf-8")
    events = list(_events(trees, branches, readings, years))
    with Book.open(path, create=True) as book:
        book.append(events)
        book.put_weather("weir-lane", read_weather_csv(file, today=TODAY).days)
    return len(events)


def _events(trees: int, branches: int, readings: int, years: int) -> Iterator[Event]:
    def event(body: Body, on: date, tree: str | None = None, branch: str | None = None) -> Event:
        return Event(body, on, tree=tree, branch=branch, who="grower", recorded=ENTERED)

    yield event(GardenSet({"name": "Measured garden", "standing_date": TODAY}), date(2020, 1, 1))
    place = {"latitude": 46.4, "weather": "weir-lane", "name": "Bench"}
    yield event(PlaceSet("bench", place), date(2020, 1, 1))
    for number in range(trees):
        tree = f"tree-{number}"
        species = SPECIES[number % len(SPECIES)]
        facts = {"name": f"Tree {number}", "species": species, "place": "bench",
                 "phase": "primary structure", "height_mm": 500.0, "vigour": "strong"}  # fmt: skip
        yield event(TreeSet(facts), date(2026, 6, 1), tree)
        yield event(Saw(Sign.HARD), date(2026, 6, 2), tree)
        primaries = max(1, branches // 8)
        for row in range(branches):
            yield from (
                event(body, on, tree, f"b{row}") for body, on in _branch(row, primaries, readings)
            )
        for year in range(TODAY.year - years, TODAY.year):
            yield from (event(body, date(year, *day), tree) for body, *day in YEAR)
            yield from (
                event(body, date(year, *day), tree, f"b{row}")
                for row in range(primaries)
                for body, *day in BRANCH_YEAR
            )


def _branch(row: int, primaries: int, readings: int) -> Iterator[tuple[Body, date]]:
    if row < primaries:
        side = "LRB"[row % 3]
        height = 60.0 + 400.0 * row / primaries
        yield (
            BranchSet({"name": f"{row + 1}{side}", "height_mm": height, "clock": 9.0}),
            ENTERED_ON,
        )
        yield Measured(Quantity.TRUNK, 60.0 - 45.0 * row / primaries, marked=True), TODAY
        for year in range(readings):
            on = date(2026 - year, 6, 1)
            yield (
                Measured(Quantity.BASE, 14.0 - 9.0 * row / primaries - year * 0.6, marked=True),
                on,
            )
        yield Measured(Quantity.NODE, 30.0), TODAY
        yield Measured(Quantity.ROOM, 100.0), TODAY
        if row % 2 == 0:
            yield Worked(Work.WIRE_ON, gauge_mm=1.5, metal=Metal.ALUMINIUM), date(2025, 11, 9)
        return
    parent = row % primaries
    side = "LRB"[parent % 3]
    name = f"{parent + 1}{side}-{row // primaries}"
    yield BranchSet({"name": name, "parent": f"b{parent}"}), ENTERED_ON
