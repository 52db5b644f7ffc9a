"""Laws of the bench phrase: what is written is read back, and no word is ever lost."""

from __future__ import annotations

import re
from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from phrase_strategies import BODIES, TODAY, placed

from boughwright.errors import TextError
from boughwright.journal.check import check
from boughwright.journal.events import (
    BranchSet,
    Event,
    Measured,
    Noted,
    Promised,
    Saw,
    Withdrawn,
    Worked,
)
from boughwright.journal.phrases import parse
from boughwright.journal.receipt import receipt, write
from boughwright.journal.terms import Amount, Quantity, Sign, Work

if TYPE_CHECKING:
    from boughwright.journal.events import Body
    from boughwright.journal.phrases import Line


@settings(deadline=None, max_examples=600)
@given(placed())
def test_what_is_written_is_read_back(said: tuple[str, Body]) -> None:
    place, body = said
    line = parse(write(body, place), today=TODAY)
    assert [act for entry in line.entries for act in entry.acts] == [(place, body)]
    assert (line.unread, line.doubts, line.when, line.tree) == ((), (), None, None)


@settings(deadline=None)
@given(st.lists(placed(), min_size=2, max_size=4))
def test_several_entries_on_one_line_are_read_back_in_order(said: list[tuple[str, Body]]) -> None:
    told = [(place, body) for place, body in said if place]
    if told:
        line = parse("; ".join(write(body, place) for place, body in told), today=TODAY)
        assert [act for entry in line.entries for act in entry.acts] == told


@settings(deadline=None)
@given(placed())
def test_every_body_read_from_a_phrase_may_be_taken(said: tuple[str, Body]) -> None:
    check(Event(said[1], TODAY, tree="t"))


def words_kept(line: Line) -> str:
    """Every text a line keeps: entries as spelled, and the words in their bodies."""
    kept = [entry.spelled for entry in line.entries]
    kept += [b.text for e in line.entries for b in e.bodies if isinstance(b, Noted)]
    return " ".join(kept)


def takes_words_elsewhere(line: Line) -> bool:
    """Tell whether words of the line became a day or a correction."""
    command = line.undo or line.not_places or line.moved_to
    return bool(command or line.when or any(entry.when for entry in line.entries))


@settings(deadline=None, max_examples=500)
@given(st.text(max_size=60))
@example("2R wire on 2 al; ; ,")
@example('"')
@example("?")
@example("not")
@example("that was")
@example("same")
@example("2R,3B;4L.5F?")
@example("look look because because except")
@example("until 99999999 99999999d")
@example("9" * 400)
@example("look 1e9d İ ß")
def test_any_text_is_taken_and_every_word_is_kept(text: str) -> None:
    clean = "".join(c if c.isprintable() or c == "\n" else " " for c in text)
    if not clean.strip():
        with pytest.raises(TextError):
            parse(text, today=TODAY)
        return
    line = parse(text, today=TODAY, last_place="2R")
    if takes_words_elsewhere(line):
        return
    kept = words_kept(line)
    for word in re.findall(r"[^\s;]+", clean):
        assert word in kept


KNOWN = st.sampled_from(
    [
        "2R",
        "3B",
        "low",
        "top",
        "wire",
        "on",
        "off",
        "2",
        "al",
        "cut",
        "to",
        "pair",
        "1",
        "leaf",
        "thin",
        "most",
        "look",
        "10d",
        "bite",
        "3",
        "base",
        "12",
        "because",
        "same",
        "except",
        "all",
        "end",
        "scar",
        "front",
        "will",
        "keep",
        "cut",
        "past",
        "later",
        "until",
        "not",
        "no",
        "and",
        "the",
        ",",
        ";",
        "spots",
        "some",
        "graft",
        "in",
        "from",
        "open",
        "46",
        "41",
        "yesterday",
        "9",
        "June",
        "in",
        "cm",
        "mm",
        "x2",
        "trunk",
        "two",
        "first",
        "left",
    ]
)


