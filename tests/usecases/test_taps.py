"""Taps: each says in a bench phrase just what stands on it, and none takes more than three taps."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from boughwright.errors import TextError
from boughwright.journal.events import (
    BranchSet,
    Event,
    LookAgain,
    Measured,
    Noted,
    Promised,
    Saw,
    Worked,
)
from boughwright.journal.phrases import parse
from boughwright.journal.terms import Amount, Quantity, Sign, Work
from boughwright.store.book import Book
from boughwright.usecases.bench_phrases import BLANK
from boughwright.usecases.day import GardenDay, open_day
from boughwright.usecases.gauge import gauge_of
from boughwright.usecases.say import Phrase, say
from boughwright.usecases.taps import LIKELY, Choice, Tap, complete, free_places, taps_for

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from boughwright.journal.events import Body
    from boughwright.journal.phrases import Entry
    from boughwright.usecases.day import TreeDay

MAPLE = "ditch-field-maple"
TODAY = date(2026, 6, 9)
"""The standing day of the demonstration garden."""
TREES = (
    "courtyard-elm", "ditch-field-maple", "fan-maple", "gate-hornbeam", "tile-trident",
    "twin-hawthorn",
)  # fmt: skip


@pytest.fixture(scope="module")
def garden(demo_book: Path) -> GardenDay:
    return open_day(demo_book)


def of(garden: GardenDay, tree: str, place: str) -> tuple[TreeDay, tuple[Tap, ...]]:
    """Return the taps of a branch by its name, else of a zone or a new place."""
    day = garden.tree(tree)
    rows = {one.name: one.row for one in day.branches}
    if place in rows:
        return day, taps_for(day, rows[place])
    return day, taps_for(day, -1, place)


def tap(garden: GardenDay, tree: str, place: str, key: str) -> Tap:
    return next(one for one in of(garden, tree, place)[1] if one.key == key)


def entries(phrase: str, last_place: str = "") -> list[Entry]:
    """Return what a phrase says; nothing of it may be left unread or in doubt."""
    line = parse(phrase, today=TODAY, last_place=last_place)
    assert (line.unread, line.doubts, line.when) == ((), (), None), (phrase, line)
    return list(line.entries)


def said(phrase: str) -> tuple[tuple[str, ...], tuple[Body, ...]]:
    (entry,) = entries(phrase, last_place="9B")
    return entry.places, entry.bodies


# --- what stands on a tap is what it writes -------------------------------------------------------


def test_all_demo_trees_are_tried(garden: GardenDay) -> None:
    assert set(TREES) <= {day.tree.id for day in garden.trees}


def spots(day: TreeDay) -> list[tuple[int, str, str]]:
    zones = ("low", "mid", "apex", "low left", "outer", "inner front")
    branches = [(one.row, "", one.name) for one in day.branches if not one.gone]
    return [*branches, (-1, "", "all"), *((-1, z, z) for z in (*zones, *free_places(day)))]


@pytest.mark.parametrize("number", range(10))
def test_every_tap_of_the_demo_garden_says_what_stands_on_it(
    garden: GardenDay, number: int
) -> None:
    if number >= len(garden.trees):
        assert number > 0
        return
    day = garden.trees[number]
    for row, zone, name in spots(day):
        taps = taps_for(day, row, zone)
        assert taps, name
        assert len({one.key for one in taps}) == len(taps)
        for one in taps:
            if one.phrase:
                holds_place(one.phrase, one.what, name, row, one.key)
            for choice in one.choices:
                holds_choice(one, choice, name, row)
            assert one.phrase or one.choices or one.field


def holds_place(
    phrase: str, what: tuple[Quantity, ...], name: str, row: int, key: str
) -> tuple[Body, ...]:
    """Hold a phrase to its place; return what it says with 7 in each blank."""
    assert phrase.split().count(BLANK) == len(what) or BLANK not in phrase or key == "answer"
    places, bodies = said(complete(phrase, ["7"] * phrase.split().count(BLANK)))
    if places or row >= 0:
        assert places == (name,) or key == "answer", (phrase, places, name)
    for quantity, body in zip(what, bodies, strict=False):
        assert isinstance(body, (Measured, Worked))
        if isinstance(body, Measured):
            assert (body.what, body.value) == (quantity, 7.0)
    if key in {work.value.replace(" ", "_") for work in Work} and not what:
        assert [b.work.value.replace(" ", "_") for b in bodies if isinstance(b, Worked)] == [key]
    return bodies


FOUND: dict[str, Callable[[Any], object]] = {
    "gauge": lambda b: (b.gauge_mm, b.metal, b.strands),
    "bite": lambda b: b.bite if isinstance(b, Worked) else b.grade,
    "method": lambda b: b.method,
    "to": lambda b: (b.to, b.amount),
    "share": lambda b: b.amount,
    "seen": lambda b: (b.sign, b.amount),
    "until": lambda b: b.until_base_mm,
    "why": lambda b: b.because,
    "donor": lambda b: b.donor,
    "number": lambda b: b.value,
    "grade": lambda b: b.grade,
    "plain": lambda b: b.because,
}
"""What a body says of each kind of choice."""


def holds_choice(one: Tap, choice: Choice, name: str, row: int) -> None:
    phrase = choice.phrase.replace(BLANK, "3") if choice.kind == "grade" else choice.phrase
    bodies = holds_place(phrase, choice.what, name, row, one.key)
    body = bodies[0]
    days = (bodies[-1].due - TODAY).days if isinstance(bodies[-1], LookAgain) else None
    found = days if choice.kind == "days" else FOUND[choice.kind](body)
    stands: object = {
        "gauge": (choice.mm, choice.word, choice.n),
        "bite": choice.n,
        "method": choice.word,
        "to": (choice.word, choice.amount),
        "share": choice.amount,
        "seen": (choice.word, choice.amount),
        "until": 7.0 if choice.mm is None else choice.mm,
        "days": choice.n,
        "why": choice.word,
        "donor": choice.word,
        "number": 7.0,
        "grade": 3,
        "plain": "",
    }[choice.kind]
    assert found == stands, (choice, bodies)


# --- three taps at most ---------------------------------------------------------------------------

TABLE = [
    # what is meant, as typed; the place tapped first; the act; how its amount is known
    ("2R wire on 2 al", "2R", "wire_on", {"mm": 2.0}),
    ("2R wire off bite 3", "2R", "wire_off", {"n": 3}),
    ("low ok look 10 d", "low", "ok_look", {"n": 10}),
    ("apex cut to pair 1", "apex", "cut", {"word": "pair 1"}),
    ("1L let run until base 16.4", "1L", "let_run", {"mm": 16.4}),
    ("3B will cut past later because base", "3B", "later", {"word": "base"}),
    ("apex leaf thin most", "apex", "leaf_thin", {"amount": Amount.MOST}),
    ("low leaf thin none", "low", "leaf_thin", {"amount": Amount.NONE}),
    ("2.5R graft in from 3B", "2.5R", "graft_in", {"word": "3B"}),
    ("low left spots some", "low left", "spots", {"amount": Amount.SOME}),
    ("low left curl few", "low left", "curl", {"amount": Amount.FEW}),
    ("2.5Lg exit 6.1 entry 4.6", "2.5Lg", "exit_entry", ["6.1", "4.6"]),
    ("scar front open 41", "scar front", "open", ["41"]),
    ("4R ok", "4R", "ok", None),
    ("4R rub", "4R", "rub", None),
]


@pytest.mark.parametrize(("typed", "place", "key", "amount"), TABLE, ids=[row[0] for row in TABLE])
def test_what_growers_mean_takes_three_taps(
    garden: GardenDay, typed: str, place: str, key: str, amount: object
) -> None:
    """Place, act, amount. The cases are drawn from what is written down at a bench every day."""
    one = tap(garden, MAPLE, place, key)
    taps = 2
    if isinstance(amount, list):  # the numbers are read off a caliper, and typed in one go
        phrase, taps = complete(one.phrase, amount), 3
    elif amount is None:
        assert one.ends
        phrase = one.phrase
    else:
        assert isinstance(amount, dict)
        taps = 3
        wanted = amount.items()
        (choice,) = [c for c in one.choices if all(getattr(c, k) == v for k, v in wanted)]
        phrase = choice.phrase
    assert taps <= 3
    assert said(phrase) == said(typed)


def test_no_act_asks_for_more_than_its_amount(garden: GardenDay) -> None:
    """Once an act is chosen, one choice or the numbers of one reading end the line."""
    for day in garden.trees:
        for row, zone, _name in spots(day):
            for one in taps_for(day, row, zone):
                ways = [one.ends, bool(one.choices), bool(one.what), bool(one.field)]
                assert any(ways), one


# --- which come first -----------------------------------------------------------------------------


def first(garden: GardenDay, place: str) -> list[str]:
    return [one.key for one in of(garden, MAPLE, place)[1][:LIKELY]]


def test_what_the_verdict_asks_for_comes_first(garden: GardenDay) -> None:
    # 4R: wire off, with a note to cut past the long node. Its wire is on: a bite may be seen.
    assert first(garden, "4R") == ["wire_off", "cut", "bite", "ok", "ok_look"]
    assert first(garden, "2R")[0] == "cut"
    assert first(garden, "1L")[0] == "let_run"
    assert first(garden, "5L")[0] == "raise"
    assert first(garden, "scar front")[:2] == ["rim", "open"]
    assert first(garden, "2.5Lg")[0] == "notch"
    assert first(garden, "1L-1") == ["ok", "ok_look", "let_run", "cut", "wire_on"]
    for place in ("4R", "2R", "1L-1"):
        keys = [one.key for one in of(garden, MAPLE, place)[1] if one.advised]
        assert keys == first(garden, place)[: len(keys)]


def test_a_cut_is_offered_first_as_the_verdict_tells_it(garden: GardenDay) -> None:
    ends = [c.word for c in tap(garden, MAPLE, "top", "cut").choices]
    assert ends[0] == "inner shoot"  # the leader is swapped
    assert tap(garden, MAPLE, "4R", "cut").choices[0].word != "inner shoot"
    pairs = tap(garden, MAPLE, "2R", "cut").choices
    assert (pairs[0].word, pairs[0].advised) == ("pair 1", True)
    assert [c.word for c in pairs].count("pair 1") == 1


def test_a_maple_has_pairs_and_an_elm_has_none(garden: GardenDay) -> None:
    def ends(tree: str) -> set[object]:
        return {c.word for c in tap(garden, tree, "1L", "pinch").choices}

    assert {"pair 1", "pair 2"} <= ends(MAPLE)
    assert not {"leaf 1", "leaf 2"} & ends(MAPLE)
    assert {"leaf 1", "leaf 2"} <= ends("courtyard-elm")
    assert not {"pair 1", "pair 2"} & ends("courtyard-elm")


def test_the_gauge_that_fits_is_that_of_the_gauge_question(garden: GardenDay) -> None:
    for name in ("1L", "2R", "3B", "6R"):
        choice = gauge_of(garden, MAPLE, name).choice
        marked = [(c.mm, c.word, c.n) for c in tap(garden, MAPLE, name, "wire_on").choices
                  if c.advised]  # fmt: skip
        fits = [] if choice.gauge_mm is None else [(choice.gauge_mm, choice.metal, choice.strands)]
        assert marked == fits
    unread = [
        (day, branch)
        for day in garden.trees
        for branch in day.branches
        if branch.base_mm is None and not branch.gone
    ]
    wired = [one for day, branch in unread for one in taps_for(day, branch.row)
             if one.key == "wire_on"]  # fmt: skip
    assert not any(choice.advised for one in wired for choice in one.choices)


def test_the_gauge_used_last_comes_first(demo_book: Path, tmp_path: Path) -> None:
    path = shutil.copyfile(demo_book, tmp_path / "own.book")
    say(path, [Phrase("2R wire on 3.5 cu", TODAY, MAPLE)])
    garden = open_day(path)
    for name in ("3B", "1L-1"):
        top = tap(garden, MAPLE, name, "wire_on").choices[0]
        assert (top.mm, str(top.word), top.phrase) == (3.5, "cu", f"{name} wire on 3.5 cu")


def test_a_branch_is_let_run_until_its_target(garden: GardenDay) -> None:
    for branch in garden.tree(MAPLE).branches:
        if branch.gone or branch.target_base_mm is None or branch.order != 1:
            continue
        offered = [one for one in of(garden, MAPLE, branch.name)[1] if one.key == "let_run"]
        goals = [c.mm for one in offered for c in one.choices if c.kind == "until" and c.mm]
        reached = (branch.base_mm or 0.0) >= branch.target_base_mm
        assert goals == ([] if reached or not offered else [round(branch.target_base_mm, 1)])


def test_nothing_is_logged_on_a_branch_that_is_gone(demo_book: Path, tmp_path: Path) -> None:
    path = shutil.copyfile(demo_book, tmp_path / "own.book")
    row = open_day(path).tree(MAPLE).tree.branches.ids.index("6r")
    with Book.open(path) as book:
        book.append([Event(BranchSet({"gone_on": TODAY - timedelta(days=1)}),
                           TODAY - timedelta(days=1), MAPLE, "6r")])  # fmt: skip
    day = open_day(path).tree(MAPLE)
    assert day.tree.branches.gone[row]
    assert taps_for(day, row) == ()


def test_what_is_said_of_the_whole_tree_names_no_branch_said_before(garden: GardenDay) -> None:
    for day in garden.trees:
        for one in taps_for(day, -1):
            for phrase in filter(None, (one.phrase, *(c.phrase for c in one.choices))):
                full = complete(phrase, ["7"] * phrase.split().count(BLANK))
                (entry,) = entries(full, last_place="4R")
                assert entry.places in ((), ("all",)), phrase


def test_a_new_graft_is_named_between_its_neighbours(garden: GardenDay) -> None:
    day = garden.tree(MAPLE)
    places = free_places(day)
    assert "2.5L" not in places  # the graft 2.5Lg stands there
    assert {"2.5R", "2.5B", "2.5F", "1.5L"} <= set(places)
    assert "1.5F" not in places
    assert all(place[0] in "123456" for place in places)
    keys = [one.key for one in taps_for(day, -1, "2.5R")]
    assert keys == ["graft_in", "graft_on"]


def test_a_look_asked_for_is_answered_at_once(garden: GardenDay) -> None:
    asked = 0
    for day in garden.trees:
        for verdict in day.verdicts:
            if verdict.act != "look first":
                continue
            asked += 1
            top = taps_for(day, verdict.row)[0]
            assert (top.key, top.advised) == ("answer", True), verdict
            assert top.what or top.choices or top.field
    assert asked > 0


# --- the rest of the phrase -----------------------------------------------------------------------


def test_numbers_go_into_the_blanks_in_the_growers_unit() -> None:
    assert complete("4R base __", ["9,2"]) == "4R base 9.2"
    # 0.4 in is 10.16 mm
    assert said(complete("4R base __", ["0.4"], units="in"))[1] == (Measured(Quantity.BASE, 10.16),)
    assert said(complete("2.5Lg exit __ entry __", ["6.1", ""]))[1] == (
        Measured(Quantity.EXIT, 6.1),
    )
    # Seconds and grams are what they are, whatever lengths are told in.
    assert said(complete("drain __", ["12"], units="in"))[1] == (Measured(Quantity.DRAIN, 12.0),)
    assert said(complete("weight __", ["900"], units="in"))[1] == (
        Measured(Quantity.WEIGHT, 900.0),
    )


@pytest.mark.parametrize("numbers", [[], [""], ["  "], ["four"], ["1;2"], ["nan"], ["1e999"]])
def test_a_number_that_is_none_is_refused(numbers: list[str]) -> None:
    with pytest.raises(TextError):
        complete("4R base __", numbers)


def test_how_why_and_next_stand_at_the_end_in_that_order() -> None:
    whole = complete("2R wire off bite 3", way="unwound", why="it ran", then="look 10 d")
    off = Worked(Work.WIRE_OFF, bite=3, method="unwound", because="it ran")
    assert said(whole) == (("2R",), (off, LookAgain(TODAY + timedelta(days=10))))
    assert complete("  2R cut  ", why=" ") == "2R cut"


def test_tools_of_this_test_can_fail() -> None:
    assert said("2R cut")[1] != said("2R pinch")[1]
    with pytest.raises(AssertionError):
        entries("2R cut fnord")
    wrong = Choice("bite", "2R bite 3", n=2)
    with pytest.raises(AssertionError):
        holds_choice(Tap("bite"), wrong, "2R", 1)
    with pytest.raises(AssertionError):
        holds_choice(Tap("bite"), replace(wrong, n=3), "3B", 1)
    assert isinstance(said("note x")[1][0], Noted)
    assert said("2R will keep")[1] == (Promised("keep"),)
    assert said("2R weak")[1] == (Saw(Sign.WEAK),)
