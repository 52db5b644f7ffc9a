"""A small collection of our own under real weather, put into a real book through the use cases.

The trees are invented; the weather is that of three stations, read out of open packages (see
`season_real_records` and `season_outside_data`). Every season stands in a book of its own: the
station's record, the collection as it was wired in the autumn before, and what was said of it in
spring.
"""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from season_outside_data import wageningen
from season_real_records import as_weather, new_zealand_record, seattle_record

from boughwright.journal.events import BranchSet, Event, GardenSet, PlaceSet, TreeSet
from boughwright.store.book import Book
from boughwright.usecases.call_up import call_up_for
from boughwright.usecases.day import open_day
from boughwright.usecases.say import Phrase, backdated, say
from boughwright.usecases.weather import load_weather
from boughwright.usecases.wires import all_wire

if TYPE_CHECKING:
    from boughwright.season.record import Weather
    from boughwright.season.stages import TreeCalendar
    from boughwright.usecases.call_up import Called
    from boughwright.wire.window import WireWindow

HALF_YEAR: Final = timedelta(days=182)
READ_ON: Final = date(2020, 1, 1)
"""When the files were taken in: every day of them was read, none is a forecast of its day."""

FAST, LOOKED, ELM, OAK = "Lane trident", "Brick trident", "Yard elm", "Field oak"
HORNBEAM, BEECH, HAWTHORN, MAPLE = "Moss hornbeam", "Stone beech", "Hedge hawthorn", "Fan maple"

TREES: Final = {
    # name: species, phase, strength of 1L and 3L; 2R is weak. All but the first three are cut.
    FAST: ("Acer buergerianum", "primary structure", "strong"),
    LOOKED: ("Acer buergerianum", "primary structure", "strong"),
    ELM: ("Ulmus parvifolia", "primary structure", "strong"),
    OAK: ("Quercus robur", "ramification", "steady"),
    MAPLE: ("Acer palmatum", "ramification", "steady"),
    HORNBEAM: ("Carpinus betulus", "refinement", "steady"),
    BEECH: ("Fagus sylvatica", "refinement", "steady"),
    HAWTHORN: ("Crataegus monogyna", "refinement", "steady"),
}
RUNNING: Final = (FAST, LOOKED, ELM)


@dataclass(frozen=True)
class Station:
    """One stretch of a station's record and the seasons that lie in it, by the year they begin."""

    record: Weather
    latitude_deg: float
    years: tuple[int, ...]

    @property
    def south(self) -> bool:
        return self.latitude_deg < 0


def _wageningen(first: int, last: int) -> Weather:
    table = wageningen()
    table = table[(table.index.year >= first) & (table.index.year <= last)]
    days = (date(last, 12, 31) - date(first, 1, 1)).days + 1
    assert len(table) == days, "every day of these years is there, once"
    return as_weather("Wageningen", date(first, 1, 1), table.t_min.to_numpy(float),
                      table.t_max.to_numpy(float))  # fmt: skip


@cache
def stations() -> dict[str, Station]:
    """Return the stretches by name. Southern seasons are counted by their July."""
    return {
        "Seattle": Station(seattle_record(), 47.45, (2012, 2013, 2014, 2015)),
        "Wageningen 1976": Station(_wageningen(1976, 1977), 51.97, (1976, 1977)),
        "Wageningen 1979": Station(_wageningen(1979, 1985), 51.97, tuple(range(1979, 1986))),
        "Wageningen 1992": Station(_wageningen(1992, 1999), 51.97, tuple(range(1992, 2000))),
        "New Zealand": Station(new_zealand_record(), -43.6, tuple(range(2000, 2015))),
    }


NORTH: Final = (
    *(("Seattle", year) for year in range(2012, 2016)),
    *(("Wageningen 1976", year) for year in (1976, 1977)),
    *(("Wageningen 1979", year) for year in range(1979, 1986)),
    *(("Wageningen 1992", year) for year in range(1992, 2000)),
)
SOUTH: Final = tuple(("New Zealand", year) for year in range(2000, 2015))
EVERY: Final = (*NORTH, *SOUTH)


def write_csv(weather: Weather, file: Path) -> None:
    """Write a record as a plain weather table; a day that was lost is not in it."""
    lines = ["date,t_min_c,t_max_c"]
    for row, (low, high) in enumerate(zip(weather.t_min_c, weather.t_max_c, strict=True)):
        if not np.isnan(low + high):
            lines.append(f"{weather.start + timedelta(days=row)},{low:.2f},{high:.2f}")
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


def weather_book(weather: Weather, folder: Path) -> Path:
    """Return a new book that holds a record and nothing else, read from a file."""
    file, book = folder / "weather.csv", folder / "weather.book"
    write_csv(weather, file)
    taken = load_weather(book, "station", file, today=READ_ON)
    assert taken.file.refused_count == 0
    assert taken.new == int((~np.isnan(weather.t_min_c + weather.t_max_c)).sum())
    return book


