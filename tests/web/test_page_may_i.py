"""May I? Every work on trees and branches: the page answers as the use case does."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from typing import TYPE_CHECKING

import pytest
from page_checks import (
    HOSTILE,
    assert_clean,
    first_sentence,
    in_german,
    read,
    rename,
    text_of,
)

from boughwright.journal.terms import Amount, Work
from boughwright.usecases.may_i import ask_of
from boughwright.verdicts.answer import Say
from boughwright.web.pages.may_i import GROUPS, Question

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

MAPLE = "ditch-field-maple"
SAID = {Say.YES: "yes", Say.NOT_NOW: "not now", Say.NEVER: "never"}


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def ask(client: TestClient, **told: str) -> str:
    answer = client.get("/may-i", params=told)
    assert answer.status_code == 200
    assert_clean(answer.text)
    return answer.text


def test_without_a_question_it_asks_for_one(reader: TestClient) -> None:
    page = ask(reader)
    assert first_sentence(page) == "May I? Choose a tree and a work."
    trees = re.findall(r'<option value="([a-z-]+)">', page.split('id="may-place"')[0])
    assert sorted(trees) == sorted(d.facts.tree for d in bench_of(reader).day().trees)


def test_every_work_can_be_chosen_once() -> None:
    works = [work for _, group in GROUPS for work in group]
    assert sorted(works) == sorted(Work)


@pytest.mark.parametrize("place", ["", "4R", "low"])
def test_all_works_of_a_place_are_answered_as_the_use_case_answers(
    reader: TestClient, place: str
) -> None:
    page = ask(reader, tree=MAPLE, place=place)
    garden = bench_of(reader).day()
    words = bench_of(reader).speaker()
    rows = re.findall(r'<a class="row-link may-row" href="([^"]+)">(.*?)</a>', page, re.S)
    assert len(rows) == len(Work)
    free = 0
    for (_, group), (href, told) in zip(
        [(key, work) for key, works in GROUPS for work in works], rows, strict=True
    ):
        answer = ask_of(garden, MAPLE, f"{place} {group.value}".strip()).answer
        free += answer.say is Say.YES
        shown = text_of(told)
        assert SAID[answer.say] in shown
        assert ("from" in shown) == (answer.from_date is not None)
        if answer.from_date:
            assert words.day(answer.from_date) in shown
        assert f"work={group.value.replace(' ', '+')}" in unescape(href)
    where = f"{place} of Ditch field maple" if place else "the whole of Ditch field maple"
    assert first_sentence(page) == f"{free} of 28 works may be done on {where}, Tue 9 June."


@pytest.mark.parametrize("work", list(Work))
def test_a_work_is_answered_with_all_its_reasons(reader: TestClient, work: Work) -> None:
    bench = bench_of(reader)
    garden, words = bench.day(), bench.speaker()
    for tree, place in ((MAPLE, "4R"), ("gate-hornbeam", ""), ("river-maple", "")):
        page = ask(reader, tree=tree, place=place, work=work.value)
        answer = ask_of(garden, tree, f"{place} {work.value}".strip()).answer
        told = text_of(page)
        assert first_sentence(page).lower().startswith(f"{SAID[answer.say]}: ")
        for reason in answer.reasons:
            assert words.say(reason.text) in told
        for part in (answer.condition, answer.instead):
            assert words.say(part) in told
        if answer.from_date:
            assert f"It may be done from {words.day(answer.from_date)}." in told
        elif answer.say is Say.NOT_NOW:
            assert "From when is not known by date." in told


@pytest.mark.parametrize("amount", list(Amount))
def test_an_amount_is_part_of_the_question_for_every_work(
    reader: TestClient, amount: Amount
) -> None:
    garden = bench_of(reader).day()
    for work in Work:
        for place in ("", "4R"):
            said = Question(MAPLE, place, work.value, amount.value).said()
            asked = ask_of(garden, MAPLE, said)
            assert (asked.work.work, asked.work.amount) == (work, amount), said
            assert asked.places == ((place,) if place else ("all",))


def test_a_hard_cut_waits_for_the_graft_and_the_day_it_gives_is_a_yes_or_another_no(
    reader: TestClient,
) -> None:
    # Written case: the graft of 11 May keeps a large cut waiting six weeks, to 22 June.
    page = ask(reader, tree=MAPLE, place="4R", work="cut", amount="hard")
    assert first_sentence(page) == "Not now: cut (hard), 4R of Ditch field maple, Tue 9 June."
    assert "It may be done from Mon 22 June." in text_of(page)
    later = re.search(r'href="(/may-i\?[^"]*day=2026-06-22[^"]*)"', page)
    assert later is not None
    then = ask_of(bench_of(reader).day(), MAPLE, "4R cut hard", date(2026, 6, 22)).answer
    there = reader.get(unescape(later[1])).text
    assert first_sentence(there).lower().startswith(SAID[then.say])
    assert "Mon 22 June" in first_sentence(there)


def test_own_words_are_read_as_the_phrase_they_are(reader: TestClient) -> None:
    page = ask(reader, tree=MAPLE, phrase="4R cut to pair 1")
    answer = ask_of(bench_of(reader).day(), MAPLE, "4R cut to pair 1").answer
    assert first_sentence(page).lower().startswith(f"{SAID[answer.say]}: cut, 4r of")
    assert 'value="4R cut to pair 1"' in page
    assert "proof glove" in text_of(page)


@pytest.mark.parametrize(
    ("told", "kept"),
    [
        ({"tree": MAPLE, "phrase": "9Z cut"}, "9Z cut"),
        ({"tree": MAPLE, "phrase": HOSTILE}, HOSTILE),
        ({"tree": MAPLE, "work": "sing"}, ""),
        ({"tree": MAPLE, "place": "77Q", "work": "cut"}, "77Q"),
        ({"tree": "no-such-tree", "work": "cut"}, ""),
        ({"tree": MAPLE, "work": "cut", "day": "soon"}, "soon"),
    ],
)
def test_what_is_not_understood_gets_no_half_answer(
    reader: TestClient, told: dict[str, str], kept: str
) -> None:
    page = ask(reader, **told)
    assert 'role="alert"' in page
    assert "There is no answer:" in text_of(page)
    assert 'class="verdict may-word"' not in page
    assert HOSTILE not in page
    values = [a.get("value", "") for _, a in read(page).elements]
    assert kept in values


def test_too_much_is_refused(reader: TestClient) -> None:
    assert reader.get("/may-i", params={"tree": "x" * 500}).status_code == 422
    assert reader.get("/may-i", params={"phrase": "x" * 5000}).status_code == 422


def test_a_branch_card_leads_here_with_its_place(reader: TestClient) -> None:
    page = ask(reader, tree=MAPLE, place="4R")
    assert '<option value="4R" selected>' in page
    assert f'<option value="{MAPLE}" selected>' in page


def test_a_name_with_code_in_it_stays_text(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    page = ask(client, tree=MAPLE, work="repot")
    assert HOSTILE not in page
    assert " ".join(HOSTILE.split()) in first_sentence(page)


def test_german_pages_have_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    questions = [{}, {"tree": MAPLE}, {"tree": MAPLE, "place": "4R"}]
    questions += [
        {"tree": tree, "place": place, "work": work.value, "amount": amount}
        for tree, place in ((MAPLE, "4R"), ("gate-hornbeam", ""), ("river-maple", ""))
        for work in Work
        for amount in ("", "hard")
    ]
    for told in questions:
        page = ask(client, **told)
        spans = [a for _, a in read(page).elements if a.get("lang") == "en"]
        assert spans == [], (told, re.findall(r"<span lang=en>.*?</span>", page))
        for english in (" the ", "not now", "yes", "Until", "works", "June"):
            assert english not in text_of(page), (told, english)
