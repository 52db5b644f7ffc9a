"""The book: what goes in comes out, once, whole or not at all."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import permutations
from math import inf, nan
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from store_help import DAY, Day, days, mixed, notes

from boughwright.errors import StoreError
from boughwright.journal.events import Event, Measured, Noted, Withdrawn, standing
from boughwright.journal.terms import Quantity
from boughwright.season.record import Origin
from boughwright.store.book import Book
from boughwright.store.layout import WeatherPut
from boughwright.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book.open(tmp_path / "garden.book", create=True) as opened:
        yield opened


def test_every_kind_of_event_comes_back_as_it_went_in(book: Book) -> None:
    events = mixed()
    assert book.append(events) == 4
    assert book.events() == events
    assert book.events("t1") == [events[0], events[2]]
    assert book.trees() == ["t1", "t2"]
    assert book.position() == 4
    assert book.events(after_seq=2) == events[2:]
    assert book.events("t1", after_seq=1) == [events[2]]
    assert book.events("no such tree") == []


def test_an_empty_book_answers_plainly(book: Book) -> None:
    assert (book.events(), book.trees(), book.stations()) == ([], [], [])
    assert (book.position(), book.weather_count()) == (0, 0)
    assert book.weather("x") is None
    assert book.append([]) == 0


def test_the_same_event_twice_counts_once(book: Book) -> None:
    first, second, third = notes(3)
    assert book.append([first, first, second]) == 2
    assert book.append([second, third]) == 1
    assert book.append([first, second, third]) == 0
    assert book.events() == [first, second, third]


def test_a_used_id_with_other_words_is_refused_and_nothing_is_written(book: Book) -> None:
    kept, new = notes(2)
    book.append([kept])
    other = replace(kept, body=Noted("something else"))
    with pytest.raises(StoreError, match=str(kept.id)):
        book.append([new, other])
    assert book.events() == [kept]
    with pytest.raises(StoreError, match=str(new.id)):
        book.append([new, replace(new, who="Bo")])
    assert book.events() == [kept]


def test_a_value_that_cannot_be_written_stops_the_whole_batch(book: Book) -> None:
    bad = Event(Measured(Quantity.BASE, inf), DAY, tree="t1")
    with pytest.raises(StoreError, match=str(bad.id)):
        book.append([*notes(3), bad])
    assert book.position() == 0


def test_a_branch_without_its_tree_stops_the_whole_batch(book: Book) -> None:
    with pytest.raises(StoreError, match="nothing was written"):
        book.append([*notes(3), Event(Noted("lost"), DAY, branch="b1")])
    assert book.position() == 0


def test_a_moment_without_time_zone_is_refused(book: Book) -> None:
    naive = Event(Noted("x"), DAY, recorded=datetime(2026, 6, 9, 12, 0))
    with pytest.raises(StoreError, match="no time zone"):
        book.append([naive])


def test_moments_are_kept_in_utc(book: Book) -> None:
    east = datetime(2026, 6, 9, 1, 30, tzinfo=timezone(timedelta(hours=2)))
    book.append([Event(Noted("x"), DAY, recorded=east)])
    (back,) = book.events()
    assert back.recorded == east
    assert back.recorded.tzinfo is UTC
    # 01:30 two hours east of Greenwich is 23:30 of the day before.
    assert book.raw_events()[0][8] == "2026-06-08T23:30:00.000000+00:00"


def test_the_book_itself_refuses_to_change_or_delete_an_event(book: Book) -> None:
    book.append(notes(2))
    with closing(sqlite3.connect(book.path)) as outside:
        for deed in ("UPDATE event SET who = 'x' WHERE seq = 1", "DELETE FROM event"):
            with pytest.raises(sqlite3.IntegrityError, match="withdraw it and enter it again"):
                outside.execute(deed)
    assert book.position() == 2


def test_the_book_itself_refuses_words_for_numbers(book: Book) -> None:
    columns = "station, on_day, origin, t_min_c, t_max_c, file"
    with closing(sqlite3.connect(book.path)) as outside:
        for values in (
            "'s', '2026-01-01', 'read', 'cold', 1, ''",
            "'s', '2026-01-01', 'guess', 0, 1, ''",
            "'s', '2026-01-01', 'read', 9, 1, ''",
        ):
            with pytest.raises(sqlite3.IntegrityError):
                outside.execute(f"INSERT INTO weather_day ({columns}) VALUES ({values})")


def test_every_connection_is_set_to_keep_what_it_acknowledges(book: Book) -> None:
    # synchronous 2 is FULL in SQLite's own numbering.
    with book._reading() as connection:
        read = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        }
    assert read == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "busy_timeout": 30000,
    }


def test_large_batches_are_written_and_known_again(book: Book) -> None:
    # More than one round of ids, and more than SQLite takes values in one statement.
    events = notes(1203)
    assert book.append(events) == 1203
    assert book.append(reversed(events)) == 0
    assert book.events() == events


def test_arrival_order_never_matters(tmp_path: Path) -> None:
    first, second, third = notes(3)
    gone = Event(Withdrawn(first.id), DAY)
    seen = set()
    for number, order in enumerate(permutations([first, second, third, gone])):
        with Book.open(tmp_path / f"{number}.book", create=True) as book:
            for event in order:
                book.append([event])
            seen.add(tuple(event.id for event in standing(book.events())))
    assert seen == {(second.id, third.id)}


# ---- weather


def test_weather_comes_back_one_value_a_day(book: Book) -> None:
    start = date(2024, 2, 27)
    whole = Day(start, -1.5, 8.25, 0.0, 81, 2.5, 9.75)
    late = Day(date(2024, 3, 1), nan, 12.0)
    assert book.put_weather("home", [late, whole], file="w.csv") == WeatherPut(2, 0, 0)
    back = book.weather("home")
    assert back is not None
    # 2024 is a leap year: 27, 28, 29 February and 1 March.
    assert (back.station, back.start, len(back)) == ("home", start, 4)
    np.testing.assert_array_equal(back.t_min_c, [-1.5, nan, nan, nan])
    np.testing.assert_array_equal(back.t_max_c, [8.25, nan, nan, 12.0])
    np.testing.assert_array_equal(back.rain_mm, [0.0, nan, nan, nan])
    np.testing.assert_array_equal(back.humidity_pct, [81, nan, nan, nan])
    np.testing.assert_array_equal(back.wind_ms, [2.5, nan, nan, nan])
    np.testing.assert_array_equal(back.sun_mj, [9.75, nan, nan, nan])
    np.testing.assert_array_equal(
        back.origin, [Origin.READ, Origin.FILLED, Origin.FILLED, Origin.READ]
    )


def test_a_second_import_replaces_its_days_and_keeps_the_rest(book: Book) -> None:
    start = date(2026, 1, 1)
    assert book.put_weather("home", days(start, [1, 2, 3, 4])) == WeatherPut(4, 0, 0)
    assert book.weather_count() == 1
    again = days(start + timedelta(days=2), [3, 9, 5])
    assert book.put_weather("home", again, file="b.csv") == WeatherPut(1, 1, 1)
    assert book.weather_count() == 2
    back = book.weather("home")
    assert back is not None
    np.testing.assert_array_equal(back.t_min_c, [1, 2, 3, 9, 5])
    assert book.put_weather("home", again) == WeatherPut(0, 0, 3)
    assert book.weather_count() == 2
    bare = [Day(start, nan, nan, 6.5)]
    assert book.put_weather("home", bare) == WeatherPut(0, 1, 0)
    kept = book.weather("home", start, start)
    assert kept is not None
    assert (kept.t_min_c[0], kept.rain_mm[0]) == (1, 6.5)  # an empty cell wipes nothing
    book.put_weather("away", days(start, [7]))
    assert book.stations() == ["away", "home"]
    assert len(book.weather("home") or ()) == 5


def test_a_reading_at_the_bench_beats_the_station_and_both_beat_a_forecast(book: Book) -> None:
    first = date(2026, 6, 9)
    book.put_weather("home", days(first, [1, 2, 3, 4], origin=Origin.FORECAST))
    book.put_weather("home", [Day(first, 11, 21, 5.0), Day(first + timedelta(days=1), 12, 22)])
    book.put_weather("home", [Day(first, 15, 25, origin=Origin.BENCH)])
    # Only the minimum was read at the bench: the forecast knows both, so it is believed.
    half = Day(first + timedelta(days=2), 16, origin=Origin.BENCH)
    book.put_weather("home", [half])
    back = book.weather("home")
    assert back is not None
    np.testing.assert_array_equal(back.t_min_c, [15, 12, 3, 4])
    np.testing.assert_array_equal(back.t_max_c, [25, 22, 13, 14])
    # Rain of the first day is known to the station only.
    np.testing.assert_array_equal(back.rain_mm, [5, nan, nan, nan])
    np.testing.assert_array_equal(
        back.origin, [Origin.BENCH, Origin.READ, Origin.FORECAST, Origin.FORECAST]
    )


def test_the_days_asked_for_are_the_days_given(book: Book) -> None:
    first = date(2026, 1, 10)
    book.put_weather("home", days(first, [1, 2, 3]))
    wide = book.weather("home", date(2026, 1, 8), date(2026, 1, 14))
    assert wide is not None
    np.testing.assert_array_equal(wide.t_min_c, [nan, nan, 1, 2, 3, nan, nan])
    narrow = book.weather("home", date(2026, 1, 11), date(2026, 1, 11))
    assert narrow is not None
    np.testing.assert_array_equal(narrow.t_min_c, [2])
    unknown = book.weather("nowhere", first, date(2026, 1, 12))
    assert unknown is not None
    assert np.isnan(unknown.t_min_c).tolist() == [True] * 3


def test_computed_days_are_never_kept(book: Book) -> None:
    for origin in (Origin.FILLED, Origin.NORMAL):
        with pytest.raises(StoreError, match="computed"):
            book.put_weather("home", [*days(DAY, [1.0]), Day(DAY, 1, 2, origin=origin)])
    assert book.stations() == []


_TEMPERATURE = st.floats(-60, 60, allow_nan=False) | st.just(nan)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.dictionaries(st.integers(0, 60), st.tuples(_TEMPERATURE, _TEMPERATURE), min_size=1))
def test_any_set_of_days_comes_back_exactly(
    book: Book, given_days: dict[int, tuple[float, float]]
) -> None:
    station = str(book.weather_count())
    # An unknown value compares as not above, so it stays where it is.
    pairs = {n: (b, a) if a > b else (a, b) for n, (a, b) in given_days.items()}
    readings = [Day(DAY + timedelta(days=n), low, high) for n, (low, high) in pairs.items()]
    book.put_weather(station, readings)
    back = book.weather(station)
    assert back is not None
    assert back.start == min(day.on for day in readings)
    expected = np.full((2, len(back)), nan)
    for day in readings:
        expected[:, (day.on - back.start).days] = day.t_min_c, day.t_max_c
    np.testing.assert_array_equal(back.t_min_c, expected[0])
    np.testing.assert_array_equal(back.t_max_c, expected[1])


# ---- the light reader


def test_the_light_reader_answers_exactly_as_the_book(book: Book) -> None:
    book.append(mixed())
    book.append(notes(5, tree="t3"))
    book.put_weather("home", days(DAY, [1, nan, 3]))
    book.put_weather("home", days(DAY, [4, 5], origin=Origin.FORECAST))
    book.put_weather("away", days(DAY, [4, 5]))
    with Reader.open(book.path) as reader:
        for tree in (None, "t1", "t3", "nothing"):
            for after in (None, 0, 2, 99):
                assert reader.raw_events(tree, after) == book.raw_events(tree, after)
                assert reader.events(tree, after) == book.events(tree, after)
        assert reader.trees() == book.trees()
        assert reader.position() == book.position() == 9
        assert reader.stations() == book.stations()
        assert reader.weather_count() == book.weather_count() == 3
        assert reader.weather("nowhere") is None
        spans = [(None, None), (DAY, None), (None, DAY), (DAY, DAY + timedelta(days=9))]
        for station in ("home", "away"):
            for first, last in spans:
                one, two = reader.weather(station, first, last), book.weather(station, first, last)
                assert one is not None
                assert two is not None
                assert (one.station, one.start) == (two.station, two.start)
                for name in type(one).__slots__[2:]:
                    np.testing.assert_array_equal(getattr(one, name), getattr(two, name))


def test_a_reader_sees_what_is_written_after_it_was_opened(book: Book) -> None:
    with Reader.open(book.path) as reader:
        assert reader.position() == 0
        book.append(notes(2))
        assert reader.position() == 2


def test_a_reader_cannot_write(book: Book) -> None:
    with (
        Reader.open(book.path) as reader,
        pytest.raises(sqlite3.OperationalError, match="readonly"),
    ):
        reader._connection.execute("INSERT INTO meta VALUES ('a', 'b')")
