"""Headers on every answer, faults in plain words, and no way to a file by its path."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote

import anyio
import pytest
from fastapi import FastAPI
from guard_help import PORT, Place, make_place
from starlette.requests import Request
from starlette.testclient import TestClient, WebSocketDenialResponse
from starlette.websockets import WebSocketDisconnect

from boughwright.web.guard import install_errors
from boughwright.web.guard.faults import FAULTS, fault_of
from boughwright.web.guard.plain import language_of, plain_page
from boughwright.web.speech import LANGUAGES, SOURCE, Speaker, Untold

if TYPE_CHECKING:
    from pathlib import Path

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return make_place(tmp_path)


@pytest.mark.parametrize(
    "path", ["/", "/devices", "/nowhere", "/fails", "/api/count/1", "/api/count/x",
             "/static/dist/app.css", "/pair", "/trees/none", "/charts/base.svg"]
)  # fmt: skip
def test_every_answer_carries_the_headers(place: Place, path: str) -> None:
    headers = place.here().get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "camera=(self)" in headers["permissions-policy"]
    assert "geolocation=()" in headers["permissions-policy"]
    assert "strict-transport-security" not in headers
    assert "server" not in headers


def test_refusals_carry_the_headers_too(place: Place) -> None:
    for answer in (place.away().get("/"), place.here(host="evil.example").get("/")):
        assert answer.headers["content-security-policy"] == POLICY
        assert answer.headers["cache-control"] == "no-store"


def test_a_header_that_plain_http_does_not_heed_is_sent_where_it_is_heeded(place: Place) -> None:
    name = "cross-origin-opener-policy"
    assert name in place.here().get("/").headers
    assert name not in place.away().get("/pair").headers


def test_pages_are_not_kept_and_charts_say_so_themselves(place: Place) -> None:
    here = place.here()
    assert here.get("/").headers["cache-control"] == "no-store"
    assert here.get("/charts/base.svg").headers["cache-control"] == "private, no-cache"
    assert here.get("/static/dist/app.css").headers["cache-control"] == "no-cache"
    assert "etag" in here.get("/static/dist/app.css").headers


def test_a_header_with_a_line_break_is_never_sent(
    place: Place, caplog: pytest.LogCaptureFixture
) -> None:
    answer = place.here().get("/breaks")
    assert answer.status_code == 500
    assert "x-name" not in answer.headers
    assert "set-cookie" not in answer.headers
    assert "line break" in caplog.text


OUTSIDE = [
    "/static/dist/../secret.txt",
    "/static/dist/%2e%2e/secret.txt",
    "/static/dist/..%2fsecret.txt",
    "/static/dist/%2e%2e%2fsecret.txt",
    "/static/dist/..%5csecret.txt",
    "/static/dist/%252e%252e/secret.txt",
    "/static/dist/....//secret.txt",
    "/static/dist//etc/passwd",
    "/static/dist/%00",
    "/static/dist/app.css%00.png",
    "/static/dist/./app.css",
    "/trees/%0d%0aSet-Cookie:a=b",
]


def ask_as_it_is(place: Place, path: str, *hosts: bytes) -> tuple[int, bytes]:
    """Ask for a path that no client tidies first."""
    named = hosts or (b"127.0.0.1:8170",)
    said: list[Any] = []
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": unquote(path),
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [(b"host", host) for host in named],
        "client": ("127.0.0.1", 50_000),
        "server": ("127.0.0.1", PORT),
    }

    asked: list[int] = []

    async def receive() -> dict[str, Any]:
        if asked:
            await anyio.sleep_forever()
        asked.append(1)
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        said.append(message)

    anyio.run(place.app, scope, receive, send)
    return said[0]["status"], b"".join(m.get("body", b"") for m in said)


@pytest.mark.parametrize("path", OUTSIDE)
def test_no_path_leads_out_of_the_built_files(place: Place, path: str) -> None:
    status, body = ask_as_it_is(place, path)
    assert status == 404
    assert b"not for you" not in body


def test_a_path_as_it_is_reaches_a_built_file(place: Place) -> None:
    assert ask_as_it_is(place, "/static/dist/app.css") == (200, b"main{}")


def test_two_hosts_are_no_host(place: Place) -> None:
    ours = b"127.0.0.1:8170"
    assert ask_as_it_is(place, "/", ours)[0] == 200
    assert ask_as_it_is(place, "/", ours, b"evil.example")[0] == 400
    assert ask_as_it_is(place, "/", ours, ours)[0] == 400


def test_a_stranger_sees_the_built_files_and_the_pairing_page_alone(place: Place) -> None:
    away = place.away()
    assert away.get("/static/dist/app.css").status_code == 200
    assert away.get("/pair").status_code == 200
    for path in ("/", "/devices", "/api/count/1", "/api/visitor", "/fails", "/nowhere",
                 "/static/dist", "/pair/x", "/openapi.json", "/docs"):  # fmt: skip
        assert away.get(path).status_code == 401, path
        assert away.head(path).status_code == 401, path


def test_a_failure_is_told_plainly_and_written_to_the_error_stream_alone(
    place: Place, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR, "boughwright.web"):
        answer = place.here().get("/fails?name=private")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.text
    assert "secret inside" not in answer.text
    assert "Traceback" not in answer.text
    assert "secret inside" in caplog.text
    assert "private" not in caplog.messages[0]


def test_faults_of_the_app_are_pages_or_json(place: Place) -> None:
    here = place.here()
    missing = here.get("/nowhere")
    assert (missing.status_code, "no such page" in missing.text) == (404, True)
    assert here.get("/api/nowhere").json()["error"]["slug"] == "missing"
    method = here.delete(
        "/api/count/1", headers={"x-csrf": here.get("/api/visitor").json()["csrf"]}
    )
    assert method.status_code == 405
    assert method.json()["error"]["slug"] == "method"
    assert "GET" in method.headers["allow"]
    field = here.get("/api/count/x")
    assert field.status_code == 422
    assert field.json()["error"]["where"] == "number"
    ours = here.get("/trees/elm")
    assert ours.status_code == 404
    assert "no tree" in ours.text


def test_the_page_of_a_fault_does_not_fail(caplog: pytest.LogCaptureFixture) -> None:
    app = FastAPI()

    def broken(_request: Request, _status: int, _what: str, _todo: str) -> None:
        raise RuntimeError("no book")

    install_errors(app, broken)  # type: ignore[arg-type]
    answer = TestClient(app).get("/nowhere")
    assert answer.status_code == 404
    assert "no such page" in answer.text
    assert "no book" in caplog.text


def test_user_text_in_a_fault_is_text() -> None:
    scope = {"type": "http", "headers": [], "method": "GET", "path": "/", "state": {}}
    fault = {"what": "<script>x</script>", "allowed": "<b>", "todo": "<i>", "status": 400}
    page = plain_page(Request(scope), "devices/refused.html", fault=fault)
    assert "<script>" not in page
    assert "<b>" not in page
    assert "<i>" not in page


def test_every_fault_says_what_to_do_calmly() -> None:
    for slug, (status, what, _, todo) in FAULTS.items():
        assert 400 <= status < 600, slug
        assert len(what) > 10, slug
        assert len(todo) > 10, slug
        assert "!" not in what + todo, slug


@pytest.mark.parametrize("language", [key for key in LANGUAGES if key != SOURCE])
def test_every_fault_is_told_in_every_language(language: str) -> None:
    speaker = Speaker(language=language)
    for slug in FAULTS:
        fault = fault_of(slug, size="40 MB")
        for text in (fault.what, fault.todo, fault.allowed):
            told = speaker.say(text)
            assert not text or told != text, text
            assert not isinstance(told, Untold), text


def test_no_websocket_is_opened(place: Place) -> None:
    with (
        pytest.raises((WebSocketDisconnect, WebSocketDenialResponse)),
        place.here().websocket_connect("/"),
    ):
        pass


@pytest.mark.parametrize(
    ("asked", "language"),
    [("de-CH,de;q=0.9,en;q=0.8", "de"), ("fr, en;q=0.5, de;q=0.4", "en"), ("", "en"), ("*", "en"),
     ("x," * 1000 + "de", "en"), ("\x00", "en")],
)  # fmt: skip
def test_a_bare_page_speaks_the_browsers_language(asked: str, language: str) -> None:
    assert language_of(asked) == language
