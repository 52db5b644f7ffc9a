"""Outboxes of devices: each line once, none lost, whatever is sent again, late or cut short."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from usecases_book import NOON, TODAY, Device, all_events, line_of, said_now, standing_now

from boughwright.errors import StoreError, TextError
from boughwright.journal.events import Event, GardenSet, TreeSet, standing
from boughwright.store.book import Book
from boughwright.usecases.lines import (
    MOST_LETTERS,
    LineAnswer,
    SentLine,
    lines_shape,
    take_lines,
)
from boughwright.usecases.records import records

if TYPE_CHECKING:
    from collections.abc import Sequence

LATER = NOON + timedelta(hours=6)


def send(book: Path, lines: Sequence[SentLine], off: timedelta = timedelta()) -> list[LineAnswer]:
    """Send lines from a device whose clock is ``off``; ours is right."""
    return take_lines(book, lines, sent=LATER + off, now=LATER, device="phone")


def texts(book: Path, *said: str, tree: str = "elm") -> list[LineAnswer]:
    device = Device(2)
    for text in said:
        device.say(text, tree)
    return send(book, device.lines)


def test_lines_are_kept_in_the_order_said_and_known_when_sent_again(book: Path) -> None:
    device = Device(1)
    device.say("2R cut", "elm")
    device.say("3B same", "elm")
    device.say("", "elm", withdraws=line_of(1, 1))
    device.say("oak 1L base 9.5")
    first = send(book, device.lines)
    assert [(a.kept, a.known, a.error, a.note) for a in first] == [(True, False, "", "")] * 4
    assert [a.said.receipts for a in first if a.said] == [
        ("2nd right: cut",),
        ("3rd back: cut",),
        ("Taken back: 2nd right: cut",),
        ("1st left: base 9.5 mm",),
    ]
    held = all_events(book)
    again = send(book, device.lines)
    assert [a.known for a in again] == [True] * 4
    assert [a.said for a in again] == [a.said for a in first]
    assert all_events(book) == held
    assert {event.who for event in held} == {"grower", "d1"}


def test_a_bad_line_stops_no_other(book: Path) -> None:
    device = Device(1)
    for text, tree in (
        ("2R cut", "elm"),
        ("   ", "elm"),
        ("2R cut", "yew"),
        ("x" * (MOST_LETTERS + 1), "elm"),
        ("cut", None),
        ("3B cut", "elm"),
    ):
        device.say(text, tree, after=False)
    device.lines.append(replace(device.lines[0], text="2R rub"))
    device.lines.append(SentLine(UUID(int=1), NOON, "1L cut", tree="elm"))
    device.lines.append(SentLine(line_of(40), NOON, "1L cut", line_of(1, 1), "elm"))
    device.lines.append(SentLine(line_of(41), NOON.replace(tzinfo=None), "1L cut", tree="elm"))
    device.say("1L cut", "elm", after=False)
    answers = send(book, device.lines)
    kept = [answer.kept for answer in answers]
    assert kept == [True, False, False, False, False, True, False, False, False, False, True]
    errors = [answer.error for answer in answers]
    for number, words in {
        1: "empty", 2: "no tree is called 'yew'", 3: "letters", 4: "no tree is named",
        6: "kept before", 7: "version 4 or 7", 8: "one of the two", 9: "time zone",
    }.items():  # fmt: skip
        assert words in errors[number]
        assert errors[number].endswith(".")
        assert answers[number].said is None
    assert len(said_now(book)) == 3


def test_a_moment_that_no_calendar_holds_is_refused(book: Path) -> None:
    """0001-01-01T00:00+14:00 lies in the year before the first, by the clock of the world."""
    edge = datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=14)))
    first = SentLine(line_of(1), edge, "2R cut", tree="elm")
    second = SentLine(line_of(2), NOON, "3B cut", tree="elm")
    refused, kept = send(book, [first, second])
    assert not refused.kept
    assert "said in the year 1" in refused.error
    assert kept.kept


def test_an_undo_goes_back_on_its_own_device_only(book: Path) -> None:
    one, two = Device(1), Device(2)
    one.say("2R cut", "elm")
    send(book, one.lines)
    two.say("undo", "elm")
    (answer,) = send(book, two.lines)
    assert answer.said is not None
    assert answer.said.doubts == ("There is nothing to take back.",)
    assert len(said_now(book)) == 1


def test_words_in_any_letters_are_kept_or_refused_plainly(book: Path) -> None:
    answers = texts(book, "2R note <b>höher</b> & \u202e\x00\ud800 naß", "note \U0001f333")
    assert [answer.kept for answer in answers] == [True, True]
    line = SentLine(line_of(9), NOON, "1L cut", tree="elm", who="\ud800\x00 jo " + "x" * 500)
    (answer,) = send(book, [line])
    assert answer.said is not None
    assert answer.said.events[0].who.startswith("jo x")
    assert len(answer.said.events[0].who) == 100


# --- clocks ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("off", "note"),
    [
        (timedelta(), ""),
        (timedelta(seconds=119), ""),
        (timedelta(seconds=-119), ""),
        (timedelta(minutes=3), "3 min fast"),
        (timedelta(days=1, hours=2), "1 d 2 h fast"),
        (timedelta(days=-1), "1 d slow"),
        (timedelta(days=-4000), "4000 d slow"),
    ],
)
def test_a_clock_that_is_wrong_is_put_right_and_told(book: Path, off: timedelta, note: str) -> None:
    device = Device(1, clock=off)
    device.say("2R cut", "elm")
    device.say("3B cut", "elm")
    answers = send(book, device.lines, off)
    for number, answer in enumerate(answers, 1):
        assert answer.said is not None
        (event,) = answer.said.events
        assert event.on == TODAY
        assert note in answer.note
        assert bool(answer.note) is bool(note)
        # Said that many minutes and one second after noon; a small error of the clock is let be.
        true = NOON + timedelta(minutes=number, seconds=1)
        assert event.recorded == (true if note else true + off)


def test_the_day_is_that_of_the_place_where_it_was_said(book: Path) -> None:
    east = timezone(timedelta(hours=10))
    # 9 June 23:30 ten hours east of Greenwich is 13:30 of the same day there; half an hour on it
    # is 10 June at the bench.
    for number, (said, day) in enumerate(
        [
            (datetime(2026, 6, 9, 23, 30, tzinfo=east), date(2026, 6, 9)),
            (datetime(2026, 6, 10, 0, 30, tzinfo=east), date(2026, 6, 10)),
        ]
    ):
        line = SentLine(line_of(number, 1), said, "2R cut", tree="elm")
        (answer,) = send(book, [line])
        assert answer.said is not None
        assert [event.on for event in answer.said.events] == [day]
        assert [event.recorded for event in answer.said.events] == [said.astimezone(UTC)]


def test_nothing_is_said_in_the_future(book: Path) -> None:
    ahead = SentLine(line_of(1), LATER + timedelta(days=3), "2R cut", tree="elm")
    edge = SentLine(line_of(2), datetime.max.replace(tzinfo=UTC), "3B cut", tree="elm")
    for line, off in ((ahead, timedelta()), (edge, timedelta()), (edge, timedelta(days=-9))):
        (answer,) = send(book, [line], off)
        if answer.kept:
            assert answer.said is not None
            assert {event.recorded for event in answer.said.events} == {LATER}
            assert {event.on for event in answer.said.events} == {LATER.date()}
        else:
            assert "9999" in answer.error
    with pytest.raises(TextError, match="time zone"):
        take_lines(book, [], sent=LATER.replace(tzinfo=None), now=LATER, device="phone")


def test_a_garden_with_a_standing_date_keeps_to_it(book: Path) -> None:
    standing_date = date(2026, 7, 20)
    with Book.open(book) as opened:
        opened.append([Event(GardenSet({"standing_date": standing_date}), date(2026, 5, 1))])
    (answer,) = texts(book, "2R cut")
    assert answer.said is not None
    assert [event.on for event in answer.said.events] == [standing_date]


# --- two devices, lost answers, kills -------------------------------------------------------------


TEXTS = st.sampled_from(
    ["2R cut", "3B base 9.5", "1L spots few; 2R spots few", "same 3B", "undo", "not 2R", "cut",
     "same", "apex leaf thin some", "2R wire on 2 al tight", "2R wire off bite 2", "what is this",
     "that was yesterday", "all cut except 1L", "oak 2R rub", " "]
)  # fmt: skip
SAID = st.tuples(TEXTS, st.sampled_from(["elm", "oak", "yew"]))
STEPS = st.lists(SAID | st.integers(1, 6), min_size=1, max_size=7)


def filled(number: int, steps: list[tuple[str, str] | int], clock: timedelta) -> Device:
    """Return a device on which lines were said and, for a number, the line of it taken back.

    The numbered line may be said only later, or never.
    """
    device = Device(number, clock)
    for step in steps:
        if isinstance(step, int):
            device.say(withdraws=line_of(step, number))
        else:
            device.say(*step)
    return device


def content(events: list[Event]) -> list[tuple[object, ...]]:
    return [(e.id, e.body, e.on, e.tree, e.branch, e.who, e.recorded) for e in events]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS, STEPS, st.randoms(use_true_random=False))
def test_any_mixing_of_two_outboxes_with_lost_answers_ends_alike(
    tmp_path: Path,
    two_trees: Path,
    first: list[tuple[str, str] | int],
    second: list[tuple[str, str] | int],
    draw: random.Random,
) -> None:
    off = timedelta(days=1)
    devices = [filled(1, first, timedelta()), filled(2, second, off)]
    plain, mixed = tmp_path / "plain.book", tmp_path / "mixed.book"
    for path in (plain, mixed):
        shutil.copyfile(two_trees, path)
    heard = {answer.id: answer for d in devices for answer in send(plain, d.lines, d.clock)}

    # Each device sends a run of lines that ends anywhere; when the answer is lost it begins again
    # where it stood. A line refused stays refused, and stops no other.
    done = [0, 0]
    while any(done[i] < len(d.lines) for i, d in enumerate(devices)):
        i = draw.choice([i for i, d in enumerate(devices) if done[i] < len(d.lines)])
        end = draw.randint(done[i] + 1, len(devices[i].lines))
        answers = send(mixed, devices[i].lines[done[i] : end], devices[i].clock)
        for line, answer in zip(devices[i].lines[done[i] : end], answers, strict=True):
            assert (answer.kept, answer.error) == (heard[line.id].kept, heard[line.id].error)
            assert answer.said == heard[line.id].said
        if draw.random() < 0.6:
            done[i] = end
    assert content(standing_now(mixed)) == content(standing_now(plain))
    ids = [event.id for event in all_events(mixed)]
    assert sorted(ids) == sorted(set(ids)) == sorted(event.id for event in all_events(plain))


SENDER = """
import sys
from datetime import timedelta
from pathlib import Path
sys.path.insert(0, sys.argv[3])
from test_usecases_lines import long_outbox, send

