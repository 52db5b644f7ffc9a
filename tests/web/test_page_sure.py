"""Sureness, doubts, sources, species and the list of more pages: figures as the use cases give."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest
from page_checks import HOSTILE, assert_clean, first_sentence, in_german, read, rename, text_of

from boughwright.sources import Grade, all_sources
from boughwright.species.tables import all_species, trait_meanings
from boughwright.usecases.doubts import doubts_of
from boughwright.usecases.species import species_values
from boughwright.usecases.sureness import Rests, Sure, sureness_of
from boughwright.web.pages.more import GROUPS, NAMED
from boughwright.web.pages.sure import _bar, _sentence
from boughwright.web.speech import Speaker, untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

HORNBEAM = "gate-hornbeam"
SHEETS = ("/more", "/sure", "/doubts", "/sources", "/species", "/species?name=Acer+campestre")


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


@pytest.mark.parametrize("path", SHEETS)
def test_each_page_is_clean_and_answers_in_one_sentence(reader: TestClient, path: str) -> None:
    answer = reader.get(path)
    assert answer.status_code == 200
    assert first_sentence(answer.text).endswith(".")
    assert_clean(answer.text)


# --- sureness -------------------------------------------------------------------------------------


def test_the_figures_are_those_of_the_use_case(reader: TestClient) -> None:
    answer, page = sureness_of(bench_of(reader).day()), reader.get("/sure").text
    shown = text_of(page)
    total = sum(one.total for one in answer.forecasts)
    guess = sum(one.guess for one in answer.forecasts)
    asks = sum(len(tree.asks) for tree in answer.trees)
    assert first_sentence(page) == (
        f"{Speaker().percent(guess / total)} of {total} forecasts rest on a guess, "
        f"and {asks} readings could change a verdict today."
    )
    for one in answer.forecasts:
        told = f"{one.measured} measured, {one.borrowed} borrowed, {one.guess} guessed"
        assert not one.total or told in shown
    for act in answer.acts:
        cells = "".join(
            f'<td class="number">{n}</td>'
            for n in (act.sure, act.likely, act.doubtful, act.measured, act.borrowed, act.guess)
        )
        assert cells in page
    for tree in answer.trees:
        assert all(f'value="{ask.phrase}"' in page for ask in tree.asks)
        assert all(Speaker().say(one.how) in shown for one in tree.missing)
    assert answer.record in shown


@pytest.mark.parametrize("counts", [(3, 1, 4), (0, 0, 5), (7, 0, 0), (1, 548, 0)])
def test_a_bar_has_its_shares(counts: tuple[int, int, int]) -> None:
    bar = str(_bar(Rests("wire", "wires", *counts), Speaker()))
    widths = [float(w) for w in re.findall(r'" y="1" width="([\d.]+)%"', bar)]
    shares = [100 * n / sum(counts) for n in counts if n]
    assert widths == pytest.approx(shares, abs=0.01)
    kinds = [k for k, n in zip(("measured", "borrowed", "guess"), counts, strict=True) if n]
    assert re.findall(r'class="rests (\w+)"', bar) == kinds
    assert f"{counts[0]} measured, {counts[1]} borrowed, {counts[2]} guessed" in bar


def test_without_trees_it_leads_to_the_first() -> None:
    answer = Sure(date(2026, 6, 9), (), (), (), "")
    assert _sentence(answer, Speaker()) == (
        "There is no tree yet, so there is nothing to be sure of."
    )


# --- doubts ---------------------------------------------------------------------------------------


def test_every_doubt_leads_to_its_records(reader: TestClient) -> None:
    bench = bench_of(reader)
    found = doubts_of(day.tree for day in bench.day().trees)
    page = reader.get("/doubts").text
    assert first_sentence(page) == f"{len(found)} pairs of records cannot both be right."
    for doubt in found:
        assert Speaker().say(doubt.what.what) in text_of(page)
    links = set(re.findall(r"/records/([0-9a-f-]{36})", page))
    assert links == {str(event) for doubt in found for event in doubt.what.events}
    for path in re.findall(r'href="(/trees/[^"]+/records/[^"]+)"', page):
        assert reader.get(path).status_code == 200


def test_hostile_names_stay_text(client: TestClient) -> None:
    rename(bench_of(client).book, HORNBEAM)
    for path in ("/doubts", "/sure"):
        page = client.get(path).text
        assert_clean(page)
        assert HOSTILE in text_of(page)
        assert "<img" not in page


# --- what is looked up ----------------------------------------------------------------------------


def test_every_source_has_its_anchor(reader: TestClient) -> None:
    page = reader.get("/sources").text
    ids = [a["id"] for _, a in read(page).elements if "id" in a]
    every = all_sources()
    assert set(every) <= set(ids)
    assert len(ids) == len(set(ids))
    shown = text_of(page)
    assert all(" ".join(one.text.split()) in shown for one in every.values())


def test_every_value_of_every_species_leads_to_its_source(reader: TestClient) -> None:
    known = set(all_sources())
    for species in all_species():
        _, lines = species_values(species.botanical)
        page = reader.get("/species", params={"name": species.botanical}).text
        shown = [line for line in lines if line.trait.value != ""]
        linked = re.findall(r'href="/sources#([^"]+)"', page)
        assert linked == [line.trait.source for line in shown]
        assert set(linked) <= known
        grades = re.findall(r'class="grade (\w+)"', page)
        assert grades == [line.trait.grade.word for line in shown]
        guess = sum(line.trait.grade is Grade.GUESS for line in lines)
        assert f"{guess} of {len(lines)} values are guesses" in first_sentence(page)


def test_a_range_is_told_in_the_growers_units(reader: TestClient) -> None:
    # Field maple, a refined twig's gain: 0.20 mm, 0.125 to 0.32.
    shown = text_of(reader.get("/species?name=field+maple").text)
    assert "0.20 mm (0.12 mm to 0.32 mm)" in shown
    assert "45 portions (35 portions to 55 portions)" in shown


def test_words_of_a_value_are_all_told() -> None:
    words = Speaker()
    for species in all_species():
        for name in NAMED:
            assert words.t(f"species.word.{species.word(name).replace(' ', '-')}")
    for name in trait_meanings():
        assert words.t(f"species.name.{name}")


def test_a_name_that_is_none_keeps_what_was_typed(reader: TestClient) -> None:
    answer = reader.get("/species", params={"name": HOSTILE})
    assert answer.status_code in (404, 422)
    assert_clean(answer.text)
    answer = reader.get("/species", params={"name": "moss"})
    assert answer.status_code == 404
    assert 'value="moss"' in answer.text
    assert "No species is called that." in text_of(answer.text)


def test_the_garden_s_species_come_first(reader: TestClient) -> None:
    page = reader.get("/species").text
    here = {day.species.botanical for day in bench_of(reader).day().trees if day.species}
    first = page[page.index('id="species-here"') : page.index('id="species-all"')]
    assert set(re.findall(r'<i lang="la">(.*?)</i>', first)) == here


def test_every_page_of_the_list_is_there(reader: TestClient) -> None:
    page = reader.get("/more").text
    for _, links in GROUPS:
        for _, href in links:
            assert f'href="{href}"' in page
            assert reader.get(href).status_code != 404, href


def test_the_german_pages_have_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    for path in ("/more", "/sure", "/doubts", "/species"):
        assert 'lang="en"' not in client.get(path).text, (path, untold)
    for species in all_species():
        client.get("/species", params={"name": species.botanical})
    assert not untold


def test_many_trees_are_shown_some_at_first_and_the_rest_a_link_away(
    reader: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("boughwright.web.pages.sure.MOST_TREES", 5)
    assert "Show 7 more trees" in reader.get("/sure").text
    assert "more trees" not in reader.get("/sure?every=true").text
