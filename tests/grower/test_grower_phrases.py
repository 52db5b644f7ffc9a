"""Lines said at the bench: none is lost, two phones agree, and what was not done does not count."""

from __future__ import annotations

import shutil
import subprocess
import sys
from datetime import date
from typing import TYPE_CHECKING

import pytest
from grower_garden import Grower, by_name, copy_book

from boughwright.journal.terms import Sign, Vigour, Work
from boughwright.usecases.day import open_day
from boughwright.usecases.folder import load, save

if TYPE_CHECKING:
    from pathlib import Path

SPEAKER = """
import sys
from datetime import date
from pathlib import Path
from boughwright.usecases.say import Phrase, say

path = Path(sys.argv[1])
for number in range(100_000):
    base = 10 + number / 1000
    said = say(path, [Phrase(f"1L base {base:.3f}; 2R bite {number % 3}", date(2026, 6, 9),
                             tree="elm", who=sys.argv[2])])
    print(*(event.id for one in said for event in one.events), flush=True)
"""
"""Says line after line, each by itself, and acknowledges it when `say` has returned."""


@pytest.mark.skipif(sys.platform == "win32", reason="a process is killed the POSIX way here")
def test_pulling_the_plug_loses_no_acknowledged_line(grower: Grower) -> None:
    grower.plant("elm", "Ulmus parvifolia", {"1L": {"height_mm": 60.0}, "2R": {"height_mm": 90.0}})
    grower.say("2R wire on 1.5 al", date(2026, 5, 4), "elm")
    acknowledged: set[str] = set()
    for round_, lines in enumerate((1, 7, 23)):
        with subprocess.Popen(
            [sys.executable, "-c", SPEAKER, str(grower.path), f"phone {round_}"],
            stdout=subprocess.PIPE, text=True,
        ) as process:  # fmt: skip
            assert process.stdout is not None
            for _ in range(lines):
                acknowledged |= set(process.stdout.readline().split())
            process.kill()
            # What it still printed before it died was on the disk by then too; the last line may
            # have been cut short by the kill.
            rest = process.stdout.read()
            acknowledged |= set(rest[: rest.rfind("\n") + 1].split())
        assert process.returncode == -9
        held = grower.events()
        assert acknowledged <= {str(event.id) for event in held}
        # No line is half there: each makes two events of one moment.
        spoken = [event for event in held if event.who.startswith("phone")]
        assert len(spoken) == 2 * len({event.recorded for event in spoken})
    assert len(acknowledged) >= 2 * (1 + 7 + 23)
    grower.say("1L ok", tree="elm")  # and the next line goes in


# --- two phones ---------------------------------------------------------------------------------


def _merged(folders: list[Path], path: Path, weather: Path) -> Grower:
    copy_book(weather, path)
    for folder in folders:
        load(path, folder, on_bad="refuse")
    return Grower(path)


