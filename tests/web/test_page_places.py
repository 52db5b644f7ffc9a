"""Places, shelves and weather files, by forms; and how far a long work has come."""

from __future__ import annotations

import gzip
import json
import threading
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from form_help import assert_well_made, fill_in, form_on, german_copy
from page_checks import HOSTILE, YESTERDAY, assert_clean, first_sentence, text_of, write

from boughwright.errors import FileError, UnknownNameError
from boughwright.journal.events import Event, GardenSet, PlaceSet
from boughwright.season.record import Origin, Weather
from boughwright.usecases.places import known_of, places_of
from boughwright.web.guard import Refused
from boughwright.web.speech_core import untold
from boughwright.web.works import AT_ONCE, KEPT, Works

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

TODAY = date(2026, 6, 9)
"""The day of the demonstration garden."""


def book_of(client: TestClient) -> Path:
    found: Path = client.app.state.bench.book  # type: ignore[attr-defined]
    return found


# --- what is known of the weather -----------------------------------------------------------------


def record(start: date, lows: list[float | None], origin: Origin = Origin.READ) -> Weather:
    low = np.array([np.nan if one is None else one for one in lows])
    none = np.full(len(low), np.nan)
    codes = np.full(len(low), origin, dtype=np.int8)
    return Weather("s", start, low, low + 8, none, none, none, none, codes, np.zeros(len(low)))


def test_missing_days_are_those_between_the_first_read_and_yesterday() -> None:
    # 1 to 10 June: read on 2, 3, 5 and 6; missing 4, and 7 and 8, as today is the 9th.
    lows = [None, 5.0, 6.0, None, 7.0, 8.0]
    known = known_of("s", record(date(2026, 6, 1), lows), TODAY)
    assert (known.first, known.last, known.days) == (date(2026, 6, 2), date(2026, 6, 6), 4)
    assert known.missing_days == 3
    assert known.missing == (
        (date(2026, 6, 7), date(2026, 6, 8)),
        (date(2026, 6, 4), date(2026, 6, 4)),
    )


def test_a_forecast_is_no_day_read() -> None:
    known = known_of("s", record(TODAY, [5.0] * 4, Origin.FORECAST), TODAY)
    assert (known.first, known.days, known.ahead, known.missing) == (None, 0, 4, ())


def test_a_station_without_a_day_is_known_for_nothing() -> None:
    assert known_of("s", None, TODAY).first is None


# --- pages ----------------------------------------------------------------------------------------


def test_every_place_is_shown_with_its_weather_and_trees(
    reader: TestClient, demo_book: Path
) -> None:
    page = reader.get("/places").text
    assert_clean(page)
    told = text_of(page)
    for place in places_of(demo_book, on=TODAY).places:
        assert place.name in told
        assert f"{place.weather.days} days read" in told
        for shelf in place.shelves:
            assert shelf.name in told
    trees = sum(place.trees for place in places_of(demo_book, on=TODAY).places)
    assert trees == len(reader.app.state.bench.day().trees)  # type: ignore[attr-defined]


def test_pages_are_well_made(reader: TestClient) -> None:
    for path in ("/places/new", "/places/weir-lane", "/places/weir-lane/shelves/new",
                 "/places/valdivia"):  # fmt: skip
        page = reader.get(path).text
        assert_clean(page)
        assert_well_made(page)
        assert first_sentence(page)
    assert reader.get("/places/none").status_code == 404
    assert reader.get("/places/weir-lane/shelves/none").status_code == 404


def test_a_place_and_its_shelf_are_entered_and_mended(client: TestClient) -> None:
    answer = fill_in(client, "/places/new", {"name": "Allotment", "latitude": "39,8 S"})
    assert answer.headers["location"] == "/places/allotment?saved=new"
    shelf = fill_in(client, "/places/allotment/shelves/new",
                    {"name": "low wall", "offset_c": "1,5", "covered": "no"})  # fmt: skip
    assert shelf.headers["location"] == "/places/allotment?saved=shelf"
    found = places_of(book_of(client)).place("allotment")
    assert found.fields["latitude"] == -39.8
    (one,) = found.shelves
    assert dict(one.fields) == {"name": "low wall", "offset_c": 1.5, "covered": False}
    fill_in(client, f"/places/allotment/shelves/{one.key}", {"covered": ""})
    (one,) = places_of(book_of(client)).place("allotment").shelves
    assert one.fields.get("covered") is None
    page = client.get("/places/allotment").text
    assert first_sentence(page) == ("Allotment: no weather is read; the usual weather stands in")


