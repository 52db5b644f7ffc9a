"""A book kept in memory: every figure as from a fresh opening, whoever wrote to it in between."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boughwright.errors import RecordError, StoreError
from boughwright.intake.weather_csv import read_weather_csv
from boughwright.journal.events import (
    Event,
    GardenSet,
    PlaceSet,
    ShelfSet,
    TraitSet,
    TreeSet,
    Withdrawn,
)
from boughwright.store.backup import backup, restore
from boughwright.store.book import Book
from boughwright.usecases import kept as kept_module
from boughwright.usecases.call_up import call_up_of, call_up_shape
from boughwright.usecases.day import GardenDay, open_day
from boughwright.usecases.kept import DAYS_KEPT, KeptBook
from boughwright.usecases.records import records, records_shape
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.sheet import sheet_of, sheet_shape
from boughwright.usecases.stages import stage_shape, strip_of
from boughwright.usecases.wires import all_wire_of, all_wire_shape

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

ON = date(2026, 6, 9)
MAPLE, HORNBEAM = "ditch-field-maple", "gate-hornbeam"


@pytest.fixture
def demo(tmp_path: Path, demo_book: Path) -> Path:
    """Return a copy of the demonstration garden's book."""
    return shutil.copyfile(demo_book, tmp_path / "demo.book")


@pytest.fixture
def kept(demo: Path) -> Iterator[KeptBook]:
    book = KeptBook(demo)
    yield book
    book.close()


def told(garden: GardenDay) -> str:
    """Return every figure of a garden's day as text."""
    shapes = [call_up_shape(call_up_of(garden)), stage_shape(strip_of(garden)),
              all_wire_shape(all_wire_of(garden))]  # fmt: skip
    shapes += [sheet_shape(sheet_of(garden, day.tree.name)) for day in garden.trees]
    return json.dumps([*shapes, garden.today.isoformat(), str(garden.settings)])


def enter(path: Path, body: Any, tree: str | None = None, branch: str | None = None) -> Event:
    event = Event(body, ON - timedelta(days=1), tree, branch, "grower")
    with Book.open(path) as book:
        book.append([event])
    return event


def said(path: Path, text: str, tree: str) -> None:
    say(path, [Phrase(text, ON, tree=tree, who="grower")])


def warm_day(path: Path, scratch: Path, degrees: float) -> None:
    file = scratch / "day.csv"
    file.write_text(f"date,t_min_c,t_max_c\n{ON - timedelta(days=1)},{degrees - 9},{degrees}\n")
    with Book.open(path) as book:
        book.put_weather("weir-lane", read_weather_csv(file, today=ON).days)


TREES = st.sampled_from([MAPLE, HORNBEAM, "tile-trident"])
LINES = st.sampled_from(
    ["2R wire on 2 al tight", "2R wire off bite 3", "2R base 9.9", "all cut except 1L", "undo",
     "apex leaf thin most", "1L spots many", "first leaf yesterday", "repot hard", "wilt",
     "top cut to pair 1", "2R gone", "will keep", "what is this", "feed full", "hard"]
)  # fmt: skip
STEPS: dict[str, Callable[[Path, Path], object]] = {
    "hours": lambda p, s: enter(p, GardenSet({"hours_week": 3.0})),
    "home": lambda p, s: enter(p, GardenSet({"home": "valdivia"})),
    "shelf": lambda p, s: enter(p, ShelfSet("weir-lane", "north shelf", {"offset_c": -2.0})),
    "height": lambda p, s: enter(p, PlaceSet("weir-lane", {"elevation_m": 900.0})),
    "trait": lambda p, s: enter(p, TraitSet("field maple", "vigour", 0.5)),
    "gone": lambda p, s: enter(p, TreeSet({"gone_on": ON - timedelta(days=2)}), HORNBEAM),
    "new": lambda p, s: enter(p, TreeSet({"name": "A new one", "place": "weir-lane"}), "new-one"),
    "name": lambda p, s: enter(p, TreeSet({"name": "Zz renamed"}), MAPLE),
    "back": lambda p, s: enter(p, Withdrawn(enter(p, TreeSet({"phase": "ramification"}), MAPLE).id),
                               MAPLE),
    "weather": lambda p, s: warm_day(p, s, 31.0),
}  # fmt: skip


