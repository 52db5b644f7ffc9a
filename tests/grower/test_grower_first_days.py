"""A new grower's first days: short tree names, tables in the morning, faults, changes later."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import pytest

from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.intake.folder import read_folder
from boughwright.journal.events import BranchSet, Measured, TreeSet
from boughwright.usecases.call_up import call_up_for
from boughwright.usecases.doubts import doubts
from boughwright.usecases.folder import load
from boughwright.usecases.records import records
from boughwright.usecases.say import Phrase, Said, say, withdraw
from boughwright.usecases.weather import load_weather

if TYPE_CHECKING:
    from pathlib import Path

ON = date(2026, 6, 9)
MORNING = datetime(2026, 6, 9, 7, tzinfo=UTC)

FOLDER = {
    "places.csv": "name,latitude\nHome,51.5\n",
    "trees.csv": "name,species,vigour,phase,on\n"
    "Crab,Acer campestre,strong,ramification,2026-06-01\n"
    "Old maple,Acer palmatum,strong,ramification,2026-06-01\n",
    "branches.csv": "tree,name,base_mm,trunk_mm,on\n"
    "Crab,1L,9,30,2026-06-01\nCrab,2R,8,28,2026-06-01\nOld maple,1L,7,30,2026-06-01\n",
}


def folder_of(path: Path, **files: str) -> Path:
    path.mkdir()
    for name, text in files.items():
        (path / name).write_text(text, "utf-8")
    return path


@pytest.fixture(name="book")
def _book(tmp_path: Path) -> Path:
    book = tmp_path / "own.book"
    load(book, folder_of(tmp_path / "garden", **FOLDER), now=MORNING, on=ON)
    return book


def told(book: Path, text: str, *, minute: int = 1, units: str | None = None) -> Said:
    now = MORNING.replace(minute=minute)
    return say(book, [Phrase(text, ON, now=now, units=units)])[0]


def test_a_tree_of_one_word_is_called_by_its_name(book: Path) -> None:
    """Its key, made from the name, differs from it in capitals only."""
    said = told(book, "crab first leaf")
    assert (said.tree, said.unread, said.doubts) == ("Crab", (), ())


def test_a_line_without_a_tree_is_not_put_on_the_last_row_of_a_table(book: Path) -> None:
    with pytest.raises(UnknownNameError, match="no tree is named"):
        told(book, "first leaf")
    told(book, "crab swell")
    assert told(book, "first leaf", minute=2).tree == "Crab"


def test_what_is_said_on_the_morning_of_loading_is_what_undo_takes_back(book: Path) -> None:
    told(book, "crab 2R base 8.4")
    assert told(book, "undo", minute=2).receipts == ("Taken back: 2nd right: base 8.4 mm",)


def test_undo_takes_no_row_of_a_table_back(book: Path) -> None:
    said = told(book, "crab undo")
    assert (said.events, said.doubts) == ((), ("There is nothing to take back.",))


def test_with_one_tree_only_it_need_not_be_named(tmp_path: Path) -> None:
    only = {**FOLDER, "branches.csv": "name,base_mm\n1L,9\n"}
    only["trees.csv"] = "name,species\nCrab,Acer campestre\n"
    book = tmp_path / "one.book"
    load(book, folder_of(tmp_path / "one", **only), now=MORNING, on=ON)
    assert told(book, "1L base 9.2").receipts == ("1st left: base 9.2 mm",)


def test_same_with_nothing_before_says_so(book: Path) -> None:
    said = told(book, "crab same")
    assert said.events == ()
    assert len(said.doubts) == 1


def test_a_receipt_is_in_the_unit_of_the_screen(book: Path) -> None:
    """0.50 in is 12.7 mm."""
    assert told(book, "crab 1L base 12.7", units="in").receipts == ("1st left: base 0.50 in",)


def test_a_bad_day_costs_the_measures_of_a_row_and_not_the_thing(tmp_path: Path) -> None:
    files = {name: text.replace("Crab,Acer campestre,strong,ramification,2026-06-01",
                                "Crab,Acer campestre,strong,ramification,2026-02-31")
             for name, text in FOLDER.items()}  # fmt: skip
    files["branches.csv"] = files["branches.csv"].replace("8,28,2026-06-01", "8,28,2027-06-01")
    path = folder_of(tmp_path / "bad", **files)
    read = read_folder(path, on_bad="skip", now=MORNING, who="me")
    assert [(p.file, p.row, p.column) for p in read.refused] == [
        ("trees.csv", 2, "on"), ("branches.csv", 3, "on")
    ]  # fmt: skip
    names = {e.tree: e.body.fields.get("name") for e in read.events if isinstance(e.body, TreeSet)}
    assert names["crab"] == "Crab"
    of_2r = [e.body for e in read.events if (e.tree, e.branch) == ("crab", "2r")]
    assert [type(body) for body in of_2r] == [BranchSet]
    assert any(isinstance(e.body, Measured) and e.branch == "1l" for e in read.events)


def test_no_day_of_the_season_read_is_said_as_that(book: Path) -> None:
    (note,) = [note for note in call_up_for(book, on=ON).notes if "weather" in note]
    assert note.startswith("Home: no weather of this season is on record.")


def test_the_day_given_is_the_today_of_a_folder(tmp_path: Path) -> None:
    files = {**FOLDER, "trees.csv": "name,species\nCrab,Acer campestre\nOld maple,\n"}
    path = folder_of(tmp_path / "dayless", **files)
    book = tmp_path / "dayless.book"
    load(book, path, now=datetime(2027, 1, 5, tzinfo=UTC), on=ON)
    assert [line.on for line in records(book, "crab", on=ON, facts=True).lines][-1] == ON


def test_a_branch_is_renamed_and_one_added_by_a_small_table(book: Path, tmp_path: Path) -> None:
    told(book, "crab 2R base 8.4")
    small = folder_of(tmp_path / "small", **{
        "trees.csv": "name\nCrab\n",
        "branches.csv": "tree,branch,name,base_mm,on\nCrab,2r,2.5R,,2026-06-09\n"
                        "Crab,,3B,6,2026-06-09\n",
    })  # fmt: skip
    taken = load(book, small, now=MORNING.replace(hour=8), on=ON)
    assert taken.read.problems == ()
    by_new = [line.words for line in records(book, "crab", "2.5R", on=ON).lines]
    assert by_new[-1] == "2.5 right: base 8.4 mm"
    assert [line.words for line in records(book, "crab", "2R", on=ON).lines] == by_new
    assert [line.words for line in records(book, "crab", "3B", on=ON).lines] == [
        "3rd back: base 6.0 mm"
    ]
    assert doubts(book, on=ON) == ()


def test_a_saved_row_that_is_changed_is_not_held_to_its_old_moment(
    book: Path, tmp_path: Path
) -> None:
    changed = folder_of(tmp_path / "changed", **{
        "trees.csv": "name\nCrab\n",
        "branches.csv": "tree,branch,name,old_names,on,recorded\n"
                        "Crab,2r,2.5R,2R until 2026-06-09,2026-06-01,2026-06-01 12:00:00\n",
    })  # fmt: skip
    assert load(book, changed, now=MORNING.replace(hour=8), on=ON).read.problems == ()
    assert doubts(book, on=ON) == ()


def test_an_old_record_is_taken_back_by_its_id(book: Path) -> None:
    told(book, "crab 2R base 80")
    told(book, "crab 2R base 8.4", minute=2)
    wrong = next(r for r in records(book, "crab", "2R", on=ON).lines if "80" in r.words)
    with pytest.raises(UnknownNameError):
        withdraw(book, "old maple", wrong.id, on=ON)
    with pytest.raises(UnknownNameError):
        withdraw(book, "crab", "", on=ON)
    said = withdraw(book, "crab", wrong.id[-8:], on=ON)
    assert said.receipts == ("Taken back: 2nd right: base 80.0 mm",)
    left = [line.words for line in records(book, "crab", "2R", on=ON).lines]
    assert left[-1] == "2nd right: base 8.4 mm"
    assert not any("80" in words for words in left)
    with pytest.raises(UnknownNameError):
        withdraw(book, "crab", wrong.id, on=ON)


def test_an_id_that_fits_several_records_is_refused(book: Path) -> None:
    for minute in range(1, 40):  # of 39 ids, two end in the same of 16 letters
        told(book, "crab 2R base 8.4", minute=minute)
    lines = records(book, "crab", on=ON).lines
    ends = [line.id[-1] for line in lines]
    twice = next(end for end in ends if ends.count(end) > 1)
    with pytest.raises(AmbiguousNameError, match="Give more"):
        withdraw(book, "crab", twice, on=ON)
    assert records(book, "crab", on=ON).lines == lines


def test_readings_of_the_trunk_are_found_by_its_name(book: Path) -> None:
    told(book, "crab trunk 31")
    (line,) = records(book, "crab", "trunk", on=ON).lines
    assert "31.0 mm" in line.words


WEATHER = "date,t_min_c,t_max_c\n2026-06-08,9,20\n"


@pytest.mark.parametrize(("said", "station"), [("Home", "home"), ("HOME", "home"), ("hut", "hut")])
def test_weather_reaches_the_place_however_it_is_spelled(
    book: Path, tmp_path: Path, said: str, station: str
) -> None:
    file = tmp_path / "w.csv"
    file.write_text(WEATHER, "utf-8")
    taken = load_weather(book, said, file, today=ON)
    assert taken.station == station
    assert bool(taken.unused) == (station == "hut")
    bare = [note for note in call_up_for(book, on=ON).notes if "no weather" in note]
    assert bool(bare) == (station == "hut")
