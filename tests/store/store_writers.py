"""What the processes do that the crash tests kill. Each notes what it was told is written."""

from __future__ import annotations

import os
import random
import signal
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import event as hooks
from store_help import days, notes

from boughwright.store import faults, migrate
from boughwright.store.backup import backup
from boughwright.store.book import Book

if TYPE_CHECKING:
    from boughwright.journal.events import Event

SLOW_STEP = '''"""A later layout, in many small steps."""

from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.execute("CREATE TABLE later (n INTEGER) STRICT")
    for n in range(300):
        op.execute(f"INSERT INTO later VALUES ({n})")
    op.execute("ALTER TABLE event ADD COLUMN later TEXT")
'''


class Acknowledged:
    """A file that is added to with one system call a line: what is in it survives a kill."""

    def __init__(self, path: str) -> None:
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT)

    def say(self, *words: object) -> None:
        os.write(self._file, " ".join(str(word) for word in words).encode() + b"\n")


def append_for_ever(path: str, acknowledged: str, seed: int) -> None:
    """Append batches of 1 to 40 events without end; each event says how large its batch is."""
    rng = random.Random(seed)
    heard = Acknowledged(acknowledged)
    with Book.open(path, create=True) as book:
        heard.say("open", seed)
        for number in range(1_000_000):
            size = rng.randint(1, 40)
            batch = notes(size, who=f"{seed}/{number}/{size}")
            book.append(batch)
            for event in batch:
                heard.say(event.id)


def append_and_die(path: str, acknowledged: str, seed: int, instructions: int) -> None:
    """Append batches, and die after so many of SQLite's own instructions within one of them."""
    heard = Acknowledged(acknowledged)
    left = instructions

    def step() -> int:
        nonlocal left
        left -= 1
        if left <= 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0

    with Book.open(path) as book:

        @hooks.listens_for(book._engine, "checkout")
        def _watch(connection: Any, *_rest: Any) -> None:
            connection.set_progress_handler(step, 1)

        for number in range(1_000_000):
            batch = notes(25, who=f"{seed}/{number}/25")
            book.append(batch)
            for event in batch:
                heard.say(event.id)


def import_for_ever(path: str, acknowledged: str, seed: int) -> None:
    """Import the same 600 days again and again, each time one degree warmer in all of them."""
    heard = Acknowledged(acknowledged)
    with Book.open(path) as book:
        heard.say("open", seed)
        for number in range(1, 1_000_000):
            warmth = seed * 1e3 + number / 1e3
            book.put_weather("home", days(date(2020, 1, 1), [warmth] * 600))
            heard.say(warmth)


def back_up_for_ever(path: str, target: str, acknowledged: str) -> None:
    """Back the book up over the same file without end."""
    heard = Acknowledged(acknowledged)
    for number in range(1_000_000):
        heard.say(backup(path, target, force=True).events, number)


def bring_up_to_date(path: str, migrations: str, acknowledged: str) -> None:
    """Open a book with a program that has one more layout."""
    heard = Acknowledged(acknowledged)
    migrate.MIGRATIONS = Path(migrations)
    faults.REVISIONS = ("0001", "0002", "0003")  # type: ignore[assignment]
    heard.say("open")
    Book.open(path).close()
    heard.say("done")


def append_all(path: str, events: list[Event], size: int) -> None:
    """Append these events in batches of ``size``."""
    with Book.open(path) as book:
        for start in range(0, len(events), size):
            book.append(events[start : start + size])