def test_two_phones_merged_in_either_order_make_one_call_up(
    grower: Grower, bare_book: Path, tmp_path: Path
) -> None:
    grower.plant(
        "elm", "Ulmus parvifolia",
        {"1L": {"height_mm": 60.0, "trunk": 38.0, "base": 12.0, "node": 20.0, "room": 80.0},
         "2R": {"height_mm": 150.0, "trunk": 30.0, "base": 8.0},
         "3L": {"height_mm": 250.0, "trunk": 22.0, "base": 5.0}},
        phase="ramification", height_mm=310.0,
    )  # fmt: skip
    grower.say("strong; hard", date(2026, 6, 1), "elm")
    grower.say("1L wire on 1.0 al", date(2026, 5, 4), "elm")
    phones = []
    for name in ("left", "right"):
        phones.append(Grower(copy_book(grower.path, tmp_path / f"{name}.book")))
    left, right = phones
    left.say("1L bite 3", date(2026, 6, 8), "elm", who="grower")
    left.say("2R base 8.6", date(2026, 6, 8), "elm", who="grower")
    left.say("2R spots some", date(2026, 6, 8), "elm", who="grower")
    left.say("undo", date(2026, 6, 8), "elm", who="grower")
    right.say("2R base 8.7; 3L base 5.3", date(2026, 6, 8), "elm", who="pupil")
    right.say("3.5R graft in from 3L", date(2026, 6, 9), "elm", who="pupil")
    right.say("low leaf thin some", date(2026, 6, 9), "elm", who="pupil")
    folders = []
    for phone in phones:
        folder = tmp_path / f"{phone.path.stem}-out"
        save(phone.path, folder)
        folders.append(folder)

    one = _merged(folders, tmp_path / "one.book", bare_book)
    other = _merged(folders[::-1], tmp_path / "other.book", bare_book)
    key = {event.id for phone in phones for event in phone.events()}
    assert {event.id for event in one.events()} >= key
    assert {event.id for event in one.events()} == {event.id for event in other.events()}
    assert one.call_up() == other.call_up()
    assert repr(one.day()) == repr(other.day())
    # Merged twice, nothing counts twice.
    load(one.path, folders[0], on_bad="refuse")
    assert one.call_up() == other.call_up()
    # What each phone said is in it, and the line taken back is not.
    found = by_name(one.tree_day("elm"))
    assert found["2R"][0].base_mm == pytest.approx(8.65)  # mean of two readings of one day
    assert found["1L"][0].wire is not None
    assert found["1L"][0].wire.seen_grade == 3
    assert "3.5Rg" in found
    assert one.tree_day("elm").facts.disease == {}
    shutil.rmtree(folders[0])


# --- not done, not there ------------------------------------------------------------------------


@pytest.fixture
def maple(grower: Grower) -> Grower:
    grower.plant(
        "maple", "Acer palmatum",
        {"1L": {"height_mm": 60.0, "trunk": 40.0, "base": 10.0, "clock": 9.0},
         "2R": {"height_mm": 300.0, "trunk": 30.0, "base": 8.0, "clock": 3.0},
         "2.5Lg": {"kind": "graft", "height_mm": 200.0, "clock": 9.0,
                   "grafted_on": date(2025, 6, 1), "weaned": False}},
        height_mm=440.0, phase="ramification",
    )  # fmt: skip
    return grower


@pytest.mark.parametrize(
    "phrase",
    ["low leaf thin none", "1L cut none", "repot none", "feed none", "1L wire off none",
     "2.5Lg sever none", "1L wire on none", "pinch none"],
)  # fmt: skip
def test_a_work_of_none_is_on_record_and_does_not_count_as_done(maple: Grower, phrase: str) -> None:
    maple.say("2R wire on 1.5 al", date(2026, 5, 4), "maple")
    maple.say("1L wire on 1.5 al", date(2026, 5, 4), "maple")
    was = maple.tree_day("maple")
    count = len(maple.events())
    said = maple.say(phrase, tree="maple")
    now = maple.tree_day("maple")
    assert len(maple.events()) == count + 1
    assert said.receipts
    assert repr(was.tree.branches) == repr(now.tree.branches)
    assert was.tree.works == now.tree.works
    assert repr(was.tree.wires) == repr(now.tree.wires)
    assert now.tree.contradictions == ()
    assert was.facts == now.facts


def test_a_promise_is_not_carried_out_by_a_cut_that_was_not_made(maple: Grower) -> None:
    maple.say("2R will cut past later", date(2026, 5, 4), "maple")
    maple.say("2R cut none", tree="maple")
    assert len(maple.tree_day("maple").tree.promises) == 1
    maple.say("2R cut past node 1", tree="maple")
    assert maple.tree_day("maple").tree.promises == ()


def _signs(grower: Grower, place: str) -> set[str]:
    day = grower.tree_day("maple")
    return set(day.facts.disease) if not place else set(by_name(day)[place][0].signs)


