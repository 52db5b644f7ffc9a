"""All trees, a line each; a new tree; a tree that is gone and comes back."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from form_help import assert_well_made, fill_in, form_on, german_copy
from page_checks import HOSTILE, assert_clean, first_sentence, rename, text_of

from boughwright.usecases.day import open_day
from boughwright.usecases.trees import trees_of
from boughwright.verdicts.verdict import Act
from boughwright.web.speech_core import untold

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

LINE = re.compile(r'<a class="row-link tree-row" href="/trees/([^"]+)">(.*?)</a>', re.S)


def lines_of(page: str) -> dict[str, str]:
    return {key: text_of(body) for key, body in LINE.findall(page)}


def test_every_tree_has_its_line_with_what_it_wants(reader: TestClient, demo_book: Path) -> None:
    page = reader.get("/trees").text
    assert_clean(page)
    lines = lines_of(page)
    garden = open_day(demo_book)
    assert set(lines) == {day.facts.tree for day in garden.trees}
    for place in trees_of(garden).places:
        names = [line.day.facts.name for line in place.lines]
        assert names == sorted(names, key=str.casefold)
        for line in place.lines:
            told = lines[line.day.facts.tree]
            assert line.day.facts.name in told
            assert line.day.species is not None
            assert line.day.species.plain in told
            assert line.shelf in told
            assert line.wants is None or line.wants.act.value in told
    assert first_sentence(page).startswith(f"{len(garden.trees)} trees; ")


def test_trees_are_grouped_by_place_in_the_order_of_places(reader: TestClient) -> None:
    page = reader.get("/trees").text
    heads = re.findall(r'<h2 id="place-[^"]+">([^<]+)</h2>', page)
    assert heads == ["Weir Lane Garden", "Loan bench near Valdivia"]


def test_bench_work_leads_before_weather_that_all_trees_share(demo_book: Path) -> None:
    garden = open_day(demo_book)
    lines = {x.day.facts.name: x for place in trees_of(garden).places for x in place.lines}
    for line in lines.values():
        acts = {job.act for job in line.day.call.jobs}
        if line.wants is not None and line.wants.act is Act.PROTECT:
            assert not acts & {Act.WIRE_OFF, Act.CUT_SICK}
    # Its wire has bitten: grade 3 seen is harm now.
    hornbeam = lines["Gate hornbeam"].wants
    assert hornbeam is not None
    assert hornbeam.act is Act.WIRE_OFF


@pytest.mark.parametrize(
    ("find", "names"),
    [
        ("hornbeam", {"gate-hornbeam"}),
        ("ACER CAMP", {"ditch-field-maple"}),
        ("valdivia", {"ridge-southern-beech", "river-maple"}),
        ("nothing of the kind", set()),
    ],
)
def test_a_word_finds_by_name_species_and_place(
    reader: TestClient, find: str, names: set[str]
) -> None:
    page = reader.get("/trees", params={"find": find}).text
    assert_clean(page)
    assert set(lines_of(page)) == names
    assert form_on(page, "/trees").values["find"] == find


def test_what_is_sought_stays_text(reader: TestClient) -> None:
    page = reader.get("/trees", params={"find": HOSTILE[:80]}).text
    assert_clean(page)
    assert HOSTILE[:40] in text_of(page)


def test_a_name_with_html_in_it_stays_text(client: TestClient) -> None:
    book = client.app.state.bench.book  # type: ignore[attr-defined]
    rename(book, "tall-beech")
    page = client.get("/trees").text
    assert_clean(page)
    assert " ".join(HOSTILE.split()) in lines_of(page)["tall-beech"]


def test_the_small_drawing_is_kept_by_the_browser(reader: TestClient) -> None:
    first = reader.get("/trees/tall-beech/thumb.svg")
    assert first.headers["content-type"].startswith("image/svg+xml")
    assert 'color="#1b1d20"' in first.text
    assert 'color="#e6e8e6"' in reader.get("/trees/tall-beech/thumb.svg?light=night").text
    again = reader.get(
        "/trees/tall-beech/thumb.svg", headers={"If-None-Match": first.headers["etag"]}
    )
    assert (again.status_code, again.content) == (304, b"")


def test_a_new_tree_is_entered_by_the_form(client: TestClient) -> None:
    page = client.get("/trees/new").text
    assert_clean(page)
    assert_well_made(page)
    given = {"name": "New elm", "species": "Chinese elm", "height_mm": "38 cm",
             "place": "weir-lane", "acquired_on": "3/4/2025", "pot_volume_l": "1,5"}  # fmt: skip
    answer = fill_in(client, "/trees/new", given)
    assert answer.headers["location"] == "/trees/new-elm/facts?saved=new"
    facts = client.app.state.bench.kept.day().tree("New elm").tree.facts  # type: ignore[attr-defined]
    assert facts["species"] == "Ulmus parvifolia"
    assert facts["height_mm"] == 380.0
    assert facts["pot_volume_l"] == 1.5
    # Day first: the third of April.
    assert facts["acquired_on"].isoformat() == "2025-04-03"


def test_garbage_in_every_field_is_told_beside_it_and_nothing_is_written(
    client: TestClient,
) -> None:
    wrong = {"height_mm": "tall", "pot_volume_l": "-4", "acquired_on": "32/1/2020",
             "trunk_goal_mm": "1e9", "norm_extension_mm": "0", "species": "maple",
             "show_on": "soon"}  # fmt: skip
    answer = fill_in(client, "/trees/new", {"name": "Ghost"} | wrong)
    assert answer.status_code == 422
    assert_clean(answer.text)
    assert_well_made(answer.text)
    form = form_on(answer.text, "/trees/new")
    assert form.invalid == set(wrong)
    assert {name: form.values[name] for name in wrong} == wrong
    assert form.values["name"] == "Ghost"
    # No key of the program shows in what is told.
    assert "height_mm" not in text_of(answer.text)
    assert "norm_extension" not in text_of(answer.text)
    assert "Ghost" not in client.get("/trees").text


def test_a_tree_that_is_gone_leaves_the_list_and_can_come_back(client: TestClient) -> None:
    facts = "/trees/tall-beech/facts"
    unsure = fill_in(client, facts, {"how": "sold"}, action=f"{facts}/gone")
    assert unsure.status_code == 422
    assert "tall-beech" in client.get("/trees").text
    sent = fill_in(client, facts, {"how": "sold <b>", "sure": "yes"}, action=f"{facts}/gone")
    assert sent.headers["location"] == "/trees/all"
    assert "tall-beech" not in client.get("/trees").text
    gone = client.get("/trees/all").text
    assert_clean(gone)
    assert "sold <b>" in text_of(gone)
    back = fill_in(client, "/trees/all", {}, action="/trees/tall-beech/back")
    assert back.headers["location"] == "/trees/tall-beech/facts?saved=back"
    assert "tall-beech" in client.get("/trees").text


def test_the_pages_speak_german(demo_book: Path, tmp_path: Path) -> None:
    german = german_copy(demo_book, tmp_path)
    untold.clear()
    for path in ("/trees", "/trees?find=x", "/trees/new", "/trees/all"):
        page = german.get(path).text
        assert_clean(page)
        assert '<html lang="de"' in page
        assert "<span lang=en>" not in page, path
    assert not untold
