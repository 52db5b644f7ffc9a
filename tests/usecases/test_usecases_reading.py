"""A line as it would be taken: what it says is what saying it does, and what may come next."""

from __future__ import annotations

import json
import shutil
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.journal.phrases import parse
from boughwright.usecases.day import GardenDay, open_day
from boughwright.usecases.kept import KeptBook
from boughwright.usecases.reading import completions, reading_of, reading_shape
from boughwright.usecases.say import Phrase, say

if TYPE_CHECKING:
    from pathlib import Path

MAPLE = "ditch-field-maple"

PHRASES = [
    "2R wire on 2 al tight", "2R cut to pair 1 because it ran; 4R base 9.2", "all cut except 1L",
    "apex leaf thin most look 10 d", "same 4R", "undo", "not 2R", "that was yesterday",
    "2R cut fnord", "99L cut", "7Rg graft in thread from 2R", "gate hornbeam 2R cut",
    "will keep", "spots few", "nonsense from end to end", "2R base 9999", "tomorrow 2R cut",
]  # fmt: skip


@pytest.fixture(scope="module")
def garden(demo_book: Path) -> GardenDay:
    return open_day(demo_book)


@pytest.mark.parametrize("text", PHRASES)
def test_a_reading_says_what_saying_the_line_does(
    text: str, demo_book: Path, tmp_path: Path
) -> None:
    path = shutil.copyfile(demo_book, tmp_path / "own.book")
    kept = KeptBook(path)
    say(path, [Phrase("2R cut; 3B cut", kept.day().today, MAPLE, "jo")])
    garden = kept.day()
    last = kept.last_line(MAPLE, "jo")
    reading = reading_of(garden, text, MAPLE, garden.today, last=last)
    held = kept.events(MAPLE)
    (said,) = say(path, [Phrase(text, garden.today, MAPLE, "jo")])
    assert reading.receipts == said.receipts
    assert reading.doubts == said.doubts
    assert reading.unread == said.unread
    assert reading.tree == said.tree
    assert reading.ready is bool(said.receipts)
    # Reading wrote nothing: all that is new is of the line said afterwards.
    new = {event.id for event in kept.events(MAPLE)} - {event.id for event in held}
    assert new <= {event.id for event in said.events}
    kept.close()


def test_the_branches_meant_are_named_by_their_lasting_ids(garden: GardenDay) -> None:
    def branches(text: str, **other: str) -> list[str]:
        return list(reading_of(garden, text, MAPLE, garden.today, **other).branches)

    rows = garden.tree(MAPLE).tree.branches
    living = [i for i, gone in zip(rows.ids, rows.gone.tolist(), strict=True) if not gone]
    assert branches("4R, 2R cut") == ["4r", "2r"]
    assert set(branches("all cut")) < set(living)  # the trunk and the roots are no crown
    assert set(branches("all cut except 4R")) == set(branches("all cut")) - {"4r"}
    assert branches("cut", place="4R") == ["4r"]
    assert branches("99L cut") == branches("repot hard") == []


def test_a_line_that_cannot_be_taken_says_why(garden: GardenDay) -> None:
    for text, tree, words in (
        ("2R cut", None, "no tree is named"),
        ("2R cut", "yew", "no tree is called 'yew'"),
        ("not 99L", MAPLE, "no branch is called"),
    ):
        reading = reading_of(garden, text, tree, garden.today)
        assert (reading.ready, reading.receipts) == (False, ())
        assert words in reading.doubts[0]
    empty = reading_of(garden, "  ", MAPLE, garden.today)
    assert (empty.ready, empty.receipts, empty.doubts) == (False, (), ())


def test_the_shape_holds_the_reading(garden: GardenDay) -> None:
    reading = reading_of(garden, "4R base 9.2 fnord", MAPLE, garden.today)
    told = json.loads(json.dumps(reading_shape(reading)))
    assert told == {
        "shape": "boughwright/reading", "version": 1, "phrase": "4R base 9.2 fnord",
        "tree": "Ditch field maple", "tree_id": MAPLE, "receipts": list(reading.receipts),
        "doubts": [], "unread": ["fnord"], "branches": ["4r"], "ready": True,
    }  # fmt: skip


