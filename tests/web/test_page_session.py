"""The bench session: the same steps as the use case, ticked by plain forms, each undone again."""

from __future__ import annotations

import re
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
    token,
)

from boughwright.journal.events import Measured, Saw, Worked
from boughwright.journal.phrases import parse
from boughwright.journal.terms import Quantity, Sign, Work
from boughwright.usecases.bench_phrases import BLANK
from boughwright.usecases.session import Session, session_of
from boughwright.usecases.session_done import WORK_STEP, done_of
from boughwright.web.pages.session import count_of
from boughwright.web.speech import Speaker, untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

MAPLE, ELM, OAK = "ditch-field-maple", "courtyard-elm", "hill-oak"


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def session(client: TestClient, tree: str) -> Session:
    bench = bench_of(client)
    return session_of(bench.day(), tree)


def phrases_on(page: str) -> list[str]:
    return [unescape(text) for text in re.findall(r'name="text" value="([^"]*)"', page)]


def trees(client: TestClient) -> list[str]:
    return [day.facts.tree for day in bench_of(client).day().trees]


def test_every_session_stands_whole_on_its_page(reader: TestClient) -> None:
    words = Speaker()
    for tree in trees(reader):
        answer, page = session(reader, tree), reader.get(f"/trees/{tree}/bench").text
        shown = text_of(page)
        offered = phrases_on(page)
        for step in answer.steps:
            for line in step.lines:
                for text in (line.where, line.why, line.caution, *line.never):
                    assert words.say(text) in shown, (tree, text)
                if line.phrase and BLANK not in line.phrase:
                    assert line.phrase in offered
                for spot in line.spots:
                    assert f'href="/trees/{tree}/branches/{spot.branch}"' in page or not spot.branch
        assert [ask.phrase for ask in answer.asks] == [
            text for text in offered if text in {ask.phrase for ask in answer.asks}
        ]
        assert all(words.say(reason.text) in shown for reason in answer.stop)
        assert_clean(page)


def test_the_first_sentence_counts_what_is_to_be_done(reader: TestClient) -> None:
    answer = session(reader, MAPLE)
    lines = sum(len(step.lines) for step in answer.steps)
    words = Speaker()
    assert first_sentence(reader.get(f"/trees/{MAPLE}/bench").text) == (
        f"Ditch field maple: {lines + len(answer.asks)} things to do, "
        f"about {words.minutes(answer.minutes)}. Look again {words.day(answer.look_again)}."
    )


def test_at_most_five_readings_each_with_a_number_field(reader: TestClient) -> None:
    for tree in trees(reader):
        asks = session(reader, tree).asks
        page = reader.get(f"/trees/{tree}/bench").text
        fields = [a for tag, a in read(page).elements if a.get("name") == "number"]
        assert len(asks) <= 5
        assert len(fields) >= sum(ask.phrase.count(BLANK) for ask in asks)
        assert all(field["inputmode"] == "decimal" for field in fields)


def test_the_drawing_shows_the_branches_of_the_step(reader: TestClient) -> None:
    # 4R is wired: step 5 takes the wire off it alone.
    page = reader.get(f"/trees/{MAPLE}/bench?step=5").text
    meant = set(re.findall(r'data-branch="([^"]+)" data-meant', page))
    assert meant == {"4r"}
    assert 'class="step shown" id="step-5"' in page


@pytest.mark.parametrize("step", ["16", "-1", "x"])
def test_a_step_that_is_none_is_refused(reader: TestClient, step: str) -> None:
    assert reader.get(f"/trees/{MAPLE}/bench?step={step}").status_code == 422


# --- by plain forms -------------------------------------------------------------------------------


def say_it(client: TestClient, text: str, **more: object) -> None:
    where = f"/trees/{MAPLE}/bench"
    form = {"csrf": token(client, where), "tree": MAPLE, "text": text, "back": where, **more}
    assert client.post("/say", data=form).status_code == 303


def test_a_tick_logs_the_step_and_undo_brings_it_back(client: TestClient) -> None:
    before = session(client, MAPLE)
    assert "4R cut past node 1" in phrases_on(client.get(f"/trees/{MAPLE}/bench").text)
    say_it(client, "4R cut past node 1")
    page = client.get(f"/trees/{MAPLE}/bench").text
    assert "4R cut past node 1" not in phrases_on(page)
    day = bench_of(client).day().tree(MAPLE)
    done = done_of(day, bench_of(client).kept.events(MAPLE))
    assert done.count == 1
    (told,) = done.by_step[7]
    assert told.words in text_of(page)
    assert f"1 record written today; {count_of(session(client, MAPLE))} things left." in text_of(
        page
    )
    back = client.post(
        f"/trees/{MAPLE}/records/{told.id}/back",
        data={"csrf": token(client, f"/trees/{MAPLE}/bench"), "to": "bench"},
    )
    assert (back.status_code, back.headers["location"]) == (303, f"/trees/{MAPLE}/bench")
    assert session(client, MAPLE) == before


