"""Commands that write: say, load, save, load-weather, backup, restore, demo."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from cli_running import run, shown, started

from boughwright.cli.text import WIDTH

if TYPE_CHECKING:
    from pathlib import Path

DITCH = "ditch field maple"


def test_said_is_written_and_taken_back(book: Path) -> None:
    before = shown(book, "records", DITCH)
    told = shown(book, "say", "--tree", DITCH, "--who", "me", "2R wire on 2 al")
    assert told == "Ditch field maple:\n  2nd right: 2.0 mm aluminium on\n"
    after = shown(book, "records", DITCH)
    assert re.search(r"2026-06-09 +2nd right: 2\.0 mm aluminium on.* me\b", after)
    assert "Ditch field maple: 2R" in " ".join(shown(book, "wire", "--tree", DITCH).split())
    assert "Taken back: 2nd right" in shown(book, "say", "--tree", DITCH, "--who", "me", "undo")
    assert shown(book, "records", DITCH) == before


def test_words_not_understood_are_kept_and_told(book: Path) -> None:
    told = shown(book, "say", "--tree", DITCH, "2R fnord glorp")
    assert "fnord glorp" in told
    assert "note" in told
    assert "fnord glorp" in shown(book, "records", DITCH)


def test_said_in_inches_is_echoed_and_kept(book: Path) -> None:
    told = shown(book, "say", "--tree", DITCH, "1L base 0.5 in")
    assert "12.7 mm" in told
    assert "12.7 mm" in shown(book, "records", DITCH, "1L")
    assert "0.50 in" in shown(book, "records", DITCH, "1L", "--units", "in")


def test_saved_and_loaded_is_the_same_garden(book: Path, tmp_path: Path) -> None:
    folder, again = tmp_path / "saved", tmp_path / "again.book"
    assert re.search(r"Wrote \d+ files to", shown(book, "save", str(folder)))
    first = shown(again, "load", str(folder))
    assert "not taken" not in first
    for words in (["call-up"], ["wire"], ["stages"], ["sheet", DITCH, "--all"], ["doubts"]):
        assert shown(again, *words) == shown(book, *words)
    assert shown(again, "load", str(folder)).startswith("No new records of ")
    assert max(map(len, first.split("\n"))) <= WIDTH


def test_a_backup_put_back_is_the_same_garden(book: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.book"
    before = shown(book, "call-up")
    told = " ".join(shown(book, "backup", str(copy)).split())
    assert "read back whole" in told
    assert "trees 12" in told
    shown(book, "say", "--tree", DITCH, "2R base 99")
    assert shown(book, "call-up") != before
    assert run(book, "restore", str(copy)).exit_code == 2  # a book is there
    assert "is kept as" in shown(book, "restore", str(copy), "--force")
    assert shown(book, "call-up") == before


def test_weather_taken_twice_counts_once(book: Path, tmp_path: Path) -> None:
    file = tmp_path / "w.csv"
    file.write_text("date,t_min_c,t_max_c,rain_mm\n2026-06-01,8,20,0\n2026-06-02,9,21,2.5\n")
    assert shown(book, "load-weather", "own", str(file)).startswith("own: 2 new days, 0 changed")
    assert "no new days, 0 changed, 2 as before" in shown(book, "load-weather", "own", str(file))


def test_demo_is_the_call_up_of_its_own_day(tmp_path: Path) -> None:
    book = tmp_path / "fresh.book"
    result = run(book, "demo")
    assert result.exit_code == 0
    assert result.stdout.startswith("Everything in this garden is invented, its weather too.\n")
    assert shown(book, "call-up").rstrip() in result.stdout
    again = run(book, "demo")
    assert again.stdout == result.stdout
    own = [line for line in result.stdout.split("\n") if str(book) not in line]
    assert [line for line in own if len(line) > WIDTH] == []


def test_a_book_by_a_plain_word_lies_in_the_data_folder(tmp_path: Path) -> None:
    env = {"XDG_DATA_HOME": str(tmp_path), "HOME": str(tmp_path), "BOUGHWRIGHT_BOOK": "mine"}
    garden = tmp_path / "garden"
    garden.mkdir()
    (garden / "trees.csv").write_text("name,species\nOne,Acer campestre\n")
    assert started("load", str(garden), env=env).returncode == 0
    made = list(tmp_path.rglob("mine.book"))
    assert len(made) == 1
    assert started("records", "One", env=env).stdout.startswith("One: ")


@pytest.mark.parametrize("units", ["mm", "in"])
def test_lengths_of_a_folder_are_read_in_the_unit_named(units: str, tmp_path: Path) -> None:
    folder, book = tmp_path / "garden", tmp_path / "own.book"
    folder.mkdir()
    base = "12.7" if units == "mm" else "0.5"
    (folder / "trees.csv").write_text("tree,name,species,on\none,One,Acer campestre,2026-01-01\n")
    (folder / "branches.csv").write_text(
        f"tree,name,base,on,measured_on\none,1L,{base},2026-01-01,2026-01-02\n"
    )
    shown(book, "load", str(folder), "--units", units)
    assert "12.7 mm" in shown(book, "records", "one", "1L", "--on", "2026-06-09")


def _own(tmp_path: Path, name: str, *, units: str = "mm") -> Path:
    folder, book = tmp_path / "own", tmp_path / "own.book"
    folder.mkdir()
    (folder / "garden.toml").write_text(f'units = "{units}"\n')
    (folder / "places.csv").write_text("name,latitude\nHome,51.5\n")
    (folder / "trees.csv").write_text(f"name,species,on\n{name},Acer campestre,2026-01-01\n")
    (folder / "branches.csv").write_text(
        f"tree,name,base_mm,trunk_mm,on\n{name},1L,25.4,12.7,2026-01-01\n"
    )
    shown(book, "load", str(folder), "--on", "2026-06-09")
    return book


def test_a_long_name_keeps_the_page(tmp_path: Path) -> None:
    book = _own(tmp_path, "The old maple " * 6)
    for words in (["call-up"], ["sheet", "old maple"], ["stages"]):
        told = shown(book, *words, "--on", "2026-06-09").split("\n")
        assert max(map(len, told)) <= WIDTH, words


def test_doubts_and_receipts_are_in_the_garden_s_unit(tmp_path: Path) -> None:
    """25.4 mm is 1.00 in and 12.7 mm is 0.50 in."""
    book = _own(tmp_path, "Maple", units="in")
    told = shown(book, "doubts", "--on", "2026-06-09")
    assert "1.00 in" in told
    assert " mm" not in told
    assert "0.50 in" in shown(book, "say", "maple 1L base 0.5 in", "--on", "2026-06-09")


def test_an_old_record_is_found_by_its_id_and_taken_back(book: Path) -> None:
    before = shown(book, "records", DITCH)
    shown(book, "say", "--tree", DITCH, "2R base 99")
    told = shown(book, "records", DITCH, "2R", "--ids")
    assert max(map(len, told.split("\n"))) <= WIDTH
    (line,) = [line for line in told.split("\n") if "99.0 mm" in line]
    back = shown(book, "withdraw", DITCH, line.split()[-1])
    assert back.startswith("Ditch field maple:\n  Taken back: 2nd right: base 99.0 mm")
    assert shown(book, "records", DITCH) == before


def test_no_unit_of_a_species_value_reads_as_a_range(book: Path) -> None:
    told = shown(book, "species", "field maple")
    assert "0-3" not in told
    assert "of 3" in told
