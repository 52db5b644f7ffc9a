"""Every screen of the demonstration garden: width, plain words, reading age, unit, colour."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import pytest
from cli_running import READING, run, shown
from reading_age import grade, sentences, syllables

from boughwright.cli import COMMANDS
from boughwright.cli.text import WIDTH
from boughwright.sources import all_sources
from boughwright.usecases.day import read_trees

if TYPE_CHECKING:
    from pathlib import Path

MOST_GRADE = 9.0
FEWEST_SENTENCES = 5
"""Below so many sentences a reading grade says nothing: one name of a tree decides it."""

INTERNAL = {
    "a code of a rule": r"\b[DF]\d{1,2}\b",
    "a short form of a phase": r"\b(?:TB|PS|RA|RE)\b",
    "a window by number": r"\bS[0-8]\b",
    "a name of the code": r"\b[a-z]+_[a-z_]+\b|\bNone\b|\bnan\b|\binf\b|\bTrue\b|\bFalse\b",
    "a brace": r"[{}]",
    "a doubled stop": r"(?<!\.)\.\.(?!\.)|\.;|;\.|,\.",
    "a stop before a bracket": r"\. \((?:today|by|from|no hurry)",
    "an exclamation": r"!",
    "a prohibition told twice": r"\bNot: (?:Never|Do not|Keep)\b",
    "a colour": r"\x1b",
}


@pytest.fixture(scope="module")
def screens(demo_book: Path) -> dict[str, str]:
    return {name: shown(demo_book, *words) for name, words in READING.items()}


@pytest.mark.parametrize("name", READING)
def test_no_line_is_wider_than_the_page(name: str, screens: dict[str, str]) -> None:
    assert [line for line in screens[name].split("\n") if len(line) > WIDTH] == []


@pytest.mark.parametrize("words", [["--help"], *([name, "--help"] for name in COMMANDS)], ids=str)
def test_no_line_of_help_is_wider_than_the_page(words: list[str]) -> None:
    assert [line for line in shown(None, *words).split("\n") if len(line) > WIDTH] == []


@pytest.mark.parametrize("what", INTERNAL)
def test_no_screen_shows(what: str, screens: dict[str, str]) -> None:
    found = [
        (name, hit[0])
        for name, text in screens.items()
        for hit in re.finditer(INTERNAL[what], text)
    ]
    assert found == []


def test_no_screen_shows_a_key(screens: dict[str, str], demo_book: Path) -> None:
    _, _, trees = read_trees(demo_book)
    keys = {*all_sources(), *(tree.id for tree in trees)}
    hyphened = {key for key in keys if "-" in key}
    assert len(hyphened) > 20
    found = [
        (name, key)
        for name, text in screens.items()
        for key in hyphened
        if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", text)
    ]
    assert found == []


@pytest.mark.parametrize("name", READING)
def test_reading_age(name: str, screens: dict[str, str]) -> None:
    """Flesch-Kincaid grade (Kincaid et al. 1975) of all sentences of a screen together.

    Syllables are counted by groups of vowels, see `reading_age.syllables`; tables are left out.
    """
    if len(sentences(screens[name])) >= FEWEST_SENTENCES:
        assert grade(screens[name]) <= MOST_GRADE


def test_most_screens_are_long_enough_for_a_reading_age(screens: dict[str, str]) -> None:
    assert sum(len(sentences(text)) >= FEWEST_SENTENCES for text in screens.values()) >= 20


@pytest.mark.parametrize(
    ("word", "count"),
    [("the", 1), ("wire", 1), ("maple", 2), ("hornbeam", 2), ("wired", 1), ("branches", 2),
     ("forecast", 2), ("leaves", 1), ("outline", 2), ("primary", 3), ("weigh", 1)],
)  # fmt: skip
def test_syllables_as_a_dictionary_parts_them(word: str, count: int) -> None:
    assert syllables(word) == count


def test_reading_grade_by_hand() -> None:
    # 2 sentences, 8 words, 10 syllables (bran-ches and ta-ken have two):
    # 0.39 * 8 / 2 + 11.8 * 10 / 8 - 15.59 = 1.56 + 14.75 - 15.59 = 0.72.
    assert grade("Thin the branches now.\nWire is taken off.") == pytest.approx(0.72)


def test_a_wrapped_line_is_one_sentence_and_a_list_is_many() -> None:
    wrapped = "a " * 39 + "bb\ncc dd"
    assert len(sentences(wrapped)) == 1
    assert len(sentences("wire off\nlet run\n\nleave alone")) == 3


LENGTH = re.compile(r"-?\d+(?:\.\d+)? mm\b|-?\d+\.\d\d in\b")
BY_THE_SENTENCE = [
    name for name, words in READING.items() if words[0] in {"call-up", "sheet", "may-i", "doubts"}
]
"""Screens without tables of lengths, that can be compared word by word."""


@pytest.mark.parametrize("name", READING)
def test_inches_everywhere_when_asked_for(name: str, demo_book: Path) -> None:
    assert re.findall(r"\d mm\b", shown(demo_book, *READING[name], "--units", "in")) == []


@pytest.mark.parametrize("name", BY_THE_SENTENCE)
def test_the_unit_changes_no_verdict(name: str, demo_book: Path, screens: dict[str, str]) -> None:
    metric = screens[name].split()
    inches = shown(demo_book, *READING[name], "--units", "in").split()
    assert LENGTH.sub("LENGTH", " ".join(metric)) == LENGTH.sub("LENGTH", " ".join(inches))


def test_the_sheet_shows_the_same_lengths_in_both_units(demo_book: Path) -> None:
    metric = " ".join(shown(demo_book, "sheet", "ditch field maple").split())
    inches = " ".join(shown(demo_book, "sheet", "ditch field maple", "--units", "in").split())
    long = [float(x) for x in re.findall(r"(\d+(?:\.\d+)?) mm\b", metric)]
    short = [float(x) for x in re.findall(r"(\d+\.\d\d) in\b", inches)]
    assert len(long) > 20
    # Both are rounded: mm to 0.5 at the most, inches to 0.005.
    assert short == pytest.approx([x / 25.4 for x in long], abs=0.5 / 25.4 + 0.0051)


def test_a_terminal_that_asks_for_colour_gets_none(
    demo_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "\x1b" not in run(demo_book, "call-up").output


def test_what_rests_on_a_guess_says_so_on_the_screen(demo_book: Path) -> None:
    told = answer_of(demo_book, "sheet", "ditch field maple")
    text = " ".join(shown(demo_book, "sheet", "ditch field maple", "--all").split())
    reasons = [
        reason
        for verdict in (*told["whole"], *(b["verdict"] for b in told["branches"]))
        for reason in verdict["reasons"]
    ]
    marked = {"guess": 0, "other": 0}
    for reason in reasons:
        said = re.sub(r"\{([^}]*)\}", r"\1", reason["text"].rstrip("."))
        guess = reason["grade"] == "guess"
        assert f"{said}{' (guess)' if guess else ''}." in text
        marked["guess" if guess else "other"] += 1
    assert min(marked.values()) > 0


def test_wire_dates_that_rest_on_guesses_carry_a_mark(demo_book: Path) -> None:
    told = answer_of(demo_book, "wire")["wires"]
    text = shown(demo_book, "wire")
    assert {wire["grade"] for wire in told} >= {"guess"}
    assert re.search(r"\d%\?$", text, re.M)
    assert "A ? marks dates that rest on guesses" in " ".join(text.split())


def answer_of(book: Path, *words: str) -> dict[str, Any]:
    """Return a command's JSON."""
    told = json.loads(shown(book, *words, "--json"))
    assert isinstance(told, dict)
    return told
