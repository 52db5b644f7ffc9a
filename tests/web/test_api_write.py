"""Lines by JSON: each once, none for another, told in the grower's words; garbage is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from page_checks import YESTERDAY, in_german, token, write
from uuid6 import uuid7

from boughwright.journal.events import Event, GardenSet, Withdrawn, Worked, standing
from boughwright.journal.terms import Work
from boughwright.usecases.reading import completions
from boughwright.web.api.write import MOST_LETTERS, MOST_LINES

if TYPE_CHECKING:
    from fastapi.testclient import TestClient
    from httpx2 import Response

    from boughwright.web.state import Bench

MAPLE = "ditch-field-maple"


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def counted(client: TestClient) -> list[Event]:
    return standing(bench_of(client).kept.events(MAPLE))


def now() -> str:
    return datetime.now(UTC).isoformat()


def line(text: str = "", **more: Any) -> dict[str, Any]:
    said: dict[str, Any] = {"id": str(uuid7()), "said": now(), "tree": MAPLE}
    return {**said, **({"text": text} if text else {}), **more}


def post(client: TestClient, path: str, body: object) -> Response:
    return client.post(path, json=body, headers={"x-csrf": token(client, "/say")})


def send(client: TestClient, *lines: dict[str, Any]) -> list[dict[str, Any]]:
    body = {"sent": now(), "device": "a-device", "lines": list(lines)}
    answer = post(client, "/api/lines", body)
    assert answer.status_code == 200, answer.text
    assert (answer.json()["shape"], answer.json()["version"]) == ("boughwright/answers", 1)
    found: list[dict[str, Any]] = answer.json()["answers"]
    assert [one["id"] for one in found] == [one["id"] for one in lines]
    return found


def test_lines_are_written_once_however_often_they_come(client: TestClient) -> None:
    before = counted(client)
    one, two = line("2R cut to pair 1"), line("3B weak")
    first = send(client, one, two)
    assert [answer["state"] for answer in first] == ["stored", "stored"]
    assert first[0]["receipts"] == ["2nd right: cut to pair 1"]
    after = counted(client)
    assert len(after) == len(before) + 2
    again = send(client, one, two)
    assert [answer["state"] for answer in again] == ["known", "known"]
    assert [answer["receipts"] for answer in again] == [answer["receipts"] for answer in first]
    assert counted(client) == after


def test_a_line_that_cannot_be_taken_stops_no_other(client: TestClient) -> None:
    before = counted(client)
    good = line("4R ok")
    answers = send(
        client,
        line("2R cut", tree="nosuch"),
        line("2R cut", withdraws=str(uuid7())),
        line("2R cut", said="2026-06-09T10:00:00"),
        line(""),
        good,
    )
    assert [answer["state"] for answer in answers] == ["refused"] * 4 + ["stored"]
    assert "no tree is called" in answers[0]["error"].casefold()
    assert all(answer["error"] and not answer["receipts"] for answer in answers[:4])
    assert len(counted(client)) == len(before) + 1


def test_a_line_takes_over_from_the_one_before_it_on_its_device(client: TestClient) -> None:
    before = counted(client)
    one = line("2R cut to pair 1")
    two = line("same 3B", after=one["id"])
    three = line("pinch", after=two["id"])
    other = line("6R weak")
    send(client, one, other, two, three)
    made = [e for e in counted(client) if e.id not in {b.id for b in before}]
    works = {(e.branch, e.body.work) for e in made if isinstance(e.body, Worked)}
    assert works == {("2r", Work.CUT), ("3b", Work.CUT), ("3b", Work.PINCH)}


def test_a_line_is_taken_back_by_its_id_even_before_it_comes(client: TestClient) -> None:
    before = counted(client)
    late = line("2R cut")
    (back,) = send(client, line(withdraws=late["id"]))
    assert back["state"] == "stored"
    (came,) = send(client, late)
    assert came["state"] == "stored"
    assert counted(client) == before

    here = line("3B cut")
    send(client, here)
    assert len(counted(client)) == len(before) + 1
    for _ in range(2):
        answer = post(client, "/api/withdraw", {"line": here["id"]})
        assert answer.status_code == 200
        assert answer.json()["receipts"] == ["Taken back: 3rd back: cut"]
    assert counted(client) == before
    gone = [e for e in bench_of(client).kept.events(MAPLE) if isinstance(e.body, Withdrawn)]
    assert len(gone) == 2  # one a line, not one a request


def test_a_clock_that_is_wrong_by_a_day_is_put_right_and_said(client: TestClient) -> None:
    wrong = datetime.now(UTC) - timedelta(days=1)
    body = {"sent": wrong.isoformat(), "lines": [line("2R cut", said=wrong.isoformat())]}
    (answer,) = post(client, "/api/lines", body).json()["answers"]
    assert answer["state"] == "stored"
    assert "1 d slow" in answer["note"]


def test_answers_come_in_the_growers_language_and_unit(client: TestClient) -> None:
    in_german(bench_of(client).book)
    write(bench_of(client).book, Event(GardenSet({"units": "in"}), YESTERDAY))
    stored, refused = send(client, line("2R wire on 2 al"), line("2R cut", tree="nosuch"))
    assert stored["receipts"] == ["2. rechts: 0,08 in Aluminium an"]
    assert "Baum" in refused["error"]
    reading = client.get("/api/reading", params={"tree": MAPLE, "text": "2R wire on 2 al"}).json()
    assert reading["receipts"] == stored["receipts"]


GARBAGE: list[Any] = [
    None, [], "x", 3, {}, {"sent": "now", "lines": []}, {"sent": 1_780_000_000, "lines": []},
    {"sent": "2026-06-09T10:00:00", "lines": []},
    {"sent": "2026-06-09T10:00:00Z", "lines": {}},
    {"sent": "2026-06-09T10:00:00Z", "lines": [{}]},
    {"sent": "2026-06-09T10:00:00Z", "lines": [3]},
    {"sent": "2026-06-09T10:00:00Z", "lines": [], "more": 1},
]  # fmt: skip


@pytest.mark.parametrize("body", GARBAGE, ids=range(len(GARBAGE)))
def test_garbage_is_refused_in_plain_words(client: TestClient, body: object) -> None:
    answer = post(client, "/api/lines", body)
    assert answer.status_code == 422
    error = answer.json()["error"]
    assert set(error) == {"slug", "what", "where", "allowed", "todo"}
    assert error["todo"]


@pytest.mark.parametrize(
    "change",
    [
        {"text": "x" * (MOST_LETTERS + 1)}, {"id": "1"}, {"id": None}, {"said": "yesterday"},
        {"said": 1_780_000_000}, {"tree": "x" * 101}, {"after": "x"}, {"more": 1}, {"text": 7},
    ],
    ids=str,
)  # fmt: skip
def test_a_line_of_no_shape_is_refused(client: TestClient, change: dict[str, Any]) -> None:
    before = counted(client)
    body = {"sent": now(), "lines": [line("2R cut", **{k: v for k, v in change.items()
                                                       if k != "text"}) | change]}  # fmt: skip
    assert post(client, "/api/lines", body).status_code == 422
    assert counted(client) == before


def test_no_more_lines_than_may_come_at_once(client: TestClient) -> None:
    many = [line("2R ok") for _ in range(MOST_LINES + 1)]
    assert post(client, "/api/lines", {"sent": now(), "lines": many}).status_code == 422
    answers = send(client, *many[:MOST_LINES])
    assert {answer["state"] for answer in answers} == {"stored"}


@pytest.mark.parametrize("said", ["9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00"])
def test_a_moment_at_the_ends_of_the_calendar_is_answered(client: TestClient, said: str) -> None:
    """One that has no moment in UTC is refused; one that lies ahead is put back to now."""
    for sent in (now(), said):
        body = {"sent": sent, "lines": [line("2R cut", said=said)]}
        answer = post(client, "/api/lines", body)
        if said.endswith("+14:00"):
            assert answer.status_code == 422
        else:
            assert [one["state"] for one in answer.json()["answers"]] == ["stored"]


def test_nobody_writes_without_a_token(client: TestClient) -> None:
    before = counted(client)
    body = {"sent": now(), "lines": [line("2R cut")]}
    assert client.post("/api/lines", json=body).status_code == 403
    assert client.post("/api/withdraw", json={"line": str(uuid7())}).status_code == 403
    assert counted(client) == before


# --- while a line is typed ------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["2R cut to pair 1", "4R wire off bite 2; 1L fnord", "low ok", ""])
def test_a_reading_tells_what_writing_it_does(client: TestClient, text: str) -> None:
    before = bench_of(client).kept.events(MAPLE)
    reading = client.get("/api/reading", params={"tree": MAPLE, "text": text}).json()
    assert bench_of(client).kept.events(MAPLE) == before
    if not text:
        assert (reading["receipts"], reading["ready"]) == ([], False)
        return
    (answer,) = send(client, line(text))
    for key in ("receipts", "doubts", "unread"):
        assert reading[key] == answer[key]
    assert reading["ready"] is bool(answer["receipts"])


def test_a_reading_names_the_branches_by_their_lasting_ids(reader: TestClient) -> None:
    found = reader.get("/api/reading", params={"tree": MAPLE, "text": "4R, 2.5Lg ok"}).json()
    assert found["branches"] == ["4r", "2.5lg"]
    assert found["tree"] == MAPLE
    odd = reader.get("/api/reading", params={"tree": "nosuch", "text": "4R ok"}).json()
    assert odd["branches"] == []
    assert odd["doubts"]


@pytest.mark.parametrize("text", ["", "2", "2R ", "2R wire ", "2R wire on 2 ", "ditch"])
def test_completions_are_those_of_the_use_case(reader: TestClient, text: str) -> None:
    garden = bench_of(reader).day()
    tree = "" if text == "ditch" else MAPLE
    found = reader.get("/api/completions", params={"tree": tree, "text": text}).json()
    assert found["completions"] == completions(garden, text, tree or None)
    assert found["completions"]


@pytest.mark.parametrize("path", ["/api/reading", "/api/completions"])
def test_what_is_too_long_to_read_is_refused(reader: TestClient, path: str) -> None:
    assert reader.get(path, params={"text": "x" * (MOST_LETTERS + 1)}).status_code == 422
    for text in ("\x00", "\ud7ff", "\u202e2R cut", "'; DROP TABLE event; --", "2R " * 190):
        assert reader.get(path, params={"tree": MAPLE, "text": text}).status_code == 200


def test_the_document_of_the_answers_knows_them(reader: TestClient) -> None:
    paths = reader.get("/api/openapi.json").json()["paths"]
    for path in ("/api/lines", "/api/withdraw"):
        assert {"200", "422", "403"} <= set(paths[path]["post"]["responses"])
    for path in ("/api/reading", "/api/completions"):
        assert {"200", "422"} <= set(paths[path]["get"]["responses"])