def test_degrees_of_fahrenheit_are_differences_on_a_shelf(client: TestClient) -> None:
    write(book_of(client), Event(GardenSet({"temperature": "F"}), YESTERDAY))
    path = "/places/weir-lane/shelves/new"
    fill_in(client, path, {"name": "hot wall", "offset_c": "3.6", "low_c": "23 °F"})
    here = places_of(book_of(client)).place("weir-lane")
    shelf = next(one for one in here.shelves if one.name == "hot wall")
    # 3.6 °F warmer is 3.6 / 1.8 = 2 °C; 23 °F is (23 - 32) / 1.8 = -5 °C.
    assert shelf.fields["offset_c"] == 2.0
    assert shelf.fields["low_c"] == -5.0
    form = form_on(client.get(f"/places/weir-lane/shelves/{shelf.key}").text,
                   f"/places/weir-lane/shelves/{shelf.key}")  # fmt: skip
    assert (form.values["offset_c"], form.values["low_c"]) == ("3.6", "23")
    wrong = fill_in(client, path, {"name": "oven", "offset_c": "99"})
    # 10 °C of difference are 18 °F.
    assert "-18 to 18 °F" in text_of(wrong.text)


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"name": "", "latitude": "46"}, {"name"}),
        ({"name": "Weir Lane Garden", "latitude": "46"}, {"name"}),
        ({"name": "A", "latitude": "89"}, {"latitude"}),
        ({"name": "A", "latitude": "46 E"}, {"latitude"}),
        ({"name": HOSTILE, "latitude": "x", "elevation_m": "high"}, {"latitude", "elevation_m"}),
    ],
)
def test_a_wrong_place_is_told_and_not_written(
    client: TestClient, typed: dict[str, str], wrong: set[str]
) -> None:
    answer = fill_in(client, "/places/new", typed)
    assert answer.status_code == 422
    assert_clean(answer.text)
    assert_well_made(answer.text)
    form = form_on(answer.text, "/places/new")
    assert form.invalid == wrong
    assert {name: form.values[name] for name in typed} == typed
    assert len(places_of(book_of(client)).places) == 2


# --- a weather file -------------------------------------------------------------------------------


def table(days: int, last: date = TODAY, *extra: str) -> bytes:
    rows = [
        f"{(last - timedelta(days=back)).isoformat()},{5 + back % 7},{15 + back % 9}"
        for back in range(days)
    ]
    return "\n".join(["date,t_min_c,t_max_c", *extra, *rows]).encode()


def upload(
    client: TestClient, data: bytes, place: str = "weir-lane", name: str = "w.csv", **fields: str
) -> Any:
    form = form_on(client.get(f"/places/{place}").text, f"/weather/load/{place}")
    return client.post(form.action, data=form.values | fields, files={"file": (name, data)})


def taken(client: TestClient, answer: Any) -> Any:
    assert answer.status_code == 303
    where = answer.headers["location"]
    for _ in range(200):
        page = client.get(where)
        if "data-progress-url" not in page.text:
            return page
        threading.Event().wait(0.05)
    raise AssertionError("the work did not end")


def test_a_file_is_taken_and_told_row_by_row(client: TestClient) -> None:
    # Row 1 is the header; rows 2 to 4 are these.
    bad = ("2026-06-31,5,15", "2026-05-02,20,10", "2026-05-03,5,999")
    write(book_of(client), Event(PlaceSet("shed", {"name": "Shed", "latitude": 50.0}), YESTERDAY))
    answer = upload(client, table(30, TODAY, *bad), "shed", "..\\../<b>evil</b>.csv")
    page = taken(client, answer).text
    assert_clean(page)
    told = text_of(page)
    assert "30 days taken" in first_sentence(page)
    assert "New 30, changed 0, known already 0." in told
    for row in (2, 3, 4):
        assert f"Row {row}:" in told
    assert "evil" not in told
    assert "/tmp" not in told
    known = places_of(book_of(client)).place("shed").weather
    assert (known.days, known.first, known.last) == (30, TODAY - timedelta(days=29), TODAY)
    again = taken(client, upload(client, gzip.compress(table(30)), "shed")).text
    assert "New 0, changed 0, known already 30." in text_of(again)


def test_the_way_through_the_first_steps_leads_on(client: TestClient) -> None:
    page = taken(client, upload(client, table(3), onward="start")).text
    assert 'href="/start/tree"' in page


@pytest.mark.parametrize(
    "data",
    [b"", b"   \n", b"hello", b"\x89PNG\r\n\x1a\n" + b"\0" * 200, b"PK\x03\x04" + b"\0" * 60,
     b"date,t_min_c,t_max_c\n", b"date,x\n2026-06-01,4\n", b"\x1f\x8b" + b"broken" * 9,
     b"date,t_min_c,t_max_c\n4/3/2026,5,9\n3/4/2026,5,9\n"],
)  # fmt: skip
def test_a_file_that_is_none_is_refused_in_plain_words(client: TestClient, data: bytes) -> None:
    before = places_of(book_of(client)).place("weir-lane").weather
    answer = upload(client, data)
    page = answer if answer.status_code == 422 else taken(client, answer)
    assert page.status_code == 422
    assert_clean(page.text)
    assert "Traceback" not in page.text
    assert "boughwright-" not in page.text
    assert places_of(book_of(client)).place("weir-lane").weather == before


