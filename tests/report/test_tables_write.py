"""Writing a garden folder: safe cells, safe names, and nothing of others overwritten."""

from __future__ import annotations

import csv
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import given
from tables_events import any_text

from boughwright.errors import FileError
from boughwright.journal.columns import (
    FORMAT,
    TABLES,
    guard,
    slug,
    station_file,
    station_of,
    unguard,
)
from boughwright.journal.events import (
    BranchSet,
    Event,
    GardenSet,
    Measured,
    Noted,
    TreeSet,
    Worked,
    standing,
)
from boughwright.journal.garden import garden_of
from boughwright.journal.terms import Metal, Quantity, Work
from boughwright.report import tables
from boughwright.report.tables import write_folder
from boughwright.report.tables_doc import folder_page

DAY = date(2026, 6, 7)
DOCS = Path(__file__).parents[2] / "docs" / "garden-folder.md"


def events():
    told = [
        (GardenSet({"name": "Weir Lane", "standing_date": DAY, "hours_week": 9.0}), None, None),
        (TreeSet({"name": "Elm", "species": "Ulmus parvifolia", "height_mm": 310.0}), "elm", None),
        (BranchSet({"name": "1L", "clock": 9.0, "wanted": True}), "elm", "x1"),
        (BranchSet({"name": "1L-1", "parent": "x1"}), "elm", "x2"),
        (Measured(Quantity.BASE, 12.125, marked=True), "elm", "x1"),
        (Worked(Work.WIRE_ON, gauge_mm=1.5, metal=Metal.COPPER), "elm", "x1"),
        (Worked(Work.REPOT), "elm", None),
        (Noted("=cmd()"), "elm", None),
    ]
    return [
        Event(
            body, DAY, tree, branch, "me", datetime(2026, 6, 7, 18, 0, n, tzinfo=UTC), UUID(int=n)
        )
        for n, (body, tree, branch) in enumerate(told)
    ]


def write(target, made=None, **others):
    made = events() if made is None else made
    named = {"events": made, "garden": garden_of(standing(made)), "weather": {}} | others
    return write_folder(target, **named)


def rows(file):
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_the_files_and_their_cells(tmp_path):
    target = tmp_path / "out" / "garden"
    paths = write(target)
    assert [path.name for path in paths] == [
        "garden.toml", "records.csv", "trees.csv", "branches.csv", "measures.csv", "wires.csv",
        "works.csv", "notes.csv",
    ]  # fmt: skip
    assert sorted(paths) == sorted(target.iterdir())
    assert [path.name for path in target.parent.iterdir()] == ["garden"]
    assert tomllib.loads((target / "garden.toml").read_text("utf-8")) == {
        "format": FORMAT, "version": 1, "name": "Weir Lane", "hours_week": 9.0,
        "standing_date": DAY,
    }  # fmt: skip
    assert rows(target / "trees.csv") == [
        {"tree": "elm", "name": "Elm", "species": "Ulmus parvifolia", "height_mm": "310",
         "on": "2026-06-07", "who": "me", "recorded": "2026-06-07 18:00:01"}
    ]  # fmt: skip
    one, two = rows(target / "branches.csv")
    assert (one["branch"], one["name"], one["clock"], one["wanted"]) == ("x1", "1L", "9", "yes")
    assert (one["base_mm"], one["measured_on"]) == ("12.125", "2026-06-07")
    assert (two["name"], two["parent"], two["base_mm"]) == ("1L-1", "1L", "")
    (wire,) = rows(target / "wires.csv")
    assert (wire["branch"], wire["work"], wire["gauge_mm"], wire["metal"]) == (
        "1L", "wire on", "1.5", "cu",
    )  # fmt: skip
    assert [row["work"] for row in rows(target / "works.csv")] == ["repot"]
    assert [row["text"] for row in rows(target / "notes.csv")] == ["'=cmd()"]
    assert len(rows(target / "records.csv")) == 8
    assert not (target / "trees.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_a_folder_written_before_is_written_again(tmp_path):
    write(tmp_path / "garden")
    fewer = events()[:2]
    names = {path.name for path in write(tmp_path / "garden", fewer)}
    assert names == {"garden.toml", "records.csv", "trees.csv"}
    assert {path.name for path in (tmp_path / "garden").iterdir()} == names
    assert len(rows(tmp_path / "garden" / "records.csv")) == 2


def test_an_empty_folder_is_filled(tmp_path):
    (tmp_path / "garden").mkdir()
    assert len(write(tmp_path / "garden")) == 8


@pytest.mark.parametrize("other", ["letter.txt", "trees.csv", "weather/mine.csv"])
def test_a_folder_of_other_things_is_left_alone(tmp_path, other):
    target = tmp_path / "garden"
    (target / other).parent.mkdir(parents=True)
    (target / other).write_text("mine")
    with pytest.raises(FileError, match=f"holds other things: {other}"):
        write(target)
    assert [p for p in target.rglob("*") if p.is_file()] == [target / other]
    assert (target / other).read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["garden"]


def test_told_to_it_writes_and_keeps_what_is_not_its_own(tmp_path):
    target = tmp_path / "garden"
    (target / "weather").mkdir(parents=True)
    for name in ("letter.txt", "trees.csv", "weather/mine.csv"):
        (target / name).write_text("mine")
    write(target, force=True)
    assert (target / "letter.txt").read_text() == "mine"
    assert (target / "weather" / "mine.csv").read_text() == "mine"
    assert rows(target / "trees.csv")[0]["name"] == "Elm"


def test_a_file_of_that_name_is_left_alone(tmp_path):
    (tmp_path / "garden").write_text("mine")
    with pytest.raises(FileError, match="a file of that name is there"):
        write(tmp_path / "garden", force=True)
    assert (tmp_path / "garden").read_text() == "mine"


def test_a_writing_that_fails_leaves_the_old_folder(tmp_path, monkeypatch):
    write(tmp_path / "garden")
    before = {path.name: path.read_bytes() for path in (tmp_path / "garden").iterdir()}

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tables, "_write_csv", full)
    with pytest.raises(FileError, match="No space left on device"):
        write(tmp_path / "garden", events()[:2])
    assert {p.name: p.read_bytes() for p in (tmp_path / "garden").iterdir()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["garden"]


# --- cells, keys, names of files -----------------------------------------------------------------


@given(any_text)
def test_a_guarded_cell_never_starts_a_formula_and_comes_back(text):
    safe = guard(text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert unguard(safe) == text


@given(any_text)
def test_a_station_is_a_safe_file_and_comes_back(station):
    file = station_file(station)
    assert "/" not in file
    assert "\\" not in file
    assert not file.startswith(".") or station == ""
    assert station_of(file) == station


def test_keys_of_names():
    assert slug("Gate hornbeam") == "gate-hornbeam"
    assert slug("  Érable, à fente (2) ") == "erable-a-fente-2"
    assert slug("2.5Lg") == "2.5lg"
    assert slug("2R-1l") == "2r-1l"
    assert slug("scar front") == "scar-front"


# --- the page ------------------------------------------------------------------------------------


def test_the_page_is_current():
    assert DOCS.read_text("utf-8") == folder_page()


def test_the_page_tells_every_column():
    page = folder_page()
    for table in TABLES:
        section = page.split(f"## `{table.file}`")[1].split("\n## ")[0]
        for column in table.columns:
            assert f"| `{column.name}` |" in section
            assert column.help
