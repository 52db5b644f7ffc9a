"""Bench phrases read as meant.

The utterances are written cases, made up from the table of phrases and from what is said at a
bench; they are not recordings of growers, and no agreement of growers is claimed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import pytest

from boughwright.errors import TextError
from boughwright.journal.events import (
    LookAgain,
    Measured,
    Noted,
    Promised,
    Saw,
    Worked,
)
from boughwright.journal.phrases import Line, parse
from boughwright.journal.terms import (
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

if TYPE_CHECKING:
    from boughwright.journal.events import Body

TODAY = date(2026, 6, 9)  # a Tuesday
TREES = ("Gate hornbeam", "Fan maple", "Ditch field maple", "12")

AL, CU = Metal.ALUMINIUM, Metal.COPPER
W, Q, S = Work, Quantity, Sign


@dataclass
class Case:
    """One utterance and what was meant by it."""

    text: str
    meant: list[tuple[str, Body]] = field(default_factory=list)
    """Place and body of every act, in order."""
    last: str = ""
    tree: str | None = None
    when: date | None = None
    excepts: tuple[str, ...] = ()
    """Of the last entry."""
    unread: tuple[str, ...] = ()


def wire(gauge: float | None, metal: Metal | None = None, **more: object) -> Worked:
    return Worked(W.WIRE_ON, gauge_mm=gauge, metal=metal, **more)  # type: ignore[arg-type]


def off(bite: int | None = None, method: str = "") -> Worked:
    return Worked(W.WIRE_OFF, bite=bite, method=method)


def cut(to: str = "", **more: object) -> Worked:
    return Worked(W.CUT, to=to, **more)  # type: ignore[arg-type]


CASES = [
    # Every row of the table of phrases.
    Case("2R wire on 2 al", [("2R", wire(2.0, AL))]),
    Case("2R wire off bite 3 unwound", [("2R", off(3, "unwound"))]),
    Case(
        "low ok look 10d",
        [("low", Saw(S.OK, zone="low")), ("low", LookAgain(date(2026, 6, 19), zone="low"))],
    ),
    Case("apex cut to pair 1", [("apex", cut("pair 1", zone="apex"))]),
    Case("1L let run until base 14", [("1L", Worked(W.LET_RUN, until_base_mm=14.0))]),
    Case(
        "3R will cut past later because base", [("3R", Promised("cut past later", because="base"))]
    ),
    Case(
        "apex leaf thin most; low leaf thin none",
        [
            ("apex", Worked(W.LEAF_THIN, amount=Amount.MOST, zone="apex")),
            ("low", Worked(W.LEAF_THIN, amount=Amount.NONE, zone="low")),
        ],
    ),
    Case("2.5L graft in from 3B", [("2.5L", Worked(W.GRAFT_IN, donor="3B"))]),
    Case(
        "2.5Lg exit 6.1 entry 4.6",
        [("2.5Lg", Measured(Q.EXIT, 6.1)), ("2.5Lg", Measured(Q.ENTRY, 4.6))],
    ),
    Case("scar front open 46 to 41", [("scar front", Measured(Q.OPEN, 41.0, earlier=46.0))]),
    Case(
        "low left spots some; curl few",
        [
            ("low left", Saw(S.SPOTS, amount=Amount.SOME, zone="low left")),
            ("low left", Saw(S.CURL, amount=Amount.FEW, zone="low left")),
        ],
    ),
    Case(
        "2R cut to pair 1; same 4L 5R except end",
        [("2R", cut("pair 1")), ("4L", cut("pair 1")), ("5R", cut("pair 1"))],
        excepts=("5R-end",),
    ),
    # No place: the last place; with a tree named, none.
    Case("wire off bite 2", [("4L", off(2))], last="4L"),
    Case("end cut to leaf 2", [("3B-end", cut("leaf 2"))], last="3B"),
    Case(
        "1L, 2R wire on 2 al; look 3w",
        [
            ("1L", wire(2.0, AL)),
            ("2R", wire(2.0, AL)),
            ("1L", LookAgain(date(2026, 6, 30))),
            ("2R", LookAgain(date(2026, 6, 30))),
        ],
    ),
    Case("repot light", [("", Worked(W.REPOT, amount=Amount.LIGHT))], last="4L"),
    Case("feed half", [("", Worked(W.FEED, amount=Amount.HALF))], last="4L"),
    Case("Gate hornbeam 2R ok", [("2R", Saw(S.OK))], tree="Gate hornbeam"),
    Case(
        "hornbeam: wire off all",
        [("", Worked(W.WIRE_OFF, amount=Amount.ALL))],
        "4L",
        tree="Gate hornbeam",
    ),
    Case("12 2R wire off cut", [("2R", off(None, "cut"))], tree="12"),
    # All, and all except.
    Case("all ok", [("all", Saw(S.OK))]),
    Case("all except 3B, top leaf clear", [("all", Worked(W.LEAF_CLEAR))], excepts=("3B", "top")),
    Case(
        "all but not 3B feed full", [("all", Worked(W.FEED, amount=Amount.FULL))], excepts=("3B",)
    ),
    # Late entry.
    Case("4L wire off bite 2 yesterday", [("4L", off(2))], when=date(2026, 6, 8)),
    Case("4L wire off bite 2 last Sunday", [("4L", off(2))], when=date(2026, 6, 7)),
    Case("on Tuesday 4L ok", [("4L", Saw(S.OK))], when=date(2026, 6, 2)),
    Case(
        "repot hard 12 March", [("", Worked(W.REPOT, amount=Amount.HARD))], when=date(2026, 3, 12)
    ),
    Case("4L ok 28 Dec", [("4L", Saw(S.OK))], when=date(2025, 12, 28)),
    Case("9 Jun 2025: top burst", [("top", Saw(S.BURST))], when=date(2025, 6, 9)),
    Case("4L ok 2026-05-30", [("4L", Saw(S.OK))], when=date(2026, 5, 30)),
    Case("4L rub ten days ago", [("4L", Worked(W.RUB))], when=date(2026, 5, 30)),
    Case(
        "2R wire on 2 al look 10d 1 June",
        [("2R", wire(2.0, AL)), ("2R", LookAgain(date(2026, 6, 11)))],
        when=date(2026, 6, 1),
    ),
    # Spoken.
    Case("two right wire on two al", [("2R", wire(2.0, AL))]),
    Case("please wire off the second right, bite three, and unwound", [("2R", off(3, "unwound"))]),
    Case("three back cut to the first pair", [("3B", cut("pair 1"))]),
    Case("2nd right, 1st side shoot rub", [("2R-1", Worked(W.RUB))]),
    Case("two point five left graft exit six point one", [("2.5Lg", Measured(Q.EXIT, 6.1))]),
    Case(
        "one left wired one point five copper doubled, look again in two weeks",
        [("1L", wire(1.5, CU, strands=2)), ("1L", LookAgain(date(2026, 6, 23)))],
    ),
    Case("top pinched", [("top", Worked(W.PINCH))]),
    Case("low clusters to two", [("low", Worked(W.TWO, zone="low"))]),
    Case("3B two", [("3B", Worked(W.TWO))]),
    Case("few spots low left", [("low left", Saw(S.SPOTS, amount=Amount.FEW, zone="low left"))]),
    Case("no spots on 4R", [("4R", Saw(S.SPOTS, amount=Amount.NONE))]),
    Case("low left alone", [("low", Saw(S.OK, zone="low"))]),
    # Units.
    Case("2R base 0.5 in", [("2R", Measured(Q.BASE, 12.7))]),
    Case('2R base 0.5"', [("2R", Measured(Q.BASE, 12.7))]),
    Case("2R base 1,25 cm", [("2R", Measured(Q.BASE, 12.5))]),
    Case("2R base 12,1 marked", [("2R", Measured(Q.BASE, 12.1, marked=True))]),
    Case("pot drain 40 s", [("pot", Measured(Q.DRAIN, 40.0))]),
    Case("weight 3.4 kg", [("", Measured(Q.WEIGHT, 3400.0))], last="2R"),
    # Wire, cuts, grafts, scars.
    Case(
        "2R wire on 1.5 al x2 tight strong 14 shoots",
        [("2R", wire(1.5, AL, strands=2, fit=Fit.TIGHT, bend=Bend.STRONG, shoots=14))],
    ),
    Case(
        "apex wire on 1 al loose gentle",
        [("apex", wire(1.0, AL, fit=Fit.LOOSE, bend=Bend.GENTLE, zone="apex"))],
    ),
    Case("2R bite 3 cut past node 1", [("2R", Saw(S.BITE, grade=3)), ("2R", cut("past node 1"))]),
    Case("4R wire off bite 3 cut", [("4R", off(3, "cut"))]),
    Case("4R wire off bite 1 cut past node 1", [("4R", off(1)), ("4R", cut("past node 1"))]),
    Case("5L held; 6R sprang", [("5L", Saw(S.HELD)), ("6R", Saw(S.SPRANG))]),
    Case(
        "6R cut to inner shoot because too thick", [("6R", cut("inner shoot", because="too thick"))]
    ),
    Case("1L let run until 1 August", [("1L", Worked(W.LET_RUN, until=date(2026, 8, 1)))]),
    Case(
        "top graft on from seedling by the tap",
        [("top", Worked(W.GRAFT_ON, donor="seedling by the tap"))],
    ),
    Case(
        "2.5Lg notch a third; gap", [("2.5Lg", Worked(W.NOTCH, share=1 / 3)), ("2.5Lg", Saw(S.GAP))]
    ),
    Case("scar 1 rim", [("scar 1", Worked(W.RIM))]),
    Case(
        "3B raise; 6R lower; 1L guy on",
        [("3B", Worked(W.RAISE)), ("6R", Worked(W.LOWER)), ("1L", Worked(W.GUY_ON))],
    ),
    Case("3B-2 will for graft 2.5L", [("3B-2", Promised("for graft", words="2.5L"))]),
    Case("1L will until base 14", [("1L", Promised("until base", until_base_mm=14.0))]),
    Case("1L will until 1 Aug", [("1L", Promised("until", until=date(2026, 8, 1)))]),
    Case(
        "top will swap when two inner shoots firm",
        [("top", Promised("swap when", words="two inner shoots firm"))],
    ),
    Case("2R will keep", [("2R", Promised("keep"))]),
    # Signs and stages.
    Case("apex first leaf", [("apex", Saw(S.FIRST_LEAF, zone="apex"))]),
    Case("leaf drop half", [("", Saw(S.LEAF_DROP, amount=Amount.HALF))]),
    Case("apex hard", [("apex", Saw(S.HARD, zone="apex"))]),
    Case(
        "all frost light; 3B canker; fruit off all",
        [
            ("all", Saw(S.FROST, amount=Amount.LIGHT)),
            ("3B", Saw(S.CANKER)),
            ("3B", Worked(W.FRUIT_OFF, amount=Amount.ALL)),
        ],
    ),
    Case(
        "low pale; apex regrowth; 2R wilt",
        [
            ("low", Saw(S.PALE, zone="low")),
            ("apex", Saw(S.REGROWTH, zone="apex")),
            ("2R", Saw(S.WILT)),
        ],
    ),
    Case("trunk 88; 2R trunk 43", [("", Measured(Q.TRUNK, 88.0)), ("2R", Measured(Q.TRUNK, 43.0))]),
    Case(
        "2R base 14.6 node 40 room 150",
        [
            ("2R", Measured(Q.BASE, 14.6)),
            ("2R", Measured(Q.NODE, 40.0)),
            ("2R", Measured(Q.ROOM, 150.0)),
        ],
    ),
    Case("apex bud select most", [("apex", Worked(W.BUD_SELECT, amount=Amount.MOST, zone="apex"))]),
    # Without punctuation, a place starts the next entry.
    Case("2R wire on 2 al 4L wire on 1.5 al", [("2R", wire(2.0, AL)), ("4L", wire(1.5, AL))]),
    Case(
        "2R leaf thin some outer", [("2R", Worked(W.LEAF_THIN, amount=Amount.SOME, zone="outer"))]
    ),
    # The place right after its act, and a day before the next look.
    Case(
        "wire off apex, all bitten 2, cut",
        [("apex", Worked(W.WIRE_OFF, amount=Amount.ALL, bite=2, method="cut", zone="apex"))],
        last="1L",
    ),
    Case("cut 3B back to two leaves", [("3B", cut("leaf 2"))], last="1L"),
    Case(
        "let run 1L and 3B until base 14",
        [(place, Worked(W.LET_RUN, until_base_mm=14.0)) for place in ("1L", "3B")],
    ),
    Case("base 2R 14.6", [("2R", Measured(Q.BASE, 14.6))], last="1L"),
    Case("ok 2R wire off", [("1L", Saw(S.OK)), ("2R", off())], last="1L"),
    Case("cut 2R, 3B wire off", [("2R", cut()), ("3B", off())], last="1L"),
    Case(
        "2R wire on 2 al on 7 June, look 10d",
        [("2R", wire(2.0, AL)), ("2R", LookAgain(date(2026, 6, 17)))],
        when=date(2026, 6, 7),
    ),
    Case("2R wire on 7 June", [("2R", wire(None))], when=date(2026, 6, 7)),
    Case("burst on 3 April", [("", Saw(S.BURST))], last="2R", when=date(2026, 4, 3)),
    Case(
        "apex two; low same",
        [("apex", Worked(W.TWO, zone="apex")), ("low", Worked(W.TWO, zone="low"))],
    ),
    # Unknown words: what is known is taken, and the whole is kept.
    Case(
        "2R wire on 2 al shiny",
        [("2R", wire(2.0, AL)), ("2R", Noted("2R wire on 2 al shiny", unread=True))],
        unread=("shiny",),
    ),
    Case(
        "colours lovely against the fence",
        [("4L", Noted("colours lovely against the fence", unread=True))],
        last="4L",
        unread=("colours", "lovely", "against", "the", "fence"),
    ),
    Case("note ask Ana, about the pot", [("", Noted("ask Ana, about the pot"))]),
    Case(
        "did not wire 2R",
        [("", Noted("did not wire 2R", unread=True))],
        unread=("did", "not", "wire", "2R"),
    ),
    Case("2R dead?", [("", Noted("2R dead?", unread=True))], unread=("2R", "dead?")),
]


def read(case: Case) -> Line:
    return parse(case.text, today=TODAY, trees=TREES, last_place=case.last)


def acts(line: Line) -> list[tuple[str, Body]]:
    return [act for entry in line.entries for act in entry.acts]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.text)
def test_utterance_is_read_as_meant(case: Case) -> None:
    line = read(case)
    assert acts(line) == case.meant
    assert line.tree == case.tree
    assert line.when == case.when
    assert line.entries[-1].excepts == case.excepts
    assert line.unread == case.unread
    assert not line.undo
    assert line.moved_to is None
    assert line.not_places == ()


def test_share_of_utterances_read_as_meant() -> None:
    assert len(CASES) >= 45
    as_meant = sum(acts(read(case)) == case.meant for case in CASES)
    assert as_meant / len(CASES) >= 0.95


# --- corrections ---------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["undo", "Undo.", "undo that", "take that back"])
def test_undo(text: str) -> None:
    line = parse(text, today=TODAY)
    assert line.undo
    assert line.entries == ()


@pytest.mark.parametrize(
    ("text", "places"), [("not 4L", ("4L",)), ("not 4L, 5R", ("4L", "5R")), ("not low", ("low",))]
)
def test_not_these_places(text: str, places: tuple[str, ...]) -> None:
    line = parse(text, today=TODAY)
    assert line.not_places == places
    assert line.entries == ()


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("that was yesterday", date(2026, 6, 8)),
        ("that was on Sunday", date(2026, 6, 7)),
        ("that was 1 June", date(2026, 6, 1)),
    ],
)
def test_moved_to_another_day(text: str, day: date) -> None:
    line = parse(text, today=TODAY)
    assert line.moved_to == day
    assert line.entries == ()


def test_same_on_a_line_of_its_own_repeats_what_was_said_before() -> None:
    bare = parse("same 4L", today=TODAY, last_place="2R").entries[0]
    assert (bare.same, bare.places, bare.bodies) == (True, ("4L",), ())
    told = parse("same 4L", today=TODAY, last_place="2R", last_bodies=[off(1)]).entries[0]
    assert told.bodies == (off(1),)


# --- days ----------------------------------------------------------------------------------------


def test_each_entry_may_have_its_own_day() -> None:
    line = parse("2R wire off yesterday; 3B ok", today=TODAY)
    assert line.when is None
    assert [entry.when for entry in line.entries] == [date(2026, 6, 8), None]
    spoken = parse("2R wire off yesterday 3B ok", today=TODAY)
    assert [(e.places, e.when) for e in spoken.entries] == [
        (("2R",), date(2026, 6, 8)),
        (("3B",), None),
    ]
    mended = parse("2R wire off 31 June; 3B ok", today=TODAY)
    assert acts(mended) == [("", Noted("2R wire off 31 June", unread=True)), ("3B", Saw(S.OK))]


def test_look_counts_from_the_day_of_the_work() -> None:
    entry = parse("2R wire off; look 2w last Sunday", today=TODAY).entries[1]
    assert entry.bodies == (LookAgain(date(2026, 6, 21)),)  # 7 June and 14 days


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2R wire off 31 June", "31 June is no date"),
        ("2R wire off 2026-02-30", "2026-02-30 is no date"),
        ("2R wire off 20 July", "20 July lies ahead"),
        ("2R wire off tomorrow", "tomorrow lies ahead"),
        ("tomorrow 2R wire off", "tomorrow lies ahead"),
        ("2R wire off 9 June 2027", "9 June 2027 lies ahead"),
    ],
)
def test_nothing_is_recorded_on_a_wrong_day_and_nothing_is_lost(text: str, said: str) -> None:
    line = parse(text, today=TODAY)
    assert acts(line) == [("", Noted(text, unread=True))]
    assert line.when is None
    assert said in line.doubts[0]


# --- numbers that cannot be ------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kept", "doubt"),
    [
        ("2R base 4000", [], "base {4000 mm} was not taken. It must be {0.1 mm} to {1000 mm}."),
        ("2R base 99 in", [], "base {2514.6 mm} was not taken."),
        ("2R wire on 200 al", [wire(None, AL)], "Wire {200 mm} was not taken."),
        ("2R wire off bite 7", [off()], "bite 7 was not taken. It must be 0 to 5."),
        ("2R bite 2.5", [Saw(S.BITE)], "bite 2.5 was not taken. It must be a whole number."),
        ("2R ok look 9999d", [Saw(S.OK)], "Look 9999 d was not taken."),
        ("1L let run until 1 Aug 2020", [Worked(W.LET_RUN)], "Name a day to come."),
        ("pot drain 99999999", [], "drain 1e+08 s was not taken. It must be 0 s to 86400 s."),
    ],
)
def test_impossible_numbers_are_kept_as_words_with_a_plain_message(
    text: str, kept: list[Body], doubt: str
) -> None:
    line = parse(text, today=TODAY)
    assert list(line.entries[0].bodies) == [*kept, Noted(text, unread=True)]
    assert len(line.doubts) == 1
    assert doubt in line.doubts[0]


def test_grower_on_inches_is_told_when_a_bare_number_was_read_as_mm() -> None:
    line = parse("2R base 0.5", today=TODAY, units="in")
    assert acts(line) == [("2R", Measured(Q.BASE, 0.5))]
    assert line.doubts == ("0.5 was read as mm. Put in after it for inches.",)
    assert parse("2R base 0.5 in; wire on 2 al", today=TODAY, units="in").doubts == ()


@pytest.mark.parametrize("text", ["", "   ", "\n\t", "\x00"])
def test_empty_line_is_refused(text: str) -> None:
    with pytest.raises(TextError, match="the line is empty"):
        parse(text, today=TODAY)


# --- trees ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "tree", "place"),
    [
        ("fan maple 1L ok", "Fan maple", "1L"),
        ("field maple 1L ok", "Ditch field maple", "1L"),
        ("12: 1L ok", "12", "1L"),
        ("12 left ok", None, "12L"),
        ("maple 1L ok", None, "1L"),
    ],
)
def test_tree_at_the_start_of_a_line(text: str, tree: str | None, place: str) -> None:
    line = parse(text, today=TODAY, trees=TREES)
    assert line.tree == tree
    assert line.entries[-1].places == (place,)


@pytest.mark.parametrize(
    "line",
    [
        "1L will cut past when it is thick",
        "1L will cut to pair 1 next year",
        "3B will be cut",
        "2R needs wire on 2 al",
        "1L must cut to pair",
        "1L cut tomorrow",
        "2R should repot hard",
    ],
)
def test_what_is_yet_to_be_done_is_kept_as_a_note_and_never_as_done(line: str) -> None:
    found = parse(line, today=date(2026, 6, 9))
    bodies = [body for entry in found.entries for body in entry.bodies]
    assert bodies == [Noted(line, unread=True)]


def test_a_promise_is_still_a_promise() -> None:
    (entry,) = parse("1L will cut past later because base", today=date(2026, 6, 9)).entries
    assert entry.bodies == (Promised("cut past later", because="base"),)
