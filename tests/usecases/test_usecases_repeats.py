"""A line with an id of its own: sent again it changes nothing, and it can be taken back by it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from itertools import permutations
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest
from usecases_book import NOON, TODAY, all_events, line_of, said_now, standing_now

from boughwright.errors import RecordError, TextError, UnknownNameError
from boughwright.journal.events import BranchSet, Event, Noted, TreeSet, Withdrawn
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.folder import load, save
from boughwright.usecases.say import Phrase, Said, say, withdraw, withdraw_line

if TYPE_CHECKING:
    from pathlib import Path

LINE, OTHER, THIRD = line_of(1, 2), line_of(2, 3), line_of(3, 2)


def one(book: Path, text: str, id_: UUID | None = None, **other: object) -> Said:
    given = {"tree": "elm", "who": "jo", "now": NOON} | other
    (said,) = say(book, [Phrase(text, TODAY, id=id_, **given)])  # type: ignore[arg-type]
    return said


def enter(book: Path, *events: Event) -> None:
    with Book.open(book) as opened:
        opened.append(events)


def back(book: Path, line: UUID, **other: object) -> Said:
    return withdraw_line(book, line, on=TODAY, who="jo", now=NOON, **other)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    ["2R wire on 2 al", "2R cut; 3B base 9.5; 1L spots few", "all cut except 1L", "same",
     "2R cut fnord", "5Lg graft in thread", "what is this", "undo", "not 2R"],
)  # fmt: skip
def test_a_line_sent_again_is_answered_as_at_first_and_stored_once(book: Path, text: str) -> None:
    one(book, "2R feed half")
    first = one(book, text, LINE)
    after = all_events(book)
    # Whatever happens to the garden in between, the answer is the one that was given.
    renamed = BranchSet({"name": "9R"})
    enter(
        book,
        Event(renamed, TODAY, "elm", "2r"),
        Event(TreeSet({"name": "Great elm"}), TODAY, "elm"),
    )
    one(book, "1L pinch", who="ann")
    again = one(book, text, LINE)
    assert again == first
    assert (first.known, again.known) == (False, True)
    assert len(all_events(book)) == len(after) + 3


def test_a_line_of_which_nothing_came_is_known_too(book: Path) -> None:
    first = one(book, "undo", LINE)
    assert (first.events, first.receipts) == ((), ())
    assert first.doubts == ("There is nothing to take back.",)
    one(book, "2R cut")
    # Sent again it must not take back what was said since.
    assert one(book, "undo", LINE) == first
    assert [text for text in said_now(book) if "cut" in text]


def test_another_line_under_the_same_id_is_refused_and_changes_nothing(book: Path) -> None:
    one(book, "2R cut", LINE)
    before = all_events(book)
    for text, tree in (("2R rub", "elm"), ("2R cut", "oak")):
        with pytest.raises(RecordError, match=r"'2R cut'.*Send it again under an id of its own"):
            one(book, text, LINE, tree=tree)
    with pytest.raises(RecordError, match="kept before"):
        back(book, OTHER, id=LINE)
    with pytest.raises(RecordError, match="version 4 or 7"):
        one(book, "2R rub", UUID(int=5))
    assert all_events(book) == before


def test_a_line_that_is_refused_leaves_its_id_free(book: Path) -> None:
    with pytest.raises(TextError):
        one(book, "  ", LINE)
    with pytest.raises(UnknownNameError):
        one(book, "cut", LINE, tree="yew")
    assert one(book, "2R cut", LINE).known is False


def test_ids_of_records_follow_from_the_line_alone(tmp_path: Path, two_trees: Path) -> None:
    ids = []
    for name in ("a", "b"):
        path = tmp_path / f"{name}.book"
        path.write_bytes(two_trees.read_bytes())
        if name == "b":
            one(path, "1L feed half", line_of(9, 1))
        ids.append([event.id for event in one(path, "2R cut; 3B cut", LINE).events])
    assert ids[0] == ids[1]
    assert ids[0] == sorted(ids[0])
    assert {id_.version for id_ in ids[0]} == {7}


def test_a_line_loaded_from_a_folder_is_known_when_it_comes_again(
    book: Path, tmp_path: Path
) -> None:
    first = one(book, "2R cut; 3B base 9.5", LINE)
    save(book, tmp_path / "folder")
    fresh = tmp_path / "fresh.book"
    load(fresh, tmp_path / "folder", on=TODAY)
    enter(fresh, Event(BranchSet({"name": "9R"}), TODAY, "elm", "2r"))
    held = len(all_events(fresh))
    again = one(fresh, "2R cut; 3B base 9.5", LINE)
    assert again.events == first.events
    assert again.known
    assert len(all_events(fresh)) == held


# --- what a line goes back to ---------------------------------------------------------------------


def test_same_and_undo_go_back_to_the_line_before_on_the_same_device(book: Path) -> None:
    one(book, "2R cut", LINE, alone=True)
    one(book, "3B rub", who="jo")  # the same person, on another device
    same = one(book, "1L same", OTHER, after=LINE, alone=True)
    assert same.receipts == ("1st left: cut",)
    undone = one(book, "undo", THIRD, after=OTHER, alone=True)
    assert undone.receipts == ("Taken back: 1st left: cut",)
    # A second undo goes one line further back.
    again = one(book, "undo", line_of(4), after=THIRD, alone=True)
    assert again.receipts == ("Taken back: 2nd right: cut",)
    assert [text for text in said_now(book) if "3b" in text]
    assert len(said_now(book)) == 1


def test_a_place_that_is_not_named_is_that_of_the_line_before(book: Path) -> None:
    one(book, "2R spots few", LINE)
    one(book, "3B spots few")
    assert one(book, "cut", OTHER, after=LINE).receipts == ("2nd right: cut",)
    assert one(book, "not 2R", THIRD, after=OTHER).withdrawn == 1


def test_a_line_whose_forerunner_is_not_here_says_so(book: Path) -> None:
    one(book, "2R spots few")
    said = one(book, "same 3B", LINE, after=uuid4())
    assert any("The line before this one is not here" in doubt for doubt in said.doubts)
    assert not [event for event in said.events if not isinstance(event.body, Noted)]
    plain = one(book, "3B cut", OTHER, after=uuid4())
    assert plain.doubts == ()


def test_a_line_never_bears_a_moment_before_the_line_it_goes_on_from(book: Path) -> None:
    first = one(book, "2R cut", LINE)
    early = one(book, "3B cut", OTHER, after=LINE, now=NOON.replace(hour=3))
    assert early.events[0].recorded > first.events[0].recorded


def test_another_tree_between_does_not_hide_the_line_before(book: Path) -> None:
    one(book, "2R cut", LINE)
    one(book, "2R rub", OTHER, tree="oak", after=LINE)
    assert one(book, "3B same", THIRD, after=OTHER).receipts == ("3rd back: cut",)
    # Without a tree the one of the line before is meant.
    assert one(book, "1L feed half", line_of(5), tree=None, after=OTHER).tree == "Oak"


# --- taking a whole line back ---------------------------------------------------------------------


def test_a_line_is_taken_back_whole_and_only_once(book: Path) -> None:
    one(book, "2R cut; 3B cut; 1L feed half", LINE)
    one(book, "3B spots few")
    said = back(book, LINE)
    assert (said.withdrawn, len(said.receipts), said.tree) == (3, 3, "Elm")
    assert said.receipts[0] == "Taken back: 2nd right: cut"
    held = all_events(book)
    assert back(book, LINE) == said
    assert all_events(book) == held
    assert [text.split()[1] for text in said_now(book)] == ["3b"]
    # From another device, under an id of its own, it finds nothing left to take back.
    other = back(book, LINE, id=uuid4())
    assert (other.withdrawn, other.doubts) == (0, ("There is nothing to take back.",))


def test_a_line_may_be_taken_back_before_it_comes(book: Path) -> None:
    early = back(book, LINE)
    assert early.doubts == ("That line is not here yet. It is taken back when it comes.",)
    late = one(book, "2R cut; 3B cut", LINE)
    assert late.receipts == ("2nd right: cut", "3rd back: cut")
    assert late.doubts == ("This line was taken back before it came.",)
    assert said_now(book) == []
    assert len([e for e in all_events(book) if e.id in {x.id for x in late.events}]) == 2
    assert one(book, "2R cut; 3B cut", LINE) == late
    assert back(book, LINE) == early


def test_any_order_of_lines_and_of_what_takes_them_back_ends_alike(
    tmp_path: Path, two_trees: Path
) -> None:
    steps = {
        "line": lambda p: one(p, "2R cut; 3B base 9.5", LINE),
        "back": lambda p: back(p, LINE, id=OTHER),
        "back of back": lambda p: back(p, OTHER, id=THIRD),
        "back again": lambda p: back(p, LINE, id=line_of(7)),
    }
    # Taken back, brought back, taken back by another: in the end it does not count.
    for names, left in ((list(steps)[:2], 0), (list(steps)[:3], 2), (list(steps), 0)):
        for number, order in enumerate(permutations(names)):
            path = tmp_path / f"{len(names)}-{number}.book"
            path.write_bytes(two_trees.read_bytes())
            for name in (*order, *order[::-1]):
                steps[name](path)
            assert len(said_now(path)) == left, order


def test_lines_that_take_each_other_back_do_no_harm(book: Path) -> None:
    back(book, OTHER, id=THIRD)
    back(book, THIRD, id=OTHER)
    assert said_now(book) == []


def test_undo_taken_back_lets_its_line_count_again(book: Path) -> None:
    one(book, "2R cut", LINE)
    one(book, "undo", OTHER, after=LINE)
    assert said_now(book) == []
    said = back(book, OTHER)
    assert said.receipts == ("Counts again: 2nd right: cut",)
    assert len(said_now(book)) == 1


def test_a_record_taken_back_alone_stays_so_when_its_line_is_sent_again(book: Path) -> None:
    said = one(book, "2R cut; 3B cut", LINE)
    withdraw(book, "elm", str(said.events[0].id), on=TODAY, who="jo")
    assert one(book, "2R cut; 3B cut", LINE) == said
    assert [text.split()[1] for text in said_now(book)] == ["3b"]


# --- how it is kept -------------------------------------------------------------------------------


def test_a_kept_line_never_changes(book: Path) -> None:
    one(book, "2R cut", LINE, device="phone")
    with closing(sqlite3.connect(book)) as outside:
        for deed in ("UPDATE line SET text = 'x'", "DELETE FROM line"):
            with pytest.raises(sqlite3.IntegrityError, match="take it back and say it again"):
                outside.execute(deed)
    with Reader.open(book) as reader:
        line = reader.line(str(LINE))
    assert line is not None
    assert (line.text, line.asked, line.tree, line.who, line.device, line.withdraws) == (
        "2R cut", "elm", "elm", "jo", "phone", None
    )  # fmt: skip


def test_records_and_their_line_are_written_together_or_not_at_all(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object) -> None:
        raise RecordError("the pen broke", todo="Sharpen it")

    before = all_events(book)
    with monkeypatch.context() as broken:
        broken.setattr("boughwright.store.turn.Turn.keep_line", fail)
        with pytest.raises(RecordError, match="pen"):
            one(book, "2R cut", LINE)
    assert all_events(book) == before
    assert one(book, "2R cut", LINE).known is False
    assert not [event for event in standing_now(book) if isinstance(event.body, Withdrawn)]


def test_saying_a_line_reads_only_the_tree_it_is_of(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from boughwright.store import queries

    say(book, [Phrase(f"{n} base {n}", TODAY, "oak") for n in ("1L", "2R", "3B") for _ in "abcd"])
    read: list[str | None] = []
    decode = queries.row_event

    def counted(row: tuple[object, ...]) -> Event:
        event = decode(row)  # type: ignore[arg-type]
        read.append(event.tree)
        return event

    monkeypatch.setattr(queries, "row_event", counted)
    one(book, "2R cut")
    # Of the oak only how it is called; of the elm that and its four events; one of the garden.
    assert read.count("oak") == 1
    assert read.count("elm") == 1 + 4
    assert read.count(None) == 1
