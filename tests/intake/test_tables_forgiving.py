"""Garden folders as people really make them, read without a question and without a guess."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from tables_folder import BRANCHES, NOW, TREES, _folder, base_of, facts, readings, tree_of

import boughwright.demo
from boughwright.intake.folder import read_folder
from boughwright.journal.events import PlaceSet, Saw, TraitSet, Worked
from boughwright.journal.garden import garden_of
from boughwright.journal.terms import Metal, Quantity, Sign, Work

__all__ = ["_folder"]

DAY = date(2026, 6, 7)


def test_two_small_tables_are_a_garden(folder):
    read = folder.put(trees_csv=TREES, branches_csv=BRANCHES).read(on_bad="refuse")
    assert read.problems == ()
    assert read.notes == ()
    tree = tree_of(read)
    assert tree.facts["name"] == "Ditch field maple"
    assert tree.facts["species"] == "Acer campestre"
    assert tree.branches.names == ("trunk", "1L", "2R", "2R-1")
    assert tree.branches.ids == ("trunk", "1l", "2r", "2r-1")
    assert tree.branches.parent.tolist() == [-1, 0, 0, 2]
    assert base_of(tree, "2R") == 14.6
    assert tree.branches.trunk_mm[1] == 47.0
    assert tree.branches.height_mm[1] == 95.0
    assert readings(read)["2r-1", "base", DAY] == 4.2
    assert all(event.who == "me" for event in read.events)


def test_reading_the_same_tables_again_adds_nothing(folder):
    folder.put(trees_csv=TREES, branches_csv=BRANCHES)
    first = folder.read()
    later = folder.read(now=NOW + timedelta(days=40))
    assert {event.id for event in later.events} == {event.id for event in first.events}
    assert len({event.id for event in first.events}) == len(first.events)
    assert later.new_to(first.events) == ()


def test_a_changed_row_is_a_new_record_and_the_others_are_not(folder):
    first = folder.put(trees_csv=TREES, branches_csv=BRANCHES).read()
    folder.put(branches_csv=BRANCHES.replace("14.6", "15.2"))
    (new,) = folder.read().new_to(first.events)
    assert (new.branch, new.body.value) == ("2r", 15.2)


def test_two_equal_rows_are_two_records(folder):
    works = "tree,on,work\nDitch field maple,2026-05-01,feed\nDitch field maple,2026-05-01,feed\n"
    read = folder.put(trees_csv=TREES, works_csv=works).read()
    fed = [event for event in read.events if isinstance(event.body, Worked)]
    assert len({event.id for event in fed}) == 2
    assert folder.read().new_to(read.events) == ()


INCHES = {
    # 12.1 mm is 0.476377952755905... in; each cell holds the full quotient.
    "a column in inches": ("base_in", "{:.15f}", "mm"),
    "a unit in brackets": ("Base (in)", "{:.15f}", "mm"),
    "a unit in the cell": ("base", "{:.15f} in", "mm"),
    "an inch mark in the cell": ("base", '"{:.15f}"""', "mm"),
    "inches named at reading": ("base", "{:.15f}", "in"),
}


@pytest.mark.parametrize("way", INCHES)
def test_inches_give_the_same_lengths(folder, way):
    header, cell, units = INCHES[way]
    table = BRANCHES.replace(",base,", f",{header},").replace("trunk", "trunk mm")
    table = table.replace("height", "height_mm")
    for length in (12.1, 14.6, 4.2):
        table = table.replace(f",{length},", f",{cell.format(length / 25.4)},")
    in_mm = readings(folder.put(trees_csv=TREES, branches_csv=BRANCHES).read())
    in_inches = readings(folder.put(branches_csv=table).read(units=units, on_bad="refuse"))
    assert in_inches == pytest.approx(in_mm, abs=1e-9)
    assert len(in_inches) == 5


def test_centimetres_are_read(folder):
    table = "tree,name,base cm,node,room_cm\nditch-field-maple,1L,1.21,3.8 cm,18\n"
    read = folder.put(trees_csv=TREES, branches_csv=table).read(on_bad="refuse")
    got = {what: value for (_, what, _), value in readings(read).items()}
    assert got == pytest.approx({"base": 12.1, "node": 38.0, "room": 180.0}, abs=1e-9)