@pytest.mark.parametrize(
    ("seen", "better", "left"),
    [
        ("spots some", "no spots", False),  # the same place
        ("low left spots some", "low left spots none", False),
        ("low left spots some", "low spots none", False),  # a zone holds its parts
        ("low left spots some", "spots none", False),  # the tree holds all
        ("1L spots some", "1L spots none", False),
        ("1L spots some", "low spots none", False),
        ("1L spots some", "spots none", False),
        ("1L spots some", "2R spots none", True),  # another place says nothing of it
        ("1L spots some", "mid spots none", True),
        ("low left spots some", "apex spots none", True),
        ("low spots some", "low left spots none", True),  # a part does not stand for the whole
        ("spots some", "apex spots none", True),
        ("spots some", "1L spots none", True),
        ("spots some", "mildew none", True),  # another sign
        ("spots some", "apex ok", True),
        ("spots some", "ok", False),
    ],
)
def test_a_sign_sought_and_not_found_is_cleared_at_its_place(
    maple: Grower, seen: str, better: str, left: bool
) -> None:
    maple.say(seen, date(2026, 6, 1), "maple")
    assert _signs(maple, "") == {"spots"}
    maple.say(better, date(2026, 6, 8), "maple")
    assert _signs(maple, "") == ({"spots"} if left else set())
    # The day before the better look it was still there.
    assert set(maple.tree_day("maple", date(2026, 6, 7)).facts.disease) == {"spots"}


def test_strength_is_unknown_again_when_its_word_is_taken_back(maple: Grower) -> None:
    maple.say("weak; 1L weak; 2R strong", date(2026, 6, 1), "maple")
    assert maple.tree_day("maple").facts.vigour is Vigour.WEAK
    maple.say("weak none; 1L weak none; 2R weak none", date(2026, 6, 8), "maple")
    day = maple.tree_day("maple")
    assert day.facts.vigour is None
    assert by_name(day)["1L"][0].vigour is None
    assert by_name(day)["2R"][0].vigour is Vigour.STRONG  # nobody said that it was weak


def test_looked_for_and_not_there_is_known(maple: Grower) -> None:
    assert by_name(maple.tree_day("maple"))["2.5Lg"][0].union_gap is None
    maple.say("2.5Lg no gap", date(2026, 6, 7), "maple")
    assert by_name(maple.tree_day("maple"))["2.5Lg"][0].union_gap is False
    maple.say("2.5Lg gap", date(2026, 6, 8), "maple")
    assert by_name(maple.tree_day("maple"))["2.5Lg"][0].union_gap is True


def test_no_bite_is_a_look_that_found_none(maple: Grower) -> None:
    maple.say("1L wire on 1.5 al", date(2026, 5, 4), "maple")
    maple.say("1L no bite", date(2026, 6, 8), "maple")
    day = maple.tree_day("maple")
    (wire,) = day.tree.wires
    assert wire.looks == ((date(2026, 6, 8), 1),)
    maple.say("2R no bite", date(2026, 6, 8), "maple")  # no wire, no bite: nothing wrong
    assert maple.tree_day("maple").tree.contradictions == ()


def test_a_stage_sought_too_early_is_not_that_stage(maple: Grower) -> None:
    maple.say("burst", date(2025, 4, 9), "maple")
    never = open_day(maple.path, on=date(2026, 4, 1)).trees[0].calendar
    maple.say("burst none", date(2026, 3, 20), "maple")
    now = open_day(maple.path, on=date(2026, 4, 1)).trees[0]
    assert now.calendar.starts == never.starts
    assert {one.sign for one in now.tree.seen} == {Sign.BURST}
    maple.say("burst", date(2026, 3, 30), "maple")
    seen = open_day(maple.path, on=date(2026, 4, 1)).trees[0].calendar
    assert seen.starts != never.starts


def test_a_dead_branch_that_is_not_is_alive_again(maple: Grower) -> None:
    maple.say("1L dead", date(2026, 6, 1), "maple")
    assert "1L" not in by_name(maple.tree_day("maple"))
    maple.say("1L dead none", date(2026, 6, 8), "maple")
    assert "1L" in by_name(maple.tree_day("maple"))


def test_every_work_may_be_denied(maple: Grower) -> None:
    for work in Work:
        said = maple.try_to_say(f"1L {work.value} none", tree="maple")
        assert said.events, work
    assert maple.tree_day("maple").tree.works == ()
