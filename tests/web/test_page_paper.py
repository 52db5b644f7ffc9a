"""One tree on paper: all of its session, its measures, and a pupil's sheet that asks first."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from page_checks import HOSTILE, assert_clean, in_german, rename, text_of

from boughwright.usecases.bench_phrases import BLANK
from boughwright.usecases.paper import ASK_FIRST, paper_of
from boughwright.verdicts.verdict import Act
from boughwright.web.speech import Speaker, untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

MAPLE = "ditch-field-maple"


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def trees(client: TestClient) -> list[str]:
    return [day.facts.tree for day in bench_of(client).day().trees]


def boxes(page: str) -> int:
    return page.count('class="box"')


@pytest.mark.parametrize("reader_of", ["", "?for=pupil"])
def test_each_step_has_a_box_and_every_caution_stands_there(
    reader: TestClient, reader_of: str
) -> None:
    words = Speaker()
    for tree in trees(reader):
        paper = paper_of(bench_of(reader).day(), tree)
        page = reader.get(f"/trees/{tree}/paper{reader_of}").text
        shown = text_of(page)
        steps = paper.session.steps
        # A box for each reading, each line, and each step that is one thing to do by itself.
        wanted = len(paper.session.asks) + sum(max(1, len(step.lines)) for step in steps)
        assert boxes(page) == wanted
        assert paper.cautions
        assert all(words.say(text) in shown for text in paper.cautions)
        assert all(words.say(line.where) in shown for step in steps for line in step.lines)
        assert all(words.say(one.text) in shown for one in paper.session.stop)
        assert_clean(page)


def test_the_drawing_is_in_ink_and_names_its_branches(reader: TestClient) -> None:
    page = reader.get(f"/trees/{MAPLE}/paper").text
    drawing = page[page.index("<figure") : page.index("</figure>")]
    assert 'class="tree-drawing ink-only"' in drawing
    for name, act in (("4R", "wire off"), ("1L", "let run"), ("top", "swap leader")):
        assert re.search(rf">{name}</tspan>\s*{act}<", drawing), name


def test_the_table_tells_the_main_branches(reader: TestClient) -> None:
    words = Speaker()
    for tree in trees(reader):
        paper = paper_of(bench_of(reader).day(), tree)
        page = reader.get(f"/trees/{tree}/paper").text
        rows = re.findall(r'<tr><th scope="row">(.*?)</th><td class="number">(.*?)</td>', page)
        assert rows == [
            (one.name, "–" if one.base_mm is None else words.length(one.base_mm))
            for one in paper.measures
        ]
        assert {one.name for one in paper.measures} >= {
            one.name for one in paper.day.branches if one.order == 1 and not one.gone
        }


def test_a_pupil_asks_before_whatever_cannot_be_put_back(reader: TestClient) -> None:
    asked = 0
    for tree in trees(reader):
        paper = paper_of(bench_of(reader).day(), tree)
        page = reader.get(f"/trees/{tree}/paper?for=pupil").text
        lines = re.findall(r'<li class="paper-line">(.*?)</li>', page, re.S)[
            len(paper.session.asks) if paper.session.steps[1].number >= 4 else 0 :
        ]
        marked = sum("ask-first" in line for line in lines)
        wanted = [x for step in paper.session.steps for x in step.lines if x.act in ASK_FIRST]
        assert marked == len(wanted)
        asked += marked
        assert "paper-measures" not in page
        assert 'class="ask-first"' not in reader.get(f"/trees/{tree}/paper").text
    assert asked > 10


def test_acts_that_can_be_put_back_are_a_pupils_own() -> None:
    # Leaf grows again, wire goes on again, feed and shade pass: common practice for pupils.
    own = {Act.WIRE_OFF, Act.LEAF_THIN, Act.LEAF_PAIR, Act.LEAF_CLEAR, Act.FEED, Act.PROTECT,
           Act.LOOK_FIRST, Act.RAISE}  # fmt: skip
    assert not own & ASK_FIRST
    assert {Act.REMOVE, Act.CUT_PAST, Act.SEVER, Act.RIM, Act.SHORTEN} <= ASK_FIRST


def test_numbers_are_written_on_lines(reader: TestClient) -> None:
    for tree in trees(reader):
        asks = paper_of(bench_of(reader).day(), tree).session.asks
        page = reader.get(f"/trees/{tree}/paper").text
        assert page.count('class="write-line"') >= sum(a.phrase.count(BLANK) for a in asks) + 1


def test_another_reader_is_refused(reader: TestClient) -> None:
    assert reader.get(f"/trees/{MAPLE}/paper?for=nobody").status_code == 422


def test_hostile_names_stay_text(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    page = client.get(f"/trees/{MAPLE}/paper").text
    assert_clean(page)
    assert HOSTILE in text_of(page)
    assert "<img" not in page


def test_the_german_page_has_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    for tree in trees(client):
        page = client.get(f"/trees/{tree}/paper?for=pupil").text
        assert 'lang="en"' not in page, (tree, untold)
    assert not untold