SAME_TABLE = {
    "a mark at the start": ("﻿" + BRANCHES).encode(),
    "UTF-16": BRANCHES.encode("utf-16"),
    "line ends of old": BRANCHES.replace("\n", "\r").encode(),
    "line ends of Windows": BRANCHES.replace("\n", "\r\n").encode(),
    "semicolons and decimal commas": BRANCHES.replace(",", ";").replace(".", ",").encode(),
    "a first line sep=;": b"sep=;\r\n" + BRANCHES.replace(",", ";").encode(),
    "tabs": BRANCHES.replace(",", "\t").encode(),
    "quoted cells": "\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in BRANCHES.splitlines()
    ).encode(),
    "blank lines and remarks": b"# my maple\n\n" + BRANCHES.replace("\n", "\n\n").encode(),
    "other spellings of headers": BRANCHES.replace(
        "tree,name,height,clock,trunk,base,on",
        " Tree , Branch-Name,HEIGHT mm,Clock Hour,Trunk beside,Thickness,Date",
    ).encode(),
    "columns in another order": "\n".join(
        ",".join(reversed(line.split(","))) for line in BRANCHES.splitlines()
    ).encode(),
    "days first": BRANCHES.replace("2026-06-07", "7.6.2026").encode(),
    "keys in capitals": BRANCHES.replace("Ditch field maple", "DITCH-FIELD-MAPLE").encode(),
    "names in small letters": BRANCHES.replace("2R", "2r").replace("1L", "1l").encode(),
}


@pytest.mark.parametrize("way", SAME_TABLE)
def test_the_same_table_saved_another_way(folder, way):
    plain = folder.put(trees_csv=TREES, branches_csv=BRANCHES).read()
    other = folder.put(branches_csv=SAME_TABLE[way]).read(on_bad="refuse")
    assert other.problems == ()
    assert {event.id: event.body for event in other.events} == {
        event.id: event.body for event in plain.events
    }


def test_windows_western_is_read_with_a_note(folder):
    trees = "name,species\nČuvar,Acer campestre\nÉrable à fente,Acer palmatum\n"
    read = folder.put(trees_csv=trees.replace("Č", "C").encode("cp1252")).read()
    assert facts(read)["name"] in {"Cuvar", "Érable à fente"}
    assert {e.tree for e in read.events} == {"cuvar", "erable-a-fente"}
    assert any("cp1252" in note for note in read.notes)


def test_unknown_columns_and_files_are_listed_and_left_alone(folder):
    table = BRANCHES.replace("base,on", "base,moon,vigor").replace("2026-06-07", "full,strong")
    read = folder.put(trees_csv=TREES, branches_csv=table, diary_csv="a,b\n1,2\n").read()
    assert read.problems == ()
    assert read.notes == ("Files not taken: diary.csv", "branches.csv: columns not taken: moon")
    assert facts(read, "1l")["vigour"] == "strong"


def test_a_column_nearly_known_is_told(folder):
    table = BRANCHES.replace("height", "hieght_mm")
    read = folder.put(trees_csv=TREES, branches_csv=table).read()
    assert read.notes == ("branches.csv: columns not taken: hieght_mm (perhaps height_mm)",)


def test_words_for_yes_and_no_shares_and_choices(folder):
    table = (
        "tree;name;wanted;outer;phase;bark;target step;leaves;job\n"
        "ditch-field-maple;1L;Yes;n;Primary Structure;smooth-thin;35 %;9;scar_helper\n"
    )
    read = folder.put(trees_csv=TREES, branches_csv=table).read(on_bad="refuse")
    assert facts(read, "1l") == {
        "name": "1L", "wanted": True, "outer": False, "phase": "primary structure",
        "bark": "smooth thin", "target_step": 0.35, "leaves": 9, "job": "scar helper",
    }  # fmt: skip


def test_one_tree_needs_no_name_in_the_other_tables(folder):
    table = "name,base\n1L,12.1\n"
    read = folder.put(trees_csv=TREES, branches_csv=table).read(on_bad="refuse")
    assert base_of(tree_of(read), "1L") == 12.1


