"""Kill a writer at many moments: nothing acknowledged is lost, nothing is half written.

A kill of the process stands for a crash of the program. The loss of power also needs the disk to
keep what it was told to sync; that part is SQLite's ``synchronous = FULL``, checked in
``test_store_book.py``.
"""

from __future__ import annotations

import multiprocessing
import random
import shutil
import sqlite3
import sys
import time
from collections import Counter
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
import store_writers
from store_help import days, notes

from boughwright.journal.events import standing
from boughwright.store import faults, migrate
from boughwright.store.backup import holds
from boughwright.store.book import Book
from boughwright.store.reader import Reader

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="a process is started and killed the POSIX way here"
)

STORE = "boughwright.store.book"


@pytest.fixture(scope="module")
def start() -> Callable[..., Any]:
    """Return a function that starts a process which has everything imported already."""
    context = multiprocessing.get_context("forkserver")
    # The server does not search the folder of the tests, so name what is slow to import.
    context.set_forkserver_preload(["__main__", "boughwright.store.migrate", STORE])

    def begin(task: Callable[..., None], *values: object) -> Any:
        process = context.Process(target=task, args=values, daemon=True)
        process.start()
        return process

    return begin


def heard(path: Path) -> list[str]:
    """Return the whole lines a killed process had time to write."""
    return path.read_text().splitlines() if path.exists() else []


def wait_for(ready: Callable[[], bool], process: Any) -> None:
    while not ready() and process.is_alive():
        time.sleep(0.001)


def kill(process: Any, after_s: float = 0.0) -> None:
    time.sleep(after_s)
    process.kill()
    process.join()
    # Minus 9: it was killed, it did not end by itself.
    assert process.exitcode == -9


def check_whole(path: Path, acknowledged: Path) -> int:
    """Check the book after a kill; return how many events it holds."""
    words = {word for word in heard(acknowledged) if not word.startswith("open")}
    assert holds(path).events >= len(words)
    with Reader.open(path) as reader:
        events = reader.events()
    assert words <= {str(event.id) for event in events}
    for batch, count in Counter(event.who for event in events).items():
        assert count == int(batch.rpartition("/")[2]), f"batch {batch} is not whole"
    return len(events)


def test_forty_kills_at_random_moments(tmp_path: Path, start: Callable[..., Any]) -> None:
    path, acknowledged = tmp_path / "garden.book", tmp_path / "heard"
    rng = random.Random(20260609)
    held = 0
    for round_ in range(40):
        process = start(store_writers.append_for_ever, str(path), str(acknowledged), round_)
        wait_for(lambda word=f"open {round_}": word in heard(acknowledged), process)
        kill(process, rng.uniform(0.0, 0.06))
        now = check_whole(path, acknowledged)
        assert now >= held
        held = now
    # The kills fell among real work, not before it.
    assert held > 400


def test_kills_while_the_book_is_being_made(tmp_path: Path, start: Callable[..., Any]) -> None:
    rng = random.Random(1)
    early = 0
    for round_ in range(12):
        path, acknowledged = tmp_path / f"{round_}.book", tmp_path / f"heard {round_}"
        process = start(store_writers.append_for_ever, str(path), str(acknowledged), round_)
        wait_for(path.exists, process)
        kill(process, rng.uniform(0.0, 0.04))
        early += not heard(acknowledged)
        with Book.open(path, create=True) as book:
            book.append(notes(1, who="1/1/1"))
        check_whole(path, acknowledged)
    assert early > 0


def test_kills_inside_one_transaction(tmp_path: Path, start: Callable[..., Any]) -> None:
    path, acknowledged = tmp_path / "garden.book", tmp_path / "heard"
    Book.open(path, create=True).close()
    for round_, instructions in enumerate((1, 40, 150, 400, 700, 1000, 1300, 1600, 2000, 5000)):
        process = start(
            store_writers.append_and_die, str(path), str(acknowledged), round_, instructions
        )
        process.join()
        assert process.exitcode == -9
        check_whole(path, acknowledged)


