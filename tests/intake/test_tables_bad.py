"""Garden folders with faults: each told with file, row, column, what is allowed and what to do."""

from __future__ import annotations

import tracemalloc
from datetime import UTC, date, datetime

import pytest
from tables_folder import BRANCHES, TREES, _folder, base_of, facts, readings, tree_of

from boughwright.errors import FileError
from boughwright.intake import weather_text
from boughwright.intake.folder import read_folder
from boughwright.intake.tables import rows_of
from boughwright.journal.events import Worked

__all__ = ["_folder"]

TWO = "name,species\nDitch field maple,Acer campestre\nGate hornbeam,{}\n"
WORKS = "tree,branch,on,work,gauge\n"

BAD = {
    # what is wrong: files, then (file, row, column, words in the message, words in what to do)
    "unknown species": (
        {"trees_csv": TWO.format("Carpinus betulis")},
        ("trees.csv", 3, "species", "perhaps Carpinus betulus", "botanical name"),
    ),
    "common name of several species": (
        {"trees_csv": TWO.format("Acer")},
        ("trees.csv", 3, "species", "covers several species. Allowed: Acer palmatum", "once"),
    ),
    "the same name twice": (
        {"trees_csv": TREES + "Ditch field maple,Acer palmatum\n"},
        ("trees.csv", 3, "tree", "'ditch-field-maple' is already in row 2", "its own name"),
    ),
    "a tree without a name": (
        {"trees_csv": TREES + ",Acer palmatum\n"},
        ("trees.csv", 3, "name", "names no tree", "Give it a name"),
    ),
    "an impossible base": (
        {"branches_csv": BRANCHES.replace("14.6", "9000")},
        ("branches.csv", 3, "base_mm", "base is 9000 mm. Allowed: 0.1 to 1000 mm", "Mend"),
    ),
    "an impossible clock hour": (
        {"branches_csv": BRANCHES.replace("130,3,", "130,13,")},
        ("branches.csv", 3, "clock", "clock is 13 h. Allowed: 0 to 12 h", "Mend"),
    ),
    "a word for a number": (
        {"branches_csv": BRANCHES.replace("14.6", "thick")},
        ("branches.csv", 3, "base_mm", "'thick' is not a length", "Mend or empty it"),
    ),
    "a comma for thousands": (
        {"branches_csv": BRANCHES.replace("14.6", '"1,014.6"')},
        ("branches.csv", 3, "base_mm", "'1,014.6'", "Mend"),
    ),
    "a day that is none": (
        {"branches_csv": BRANCHES.replace("14.6,2026-06-07", "14.6,2026-06-31")},
        ("branches.csv", 3, "on", "there is no day '2026-06-31'", "Check day and month"),
    ),
    "a day still to come": (
        {"branches_csv": BRANCHES.replace("14.6,2026-06-07", "14.6,2026-07-06")},
        ("branches.csv", 3, "on", "2026-07-06 is still to come. Allowed: up to 2026-06-09", "Mend"),
    ),
    "a branch of an unknown tree": (
        {"branches_csv": BRANCHES + "Ditch field mapel,3B,,,,9,\n"},
        ("branches.csv", 5, "tree", "no tree of trees.csv is called 'Ditch field mapel'. "
         "Allowed: ditch-field-maple", "Mend the name"),
    ),
    "a branch twice": (
        {"branches_csv": BRANCHES + "Ditch field maple,2r,,,,9,\n"},
        ("branches.csv", 5, "branch", "'2r' is already in row 3", "its own name"),
    ),
    "a work on an unknown branch": (
        {"works_csv": WORKS + "Ditch field maple,7R,2026-05-01,cut,\n"},
        ("works.csv", 2, "branch", "is called '7R'", "add the branch"),
    ),
    "an unknown work": (
        {"works_csv": WORKS + "Ditch field maple,1L,2026-05-01,leaf thn,\n"},
        ("works.csv", 2, "work", "work is 'leaf thn'", "Perhaps leaf thin"),
    ),
    "a work without a day": (
        {"works_csv": WORKS + "Ditch field maple,1L,,cut,\n"},
        ("works.csv", 2, "on", "the row has no on", "Fill it in"),
    ),
    "wire of no such gauge": (
        {"wires_csv": "tree,branch,on,gauge\nDitch field maple,1L,2026-05-01,25\n"},
        ("wires.csv", 2, "gauge_mm", "gauge_mm is 25 mm. Allowed: 0.2 to 12 mm", "Mend"),
    ),
    "wire off before it went on": (
        {"wires_csv": "tree,branch,on,off\nDitch field maple,1L,2026-05-01,2026-04-01\n"},
        ("wires.csv", 2, "off", "before the wire went on", "Mend one of the two days"),
    ),
    "a grade of wire that is still on": (
        {"wires_csv": "tree,branch,on,grade\nDitch field maple,1L,2026-05-01,2\n"},
        ("wires.csv", 2, "bite", "not said to be off", "signs.csv"),
    ),
    "a grade that is none": (
        {"signs_csv": "tree,branch,on,sign,grade\nDitch field maple,1L,2026-05-01,bite,6\n"},
        ("signs.csv", 2, "grade", "grade is 6. Allowed: 0 to 5", "Mend"),
    ),
    "a unit of another kind": (
        {"measures_csv": "tree,on,what,value,unit\nDitch field maple,2026-05-01,drain,40,mm\n"},
        ("measures.csv", 2, "value", "drain is '40' mm. Allowed: s or sec or min", "unit"),
    ),
    "a trait that is none": (
        {"species_csv": "species,trait,value\nAcer campestre,leaf size,4\n"},
        ("species.csv", 2, "trait", "trait 'leaf_size' is not known", "Mend the trait"),
    ),
    "a trait out of range": (
        {"species_csv": "species,trait,value\nAcer campestre,leaf_cm2,-4\n"},
        ("species.csv", 2, "value", "cannot be the leaf_cm2. Allowed: 0.1 to 2000", "Mend"),
    ),
    "an unknown unit in a header": (
        {"branches_csv": BRANCHES.replace("base", "base (hands)")},
        ("branches.csv", 1, "base_mm", "'base (hands)' has a unit that is not known. "
         "Allowed: mm, cm or in", "Change the unit"),
    ),
    "more cells than headers": (
        {"branches_csv": BRANCHES.replace("14.6", "14,6")},
        ("branches.csv", 3, "", "the row has 8 cells under 7 headers", "part the cells by semi"),
    ),
    "a quotation mark never closed": (
        {"branches_csv": BRANCHES.replace("Ditch field maple,2R,", '"Ditch field maple,2R,')},
        ("branches.csv", 3, "", "cannot be taken apart", "quotation mark"),
    ),
    "an empty file": (
        {"branches_csv": b""},
        ("branches.csv", 0, "", "the file is empty. Allowed: a header and one row for each: a "
         "branch", ""),
    ),
    "no known column": (
        {"branches_csv": b"eins,zwei\n1,2\n"},
        ("branches.csv", 0, "", "no column that is known: 'eins, zwei'", "Write a header"),
    ),
    "two columns of the same": (
        {"branches_csv": BRANCHES.replace("height,", "base_mm,")},
        ("branches.csv", 0, "", "the columns 'base_mm' and 'base' hold the same", "Remove"),
    ),
    "a spreadsheet": (
        {"branches_csv": b"PK\x03\x04" + bytes(range(256))},
        ("branches.csv", 0, "", "this is a spreadsheet or a zip folder", "Save it as CSV"),
    ),
    "not text": (
        {"branches_csv": bytes(range(256)) * 9},
        ("branches.csv", 0, "", "this is not text", "Save it as CSV"),
    ),
    "a packed file": (
        {"branches_csv": b"\x1f\x8b\x08\x00"},
        ("branches.csv", 0, "", "the file is packed", "Unpack it first"),
    ),
    "UTF-32": (
        {"branches_csv": BRANCHES.encode("utf-32")},
        ("branches.csv", 0, "", "the file is in UTF-32", "Save it as CSV"),
    ),
    "an encoding not known": (
        {"branches_csv": BRANCHES.encode() + b"\x81\xff\n"},
        ("branches.csv", 0, "", "the encoding of the file is not known", "Save it as CSV"),
    ),
    "settings that are no TOML": (
        {"garden_toml": "name = Weir Lane\n"},
        ("garden.toml", 0, "", "the settings cannot be read", "Mend that line"),
    ),
    "a setting out of range": (
        {"garden_toml": "hours_week = 900\n"},
        ("garden.toml", 0, "hours_week", "hours_week is 900 h. Allowed: 0 to 112 h", "Mend"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", BAD)
def test_a_fault_is_told_and_the_rest_goes_in_or_nothing_does(folder, fault):
    files, (file, row, column, words, todo) = BAD[fault]
    folder.put(**({"trees_csv": TREES, "branches_csv": BRANCHES} | files))
    skipped = folder.read(on_bad="skip")
    (problem,) = skipped.refused
    assert (problem.file, problem.row, problem.column) == (file, row, column)
    assert words in str(problem)
    assert todo in problem.todo
    assert str(problem).startswith(file)
    if row and column != "" and file != "garden.toml":
        line = (folder.path / file).read_text("utf-8").splitlines()[row - 1]
        assert problem.line == line
    assert any(event.tree == "ditch-field-maple" for event in skipped.events)
    refused = folder.read(on_bad="refuse")
    assert refused.events == ()
    assert refused.weather == {}
    assert refused.problems == skipped.problems


def test_a_bad_cell_leaves_the_rest_of_a_branch(folder):
    folder.put(trees_csv=TREES, branches_csv=BRANCHES.replace("14.6", "9000"))
    read = folder.read()
    assert facts(read, "2r") == {"name": "2R", "height_mm": 130.0, "clock": 3.0}
    assert readings(read)["2r", "trunk", date(2026, 6, 7)] == 43.0


def test_after_a_torn_row_reading_goes_on(folder):
    torn = BRANCHES.replace("Ditch field maple,2R,", '"Ditch field maple,2R,')
    read = folder.put(trees_csv=TREES, branches_csv=torn).read()
    assert read.refused[0].line == '"Ditch field maple,2R,130,3,43,14.6,2026-06-07'
    assert base_of(tree_of(read), "2R-1") == 4.2


def test_a_hundred_torn_rows_end_the_file(folder):
    torn = BRANCHES + '"Ditch field maple,x\n' * 150
    read = folder.put(trees_csv=TREES, branches_csv=torn).read()
    assert len(read.refused) == 101
    assert "100 rows up to row 104" in read.refused[-1].what
    assert base_of(tree_of(read), "1L") == 12.1


def test_what_contradicts_goes_in_and_is_listed(folder):
    """A branch thicker than its trunk, and a graft older than its donor: growers settle those."""
    branches = BRANCHES.replace("14.6", "44.9") + (
        "Ditch field maple,3B,175,12,37,12.4,2026-06-07\n"
        "Ditch field maple,2.5Lg,155,8,40,,2024-03-01\n"
    )
    works = (
        "tree,branch,on,work,donor,method\n"
        "Ditch field maple,2.5Lg,2025-06-14,graft in,3B,approach\n"
    )
    read = folder.put(trees_csv=TREES, branches_csv=branches, works_csv=works).read(on_bad="refuse")
    assert read.refused == ()
    assert base_of(tree_of(read), "2R") == 44.9
    graft, thick = sorted(read.problems, key=lambda one: one.what)
    assert (thick.file, thick.row) == ("branches.csv", 3)
    assert "2R is {44.9 mm} at its base" in thick.what
    assert "thicker than the trunk" in thick.what
    assert "2.5Lg was grafted from 3B" in graft.what
    assert "is there only since Sun 7 June 2026" in graft.what


def test_a_name_that_leads_nowhere_is_listed(folder):
    branches = BRANCHES.replace("clock,trunk", "shaded_by,trunk").replace("130,3,", "130,6R,")
    branches = branches.replace(",9,", ",,")
    trees = "name,species,place\nDitch field maple,Acer campestre,Upper bench\n"
    read = folder.put(trees_csv=trees, branches_csv=branches).read(on_bad="refuse")
    told = [(p.file, p.row, p.column, p.refused) for p in read.problems]
    assert told == [("trees.csv", 2, "place", False), ("branches.csv", 3, "shaded_by", False)]
    assert facts(read, "2r")["shaded_by"] == "6r"  # the key it has once it is entered


def test_two_trees_of_one_name_with_keys_of_their_own(folder):
    trees = "tree,name,species\na,Old elm,Ulmus parvifolia\nb,Old elm,Ulmus parvifolia\n"
    works = "tree,on,work\nOld elm,2026-05-01,feed\na,2026-05-01,feed\n"
    read = folder.put(trees_csv=trees, works_csv=works).read()
    assert [p.refused for p in read.problems] == [False, True]
    assert "row 2 is called 'Old elm' too" in read.problems[0].what
    assert "fits more than one tree. Allowed: a, b" in str(read.problems[1])
    assert [e.tree for e in read.events if isinstance(e.body, Worked)] == ["a"]


WEATHER = "date,t_min_c,t_max_c\n2026-06-06,11,24\n2026-06-07,12,{}\n2026-06-08,12,25\n"


def test_weather_that_cannot_be(folder):
    folder.put(trees_csv=TREES).weather("weir", WEATHER.format(61))
    read = folder.read()
    (problem,) = read.refused
    assert (problem.file, problem.row) == ("weather/weir.csv", 3)
    assert "t_max_c is 61. Allowed: -60 to 60 °C" in str(problem)
    assert [day.on.day for day in read.weather["weir"]] == [6, 8]
    assert folder.read(on_bad="refuse").weather == {}


def test_a_gap_mark_is_told_and_left_unknown(folder):
    folder.put(trees_csv=TREES).weather("weir", WEATHER.format(-99))
    read = folder.read()
    assert "-99, which stands for not read" in read.refused[0].what
    assert [day.on.day for day in read.weather["weir"]] == [6, 7, 8]


def test_fahrenheit_under_celsius_takes_nothing(folder):
    hot = "date,t_min_c,t_max_c\n" + "".join(f"2026-06-0{n},55,7{n}\n" for n in range(1, 8))
    read = folder.put(trees_csv=TREES).weather("weir", hot).read()
    assert read.weather == {}
    assert "Is the column in °F?" in str(read.refused[0])
    assert facts(read)["name"] == "Ditch field maple"


# --- the whole record ----------------------------------------------------------------------------

RECORDS = """\
id,kind,version,tree,branch,on,who,recorded,body
0197a0c0-0000-7000-8000-000000000001,tree,1,elm,,2026-06-01,me,2026-06-01T18:00:00+00:00,\
"{""fields"": {""name"": ""Elm""}}"
0197a0c0-0000-7000-8000-000000000002,measure,1,elm,b1,2026-06-01,me,2026-06-01T18:00:00+00:00,\
"{""what"": ""base"", ""value"": 12.5}"
"""

BAD_RECORDS = {
    "an impossible value": ("12.5", "9000.0", "base is 9000 mm. Allowed: 0.1 to 1000 mm"),
    "a newer version": ("measure,1", "measure,2", "has version 2"),
    "an unknown kind": ("measure,1", "weighed,1", "a record of kind 'weighed'"),
    "a body that is no JSON": ('""value"": 12.5}', '""value"": ', "body is not JSON"),
    "an unknown detail": ('""value""', '""size""', "unknown detail 'size'"),
    "an id that is none": ("8000-000000000002", "8000-2", "id of a record is"),
    "no day": (",b1,2026-06-01", ",b1,", "on of a record is ''"),
}


@pytest.mark.parametrize("fault", BAD_RECORDS)
def test_a_bad_record_is_told_and_the_others_go_in(folder, fault):
    old, new, words = BAD_RECORDS[fault]
    assert RECORDS.count(old) == 1
    folder.put(records_csv=RECORDS.replace(old, new))
    read = folder.read()
    (problem,) = read.refused
    assert (problem.file, problem.row) == ("records.csv", 3)
    assert words in str(problem)
    assert "elm" in problem.line
    assert len(read.events) == 1
    assert folder.read(on_bad="refuse").events == ()


def test_tables_beside_the_whole_record_are_not_read_and_this_is_said(folder):
    read = folder.put(records_csv=RECORDS, trees_csv=TREES).read()
    assert read.whole
    assert {event.tree for event in read.events} == {"elm"}
    assert read.notes == ("records.csv holds everything, so these were not read: trees.csv",)


# --- the folder ----------------------------------------------------------------------------------


def test_no_folder_a_file_and_a_folder_of_other_things(tmp_path):
    def read(path):
        return read_folder(path, on_bad="skip", now=datetime(2026, 6, 9, tzinfo=UTC), who="me")

    with pytest.raises(FileError, match="there is no such folder"):
        read(tmp_path / "nowhere")
    (tmp_path / "file.csv").write_text("x")
    with pytest.raises(FileError, match="this is a file, not a garden folder"):
        read(tmp_path / "file.csv")
    with pytest.raises(
        FileError, match=r"no file of a garden folder is in it. Allowed: garden\.toml"
    ):
        read(tmp_path)


def test_a_folder_of_a_newer_version_is_not_read(folder):
    folder.put(garden_toml='format = "boughwright garden folder"\nversion = 2\n', trees_csv=TREES)
    with pytest.raises(FileError, match=r"version 2.*Update Boughwright"):
        folder.read()


def test_a_directory_in_the_place_of_a_table(folder):
    folder.put(trees_csv=TREES)
    (folder.path / "branches.csv").mkdir()
    (problem,) = folder.read().refused
    assert "cannot be read as a file" in problem.what


def test_a_long_table_is_never_held_as_a_whole(tmp_path):
    """4 MB of rows go by in under a quarter of that memory."""
    path = tmp_path / "works.csv"
    row = "Ditch field maple,2R,2026-05-01,cut\n"
    count = 4_000_000 // len(row)
    path.write_text("tree,branch,on,work\n" + row * count, "utf-8")
    tracemalloc.start()
    try:
        assert sum(1 for _ in rows_of(path, "utf-8")) == count + 1
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 1_000_000


def test_a_file_too_large_is_refused_before_it_is_read(folder, monkeypatch):
    monkeypatch.setattr(weather_text, "MAX_BYTES", 100)
    (problem,) = folder.put(trees_csv=TREES, branches_csv=BRANCHES).read().refused
    assert problem.file == "branches.csv"
    assert "the file is larger than" in problem.what


def test_a_line_without_an_end_is_refused(folder):
    folder.put(trees_csv=TREES, branches_csv=BRANCHES + "x" * 1_000_002)
    read = folder.read()
    assert "line 5 is too long for a row" in read.refused[0].what
    assert base_of(tree_of(read), "2R") == 14.6
