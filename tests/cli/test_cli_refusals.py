"""What the command refuses, in one plain line, with exit status 2 and nothing written."""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

import pytest
from cli_running import run, shown, started

if TYPE_CHECKING:
    from pathlib import Path

    from click.testing import Result

NOT_A_DAY = ["2026-02-31", "31 February 2026", "2026-13-01", "13.13.2026", "next week", "9/6/2026",
             "", "0000-00-00", "9999-12-31", "1066-10-14", "20260609"]  # fmt: skip


def refused(result: Result) -> str:
    """Check that a command refused in one plain line, and return the line."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    line = result.stderr.rstrip("\n")
    assert "\n" not in line
    assert line.startswith("Not done. ")
    assert line.endswith(".")
    assert not re.search(r"[{}]|\.\.|Traceback|\bNone\b|Error\b|\[[a-z-]+\]", line), line
    return line


def misused(result: Result) -> str:
    """Check that an option or argument was turned down with how to use the command."""
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("Usage: boughwright")
    return result.stderr


@pytest.mark.parametrize("day", NOT_A_DAY)
def test_a_day_that_is_none(day: str, demo_book: Path) -> None:
    line = refused(run(demo_book, "call-up", "--on", day))
    assert f"{day!r} is not a day of the calendar" in line
    assert "Allowed: 2026-06-09, 9 June 2026 or 9.6.2026" in line


@pytest.mark.parametrize(
    "day", ["2026-06-09", "9 June 2026", "9 Jun 2026", "9-Jun-2026", "9.6.2026", " 2026-06-09 "]
)
def test_a_day_may_be_written_in_many_ways(day: str, demo_book: Path) -> None:
    assert "Tue 9 June 2026" in shown(demo_book, "stages", "--on", day).split("\n")[0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["sheet", "nobody"], "no tree is called 'nobody'. Allowed: Courtyard elm, Ditch field"),
        (["sheet", ""], "no tree is called ''"),
        (["sheet", "maple"], "'maple' fits more than one tree. Allowed: Ditch field maple, Fan"),
        (["wire", "--tree", "nobody"], "no tree is called 'nobody'"),
        (["records", "nobody"], "no tree is called 'nobody'"),
        (["records", "ditch field maple", "77X"], "no branch is called '77X'"),
        (["may-i", "nobody", "cut"], "no tree is called 'nobody'"),
        (["may-i", "ditch field maple", ""], "the line is empty"),
        (["may-i", "ditch field maple", "hello there"], "'hello there' names no work"),
        (["may-i", "ditch field maple", "77X cut to pair"], "'77X' is not understood"),
        (["may-i", "ditch field maple", "the big branch cut"], "'big branch' is not understood"),
        (["may-i", "ditch field maple", "12L pinch"], "no branch is called '12L'"),
        (["say", ""], "the line is empty"),
        (["say", "  "], "the line is empty"),
        (["say", "--tree", "nobody", "2R cut"], "no tree is called 'nobody'"),
    ],
    ids=lambda x: " ".join(x) if isinstance(x, list) else "",
)
def test_a_name_or_phrase_that_is_none(words: list[str], told: str, demo_book: Path) -> None:
    before = demo_book.read_bytes()
    assert told in refused(run(demo_book, *words))
    assert demo_book.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["frobnicate"], "No such command 'frobnicate'"),
        (["sheet"], "Missing argument 'TREE'"),
        (["may-i", "ditch field maple"], "Missing argument 'PHRASE...'"),
        (["say"], "Missing argument 'PHRASE...'"),
        (["call-up", "--hours", "many"], "'many' is not a valid float"),
        (["call-up", "--hours=-1"], "-1.0 is not in the range"),
        (["call-up", "--hours", "nan"], "range"),
        (["call-up", "--days", "0"], "0 is not in the range"),
        (["call-up", "--days", "61"], "61 is not in the range"),
        (["call-up", "--units", "cm"], "'cm' is not one of"),
        (["call-up", "--never-heard"], "No such option"),
        (["load-weather", "weir-lane"], "Missing argument 'FILE'"),
    ],
    ids=lambda x: " ".join(x) if isinstance(x, list) else "",
)
def test_an_option_that_is_none(words: list[str], told: str, demo_book: Path) -> None:
    assert told in misused(run(demo_book, *words))


READERS = [["call-up"], ["sheet", "x"], ["wire"], ["stages"], ["records", "x"], ["doubts"],
           ["may-i", "x", "cut"], ["say", "x cut"], ["save", "folder"],
           ["backup", "copy.book"]]  # fmt: skip


@pytest.mark.parametrize("words", READERS, ids=lambda words: words[0])
def test_a_book_that_is_not_there(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert "there is no book here" in refused(run(tmp_path / "none.book", *words))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", READERS, ids=lambda words: words[0])
@pytest.mark.parametrize("held", [b"a page of notes\n" * 200, b""], ids=["text", "empty"])
def test_a_file_that_is_no_book(
    words: list[str], held: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "notes.book"
    path.write_bytes(held)
    refused(run(path, *words))
    assert path.read_bytes() == held


@pytest.mark.parametrize("words", [["demo"], ["load", "garden"], ["load-weather", "a", "w.csv"]],
                         ids=lambda words: words[0])  # fmt: skip
def test_a_book_where_no_file_can_be(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("a file, not a folder")
    (tmp_path / "garden").mkdir()
    (tmp_path / "garden" / "trees.csv").write_text("name,species\nOne,Acer campestre\n")
    (tmp_path / "w.csv").write_text("date,t_min_c,t_max_c\n2026-06-01,1,20\n")
    result = run(tmp_path / "file" / "my.book", *words)
    assert result.exit_code == 2, result.output
    assert result.stderr.count("Not done. ") == 1
    assert "Traceback" not in result.stderr


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may write all")
def test_a_book_in_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        result = run(tmp_path / "my.book", "demo")
    finally:
        tmp_path.chmod(0o700)
    assert result.exit_code == 2
    assert "Not done. " in result.stderr


@pytest.mark.parametrize("name", ["", "  "])
def test_a_book_without_a_name(name: str) -> None:
    assert "the book has no name" in refused(run(None, "--book", name, "call-up"))


def test_files_that_cannot_be_taken(book: Path, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_text("")
    (tmp_path / "words.csv").write_text("a page of notes\n")
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / "x.txt").write_text("mine")
    none = str(tmp_path / "none")
    assert "there is no such folder" in refused(run(book, "load", none))
    assert "this is a file" in refused(run(book, "load", str(book)))
    assert "no file of a garden folder" in refused(run(book, "load", str(tmp_path / "pages")))
    assert "there is no such file" in refused(run(book, "load-weather", "a", none))
    assert "the file is empty" in refused(
        run(book, "load-weather", "a", str(tmp_path / "empty.csv"))
    )
    assert "no column date" in refused(run(book, "load-weather", "a", str(tmp_path / "words.csv")))
    refused(run(book, "load-weather", "a", str(tmp_path / "pages")))
    assert "holds other things" in refused(run(book, "save", str(tmp_path / "pages")))
    assert "there is no book here" in refused(run(book, "restore", none, "--force"))
    assert "not a book" in refused(run(book, "restore", str(tmp_path / "words.csv"), "--force"))
    assert "already a file" in refused(run(book, "backup", str(tmp_path / "words.csv")))


def test_a_bad_row_and_nothing_is_taken_when_so_chosen(book: Path, tmp_path: Path) -> None:
    weather = tmp_path / "w.csv"
    weather.write_text("date,t_min_c,t_max_c\n2026-06-01,1,20\n2026-06-02,1,61\n")
    refused(run(book, "load-weather", "own", str(weather), "--on-bad", "refuse"))
    told = shown(book, "load-weather", "own", str(weather))
    assert "own: 1 new day" in told
    assert "1 value not taken" in told
    assert "row 3" in told
    assert "-60 to 60" in told


def test_the_same_refusal_from_a_process_of_its_own(demo_book: Path) -> None:
    done = started("--book", str(demo_book), "sheet", "nobody")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == run(demo_book, "sheet", "nobody").stderr


def test_statuses_of_success() -> None:
    for words in (["--help"], ["--version"], ["call-up", "--help"]):
        assert run(None, *words).exit_code == 0
    assert run(None).exit_code == 2  # no command: help, as for any misuse
