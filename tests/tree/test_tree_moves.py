"""When a tree came to the spot it stands on: written cases."""

from __future__ import annotations

from datetime import date
from itertools import permutations

from tree_cases import Book

from boughwright.tree.moves import moved_on

PUT, SHED, OUT = date(2025, 1, 10), date(2025, 11, 20), date(2026, 3, 12)


def wintered() -> Book:
    book = Book()
    book.facts(PUT, place="yard", shelf="bench")
    book.facts(SHED, shelf="shed")
    book.facts(OUT, shelf="bench")
    return book


def test_the_last_move_counts_and_none_that_is_still_to_come() -> None:
    book = wintered()
    assert moved_on("t", book.events, OUT) == OUT
    assert moved_on("t", book.events, date(2026, 3, 11)) == SHED
    assert moved_on("t", book.events, date(2025, 11, 19)) is None


def test_order_of_arrival_does_not_matter() -> None:
    events = wintered().events
    assert {moved_on("t", order, OUT) for order in permutations(events)} == {OUT}


def test_the_first_spot_the_same_spot_and_another_tree_are_no_move() -> None:
    book = Book()
    book.facts(PUT, place="yard")
    book.facts(SHED, shelf="bench")
    book.facts(OUT, place="yard", shelf="bench", name="Tile trident")
    book.facts(OUT, shelf="shed")
    book.events[-1] = type(book.events[-1])(
        book.events[-1].body, OUT, "other", recorded=book.events[-1].recorded
    )
    assert moved_on("t", book.events, OUT) is None


def test_a_move_taken_back_did_not_happen() -> None:
    book = Book()
    book.facts(PUT, shelf="bench")
    wrong = book.facts(SHED, shelf="shed")
    assert moved_on("t", book.events, OUT) == SHED
    book.withdraw(wrong, OUT)
    assert moved_on("t", book.events, OUT) is None


def test_a_new_place_and_a_shelf_left_are_moves() -> None:
    book = Book()
    book.facts(PUT, place="yard", shelf="bench")
    book.facts(SHED, place="field")
    assert moved_on("t", book.events, SHED) == SHED
    book.facts(OUT, shelf=None)
    assert moved_on("t", book.events, OUT) == OUT