def test_an_unknown_is_taken_back_and_an_empty_cell_says_nothing(folder):
    table = "tree,name,clock,job\nDitch field maple,1L,?,\n"
    read = folder.put(trees_csv=TREES, branches_csv=table).read()
    assert facts(read, "1l") == {"name": "1L", "clock": None}


def test_a_spreadsheet_guard_is_taken_off(folder):
    table = "tree,on,text\nDitch field maple,2026-05-01,'=later\nDitch field maple,2026-05-01,'ok\n"
    read = folder.put(trees_csv=TREES, notes_csv=table).read()
    assert [e.body.text for e in read.events if hasattr(e.body, "text")] == ["=later", "'ok"]


def test_days_of_the_row_of_the_garden_and_of_measuring(folder):
    table = (
        "tree,name,base,measured on,on,vigour,vigour_on,entered_on\n"
        "Ditch field maple,1L,12.1,2026-06-01,2026-05-01,weak,2026-05-20,2024-03-01\n"
        "Ditch field maple,2R,14.6,,2026-05-01,,,\n"
        "Ditch field maple,3B,9.9,,,,,\n"
    )
    folder.put(trees_csv=TREES, branches_csv=table)
    read = folder.put(garden_toml="standing_date = 2026-06-08\n").read(on_bad="refuse")
    assert readings(read) == {
        ("1l", "base", date(2026, 6, 1)): 12.1,
        ("2r", "base", date(2026, 5, 1)): 14.6,
        ("3b", "base", date(2026, 6, 8)): 9.9,
    }
    first = {(e.on, *e.body.fields) for e in read.events if e.branch == "1l" and
             hasattr(e.body, "fields")}  # fmt: skip
    assert first == {
        (date(2024, 3, 1), "name"), (date(2026, 5, 1),), (date(2026, 5, 20), "vigour"),
    }  # fmt: skip


def test_places_hold_from_the_earliest_day_of_the_folder(folder):
    """A call-up for a past day needs the latitude then."""
    places = "place,name,latitude,weather\nweir,Weir Lane,46.4,weir\n"
    trees = "name,species,place\nDitch field maple,Acer campestre,Weir Lane\n"
    works = "tree,on,work\nDitch field maple,2019-03-20,repot\n"
    read = folder.put(trees_csv=trees, places_csv=places, works_csv=works).read(on_bad="refuse")
    assert [e.on for e in read.events if isinstance(e.body, PlaceSet)] == [date(2019, 3, 20)]
    assert garden_of(read.events, until=date(2020, 1, 1)).places["weir"]["latitude"] == 46.4
    assert facts(read)["place"] == "weir"


def test_wire_in_one_row_goes_on_and_comes_off(folder):
    wires = (
        "tree,branch,on,gauge,metal,off,grade,method\n"
        "Ditch field maple,1L,2025-11-09,1.5,aluminium,2026-05-20,2,unwound\n"
        "Ditch field maple,2R,2026-04-01,2 mm,cu,,,\n"
        "Ditch field maple,low outer left,2026-04-02,1,al,,,\n"
    )
    read = folder.put(trees_csv=TREES, branches_csv=BRANCHES, wires_csv=wires).read(on_bad="refuse")
    tree = tree_of(read)
    one, two, zone = tree.wires
    assert (one.gauge_mm, one.metal, one.on) == (1.5, Metal.ALUMINIUM, date(2025, 11, 9))
    assert (one.off, one.off_grade, one.off_method) == (date(2026, 5, 20), 2, "unwound")
    assert (two.gauge_mm, two.metal, two.off) == (2.0, Metal.COPPER, None)
    assert (zone.branch, zone.zone) == (-1, "low outer left")


