"""Weather and stages: the same alarms and stages as the use cases, and a reading at the bench."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from typing import TYPE_CHECKING, Any

import pytest
from page_checks import (
    HOSTILE,
    LONG_AGO,
    YESTERDAY,
    assert_clean,
    browser_on,
    first_sentence,
    in_german,
    read,
    rename,
    text_of,
    token,
    write,
)

from boughwright.journal.events import Event, GardenSet, PlaceSet, TreeSet
from boughwright.store.book import Book
from boughwright.usecases.charts import weather_chart_data
from boughwright.usecases.stages import strip_of
from boughwright.usecases.threats import threats_of

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

    from boughwright.report.charts_data import WeatherDay
    from boughwright.web.state import Bench

TODAY = date(2026, 6, 9)


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def test_the_first_sentence_says_what_to_move_and_what_comes(reader: TestClient) -> None:
    page = reader.get("/weather").text
    assert_clean(page)
    threats = threats_of(bench_of(reader).day())
    assert len(threats.tonight) == 2
    assert first_sentence(page) == (
        "Move 2 trees tonight, Ridge southern beech first. Heat from 13 to 16 June for 10 trees."
    )


def test_trees_to_move_stand_worst_first_each_with_its_reason(reader: TestClient) -> None:
    page = reader.get("/weather").text
    block = re.search(r'<ol class="rows tonight">(.*?)</ol>', page, re.S)
    assert block is not None
    names = re.findall(r'class="name" href="/trees/([^"]+)"', block[1])
    moves = threats_of(bench_of(reader).day()).tonight
    assert names == [move.tree for move in moves]
    told = text_of(block[1])
    for move in moves:
        for alarm in move.alarms:
            assert alarm.reason in told
            assert alarm.todo in told


def test_other_alarms_are_told_with_all_their_trees(reader: TestClient) -> None:
    page = reader.get("/weather").text
    ahead = page[page.index('id="ahead"') : page.index('id="shelves"')]
    garden = bench_of(reader).day()
    heat = next(d for d in threats_of(garden).ahead if len(d.trees) == 10)
    for one in heat.trees:
        assert f'href="/trees/{one.tree}"' in ahead
    assert heat.trees[0].alarm.reason in text_of(ahead)
    assert "9 days of this season are missing" in text_of(ahead)


def test_each_tree_has_its_anchor_its_stage_and_the_days_of_it(reader: TestClient) -> None:
    page = reader.get("/weather").text
    bench = bench_of(reader)
    garden, words = bench.day(), bench.speaker()
    rows = dict(re.findall(r'<li id="([^"]+)" class="season-row">(.*?)</li>', page, re.S))
    assert set(rows) == {day.facts.tree for day in garden.trees}
    for day, line in zip(garden.trees, strip_of(garden).lines, strict=True):
        told = text_of(rows[day.facts.tree])
        assert f" {line.calendar.stage.word} " in f" {told} "
        since = line.calendar.since
        assert since.likely is not None
        assert words.day(since.likely) in told
        assert ("as you saw" in told) == since.seen
        if line.next_starts is None:
            assert "another season" in told
        else:
            assert line.next_starts.likely is not None
            assert words.day(line.next_starts.likely) in told


def test_north_and_south_have_an_axis_of_their_own(reader: TestClient) -> None:
    page = reader.get("/weather").text
    assert page.count('class="season-head"') == 2
    assert re.findall(r"<h3>(Season [^<]*)</h3>", page) == ["Season 2026", "Season 2025/26"]


def test_one_tree_close(reader: TestClient) -> None:
    page = reader.get("/weather/stages/river-maple").text
    assert_clean(page)
    assert first_sentence(page).startswith("River maple: leaf drop. Since Sat 6 June")
    assert "/charts/stages/river-maple.svg" in page
    assert reader.get("/weather/stages/no-tree").status_code == 404


# --- a reading at the bench -----------------------------------------------------------------------


def send(client: TestClient, **fields: str) -> Any:
    told = {"csrf": token(client, "/weather"), "place": "weir-lane", "day": "2026-06-09"}
    return client.post("/weather/reading", data=told | fields)


def today_at(client: TestClient, shelf: str = "east shelf") -> WeatherDay:
    charts = weather_chart_data(bench_of(client).day())
    one = next(chart for chart in charts if chart.shelf == shelf)
    return next(day for day in one.days if day.on == TODAY)


def test_a_reading_is_kept_and_shows_at_once(client: TestClient) -> None:
    before = today_at(client)
    answer = send(client, t_min_c="11,5", t_max_c="29.5", rain_mm="2")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/weather?read=weir-lane&on=2026-06-09#reading"
    # The east shelf has no offset, so it has what was read.
    after = today_at(client)
    assert (after.low_c, after.high_c, after.rain_mm) == (11.5, 29.5, 2.0)
    assert after != before
    page = client.get(answer.headers["location"]).text
    assert "The reading of Tue 9 June at Weir Lane Garden is kept." in text_of(page)


def test_inches_and_fahrenheit_are_read_as_such(client: TestClient) -> None:
    write(
        bench_of(client).book,
        Event(GardenSet({"units": "in", "temperature": "F"}), YESTERDAY),
    )
    page = client.get("/weather").text
    assert "Rain, in" in text_of(page)
    assert "Lowest, °F" in text_of(page)
    assert send(client, t_min_c="50", t_max_c="86", rain_mm="0.5").status_code == 303
    # 50 °F = 10 °C, 86 °F = 30 °C, half an inch = 12.7 mm.
    day = today_at(client)
    assert (day.low_c, day.high_c, day.rain_mm) == pytest.approx((10.0, 30.0, 12.7))


@pytest.mark.parametrize(
    ("field", "fields"),
    [
        ("t_min_c", {"t_min_c": "warm"}),
        ("t_min_c", {}),
        ("t_min_c", {"t_min_c": "30", "t_max_c": "10"}),
        ("t_max_c", {"t_max_c": "99"}),
        ("rain_mm", {"t_min_c": "9", "rain_mm": "a lot"}),
        ("day", {"t_min_c": "9", "day": "yesterday"}),
        ("day", {"t_min_c": "9", "day": "2026-07-01"}),
        ("place", {"t_min_c": "9", "place": "../../etc"}),
        ("humidity_pct", {"t_min_c": "9", "humidity_pct": "140"}),
    ],
)
def test_what_cannot_be_is_told_beside_its_field_and_nothing_is_written(
    client: TestClient, field: str, fields: dict[str, str]
) -> None:
    before = today_at(client)
    answer = send(client, **fields)
    assert answer.status_code == 422
    page = answer.text
    assert_clean(page)
    marked = [a["name"] for _, a in read(page).elements if a.get("aria-invalid") == "true"]
    assert marked == [field]
    assert f'id="w-{field}-fault"' in page
    for name, value in fields.items():
        if name not in ("day", "place"):
            assert f'name="{name}" type="text" value="{value}"' in page
    assert today_at(client) == before


def test_a_reading_without_its_token_is_refused(client: TestClient) -> None:
    before = today_at(client)
    answer = client.post("/weather/reading", data={"place": "weir-lane", "t_min_c": "1"})
    assert answer.status_code == 403
    assert today_at(client) == before


# --- every page -----------------------------------------------------------------------------------


def test_without_a_forecast_nothing_is_called_safe(tmp_path: Path) -> None:
    with Book.open(tmp_path / "new.book", create=True) as book:
        book.append(
            [
                Event(GardenSet({"standing_date": TODAY}), LONG_AGO),
                Event(PlaceSet("home", {"name": "Yard", "latitude": 51.0}), LONG_AGO),
                Event(TreeSet({"name": "Elm", "species": "Ulmus minor"}), LONG_AGO, "elm"),
            ]
        )
    client = browser_on(tmp_path / "new.book")
    page = client.get("/weather").text
    assert first_sentence(page) == "The weather ahead is not known for Yard."
    assert "Not known: no forecast is loaded." in text_of(page)
    assert "Nothing threatens" not in first_sentence(page)
    assert "Yard: the weather of 0 of the next 9 days is known." in text_of(page)
    assert client.get("/charts/weather/home/-.svg").status_code == 200


def test_a_name_with_code_in_it_stays_text(client: TestClient) -> None:
    book = bench_of(client).book
    rename(book, "river-maple")
    write(book, Event(PlaceSet("valdivia", {"name": HOSTILE}), YESTERDAY))
    for path in ("/weather", "/weather/stages/river-maple"):
        page = client.get(path).text
        assert HOSTILE not in page
        assert "<script>alert" not in page
        assert " ".join(HOSTILE.split()) in text_of(page)
        assert_clean(page)
    svg = client.get("/charts/weather/valdivia/cover.svg").text
    assert "<script" not in svg


def test_german_pages_have_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    for path in ("/weather", "/weather/stages/twin-hawthorn", "/weather/stages/river-maple"):
        page = client.get(path).text
        assert [a for tag, a in read(page).elements if a.get("lang") == "en"] == [], path
        told = unescape(text_of(page))
        for english in (" the ", "forecast", "weather", "Since", "likely", "frost", "heat", "June"):
            assert english not in told, (path, english)
