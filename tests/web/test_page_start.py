"""From nothing to a first verdict, by plain forms."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from form_help import assert_well_made, fill_in, form_on, forms_of
from page_checks import assert_clean, browser_on, first_sentence, text_of, token

from boughwright.usecases.day import open_day
from boughwright.usecases.sheet import sheet
from boughwright.usecases.start import first_steps

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

PLACE = {"name": "Hill terrace", "latitude": "46,5"}
ROWS = {
    "0.name": "1l", "0.height_mm": "60", "0.base": "12,1", "0.trunk": "41",
    "1.name": "2R", "1.base": "9.4 mm", "1.trunk": "1.4 in",
    "2.name": "3B", "2.base": "7", "2.trunk": "30",
}  # fmt: skip
MOST_ASKED = 14


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "new.book"


@pytest.fixture
def empty(book: Path) -> TestClient:
    return browser_on(book)


def placed(client: TestClient, **changes: str) -> None:
    answer = fill_in(client, "/start/place", PLACE | changes)
    assert (answer.status_code, answer.headers["location"]) == (303, "/start/weather")


def treed(client: TestClient, species: str = "field maple") -> str:
    answer = fill_in(client, "/start/tree", {"name": "Field maple", "species": species})
    assert answer.status_code == 303
    return str(answer.headers["location"])


def test_without_a_book_every_page_leads_to_the_first_steps(empty: TestClient, book: Path) -> None:
    for path in ("/", "/trees", "/trees/new", "/places", "/settings", "/keep/copy"):
        assert empty.get(path).headers["location"] == "/start", path
    for path in ("/start/weather", "/start/tree", "/start/branches"):
        assert empty.get(path).headers["location"] == "/start/place", path
    page = empty.get("/start").text
    assert first_sentence(page) == (
        "Nothing is written yet: four short pages lead to a first verdict."
    )
    assert 'href="/start/place"' in page
    assert "boughwright demo" in page
    assert not book.exists()


def test_the_whole_way_by_forms_alone(empty: TestClient, book: Path) -> None:
    asked = []
    tree = {"name": "Field maple", "species": "field maple"}
    for path, changes in (("/start/place", PLACE), ("/start/tree", tree)):
        page = empty.get(path)
        assert_clean(page.text)
        assert_well_made(page.text)
        asked += form_on(page.text, path).required
        answer = fill_in(empty, path, changes)
        assert answer.status_code == 303, text_of(answer.text)
    onward = str(answer.headers["location"])
    assert onward == "/start/branches?tree=field-maple"
    page = empty.get(onward).text
    assert_clean(page)
    assert_well_made(page)
    form = form_on(page, onward)
    asked += form.required
    assert len([name for name in form.ids if name.endswith(".name")]) == 3
    # Two of the place, one of the tree, and the name of one branch must be there; with the
    # species, and name, base and trunk of three branches, 2 + 2 + 9 = 13 fields are filled in.
    assert sorted(asked) == ["0.name", "latitude", "name", "name"]
    assert len(asked) <= MOST_ASKED
    answer = empty.post(onward, data=form.values | ROWS)
    assert (answer.status_code, answer.headers["location"]) == (303, "/trees/field-maple")
    garden = open_day(book)
    day = garden.tree("Field maple")
    assert garden.garden.places[day.shelf.place]["latitude"] == 46.5
    found = {one.name: (one.base_mm, one.trunk_mm) for one in day.branches if one.order}
    # 1.4 in is 1.4 * 25.4 = 35.56 mm.
    assert found == {"1L": (12.1, 41.0), "2R": (9.4, pytest.approx(35.56)), "3B": (7.0, 30.0)}
    shown = empty.get("/trees/field-maple")
    assert shown.status_code == 200
    for line in sheet(book, "field-maple").lines:
        assert line.branch.name in text_of(shown.text)
        assert line.verdict.act.value in text_of(shown.text)
    # Whether a verdict asks for more than to leave a branch alone hangs on the season.
    done = {step.key for step in first_steps(book).steps if step.done}
    assert done - {"verdict"} == {"place", "tree", "branches"}


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": "  "}, "name"),
        ({"latitude": ""}, "latitude"),
        ({"latitude": "north"}, "latitude"),
        ({"latitude": "91"}, "latitude"),
        ({"name": "a\0b"}, "name"),
        ({"name": "x" * 5000}, "name"),
    ],
)
def test_a_wrong_place_makes_no_book_and_loses_nothing(
    empty: TestClient, book: Path, typed: dict[str, str], field: str
) -> None:
    answer = fill_in(empty, "/start/place", PLACE | {"units": "in"} | typed)
    assert answer.status_code == 422
    assert not book.exists()
    assert_clean(answer.text)
    assert_well_made(answer.text)
    form = form_on(answer.text, "/start/place")
    assert form.invalid == {field}
    assert form.values["units"] == "in"
    for name, value in (PLACE | typed).items():
        if "\0" not in value:
            assert form.values[name] == value
    # The list at the top leads to the field.
    assert f'href="#{form.ids[field]}"' in answer.text


@pytest.mark.parametrize(
    ("latitude", "stands", "word"),
    [("39.8 S", -39.8, "south"), ("-39,8", -39.8, "south"), ("51° N", 51.0, "north")],
)
def test_the_half_of_the_globe_is_told_back(
    empty: TestClient, book: Path, latitude: str, stands: float, word: str
) -> None:
    placed(empty, latitude=latitude)
    page = text_of(empty.get("/start/weather").text)
    assert f"Hill terrace lies {word} of the equator" in page
    assert open_day(book).garden.places["hill-terrace"]["latitude"] == stands


def test_inches_and_german_from_the_first_page_on(empty: TestClient, book: Path) -> None:
    placed(empty, units="in", language="de")
    page = empty.get("/start/tree").text
    assert first_sentence(page) == "Welcher Baum kommt zuerst?"
    onward = treed(empty, "Acer campestre")
    form = form_on(empty.get(onward).text, onward)
    empty.post(onward, data=form.values | {"0.name": "1L", "0.base": "0,5", "0.trunk": "1"})
    (first,) = [one for one in open_day(book).trees[0].branches if one.order]
    assert (first.base_mm, first.trunk_mm) == (12.7, 25.4)


def test_a_species_that_is_not_known_is_taken_said_and_put_right_by_a_tap(
    empty: TestClient, book: Path
) -> None:
    placed(empty)
    onward = treed(empty, "trident")
    page = empty.get(onward).text
    assert "Its species “trident” is not in the tables." in text_of(page)
    # The step of the tree is not done: it leads to the tree's facts, not to a second tree.
    assert 'href="/trees/field-maple/facts"' in empty.get("/start").text
    form = form_on(page, "/start/species?tree=field-maple")
    assert 'name="species" value="Acer buergerianum"' in page
    answer = empty.post(form.action, data=form.values | {"species": "Acer buergerianum"})
    assert answer.headers["location"] == onward
    assert open_day(book).trees[0].tree.facts["species"] == "Acer buergerianum"
    assert "not in the tables" not in text_of(empty.get(onward).text)


def test_a_species_that_is_like_none_does_not_stop_the_way(empty: TestClient) -> None:
    placed(empty)
    page = text_of(empty.get(treed(empty, "qqqq xyzzy")).text)
    assert "Its dates are wider for that." in page


def test_a_name_for_several_species_is_asked_about(empty: TestClient) -> None:
    placed(empty)
    answer = fill_in(empty, "/start/tree", {"name": "T", "species": "maple"})
    assert answer.status_code == 422
    assert "Acer campestre" in text_of(answer.text)
    assert form_on(answer.text, "/start/tree").invalid == {"species"}


@pytest.mark.parametrize(
    ("rows", "wrong"),
    [
        ({"0.name": "1L", "0.base": "thick"}, {"0.base"}),
        ({"0.name": "1L", "1.name": "1 l"}, {"1.name"}),
        ({"0.name": "99ZZ"}, {"0.name"}),
        ({"0.name": "1L", "1.base": "4"}, {"1.name"}),
        ({"0.name": "1L", "0.base": "4000"}, {"0.base"}),
        ({"0.name": "", "0.base": ""}, {"0.name"}),
        ({"0.name": "1L", "0.height_mm": "-5", "2.name": "<b>"}, {"0.height_mm", "2.name"}),
    ],
)
def test_a_wrong_row_writes_none_of_them(
    empty: TestClient, book: Path, rows: dict[str, str], wrong: set[str]
) -> None:
    placed(empty)
    onward = treed(empty)
    form = form_on(empty.get(onward).text, onward)
    answer = empty.post(onward, data=form.values | rows)
    assert answer.status_code == 422
    assert_clean(answer.text)
    shown = form_on(answer.text, onward)
    assert shown.invalid == wrong
    assert {name: shown.values[name] for name in rows} == rows
    assert not [one for one in open_day(book).trees[0].branches if one.order]


def test_more_rows_keep_what_is_typed(empty: TestClient, book: Path) -> None:
    placed(empty)
    onward = treed(empty)
    form = form_on(empty.get(onward).text, onward)
    page = empty.post(onward, data=form.values | ROWS | {"more": "1"})
    assert page.status_code == 200
    shown = form_on(page.text, onward)
    assert len([name for name in shown.ids if name.endswith(".name")]) == 6
    assert {name: shown.values[name] for name in ROWS} == ROWS
    assert not [one for one in open_day(book).trees[0].branches if one.order]


def test_a_garden_that_stands_is_led_on(reader: TestClient) -> None:
    page = reader.get("/start").text
    assert first_sentence(page) == "All first steps are done"
    assert 'href="/"' in page
    assert reader.get("/start/place").status_code == 303
    assert not [form for form in forms_of(page) if form.method == "post"]


def test_the_second_place_is_not_made_by_the_first_page(client: TestClient) -> None:
    csrf = token(client, "/trees/new")
    answer = client.post("/start/place", data={"csrf": csrf} | PLACE)
    assert answer.headers["location"] == "/start/weather"
    assert not re.search("Hill terrace", client.get("/places").text)