@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(LINES, TREES) | st.sampled_from(sorted(STEPS)), min_size=1, max_size=4))
def test_whatever_is_written_the_day_is_that_of_a_fresh_opening(
    tmp_path: Path, demo_book: Path, steps: list[tuple[str, str] | str]
) -> None:
    path = shutil.copyfile(demo_book, tmp_path / "own.book")
    kept = KeptBook(path)
    kept.day()
    for step in steps:
        if isinstance(step, str):
            STEPS[step](path, tmp_path)
        else:
            said(path, *step)
        assert told(kept.day()) == told(open_day(path))
    kept.close()


@pytest.mark.parametrize("name", STEPS)
def test_each_kind_of_change_is_seen(name: str, demo: Path, kept: KeptBook, tmp_path: Path) -> None:
    before = told(kept.day())
    STEPS[name](demo, tmp_path)
    assert told(kept.day()) == told(open_day(demo))
    if name not in {"back", "trait", "shelf", "home"}:  # these change no figure of this garden
        assert told(kept.day()) != before


def test_only_what_was_written_of_is_worked_out_again(demo: Path, kept: KeptBook) -> None:
    before = kept.day()
    assert kept.day() is before
    said(demo, "2R base 9.9", MAPLE)
    after = kept.day()
    same = {a.tree.id: a is b for a, b in zip(after.trees, before.trees, strict=True)}
    assert [tree for tree, kept_one in same.items() if not kept_one] == [MAPLE]
    enter(demo, GardenSet({"hours_week": 3.0, "units": "in"}))
    settled = kept.day()
    assert settled.settings.units == "in"
    assert all(a is b for a, b in zip(settled.trees, after.trees, strict=True))


def test_another_process_is_noticed(demo: Path, kept: KeptBook) -> None:
    before = told(kept.day())
    code = (
        "import sys; from pathlib import Path; from datetime import date\n"
        "from boughwright.usecases.say import Phrase, say\n"
        "say(Path(sys.argv[1]), [Phrase('top wire on 2 al', date(2026, 6, 9), 'gate-hornbeam')])"
    )
    subprocess.run([sys.executable, "-c", code, str(demo)], check=True)
    after = told(kept.day())
    assert after != before
    assert after == told(open_day(demo))


def statements(kept: KeptBook, task: Callable[[], object]) -> list[str]:
    """Return the statements that a task runs on the book that is kept open."""
    ran: list[str] = []
    memory = kept._memory
    assert memory is not None
    memory.reader._connection.set_trace_callback(ran.append)
    task()
    memory.reader._connection.set_trace_callback(None)
    return ran


def test_a_page_asks_the_book_at_most_three_things(demo: Path, kept: KeptBook) -> None:
    kept.day()

    def page() -> None:
        garden = kept.day()
        call_up_of(garden)
        sheet_of(garden, MAPLE)
        kept.records(MAPLE)
        kept.events(MAPLE)

    assert statements(kept, page) == ["PRAGMA data_version"] * 3
    assert statements(kept, kept.day) == ["PRAGMA data_version"]
    said(demo, "2R base 9.9", MAPLE)
    assert len(statements(kept, kept.day)) == 3  # is there news, the news, has the weather changed


def test_records_and_events_are_those_of_the_book(demo: Path, kept: KeptBook) -> None:
    said(demo, "2R cut; trunk 61", MAPLE)
    for place in ("", "2R", "trunk"):
        for facts in (False, True):
            mine = kept.records(MAPLE, place, facts=facts)
            theirs = records(demo, MAPLE, place, facts=facts)
            assert records_shape(mine) == records_shape(theirs)
    assert kept.records(MAPLE, units="in") == records(demo, MAPLE, units="in")
    with Book.open(demo) as book:
        assert list(kept.events(MAPLE)) == book.events(MAPLE)
        assert list(kept.garden_events()) == [e for e in book.events() if e.tree is None]
    assert kept.events("no such tree") == ()
    assert [event.branch for event in kept.last_line(MAPLE)] == ["2r", "2r"]


# --- days -----------------------------------------------------------------------------------------


