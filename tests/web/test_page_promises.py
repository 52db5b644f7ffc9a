"""What was promised: the page tells each promise as the use case does, and lets it be settled."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest
from page_checks import (
    HOSTILE,
    assert_clean,
    first_sentence,
    in_german,
    rename,
    text_of,
    token,
    write,
)

from boughwright.journal.events import Event, Promised, TreeSet
from boughwright.usecases.promises import Expected, From, Held, State, promises_of
from boughwright.web.pages.promises import _expected, _Shown, _value
from boughwright.web.speech import Speaker, untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.usecases.promises import Promises
    from boughwright.web.state import Bench

MAPLE = "ditch-field-maple"
TODAY = date(2026, 6, 9)


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def promises(client: TestClient) -> Promises:
    return promises_of(bench_of(client).day())


def test_every_promise_stands_there_with_its_sign(reader: TestClient) -> None:
    answer, page = promises(reader), reader.get("/promises").text
    words, shown = Speaker(), text_of(page)
    every = (*answer.now, *answer.soon, *answer.waiting)
    assert page.count('<a class="name"') == len(every) > 5
    for held in every:
        assert held.words in shown
        assert f"Ends when {words.say(held.sign)}." in shown
        assert f'href="/trees/{held.tree}/branches/{held.branch}"' in page
        if held.record:
            assert f"/trees/{held.tree}/records/{held.record}?to=promises" in page
    assert_clean(page)


def test_the_first_sentence_counts_by_state(reader: TestClient) -> None:
    # One promise of the demonstration garden is due: the maple's leader gives way.
    answer = promises(reader)
    assert [held.place for held in answer.now] == ["top"]
    assert first_sentence(reader.get("/promises").text) == (
        f"One promise has come due; {len(answer.waiting)} wait."
    )


def test_a_promise_is_taken_back(client: TestClient) -> None:
    (held,) = promises(client).now
    where = f"/trees/{MAPLE}/records/{held.record}"
    assert 'name="to" value="promises"' in client.get(f"{where}?to=promises").text
    form = {"csrf": token(client, where), "to": "promises"}
    back = client.post(f"{where}/back", data=form)
    assert (back.status_code, back.headers["location"]) == (303, "/promises")
    # The cut that was kept for now is still there, and still has its sign.
    after = promises(client)
    assert [one.kind for one in after.now] == [From.PROVISIONAL]
    assert all(one.record != held.record for one in (*after.now, *after.soon, *after.waiting))


def test_a_promise_that_a_reading_settles_has_a_number_field(client: TestClient) -> None:
    # Read long ago, grown since: by its growth 1L has likely passed its line.
    branch = next(b for b in bench_of(client).day().tree(MAPLE).branches if b.name == "1L")
    assert branch.base_mm is not None
    held = Held(MAPLE, "Maple", "1l", "1L", From.PROMISE, "keep", "the base reaches {13 mm}",
                TODAY, State.SOON, value=12.1, limit=13.0, unit="mm")  # fmt: skip
    assert _Shown(held, Speaker()).reading == "1L base __"
    assert _Shown(replace(held, state=State.WAITING), Speaker()).reading == ""


HELD = Held("t", "T", "1l", "1L", From.JOB, "thicken", "it is thick", None, State.WAITING)


@pytest.mark.parametrize(
    ("expected", "told"),
    [
        (Expected(on=date(2026, 6, 18)), "Expected Thu 18 June."),
        (Expected(seasons=(1.15, 1.75, 2.65)), "About 1.8 seasons to go, from 1.1 to 2.6."),
        (Expected(seasons=(15.2, 16.3, 17.6)), "About 16 seasons to go, from 15 to 18."),
        (Expected(seasons=(4.9, 17.0, 59.0)), "About 17 seasons to go, from 4.9 to over 50."),
        (Expected(seasons=(2.0, 3.0, None)), "it may never come at this rate"),
        (Expected(seasons=(0.1, 0.3, 0.9), season_end=date(2026, 9, 30)), "within this season"),
    ],
)
def test_when_it_is_expected(expected: Expected, told: str) -> None:
    assert told in _expected(replace(HELD, expected=expected), Speaker())


def test_a_measure_is_told_against_its_line() -> None:
    held = replace(HELD, value=12.1, limit=15.7, unit="mm")
    assert _value(held, Speaker()) == "12.1 mm of 15.7 mm now"
    assert _value(held, Speaker(units="in")) == "0.48 in of 0.62 in now"
    assert _value(replace(held, limit=0.0, value=41.0), Speaker()) == "41.0 mm open now"
    assert _value(replace(held, value=0.27, limit=0.4, unit=""), Speaker()) == "27 % of 40 % now"
    assert _value(HELD, Speaker()) == ""


def test_without_promises_it_says_how_to_make_one(client: TestClient) -> None:
    for day in bench_of(client).day().trees:
        write(bench_of(client).book, Event(TreeSet({"gone_on": TODAY}), TODAY, day.facts.tree))
    page = client.get("/promises").text
    assert first_sentence(page) == "Nothing is promised."
    assert "1L will keep until base 15" in text_of(page)


def test_hostile_words_stay_text(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    body = Promised("keep", until=date(2026, 7, 1), because=HOSTILE)
    write(bench_of(client).book, Event(body, TODAY, MAPLE, "1l", who=HOSTILE))
    page = client.get("/promises").text
    assert_clean(page)
    assert text_of(page).count(HOSTILE) >= 2
    assert "<img" not in page


def test_the_german_page_has_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    page = client.get("/promises").text
    assert [text for text in untold if "inner shoots pass" not in text] == []
    # What a grower promised in words of his own stays as he said it.
    assert page.count('lang="en"') <= 2