def test_the_order_of_dates_is_asked_and_taken(client: TestClient) -> None:
    data = b"date,t_min_c,t_max_c\n3/4/2010,5,9\n3/5/2010,6,9\n"
    page = taken(client, upload(client, data, order="mdy")).text
    assert "4 March 2010" in first_sentence(page).replace("Thu ", "") or "4 March" in (
        first_sentence(page)
    )


def test_a_file_that_is_too_large_is_stopped(client: TestClient) -> None:
    form = form_on(client.get("/places/weir-lane").text, "/weather/load/weir-lane")
    answer = client.post(
        form.action, data=form.values, files={"file": ("w.csv", b"x" * 61_000_000)}
    )
    assert answer.status_code == 413


# --- long works -----------------------------------------------------------------------------------


def test_a_work_is_followed_to_its_end(client: TestClient) -> None:
    answer = upload(client, table(5))
    where = answer.headers["location"]
    told = client.get(f"/progress{where}")
    assert told.headers["content-type"].startswith("text/event-stream")
    lines = [json.loads(line[6:]) for line in told.text.splitlines() if line.startswith("data: ")]
    assert lines[-1] == {"share": 1.0, "words": "Taking the weather file", "done": True,
                         "href": where}  # fmt: skip
    assert client.get("/works/none").status_code == 404
    assert client.get("/progress/works/none").status_code == 404


def test_a_page_of_a_running_work_shows_how_far_it_is(client: TestClient) -> None:
    from boughwright.web.works import works_of

    go = threading.Event()

    class _Request:
        app = client.app

    def job(told: Any) -> None:
        told(0.4)
        go.wait(20)
        raise FileError("it is odd", todo="Mend it")

    work = works_of(_Request()).start("weather", job, place="weir-lane", name="W")  # type: ignore[arg-type]
    for _ in range(100):
        page = client.get(f"/works/{work.id}").text
        if 'value="0.4"' in page:
            break
        threading.Event().wait(0.02)
    assert_clean(page)
    assert f'data-progress-url="/progress/works/{work.id}"' in page
    assert '<progress max="1" value="0.4"' in page
    go.set()
    work.wait(20)
    ended = client.get(f"/works/{work.id}")
    assert ended.status_code == 422
    assert "it is odd" in text_of(ended.text)


def test_no_more_works_run_at_once_than_told_and_old_ones_are_forgotten() -> None:
    works, go = Works(), threading.Event()
    running = [works.start("weather", lambda _told: go.wait(20)) for _ in range(AT_ONCE)]
    with pytest.raises(Refused):
        works.start("weather", lambda _told: None)
    go.set()
    for work in running:
        work.wait(20)
    later = []
    for _ in range(KEPT + 5):
        work = works.start("weather", lambda _told: 7)
        work.wait(20)
        later.append(work)
    assert works.work(later[-1].id).result == 7
    with pytest.raises(UnknownNameError):
        works.work(running[0].id)


def test_a_work_that_breaks_says_so_and_nothing_of_the_program() -> None:
    works = Works()
    work = works.start("weather", lambda _told: 1 / 0)
    work.wait(20)
    assert (work.ended, work.broke, work.fault) == (True, True, None)


def test_html_in_names_stays_text(client: TestClient) -> None:
    write(book_of(client), Event(PlaceSet("weir-lane", {"name": HOSTILE}), YESTERDAY))
    for path in ("/places", "/places/weir-lane", "/places/weir-lane/shelves/new", "/trees"):
        page = client.get(path).text
        assert_clean(page)
        assert " ".join(HOSTILE.split()) in text_of(page), path


def test_the_pages_speak_german(demo_book: Path, tmp_path: Path) -> None:
    german = german_copy(demo_book, tmp_path)
    untold.clear()
    shelf = places_of(book_of(german)).place("weir-lane").shelves[0].key
    pages = [german.get(path) for path in ("/places", "/places/new", "/places/weir-lane",
                                           f"/places/weir-lane/shelves/{shelf}")]  # fmt: skip
    pages.append(taken(german, upload(german, table(4, TODAY, "2026-06-31,5,15", "x,1,2"))))
    pages.append(fill_in(german, "/places/new", {"name": "", "latitude": "99"}))
    for page in pages:
        assert_clean(page.text)
        assert "<span lang=en>" not in page.text, page.url
    assert not untold