print("ready", flush=True)
for answer in send(Path(sys.argv[1]), long_outbox(int(sys.argv[2]))):
    assert answer.kept
print("done", flush=True)
"""
"""Sends one outbox, in one batch."""


def long_outbox(number: int) -> list[SentLine]:
    """Return 60 lines that lean on each other."""
    device = Device(number)
    for step in range(1, 16):
        device.say(f"2R base {10 + step / 100 + number:.2f}; 3B bite {step % 3}", "elm")
        device.say("1L same", "elm")
        device.say("undo" if step % 3 else "oak 2R cut", "elm" if step % 3 else None)
        device.say(withdraws=line_of(4 * step - 2, number))
    return device.lines


@pytest.mark.skipif(sys.platform == "win32", reason="a process is killed the POSIX way here")
def test_a_server_killed_in_the_middle_of_a_batch_loses_nothing(
    tmp_path: Path, two_trees: Path
) -> None:
    plain, killed = tmp_path / "plain.book", tmp_path / "killed.book"
    for path in (plain, killed):
        shutil.copyfile(two_trees, path)
    for number in (1, 2):
        assert all(answer.kept for answer in send(plain, long_outbox(number)))
    draw, here = random.Random(20260609), str(Path(__file__).parent)
    cut_short, rounds = 0, 0
    while cut_short < 4 and rounds < 12:
        before = len(all_events(killed))
        with subprocess.Popen(
            [sys.executable, "-c", SENDER, str(killed), str(1 + rounds % 2), here],
            stdout=subprocess.PIPE, text=True,
        ) as process:  # fmt: skip
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            while process.poll() is None and len(all_events(killed)) == before:
                time.sleep(0.002)
            time.sleep(draw.uniform(0, 0.15))
            process.kill()
            cut_short += "done" not in process.stdout.read()
        rounds += 1
    # The kills fell in the middle of a batch.
    assert cut_short >= 2
    for number in (2, 1):
        assert all(answer.kept for answer in send(killed, long_outbox(number)))
    assert content(standing_now(killed)) == content(standing_now(plain))
    ids = [event.id for event in all_events(killed)]
    assert sorted(ids) == sorted(event.id for event in all_events(plain))


def test_the_same_outbox_sent_twice_at_once_is_kept_once(tmp_path: Path, two_trees: Path) -> None:
    plain, both = tmp_path / "plain.book", tmp_path / "both.book"
    for path in (plain, both):
        shutil.copyfile(two_trees, path)
    send(plain, long_outbox(1))
    command = [sys.executable, "-c", SENDER, str(both), "1", str(Path(__file__).parent)]
    senders = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    for sender in senders:
        told, _ = sender.communicate()
        assert (told, sender.returncode) == ("ready\ndone\n", 0)
    assert content(all_events(both)) == content(all_events(plain))


def test_a_tree_that_went_while_a_device_logged_to_it_keeps_its_lines(book: Path) -> None:
    with Book.open(book) as opened:
        opened.append([Event(TreeSet({"gone_on": TODAY}), TODAY, "elm")])
    (answer,) = texts(book, "2R cut")
    assert answer.kept
    kept = [e for e in standing(all_events(book)) if e.branch == "2r" and e.who == "d2"]
    assert len(kept) == 1
    with pytest.raises(Exception, match="no tree is called"):
        records(book, "elm")


def test_a_book_that_cannot_be_written_is_no_line_s_fault(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no book here"):
        send(tmp_path / "none.book", [SentLine(line_of(1), NOON, "2R cut", tree="elm")])


def test_the_shape_says_what_became_of_each_line(book: Path) -> None:
    device = Device(1)
    device.say("2R cut fnord", "elm")
    device.say("2R cut", "yew")
    told = json.loads(json.dumps(lines_shape(send(book, device.lines))))
    assert (told["shape"], told["version"]) == ("boughwright/lines", 1)
    kept, refused = told["lines"]
    assert (kept["id"], kept["kept"], kept["known"]) == (str(line_of(1, 1)), True, False)
    assert (kept["tree"], kept["on"], kept["unread"]) == ("Elm", "2026-06-09", ["fnord"])
    assert len(kept["records"]) == len(kept["receipts"]) == 2
    assert (refused["kept"], refused["tree"], refused["records"]) == (False, None, [])
    assert "no tree is called 'yew'" in refused["error"]