def test_a_reading_is_written_from_its_number_and_turns_the_verdict(client: TestClient) -> None:
    # The ask says that the verdict on 4R turns at 8.9 mm.
    (ask,) = session(client, MAPLE).asks
    assert (ask.phrase, ask.turns_at_mm) == ("4R base __", pytest.approx(8.9, abs=0.1))
    say_it(client, ask.phrase, number="8,6")
    bodies = [event.body for event in bench_of(client).kept.events(MAPLE)]
    assert bodies[-1] == Measured(Quantity.BASE, 8.6)
    after = session(client, MAPLE)
    acts = [x.act for step in after.steps for x in step.lines if "4R" in x.names]
    assert ask.instead in acts
    assert ask.act not in acts
    assert after.asks == ()


def test_how_deep_a_wire_sits_is_answered_by_one_tap(reader: TestClient) -> None:
    # The oak's wire on 4L and 2R is to be looked at: six grades each.
    offered = phrases_on(reader.get(f"/trees/{OAK}/bench").text)
    for name in ("4L", "2R"):
        assert [f"{name} bite {grade}" for grade in range(6)] == [
            text for text in offered if text.startswith(f"{name} bite")
        ]


def test_every_tick_parses_to_a_work_or_a_sign(reader: TestClient) -> None:
    today = bench_of(reader).today
    for tree in trees(reader):
        for text in phrases_on(reader.get(f"/trees/{tree}/bench").text):
            if text and BLANK not in text:
                entries = parse(text, today=today).entries
                assert entries, text
                assert all(entry.bodies for entry in entries), text


def test_every_work_has_its_step() -> None:
    assert set(WORK_STEP) == set(Work) - {Work.CUT}


def test_whatever_is_ticked_is_off_the_list(client: TestClient) -> None:
    """Also where a verdict stands all day, as those on feed, shade and sick wood do."""
    for tree in trees(client):
        ticks = [x.phrase for step in session(client, tree).steps for x in step.lines
                 if x.phrase and BLANK not in x.phrase]  # fmt: skip
        for text in ticks:
            form = {"csrf": token(client, f"/trees/{tree}/bench"),
                    "tree": tree, "text": text, "back": "/"}  # fmt: skip
            assert client.post("/say", data=form).status_code == 303
        left = {x.phrase for step in session(client, tree).steps for x in step.lines}
        assert not left & set(ticks), tree


def test_one_branch_ticked_leaves_the_others(client: TestClient) -> None:
    line = next(x for step in session(client, ELM).steps for x in step.lines if len(x.spots) > 3)
    where = f"/trees/{ELM}/bench"
    form = {"csrf": token(client, where), "tree": ELM, "text": line.spots[0].phrase, "back": where}
    assert client.post("/say", data=form).status_code == 303
    names = {n for step in session(client, ELM).steps for x in step.lines
             if x.act is line.act for n in x.names}  # fmt: skip
    assert line.spots[0].name not in names
    assert {spot.name for spot in line.spots[1:]} <= names


def test_what_is_done_stands_at_its_own_step(client: TestClient) -> None:
    for text in ("4R wire off cut", "top cut to inner shoot", "2R cut to pair 1", "3B bite 1",
                 "ok", "shade"):  # fmt: skip
        say_it(client, text)
    day = bench_of(client).day().tree(MAPLE)
    done = done_of(day, bench_of(client).kept.events(MAPLE))
    by_id = {event.id: event.body for event in bench_of(client).kept.events(MAPLE)}
    bodies = {step: [by_id[told.id] for told in some] for step, some in done.by_step.items()}
    assert [type(body) for body in bodies[1]] == [Saw]
    assert [(body.work, body.to) for body in bodies[7]] == [(Work.CUT, "inner shoot")]  # type: ignore[union-attr]
    assert [(body.work, body.to) for body in bodies[12]] == [(Work.CUT, "pair 1")]  # type: ignore[union-attr]
    assert {type(body) for body in bodies[5]} == {Worked, Saw}
    assert [body.work for body in bodies[15]] == [Work.SHADE]  # type: ignore[union-attr]
    assert Saw(Sign.BITE, grade=1) in bodies[5]


# --- words ----------------------------------------------------------------------------------------


def test_hostile_names_stay_text(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    page = client.get(f"/trees/{MAPLE}/bench").text
    assert_clean(page)
    assert HOSTILE in text_of(page)
    assert "<img" not in page


def test_the_german_page_has_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    for tree in trees(client):
        page = client.get(f"/trees/{tree}/bench").text
        assert '<html lang="de"' in page
        assert 'lang="en"' not in page, (tree, untold)
    assert not untold