# --- completion -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2", {"2R", "2.5Lg"}),
        ("2r", {"2R-1"}),
        ("2R w", {"wire on", "wire off"}),
        ("2R wire ", {"on", "off"}),
        ("2R wire o", {"on", "off"}),
        ("2R wire on ", {"1.5 al", "2 al"}),
        ("2R wire on 1", {"1 al", "1.5 al"}),
        ("2R cut to ", {"pair 1", "node 1", "two"}),
        ("2R cut bec", {"because"}),
        ("all cut exc", {"except"}),
        ("all cut except 4", {"4R", "4R-1"}),
        ("2R cut; 4", {"4R"}),
        ("2R cut;4", {"4R"}),
        ("apex leaf ", {"thin", "full"}),
        ("spots f", {"few"}),
        ("ditch field maple 4", {"4R"}),
        ("gate h", {"hornbeam"}),
        ("und", {"undo"}),
        ("4R ba", {"base"}),
    ],
)
def test_the_next_word_is_among_those_offered(
    text: str, wanted: set[str], garden: GardenDay
) -> None:
    offered = completions(garden, text, MAPLE)
    assert wanted <= set(offered)
    assert len(offered) == len(set(offered)) <= 8


def test_without_a_tree_the_trees_come_first(garden: GardenDay) -> None:
    names = [day.tree.name for day in garden.trees]
    assert completions(garden, "") == names[:8]
    assert completions(garden, "ditch field maple ")[0] == completions(garden, "", MAPLE)[0]


def test_nothing_is_offered_where_only_a_number_fits(garden: GardenDay) -> None:
    assert completions(garden, "4R base ", MAPLE) == []
    assert completions(garden, "4R zzz", MAPLE) == []


@given(st.sampled_from(PHRASES), st.integers(0, 60))
def test_words_offered_are_understood_where_they_stand(
    demo_book: Path, text: str, cut: int
) -> None:
    garden = _garden(demo_book)
    typed = text[:cut]
    names = [day.tree.name for day in garden.trees]
    head = typed[: len(typed) - len(typed.rpartition(" ")[2].rpartition(";")[2])]
    before = set(parse(f"{head} ok", today=garden.today, trees=names).unread)
    for word in completions(garden, typed, MAPLE):
        assert word.casefold().startswith(typed[len(head) :].casefold())
        for end in ("", " 5", " ok", " 4R", " x"):  # what makes a line whole after it
            line = parse(f"{head}{word}{end}", today=garden.today, trees=names)
            if set(line.unread) <= before:
                break
        else:
            pytest.fail(f"{head}{word}")


_KEPT: dict[Path, GardenDay] = {}


def _garden(path: Path) -> GardenDay:
    """Return the garden's day, worked out once for all examples."""
    if path not in _KEPT:
        _KEPT[path] = open_day(path)
    return _KEPT[path]


@given(st.text(max_size=40), st.sampled_from([None, MAPLE, "yew", ""]))
def test_any_text_is_answered(demo_book: Path, text: str, tree: str | None) -> None:
    garden = _garden(demo_book)
    assert len(completions(garden, text, tree)) <= 8
    reading = reading_of(garden, text, tree, garden.today)
    assert reading.ready is bool(reading.receipts)


@pytest.mark.parametrize("head", ["9Z", "apix", "77Q-1"])
def test_a_clause_that_begins_with_no_known_place_records_no_act(
    head: str, garden: GardenDay
) -> None:
    """Else the act would go to the branch named before, or to the whole tree."""
    text = f"2R ok; {head} cut to pair 1"
    told = reading_of(garden, text, "ditch-field-maple", garden.today)
    assert any(head in doubt and "no place" in doubt for doubt in told.doubts)
    assert not any("ut to pair" in receipt and head not in receipt for receipt in told.receipts)