def test_kills_during_a_weather_import(tmp_path: Path, start: Callable[..., Any]) -> None:
    path, acknowledged = tmp_path / "garden.book", tmp_path / "heard"
    with Book.open(path, create=True) as book:
        book.put_weather("home", days(store_writers.date(2020, 1, 1), [-1.0] * 600))
    rng = random.Random(2)
    for round_ in range(8):
        process = start(store_writers.import_for_ever, str(path), str(acknowledged), round_)
        wait_for(lambda word=f"open {round_}": word in heard(acknowledged), process)
        kill(process, rng.uniform(0.02, 0.12))
        assert holds(path).weather_days == 600
        with Reader.open(path) as reader:
            weather = reader.weather("home")
        assert weather is not None
        (value,) = set(weather.t_min_c)
        told = [float(word) for word in heard(acknowledged) if not word.startswith("open")]
        assert value >= max(told, default=-1.0)


def test_kills_during_a_backup(tmp_path: Path, start: Callable[..., Any]) -> None:
    path, target = tmp_path / "garden.book", tmp_path / "copy.book"
    with Book.open(path, create=True) as book:
        book.append(notes(4000))
    rng = random.Random(3)
    halves = 0
    for round_ in range(8):
        acknowledged = tmp_path / f"heard {round_}"
        process = start(store_writers.back_up_for_ever, str(path), str(target), str(acknowledged))
        wait_for(lambda told=acknowledged: bool(heard(told)), process)
        kill(process, rng.uniform(0.0, 0.1))
        # A whole backup is never given up for half a one; the book itself is untouched.
        assert holds(target).events == holds(path).events == 4000
        halves += len(list(tmp_path.glob("*.part")))
    # Some of the kills fell while a copy was half made.
    assert halves > 0


def test_kills_while_an_older_book_is_brought_up_to_date(
    tmp_path: Path, start: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, old = tmp_path / "migrations", tmp_path / "old.book"
    shutil.copytree(migrate.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "later.py").write_text(store_writers.SLOW_STEP)
    with Book.open(old, create=True) as book:
        book.append(notes(500))
    monkeypatch.setattr(migrate, "MIGRATIONS", folder)
    monkeypatch.setattr(faults, "REVISIONS", ("0001", "0002", "0003"))
    rng = random.Random(4)
    seen = Counter[str]()
    for round_ in range(10):
        path, acknowledged = tmp_path / f"{round_}.book", tmp_path / f"heard {round_}"
        shutil.copy(old, path)
        values = (str(path), str(folder), str(acknowledged))
        process = start(store_writers.bring_up_to_date, *values)
        wait_for(lambda told=acknowledged: "open" in heard(told), process)
        time.sleep(rng.uniform(0.0, 0.25))
        process.kill()
        process.join()
        held = holds(path)
        seen[held.revision] += 1
        assert held.events == 500
        assert held.revision == "0003" or "done" not in heard(acknowledged)
        with closing(sqlite3.connect(path)) as connection:
            columns = [row[1] for row in connection.execute("PRAGMA table_info(event)")]
            (later,) = connection.execute(
                "SELECT count(*) FROM sqlite_master WHERE name = 'later'"
            ).fetchone()
        assert ("later" in columns) == (later == 1) == (held.revision == "0003")
        # Taken up again, it ends where it should, and every copy beside it is whole.
        Book.open(path).close()
        assert holds(path).revision == "0003"
        for copy in tmp_path.glob(f"{round_}.book.before-upgrade-0002*"):
            if ".part" not in copy.name:
                assert holds(copy).events == 500
    assert seen["0002"] > 0


def test_two_writers_at_once_both_succeed(tmp_path: Path, start: Callable[..., Any]) -> None:
    path = tmp_path / "garden.book"
    Book.open(path, create=True).close()
    shared, one, two = notes(60, who="both"), notes(120, who="one"), notes(120, who="two")
    first, second = [*one, *shared], [*shared, *two]
    random.Random(5).shuffle(first)
    writers = [
        start(store_writers.append_all, str(path), events, size)
        for events, size in ((first, 3), (second, 7))
    ]
    for writer in writers:
        writer.join()
        assert writer.exitcode == 0
    assert holds(path).events == 300
    with Reader.open(path) as reader:
        merged = reader.events()
    assert standing(merged) == standing(first + second) == standing(second + first)