@settings(deadline=None, max_examples=500)
@given(st.lists(KNOWN, min_size=1, max_size=14).map(" ".join))
def test_words_of_the_trade_in_any_order_are_taken_and_kept(text: str) -> None:
    line = parse(text, today=TODAY, last_place="2R")
    for entry in line.entries:
        for place, body in entry.acts:
            assert receipt(body, place, on=TODAY, today=TODAY)
            check(Event(body, TODAY, tree="t"))
    if not takes_words_elsewhere(line):
        kept = words_kept(line)
        assert all(word in kept for word in re.findall(r"[^\s;]+", text))


def texts_of(body: Body) -> list[str]:
    return [str(getattr(body, item.name)) for item in fields(body)]


@settings(deadline=None, max_examples=300)
@given(
    st.lists(KNOWN.filter(lambda w: w not in {"yesterday", "9", "June"}), max_size=10),
    st.integers(0, 10),
    st.text("qxzjv", min_size=4, max_size=9),
)
def test_a_word_nobody_knows_is_in_the_unread_or_in_the_words_of_a_body(
    known: list[str], at: int, strange: str
) -> None:
    line = parse(" ".join([*known[:at], strange, *known[at:]]), today=TODAY, last_place="2R")
    texts = [text for e in line.entries for b in e.bodies for text in texts_of(b)]
    assert strange in line.unread or any(strange in text for text in texts)
    if strange in line.unread:
        notes = [b for e in line.entries for b in e.bodies if isinstance(b, Noted) and b.unread]
        assert any(strange in note.text for note in notes)


@settings(deadline=None)
@given(st.text(max_size=40), st.dates(date(1, 1, 1), date(9999, 12, 31)))
@example("3 days ago ok", date(1, 1, 2))
@example("ok look 9w", date(9999, 12, 31))
@example("ok Sunday", date(1, 1, 1))
@example("29 Feb ok", date(2026, 6, 9))
def test_any_day_may_be_today(text: str, today: date) -> None:
    if text.strip() and any(c.isprintable() and not c.isspace() for c in text):
        assert parse(text, today=today).entries is not None


@settings(deadline=None)
@given(st.lists(placed(), min_size=1, max_size=1), st.sampled_from(["upper", "title"]))
def test_capitals_change_nothing_but_the_words_kept(said: list[tuple[str, Body]], how: str) -> None:
    place, body = said[0]
    kept_words = isinstance(body, Noted) or any(
        getattr(body, name, "") for name in ("because", "words", "donor")
    )
    if kept_words:
        return
    phrase = write(body, place)
    line = parse(getattr(phrase, how)(), today=TODAY)
    assert [act for entry in line.entries for act in entry.acts] == [(place, body)]


@pytest.mark.parametrize(
    "body",
    [
        BranchSet({"name": "1L"}),
        Withdrawn(Event(Noted("a"), TODAY).id),
        Saw(Sign.BITE, amount=Amount.SOME),
        Saw(Sign.SPOTS, grade=3),
        Saw(Sign.RUNNING, amount=Amount.HARD),
        Promised("keep", words="it"),
        Worked(Work.CUT, method="saw"),
    ],
)
def test_what_no_phrase_can_say_is_refused(body: Body) -> None:
    with pytest.raises(TextError, match="no bench phrase"):
        write(body, "1L")


def test_zone_of_a_body_stands_in_for_a_place() -> None:
    assert write(Saw(Sign.OK, zone="low left")) == "low left ok"
    assert write(Measured(Quantity.OPEN, 41.0, earlier=46.0), "scar 1") == "scar 1 open 46 to 41"
    with pytest.raises(TextError, match="no bench phrase"):
        write(Saw(Sign.OK, zone="low left"), "2R")


@settings(deadline=None)
@given(BODIES)
def test_receipts_of_all_bodies_are_one_plain_line(body: Body) -> None:
    for units in ("mm", "in"):
        told = receipt(body, "2R", on=TODAY, today=TODAY, units=units)
        assert told.startswith("2nd right: ")
        assert not re.search(r"None|[{}<>\n]|nan", told)
        if units == "in":
            assert not re.search(r"\d mm", told)