def test_a_new_day_is_worked_out_by_the_calendar(demo: Path) -> None:
    today = [ON]
    enter(demo, GardenSet({"standing_date": None}))
    kept = KeptBook(demo, lambda: today[0])
    first = kept.day()
    assert first.today == ON
    today[0] = ON + timedelta(days=1)
    second = kept.day()
    assert second.today == today[0]
    assert told(second) == told(open_day(demo, on=today[0]))
    assert len(kept._days) == DAYS_KEPT == 2
    kept.day(ON + timedelta(days=160))
    assert list(kept._days) == [today[0], ON + timedelta(days=160)]
    assert kept.day() is second
    kept.close()


def test_a_garden_with_a_standing_date_keeps_to_it(demo: Path) -> None:
    kept = KeptBook(demo, lambda: date(2031, 1, 1))
    assert kept.day().today == ON
    enter(demo, GardenSet({"standing_date": date(2026, 7, 1)}))
    assert kept.day().today == date(2026, 7, 1)
    kept.close()


# --- threads, and trouble -------------------------------------------------------------------------


def test_many_threads_at_once_work_a_day_out_once(
    demo: Path, kept: KeptBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked: list[str] = []
    work = kept_module.tree_days

    def counted(trees: Any, *rest: Any) -> Any:
        worked.extend(tree.id for tree in trees)
        return work(trees, *rest)

    monkeypatch.setattr(kept_module, "tree_days", counted)
    answers: list[GardenDay] = []
    threads = [threading.Thread(target=lambda: answers.append(kept.day())) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 8
    assert len({id(answer) for answer in answers}) == 1
    assert sorted(worked) == sorted({day.tree.id for day in answers[0].trees})


def test_threads_that_write_and_ask_at_once_end_with_everything(demo: Path, kept: KeptBook) -> None:
    kept.day()
    failed: list[BaseException] = []

    def grower(tree: str) -> None:
        try:
            for number in range(6):
                said(demo, f"top base {9 + number / 10}", tree)
                garden = kept.day()
                measures = garden.tree(tree).tree.measures
                # What a thread has said is in the day it asks for next.
                assert any(m.value == 9 + number / 10 for m in measures)
        except BaseException as error:  # told to the test below
            failed.append(error)

    threads = [threading.Thread(target=grower, args=(t,)) for t in (MAPLE, HORNBEAM, MAPLE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert told(kept.day()) == told(open_day(demo))


def test_a_book_put_back_from_a_copy_is_read_anew(
    demo: Path, kept: KeptBook, tmp_path: Path
) -> None:
    before = told(kept.day())
    backup(demo, tmp_path / "copy.book")
    said(demo, "top wire on 2 al", HORNBEAM)
    assert told(kept.day()) != before
    with kept.let_go():
        restore(tmp_path / "copy.book", demo, force=True)
    assert told(kept.day()) == before


def test_a_book_that_went_away_is_told_and_found_again(demo: Path, kept: KeptBook) -> None:
    before = told(kept.day())
    away = demo.with_name("away.book")
    demo.rename(away)
    with pytest.raises(StoreError, match="no book here"):
        kept.day()
    shutil.copyfile(away, demo)
    assert told(kept.day()) == before


def test_a_record_that_cannot_be_read_is_told_until_it_is_gone(demo: Path, kept: KeptBook) -> None:
    before = kept.day()
    said(demo, "top base 9.9", HORNBEAM)
    with closing(sqlite3.connect(demo)) as outside:
        outside.execute(
            "INSERT INTO event (id, kind, version, tree, on_day, who, recorded, body) VALUES "
            "('01890000-0000-7000-8000-000000000001', 'work', 99, ?, '2026-06-08', '', ?, '{}')",
            (MAPLE, datetime(2026, 6, 8, tzinfo=UTC).isoformat(timespec="microseconds")),
        )
        outside.commit()
    for _ in range(2):
        with pytest.raises(RecordError, match="version 99"):
            kept.day()
    with closing(sqlite3.connect(demo)) as outside:
        outside.execute("DROP TRIGGER event_no_delete")
        outside.execute("DELETE FROM event WHERE version = 99")
        outside.commit()
    after = kept.day()
    assert told(after) == told(open_day(demo))
    assert after.tree(MAPLE) is before.tree(MAPLE)
    assert after.tree(HORNBEAM) is not before.tree(HORNBEAM)