@cache
def _scratch() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="boughwright-real-weather-")


@cache
def _template(station: str) -> Path:
    folder = Path(_scratch().name) / station.replace(" ", "-")
    folder.mkdir()
    return weather_book(stations()[station].record, folder)


def put_collection(book: Path, latitude_deg: float, wired_on: date) -> None:
    """Enter the collection and wire it on a day, with the phrases of the bench."""
    entered = wired_on - timedelta(days=150)
    stamp = backdated(entered)
    fields = {"name": "Upper yard", "latitude": latitude_deg, "weather": "station"}
    events = [
        Event(GardenSet({"name": "Weather bench", "hours_week": 10.0}), entered, recorded=stamp),
        Event(PlaceSet("yard", fields), entered, recorded=stamp),
    ]
    phrases = []
    for name, (species, phase, strength) in TREES.items():
        tree = name.lower().replace(" ", "-")
        facts = {"name": name, "species": species, "phase": phase, "vigour": strength,
                 "place": "yard", "height_mm": 450.0, "pot_volume_l": 4.0}  # fmt: skip
        events.append(Event(TreeSet(facts), entered, tree=tree, recorded=stamp))
        for place, vigour in (("1L", strength), ("2R", "weak"), ("3L", strength)):
            facts = {"name": place, "vigour": vigour, "outer": place != "2R", "height_mm": 90.0}
            events.append(Event(BranchSet(facts), entered, tree=tree, branch=place.lower(),
                                recorded=stamp))  # fmt: skip
        kept = "1L, 3L let run; 2R cut to leaf 2"
        cut = "1L, 2R, 3L cut to leaf 2"
        phrases.append(Phrase(kept if name in RUNNING else cut, entered, tree=name, now=stamp))
        said = (
            "1L base 6.0; 1L trunk 22; 2R base 3.0; 2R trunk 20; 1L wire on 2 al; 2R wire on 1 al"
        )
        phrases.append(Phrase(said, wired_on, tree=name, now=backdated(wired_on)))
    with Book.open(book) as open_book:
        open_book.append(events)
    for one in say(book, phrases):
        assert not one.doubts, one.doubts
        assert not one.unread, one.unread


@dataclass(frozen=True)
class Season:
    """One season of the collection.

    ``opened`` is the day the fast maples' first leaves opened, as the whole year's weather tells
    it; on the one called `LOOKED` it was said. Its branch 3L was wired 14 days later, in the flush.
    """

    station: str
    year: int
    book: Path
    opened: date
    calendars: dict[str, TreeCalendar]
    """By tree, on the season's last days, with no look on any of them."""

    @property
    def south(self) -> bool:
        return stations()[self.station].south

    def day(self, month: int, day: int) -> date:
        """Return a day by its northern month; half a year on in the south."""
        on = date(self.year, month, day)
        return on + HALF_YEAR if self.south else on

    @property
    def flush_wired(self) -> date:
        return self.opened + timedelta(days=14)

    @property
    def end(self) -> date:
        return self.day(12, 20)


def wiring_day(station: str, year: int) -> date:
    """Return a day after leaf-drop, in the autumn before a season."""
    return date(year, 5, 21) if stations()[station].south else date(year - 1, 11, 20)


@cache
def season(station: str, year: int) -> Season:
    """Return a season with its book, made once."""
    book = Path(_scratch().name) / f"{station.replace(' ', '-')}-{year}.book"
    shutil.copy(_template(station), book)
    return grown(book, station, year)


def grown(book: Path, station: str, year: int) -> Season:
    """Put the collection of a season into a book that holds the weather, and live through it."""
    put_collection(book, stations()[station].latitude_deg, wiring_day(station, year))
    bare = Season(station, year, book, date.min, {})
    calendars = {day.facts.name: day.calendar for day in open_day(book, on=bare.end).trees}
    opened = calendars[LOOKED].leaf_out.likely
    assert opened is not None
    made = Season(station, year, book, opened, calendars)
    wired = made.flush_wired
    say(book, [
        Phrase("first leaf", opened, tree=LOOKED, now=backdated(opened)),
        Phrase("3L base 4.0; 3L wire on 1.5 al tight", wired, tree=LOOKED, now=backdated(wired)),
    ])  # fmt: skip
    return made


@cache
def windows(station: str, year: int, on: date) -> dict[tuple[str, str], WireWindow]:
    """Return the windows of all wires of a season as known on a day, by tree and place."""
    answer = all_wire(season(station, year).book, on=on)
    return {(line.tree, line.place): line.window for line in answer.lines}


@cache
def called(station: str, year: int, on: date) -> Called:
    """Return the call-up of the week that begins on a day of a season."""
    return call_up_for(season(station, year).book, on=on)
