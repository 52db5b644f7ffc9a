"""How strong a tree grows: the trade's limits in written cases, no grower's judgement claimed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tree_cases import Book

from boughwright.journal.terms import Amount, Vigour
from boughwright.sources import Grade
from boughwright.tree.measures import recovering, vigour_of
from boughwright.tree.replay import replay

TODAY = date(2026, 6, 9)
SEEN = date(2026, 5, 20)
STRONG, STEADY, WEAK, FAILING = Vigour.STRONG, Vigour.STEADY, Vigour.WEAK, Vigour.FAILING


def shoots(length, norm=100.0):
    book = Book()
    book.facts(norm_extension_mm=norm)
    book.read(None, "extension", length, SEEN)
    return book


def judge(book, today=TODAY, **more):
    return vigour_of(replay("t", book.events, until=today), today, **more)


@pytest.mark.parametrize(
    ("length", "expected"),
    [(120.0, STRONG), (100.0, STRONG), (99.0, STEADY), (60.0, STEADY), (59.0, WEAK), (30.0, WEAK),
     (29.0, FAILING)],
)  # fmt: skip
def test_by_free_shoots_over_the_norm(length, expected):
    strength, why, grade = judge(shoots(length))
    assert strength is expected
    assert grade is Grade.MEASURED
    assert f"{{{length:.0f} mm}}" in why


def test_nothing_known_stays_unknown():
    strength, why, _ = judge(Book())
    assert strength is None
    assert why == "Nothing this season tells its strength."
    book = Book()
    book.read(None, "extension", 80.0, SEEN)  # shoots without a norm
    assert judge(book)[0] is None


def test_shoots_of_last_season_say_nothing_of_this_one():
    book = Book()
    book.facts(norm_extension_mm=100.0)
    book.read(None, "extension", 120.0, date(2025, 6, 1))
    assert judge(book)[0] is None
    # in the south November and the next February are one season
    book.read(None, "extension", 120.0, date(2025, 11, 20))
    assert judge(book, date(2026, 2, 1), south=True)[0] is STRONG
    assert judge(book, date(2026, 2, 1), south=False)[0] is None


def test_shoots_of_branches_stand_for_the_tree_when_it_was_not_read():
    book = Book()
    book.facts(norm_extension_mm=100.0)
    for name, length in (("1L", 50.0), ("2R", 80.0)):  # mean 65
        book.branch(name, name=name)
        book.read(name, "extension", length, SEEN)
    assert judge(book)[0] is STEADY


@pytest.mark.parametrize(
    ("sign", "details", "expected"),
    [
        ("dieback", {"amount": Amount.NONE}, STRONG),
        ("dieback", {"amount": Amount.FEW}, WEAK),  # few is a tenth: 5 to 15 %
        ("dieback", {"amount": Amount.SOME}, FAILING),  # over 15 %
        ("dieback", {}, WEAK),
        ("pale", {}, WEAK),
        ("spots", {"amount": Amount.SOME}, STEADY),  # strong needs clean leaf
        ("wilt", {}, STRONG),  # not known to stand in moist soil
    ],
)
def test_losses_and_leaf_lower_strong_shoots(sign, details, expected):
    book = shoots(120.0)
    book.saw(None, sign, SEEN, **details)
    assert judge(book)[0] is expected


def test_wilting_in_moist_soil_is_failing():
    book = shoots(120.0)
    book.saw(None, "wilt", SEEN)
    book.saw(None, "wet", SEEN + timedelta(2))
    assert judge(book)[0] is FAILING


@pytest.mark.parametrize(
    ("plant", "what"),
    [
        (lambda b: b.work(None, "repot", date(2026, 5, 1), share=0.2), "repot"),  # 39 days ago
        (lambda b: b.work(None, "repot", date(2026, 4, 1), share=0.2), ""),  # 69 days, light
        (lambda b: b.work(None, "repot", date(2025, 9, 1), share=0.4), "repot"),  # hard: a year
        (lambda b: b.work(None, "repot", date(2025, 9, 1), amount=Amount.HARD), "repot"),
        (lambda b: b.work(None, "repot", date(2025, 3, 1), share=0.4), ""),
        (lambda b: b.saw(None, "frost", date(2026, 4, 23)), "frost"),
        (lambda b: b.saw(None, "scorch", date(2026, 6, 1)), "heat"),
        (lambda b: b.facts(climate_moved_on=date(2026, 1, 5)), "move"),
        (lambda b: (b.work("g", "graft in", date(2025, 6, 1)), b.saw("g", "dead", SEEN)), "graft"),
    ],
)
def test_one_step_less_while_getting_over_something(plant, what):
    book = shoots(120.0)
    plant(book)
    assert recovering(replay("t", book.events), TODAY) == what
    strength, why, _ = judge(book)
    assert strength is (STEADY if what else STRONG)
    assert (f"gets over the {what}" in why) == bool(what)


def test_failing_is_the_last_step():
    book = shoots(10.0)
    book.saw(None, "frost", SEEN)
    assert judge(book)[0] is FAILING


@pytest.mark.parametrize("by", ["field", "sign"])
def test_a_judgement_by_hand_of_this_season_beats_all(by):
    book = shoots(10.0)
    book.saw(None, "frost", SEEN)
    if by == "field":
        book.facts(date(2026, 3, 1), vigour="strong")
    else:
        book.saw(None, "strong", date(2026, 3, 1))
    strength, why, grade = judge(book)
    assert (strength, grade) == (STRONG, Grade.MEASURED)
    assert "1 March 2026" in why


def test_a_judgement_of_last_season_yields_to_shoots_and_grows_stale():
    book = Book()
    book.saw(None, "weak", date(2025, 7, 1))
    assert judge(book)[0::2] == (WEAK, Grade.BORROWED)
    assert judge(book, date(2026, 9, 1))[0] is None  # 427 days old
    book.facts(norm_extension_mm=100.0)
    book.read(None, "extension", 100.0, SEEN)
    assert judge(book)[0] is STRONG


def test_own_norm_is_borrowed():
    book = Book()
    for year, length in ((2023, 100.0), (2024, 100.0), (2026, 70.0)):
        book.read(None, "extension", length, date(year, 5, 20))
    assert judge(book)[0::2] == (STEADY, Grade.BORROWED)