def test_every_table_of_happenings(folder):
    folder.put(trees_csv=TREES, branches_csv=BRANCHES)
    folder.put(
        measures_csv="tree,branch,on,what,value,unit,earlier\n"
        "Ditch field maple,1L,2026-06-08,base,0.5 in,,\n"
        "Ditch field maple,1L,2026-06-08,extension,250,mm,180\n"
        "Ditch field maple,,2026-06-08,weight,6.5,kg,\n"
        "Ditch field maple,,2026-06-08,drain,2 min,,\n",
        works_csv="tree,branch,on,work,to,amount,until base\n"
        "Ditch field maple,2R,2026-06-01,cut,pair 1,,\n"
        "Ditch field maple,apex,2026-06-01,leaf thin,,most,\n"
        "Ditch field maple,1L,2026-06-01,let run,,,0.5 in\n",
        signs_csv="tree,branch,on,sign,grade\nDitch field maple,,2026-04-15,First leaf,\n"
        "Ditch field maple,2R,2026-06-01,Weak,\n",
        promises_csv="tree,branch,on,what,words\nDitch field maple,2R,2026-06-01,keep,\n",
        looks_csv="tree,on,due\nDitch field maple,2026-06-01,2026-07-01\n",
        species_csv="species,trait,value\nAcer campestre,leaf cm2,4,5\n".replace("4,5", '"4,5"'),
    )
    read = folder.read(on_bad="refuse")
    assert read.problems == ()
    tree = tree_of(read)
    values = {(m.what, m.branch): m.value for m in tree.measures if m.on == date(2026, 6, 8)}
    assert values == {
        (Quantity.BASE, 1): pytest.approx(12.7, abs=1e-9), (Quantity.EXTENSION, 1): 250.0,
        (Quantity.WEIGHT, -1): 6500.0, (Quantity.DRAIN, -1): 120.0,
    }  # fmt: skip
    assert [(w.what.work, w.branch, w.what.zone) for w in tree.works] == [
        (Work.CUT, 2, ""), (Work.LEAF_THIN, -1, "apex"), (Work.LET_RUN, 1, ""),
    ]  # fmt: skip
    assert tree.branches.job_until_base_mm[1] == pytest.approx(12.7, abs=1e-9)
    signs = [e.body for e in read.events if isinstance(e.body, Saw)]
    assert [(s.sign, s.grade) for s in signs] == [(Sign.FIRST_LEAF, None), (Sign.WEAK, None)]
    assert tree.promises[0].what.what == "keep"
    assert tree.looks[0].due == date(2026, 7, 1)
    assert [e.body.value for e in read.events if isinstance(e.body, TraitSet)] == [4.5]


def test_a_reading_in_two_tables_counts_once(folder):
    measures = "tree,branch,on,what,value\nDitch field maple,2R,2026-06-07,base,14.6\n"
    read = folder.put(trees_csv=TREES, branches_csv=BRANCHES, measures_csv=measures).read()
    assert sum(1 for m in tree_of(read).measures if m.value == 14.6) == 1


def test_days_and_months_as_the_file_shows_them(folder):
    works = "tree,on,work\nDitch field maple,3/4/2026,feed\nDitch field maple,25/4/2026,repot\n"
    read = folder.put(trees_csv=TREES, works_csv=works).read(on_bad="refuse")
    assert {e.on for e in read.events if isinstance(e.body, Worked)} == {
        date(2026, 4, 3), date(2026, 4, 25),
    }  # fmt: skip
    folder.put(works_csv=works.replace("25/4/2026", "5/4/2026"))
    assert {p.column for p in folder.read().refused} == {"on"}
    asked = folder.read(date_order="mdy", on_bad="refuse")
    assert {e.on for e in asked.events if isinstance(e.body, Worked)} == {
        date(2026, 3, 4), date(2026, 5, 4),
    }  # fmt: skip


def test_files_are_known_in_any_case_and_number(folder):
    (folder.path / "Tree.CSV").write_text(TREES)
    (folder.path / "Branch.csv").write_text(BRANCHES)
    assert tree_of(folder.read(on_bad="refuse")).branches.names == ("trunk", "1L", "2R", "2R-1")


def test_the_demonstration_garden_is_read():
    """It is written by hand; 3R of the hornbeam is thicker than its trunk on purpose."""
    path = Path(boughwright.demo.__file__).parent / "garden"
    read = read_folder(path, on_bad="refuse", now=datetime(2026, 6, 9, tzinfo=UTC), who="grower")
    assert read.refused == ()
    assert len({event.tree for event in read.events if event.tree}) == 12
    garden = garden_of(read.events)
    assert garden.places["valdivia"]["latitude"] == -39.8
    maple = tree_of(read)
    assert base_of(maple, "4R") == 9.2
    assert maple.facts["trunk_mm"] == 67.0
    assert "vigour" not in maple.facts  # said in the bench book, as a grower would
    assert [p.row for p in read.problems if "thicker than" in p.what] == [18]
