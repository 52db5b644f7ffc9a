"""What a book of real weather tells on a day rests on what was known that day, gaps and all.

Weather of the same three stations as `test_real_weather_seasons` (open packages `vega-datasets`,
`pcse`, `eto`), with days taken out or changed by us. Everything goes through the use cases and the
commands.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from click.testing import CliRunner
from real_weather_garden import (
    ELM,
    FAST,
    HORNBEAM,
    LOOKED,
    called,
    grown,
    put_collection,
    season,
    stations,
    weather_book,
    windows,
    wiring_day,
)
from season_real_records import new_zealand_record, seattle_record

from boughwright.cli.call_up import command as call_up_command
from boughwright.cli.load_weather import command as load_weather_command
from boughwright.cli.wire import command as wire_command
from boughwright.journal.events import BranchSet, Event, PlaceSet, TreeSet
from boughwright.journal.terms import Work
from boughwright.store.book import Book
from boughwright.usecases.call_up import call_up_for, call_up_shape
from boughwright.usecases.day import open_day
from boughwright.usecases.say import Phrase, backdated, say
from boughwright.usecases.weather import load_weather
from boughwright.usecases.wires import all_wire, all_wire_shape

if TYPE_CHECKING:
    from pathlib import Path

    import click

    from boughwright.season.record import Weather

SPRINGS = [("Seattle", 2013), ("Seattle", 2015), ("Wageningen 1992", 1993),
           ("Wageningen 1992", 1996), ("Wageningen 1979", 1984), ("New Zealand", 2003),
           ("New Zealand", 2012)]  # fmt: skip


def without(record: Weather, first: date, days: int) -> Weather:
    """Return a record that lost some days."""
    low, high = record.t_min_c.copy(), record.t_max_c.copy()
    row = record.day(first)
    low[row : row + days] = high[row : row + days] = np.nan
    return replace(record, t_min_c=low, t_max_c=high)


def warmer_after(record: Weather, last: date, degrees: float) -> Weather:
    """Return a record whose days after one are so much warmer."""
    later = np.arange(len(record)) > record.day(last)
    return replace(record, t_min_c=record.t_min_c + degrees * later,
                   t_max_c=record.t_max_c + degrees * later)  # fmt: skip


def answers(book: Path, on: date) -> tuple[dict[str, object], dict[str, object]]:
    """Return the JSON of all wire and of the call-up, without the ids of events."""
    wires, call = all_wire_shape(all_wire(book, on=on)), call_up_shape(call_up_for(book, on=on))
    return json.loads(json.dumps(wires)), json.loads(json.dumps(call))


# Known on the day


@pytest.mark.parametrize(
    ("station", "year"),
    [("Seattle", 2014), ("Wageningen 1992", 1994), ("New Zealand", 2003)],
)
def test_nothing_after_the_forecast_is_used(station: str, year: int, tmp_path: Path) -> None:
    here, place = season(station, year), stations()[station]
    on = here.opened - timedelta(days=20)
    real = answers(here.book, on)

    def told(record: Weather, name: str) -> tuple[dict[str, object], dict[str, object]]:
        folder = tmp_path / name
        folder.mkdir()
        book = weather_book(record, folder)
        put_collection(book, place.latitude_deg, wiring_day(station, year))
        return answers(book, on)

    # Ten days ahead count as a forecast; no later day of this year, or of the many years that
    # follow in the file, moves a date, the usual weather of the place included.
    assert told(warmer_after(place.record, on + timedelta(days=10), 12.0), "later") == real
    rows = place.record.day(on + timedelta(days=11))
    cut = without(place.record, on + timedelta(days=11), len(place.record) - rows)
    assert told(cut, "cut") == real
    # A warm forecast does move them, and so does a warm past: the check above can fail.
    soon = told(warmer_after(place.record, on + timedelta(days=3), 12.0), "soon")
    assert soon != real
    brought = [a["first_line"]["likely"] for a in soon[0]["wires"] if a["tree"] == FAST]  # type: ignore[attr-defined]
    usual = [a["first_line"]["likely"] for a in real[0]["wires"] if a["tree"] == FAST]  # type: ignore[attr-defined]
    assert brought[0] < usual[0]


def test_what_is_said_later_is_not_known_earlier() -> None:
    # The fast maple's first leaf was said on the day; before it the date is a forecast, from it
    # on it is what was seen, and its flush wire is there from its own day.
    here = season("Wageningen 1992", 1995)
    before, after = here.opened - timedelta(days=1), here.opened
    told = [called(here.station, here.year, on).garden.tree(LOOKED) for on in (before, after)]
    assert [one.calendar.leaf_out.seen for one in told] == [False, True]
    wired = here.flush_wired
    assert (LOOKED, "3L") not in windows(here.station, here.year, wired - timedelta(days=1))
    assert (LOOKED, "3L") in windows(here.station, here.year, wired)
    narrow, wide = (
        windows(here.station, here.year, wired)[tree, "1L"].line for tree in (LOOKED, FAST)
    )
    assert (narrow.late - narrow.early).days <= (wide.late - wide.early).days - 7


def test_all_wire_and_the_call_up_tell_one_story() -> None:
    here = season("New Zealand", 2008)
    on = here.day(4, 20)
    garden = called(here.station, here.year, on).garden
    known = windows(here.station, here.year, on)
    assert {
        (day.facts.name, day.tree.branches.names[window.row]): window
        for day in garden.trees
        for window in day.windows
    } == known
    due = {
        (tree.name, garden.tree(tree.name).tree.branches.names[row])
        for tree in called(here.station, here.year, on).call.now
        for job in tree.jobs
        if Work.WIRE_OFF in job.works
        for row in job.rows
    }
    week = on + timedelta(days=7)
    assert due
    assert due == {at for at, w in known.items() if w.off_by is not None and w.off_by <= week}


@pytest.mark.parametrize(
    ("station", "year"),
    [("Seattle", 2015), ("Wageningen 1979", 1981), ("New Zealand", 2009)],
)
def test_a_look_moves_the_day_the_wire_must_be_off(station: str, year: int, tmp_path: Path) -> None:
    # On the eve of its off-by day the wire on the vigorous maple is looked at. It slides: the day
    # moves on by some weeks, with a next look before it. It has bitten: it is to come off at once.
    here, place = season(station, year), stations()[station]
    off = windows(station, year, here.opened)[FAST, "1L"].off_by
    eve = off - timedelta(days=1)
    before = windows(station, year, eve)[FAST, "1L"].off_by
    found = {}
    for grade in (0, 3):
        folder = tmp_path / str(grade)
        folder.mkdir()
        book = weather_book(place.record, folder)
        put_collection(book, place.latitude_deg, wiring_day(station, year))
        say(book, [Phrase(f"1L bite {grade}", eve, tree=FAST, now=backdated(eve))])
        lines = all_wire(book, on=eve).lines
        (found[grade],) = [x.window for x in lines if (x.tree, x.place) == (FAST, "1L")]
    assert 3 <= (found[0].off_by - before).days <= 42
    assert (
        eve + timedelta(days=7)
        <= found[0].look_by
        <= min(eve + timedelta(days=28), found[0].off_by)
    )
    assert (found[0].seen_grade, found[0].seen_on) == (0, eve)
    assert found[3].off_by <= eve
    assert found[3].likely_grade >= 3
    assert found[0].line.likely >= before


# Gaps


@pytest.mark.parametrize(("station", "year"), SPRINGS)
def test_lost_days_before_the_flush_move_dates_little_and_are_told(
    station: str, year: int, tmp_path: Path
) -> None:
    # 1, 9 and 30 days lost, up to twelve days before the leaves open; asked two days before.
    here, place = season(station, year), stations()[station]
    on = here.opened - timedelta(days=2)
    whole = windows(station, year, on)
    own = int(np.isnan(place.record.t_min_c).sum())
    assert not [note for note in called(station, year, on).notes if "missing" in note]
    for days, most in ((1, 1), (9, 5), (30, 7)):
        folder = tmp_path / str(days)
        folder.mkdir()
        lost = without(place.record, here.opened - timedelta(days=12 + days), days)
        assert int(np.isnan(lost.t_min_c).sum()) == own + days
        book = weather_book(lost, folder)
        put_collection(book, place.latitude_deg, wiring_day(station, year))
        answer = call_up_for(book, on=on)
        (note,) = [note for note in answer.notes if "missing" in note]
        assert note.startswith(f"Upper yard: {days} day")
        assert "wider" in note
        for day in answer.garden.trees:
            assert day.calendar.filled_days == days
            row = day.tree.branches.names.index("1L")
            (window,) = [w for w in day.windows if w.row == row]
            was = whole[day.facts.name, "1L"]
            if day.facts.name in (FAST, ELM, HORNBEAM):
                for new, old in (
                    (window.off_by, was.off_by),
                    (window.line.likely, was.line.likely),
                ):
                    assert (new is None) is (old is None)
                    assert new is None or abs((new - old).days) <= most


def test_lost_days_widen_the_windows() -> None:
    # Over all springs above together, for leaves and for the vigorous maple's first line.
    wider: dict[int, list[int]] = {9: [], 30: []}
    for station, year in SPRINGS:
        here, place = season(station, year), stations()[station]
        on = here.opened - timedelta(days=2)
        for days, found in wider.items():
            lost = without(place.record, here.opened - timedelta(days=12 + days), days)
            for tree in (FAST, ELM):
                spans = []
                for record in (place.record, lost):
                    spans.append(_leaf_out_days(record, place.latitude_deg, on, tree))
                found.append(spans[1] - spans[0])
    assert float(np.mean(wider[30])) > float(np.mean(wider[9])) > 0.0
    assert 2.0 <= float(np.mean(wider[30])) <= 15.0
    assert np.mean(np.array(wider[30]) >= 0) >= 0.8


def _leaf_out_days(record: Weather, latitude_deg: float, on: date, tree: str) -> int:
    """Return the days from the early to the late edge of leaf-out, as known on a day."""
    from boughwright.season.calendar import tree_calendar
    from boughwright.season.clock import site_clock
    from boughwright.species.tables import find

    species = find("Acer buergerianum" if tree == FAST else "Ulmus parvifolia")
    clock = site_clock(record, latitude_deg=latitude_deg, today=on)
    span = tree_calendar(clock, species, [], today=on).leaf_out
    assert span.early is not None
    assert span.late is not None
    return (span.late - span.early).days


def test_the_stations_own_gaps_are_told() -> None:
    # The New Zealand record lacks 23 days; the seasons that hold some say so, the others do not.
    record = stations()["New Zealand"].record
    for year in (2003, 2012, *_with_gaps(record)[:2]):
        here = season("New Zealand", year)
        first = date(year, 7, 1)
        gaps = int(np.isnan(record.t_min_c[record.day(first) : record.day(here.end)]).sum())
        answer = call_up_for(here.book, on=here.end)
        said = [note for note in answer.notes if "missing" in note]
        assert len(said) == (1 if gaps else 0)
        assert not said or said[0].startswith(f"Upper yard: {gaps} day")


def _with_gaps(record: Weather) -> list[int]:
    """Return seasons of which some day of July to May is lost."""
    lost = [
        record.start + timedelta(days=int(row)) for row in np.flatnonzero(np.isnan(record.t_min_c))
    ]
    years = {day.year if day.month >= 7 else day.year - 1 for day in lost if day.month != 6}
    found = sorted(years & set(stations()["New Zealand"].years))
    assert len(found) >= 2
    return found


# Both halves of the Earth in one garden


def test_each_tree_has_the_season_of_its_own_place(tmp_path: Path) -> None:
    # One book, Seattle and New Zealand. On 15 October the southern trees are in flush and the
    # northern ones colour. A base read on 20 May stands for a wiring of 10 July in the north,
    # within one season; in the south the season has turned and the base is not known.
    book = tmp_path / "two.book"
    for station, record in (("north", seattle_record()), ("south", new_zealand_record())):
        folder = tmp_path / station
        folder.mkdir()
        weather_book(record, folder)
        load_weather(book, station, folder / "weather.csv", today=date(2020, 1, 1))
    entered = date(2013, 1, 1)
    stamp = backdated(entered)
    events = []
    for place, latitude in (("north", 47.45), ("south", -43.6)):
        where = PlaceSet(place, {"name": place, "latitude": latitude, "weather": place})
        events.append(Event(where, entered, recorded=stamp))
        tree = f"{place}-maple"
        facts = {"name": tree, "species": "Acer buergerianum", "place": place,
                 "phase": "primary structure", "vigour": "strong"}  # fmt: skip
        events.append(Event(TreeSet(facts), entered, tree=tree, recorded=stamp))
        events.append(Event(BranchSet({"name": "1L", "vigour": "strong", "outer": True}), entered,
                            tree=tree, branch="1l", recorded=stamp))  # fmt: skip
    with Book.open(book) as open_book:
        open_book.append(events)
    read, wired = date(2014, 5, 20), date(2014, 7, 10)
    say(book, [
        Phrase(text, on, tree=f"{place}-maple", now=backdated(on))
        for place in ("north", "south")
        for text, on in (("1L base 6.0", read), ("1L wire on 2 al", wired))
    ])  # fmt: skip
    north, south = open_day(book, on=date(2014, 10, 15)).trees
    assert (north.calendar.season, south.calendar.season) == ("2014", "2014/15")
    assert north.calendar.stage.word in ("late thickening", "colour")
    assert south.calendar.stage.word in ("burst", "first leaf", "running")
    assert north.tree.wires[0].base_mm == 6.0
    assert np.isnan(south.tree.wires[0].base_mm)
    assert south.windows[0].line.early >= date(2014, 9, 1)
    assert north.windows[0].wirings >= 1
    assert south.windows[0].wirings == -1


# The commands


def run(command: click.Command, book: Path, *args: str) -> str:
    done = CliRunner().invoke(command, list(args), obj=str(book), catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize(
    ("station", "year"),
    [("Seattle", 2015), ("Wageningen 1979", 1982), ("New Zealand", 2003)],
)
def test_the_commands_fit_the_page_all_year(station: str, year: int) -> None:
    here = season(station, year)
    for on in (here.day(1, 10), here.opened, here.flush_wired + timedelta(days=20), here.day(9, 1),
               here.end):  # fmt: skip
        for command in (call_up_command, wire_command):
            for more in ((), ("--units", "in")):
                text = run(command, here.book, "--on", on.isoformat(), *more)
                assert text.strip()
                assert max(len(line) for line in text.splitlines()) <= 80
                assert "nan" not in text.split()
                assert "None" not in text
    call = run(call_up_command, here.book, "--on", here.opened.isoformat())
    assert FAST in call
    wires = run(wire_command, here.book, "--on", here.opened.isoformat())
    assert all(name in wires for name in (FAST, ELM, HORNBEAM))


def test_the_commands_json_is_the_python_answer() -> None:
    here = season("Seattle", 2014)
    on = here.flush_wired + timedelta(days=10)
    told = json.loads(run(call_up_command, here.book, "--on", on.isoformat(), "--json"))
    assert told == json.loads(json.dumps(call_up_shape(called("Seattle", 2014, on))))
    wires = json.loads(run(wire_command, here.book, "--on", on.isoformat(), "--json"))
    assert wires == json.loads(json.dumps(all_wire_shape(all_wire(here.book, on=on))))
    flush = [w for w in wires["wires"] if (w["tree"], w["place"]) == (LOOKED, "3L")]
    assert [w["put_on"] for w in flush] == [here.flush_wired.isoformat()]


def test_a_file_of_real_weather_is_taken_by_the_command(tmp_path: Path) -> None:
    # The same season, its weather taken in by the command, gives the same windows.
    here = season("Seattle", 2013)
    weather_book(seattle_record(), tmp_path)
    book = tmp_path / "by-command.book"
    said = run(load_weather_command, book, "station", str(tmp_path / "weather.csv"),
               "--on", "2020-01-01")  # fmt: skip
    assert "1461 new days" in said or "1,461 new days" in said
    again = grown(book, "Seattle", 2013)
    on = again.flush_wired
    assert again.opened == here.opened
    assert answers(book, on) == answers(here.book, on)
