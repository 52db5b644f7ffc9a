"""Wire in stock: the page tells what the use case reckons, and a form counts a spool."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from page_checks import assert_clean, first_sentence, in_german, text_of, token

from boughwright.journal.events import StockCounted
from boughwright.journal.terms import Metal
from boughwright.usecases.stock import Metres, Stock, StockLine, count_wire, stock_of
from boughwright.web.pages.stock import _sentence, length
from boughwright.web.speech import Speaker, untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

TODAY = date(2026, 6, 9)
MAPLE = "ditch-field-maple"


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def count(client: TestClient, **fields: str) -> tuple[int, str, str]:
    form = {"csrf": token(client, "/stock"), "metal": "al", **fields}
    answer = client.post("/stock", data=form)
    return answer.status_code, answer.headers.get("location", ""), answer.text


def counted(client: TestClient) -> list[StockCounted]:
    events = bench_of(client).kept.garden_events()
    return [event.body for event in events if isinstance(event.body, StockCounted)]


def test_nothing_counted_says_how_to_begin(reader: TestClient) -> None:
    page = reader.get("/stock").text
    assert first_sentence(page) == (
        "No wire is counted yet, and none is wanted before Tue 21 July."
    )
    assert "Count one spool below." in text_of(page)
    assert_clean(page)


def test_a_spool_is_counted_by_length(client: TestClient) -> None:
    status, where, _ = count(client, gauge="2,5", metres="40")
    assert (status, where) == (303, "/stock?counted=al-2.5")
    assert counted(client) == [StockCounted(2.5, Metal.ALUMINIUM, 40.0, None)]
    page = text_of(client.get(where).text)
    assert "Counted: 2.5 mm aluminium, 40.0 m, Tue 9 June" in page
    assert first_sentence(client.get("/stock").text) == (
        "There is enough wire for all that is wanted before Tue 21 July."
    )


def test_a_spool_is_counted_by_weight(client: TestClient) -> None:
    # Aluminium weighs 2.70 g/cm³ (handbook value): 2 mm wire has 0.0314 cm² of section, so a metre
    # weighs 8.48 g and 1000 g are 117.9 m.
    assert count(client, gauge="2", grams="1000")[0] == 303
    (line,) = stock_of(bench_of(client).day()).lines
    assert line.counted_m == pytest.approx(1000 / 8.48, rel=0.01)
    shown = text_of(client.get("/stock").text)
    assert f"{line.counted_m:.1f} m, Tue 9 June" in shown
    assert "8 g a metre" in shown


def test_wire_put_on_is_taken_off(client: TestClient) -> None:
    count(client, gauge="2", metres="10")
    text = "5L length 200; 5L wire on 2 al"
    form = {"csrf": token(client, "/stock"), "tree": MAPLE, "text": text, "back": "/"}
    assert client.post("/say", data=form).status_code == 303
    (line,) = stock_of(bench_of(client).day()).lines
    assert line.left_low_m is not None
    assert line.left_high_m is not None
    assert 9.0 < line.left_low_m <= line.left_high_m < 10.0
    shown = text_of(client.get("/stock").text)
    assert length(line.used, Speaker()) in shown
    assert "Ditch field maple, 5L, Tue 9 June" in shown


def test_an_inch_garden_counts_in_inches(client: TestClient) -> None:
    form = {"csrf": token(client, "/stock"), "metal": "cu", "gauge": "0.1 in", "metres": "5"}
    assert client.post("/stock", data=form).headers["location"] == "/stock?counted=cu-2.54"
    assert "2.5 mm copper" in text_of(client.get("/stock").text)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"gauge": "", "metres": "4"}, "gauge"),
        ({"gauge": "2", "metres": "", "grams": ""}, "metres"),
        ({"gauge": "2", "metres": "4", "grams": "100"}, "grams"),
        ({"gauge": "thick", "metres": "4"}, "gauge"),
        ({"gauge": "2", "metres": "a lot"}, "metres"),
        ({"gauge": "2", "grams": "-5"}, "grams"),
        ({"gauge": "900", "metres": "4"}, "gauge"),
        ({"gauge": "2", "metres": "1e999"}, "metres"),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field(
    client: TestClient, fields: dict[str, str], field: str
) -> None:
    status, _, page = count(client, **fields)
    assert status == 422
    assert f'id="{field}-fault"' in page
    assert all(f'value="{typed}"' in page for typed in fields.values() if typed)
    assert counted(client) == []


def test_a_metal_that_is_none_is_told(client: TestClient) -> None:
    status, _, page = count(client, gauge="2", metres="4", metal="gold")
    assert status == 422
    assert "aluminium / copper" in text_of(page)


@pytest.mark.parametrize("counted_", ["x", "al-", "../1", "al-2<b>"])
def test_a_forged_receipt_is_refused(reader: TestClient, counted_: str) -> None:
    assert reader.get("/stock", params={"counted": counted_}).status_code == 422
    assert "Counted:" not in reader.get("/stock?counted=al-9").text.replace("Counted</dt>", "")


def line(
    *, there: float | None = 10.0, short: float | None = 0.0, order: date | None = None
) -> StockLine:
    return StockLine(Metal.ALUMINIUM, 2.0, 8.5, TODAY if there else None, there, Metres(), there,
                     there, Metres(2.0, 3.0), short, order, (), ())  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ((line(),), "There is enough wire for all that is wanted before Tue 21 July."),
        ((line(short=4.0, order=date(2026, 6, 20)), line(short=1.0, order=date(2026, 6, 12))),
         "Order 2 kinds of wire, the first by Fri 12 June."),
        ((line(there=None, short=None),),
         "Whether the wire lasts until Tue 21 July is not known yet: one kind was never counted."),
        ((line(short=None),), "some branches were never measured."),
    ],
)  # fmt: skip
def test_the_first_sentence(lines: tuple[StockLine, ...], told: str) -> None:
    answer = Stock(TODAY, date(2026, 7, 21), lines, 0, 0)
    assert _sentence(answer, Speaker()).endswith(told)


def test_lengths_are_ranges_and_the_unknown_is_told() -> None:
    words = Speaker()
    assert length(Metres(2.0, 3.0), words) == "2.0 to 3.0 m"
    assert length(Metres(2.01, 2.02), words) == "2.0 m"
    assert length(Metres(0.0, None, 2), words) == "2 branches of unknown length"
    assert length(Metres(1.5, None, 1), words) == "at least 1.5 m, 1 branch of unknown length"


def test_the_german_page_has_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    count_wire(bench_of(client).book, 2.0, Metal.COPPER, on=TODAY, metres=4.0)
    untold.clear()
    pages = [client.get("/stock").text, count(client, gauge="x", metres="y")[2]]
    assert all('lang="en"' not in page for page in pages), untold
    assert "2,0 mm Kupfer" in text_of(pages[0])
