"""Raw garbage to the JSON addresses: each is refused in plain words, and nothing is written."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import pytest
from demo_app import PORT, app_of, browser_on, copy_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from fastapi import FastAPI
    from fastapi.testclient import TestClient

KEYS = {"slug", "what", "where", "allowed", "todo"}
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND", "x")


class Target:
    """The app on a copy of the demonstration garden, asked as a program on the computer asks."""

    def __init__(self, book: Path) -> None:
        self.app: FastAPI = app_of(book)
        self.client: TestClient = browser_on(self.app)
        self.token = {"x-csrf": self.app.state.seats.token("owner")}
        document = self.client.get("/api/openapi.json").json()
        self.gets = sorted(path for path, of in document["paths"].items() if "get" in of)
        self.posts = sorted(path for path, of in document["paths"].items() if "post" in of)
        self.asked = {
            path: [p["name"] for p in of["get"].get("parameters", ()) if p["in"] == "query"]
            for path, of in document["paths"].items()
            if "get" in of
        }

    def written(self) -> int:
        """Return how many records the book holds."""
        kept = self.app.state.bench.kept
        events = sum(len(kept.events(day.facts.tree)) for day in kept.day().trees)
        return events + len(kept.garden_events())

    def raw(self, method: str, path: bytes, query: bytes = b"") -> tuple[int, bytes]:
        """Ask with bytes that no client would send, past its cleaning."""
        sent: list[Any] = []
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
            "scheme": "http", "path": path.decode("utf-8", "replace"), "raw_path": path,
            "query_string": query, "root_path": "", "client": ("127.0.0.1", 5), "state": {},
            "server": ("127.0.0.1", PORT),
            "headers": [(b"host", f"127.0.0.1:{PORT}".encode()),
                        *((k.encode(), v.encode()) for k, v in self.token.items())],
        }  # fmt: skip

        async def receive() -> Mapping[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: Mapping[str, Any]) -> None:
            sent.append(message)

        import anyio

        anyio.run(self.app, scope, receive, send)
        body = b"".join(m.get("body", b"") for m in sent if m["type"] == "http.response.body")
        return sent[0]["status"], body


@pytest.fixture(scope="module")
def target(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Target:
    return Target(copy_of(demo_book, tmp_path_factory.mktemp("garbage")))


@pytest.fixture(autouse=True)
def nothing_is_written(target: Target) -> Iterator[None]:
    before = target.written()
    yield
    assert target.written() == before


def refused(status: int, body: bytes) -> str:
    """Check that an answer is a refusal in words, and return its slug."""
    assert 400 <= status < 500, (status, body[:300])
    error = json.loads(body)["error"]
    assert set(error) == KEYS
    assert error["what"]
    assert "Traceback" not in error["what"]
    return str(error["slug"])


def filled(path: str, word: str = "tall-beech") -> str:
    """Return an address with a word in the place of each of its parameters."""
    for name in ("tree", "branch", "of"):
        path = path.replace(f"{{{name}}}", word)
    return path


# --- methods, paths and queries -------------------------------------------------------------------


@pytest.mark.parametrize("method", METHODS)
def test_a_method_that_is_not_there_is_refused(target: Target, method: str) -> None:
    for path in {*target.gets, *target.posts}:
        there = {"GET": target.gets, "POST": target.posts}.get(method, [])
        if path in there:
            continue
        answer = target.client.request(method, filled(path), headers=target.token)
        assert answer.status_code == 405, (method, path, answer.text)
        assert set(answer.headers["allow"].split(", ")) <= {"GET", "POST"}
        if method != "HEAD":
            assert refused(answer.status_code, answer.content) == "method"


QUERIES = {
    "bytes that are no UTF-8": b"%ff%fe\xff\xfe",
    "nothing": b"",
    "NULs": b"%00%00",
    "line breaks": b"%0d%0aSet-Cookie:%20a=b",
    "a lone surrogate": b"%ed%a0%80",
    "a million digits": b"9" * 1_000_000,
    "a number beyond all": b"1e999",
    "not a number": b"nan",
    "HTML": b"%3Cscript%3Ealert(1)%3C/script%3E",
    "a right-to-left mark and a joined family": "\u202e\N{WOMAN}\u200d\N{GIRL}".encode(),
    "an integer in other digits": "٣".encode(),
    "half a percent": b"%",
    "much": b"%41" * 100_000,
    "a negative zero": b"-0.0",
}


@pytest.mark.parametrize("value", QUERIES.values(), ids=QUERIES)
def test_garbage_in_every_parameter_is_answered(target: Target, value: bytes) -> None:
    for path, names in target.asked.items():
        fitting = {"tree": b"tall-beech", "phrase": b"leaf+full", "place": b"1L", "name": b"beech",
                   "typed": b"b"}  # fmt: skip
        for name in names:
            others = {k: v for k, v in fitting.items() if k in names and k != name}
            query = b"&".join(k.encode() + b"=" + v for k, v in {**others, name: value}.items())
            status, body = target.raw("GET", filled(path).encode(), query)
            if status != 200:
                refused(status, body)
            else:
                assert "shape" in json.loads(body)


@pytest.mark.parametrize("value", QUERIES.values(), ids=QUERIES)
def test_garbage_in_the_path_is_answered(target: Target, value: bytes) -> None:
    from urllib.parse import unquote_to_bytes

    for path in target.gets:
        if "{" not in path:
            continue
        for name in ("tree", "branch", "of"):
            if f"{{{name}}}" in path:
                garbage = path.encode().replace(f"{{{name}}}".encode(), unquote_to_bytes(value))
                for other in (b"{tree}", b"{branch}", b"{of}"):
                    garbage = garbage.replace(other, b"tall-beech")
                status, body = target.raw("GET", garbage)
                if status != 200:
                    refused(status, body)


def test_a_parameter_given_twice_or_by_the_thousand_is_answered(target: Target) -> None:
    twice = target.client.get("/api/call-up?days=3&days=5")
    assert twice.json()["until"] == target.client.get("/api/call-up?days=5").json()["until"]
    status, body = target.raw("GET", b"/api/call-up", b"&".join([b"x=1"] * 100_000))
    assert status == 200
    assert json.loads(body)["shape"] == "boughwright/call-up"
    assert target.raw("GET", b"/api/call-up", b"days=" + b"&days=" * 5_000)[0] == 422


# --- bodies ---------------------------------------------------------------------------------------

SENT = datetime(2026, 6, 9, 18, tzinfo=UTC).isoformat()


def line(**changes: object) -> dict[str, object]:
    """Return a line as a device sends it, with something in it changed."""
    whole = {"id": str(uuid4()), "said": SENT, "tree": "tall-beech", "text": "feed full"}
    return whole | changes


def lines(*given: object, **changes: object) -> bytes:
    """Return a body of lines."""
    return json.dumps({"sent": SENT, "device": "", "lines": list(given)} | changes).encode()


BODIES: dict[str, bytes] = {
    "nothing": b"",
    "no JSON": b"{",
    "bytes that are no UTF-8": b'{"sent": "\xff\xfe"}',
    "a NUL": b"\0",
    "null": b"null",
    "a list": b"[]",
    "a number": b"1",
    "a text": b'"lines"',
    "an empty object": b"{}",
    "deep lists": b"[" * 100_000,
    "deep lists that close": b"[" * 50_000 + b"]" * 50_000,
    "deep objects": b'{"sent":' * 30_000 + b"1" + b"}" * 30_000,
    "deep inside a line": lines().replace(b"[]", b"[" * 20_000 + b"]" * 20_000),
    "a key given twice, the last one wrong": b'{"sent":"2026-06-09T18:00:00Z","sent":7,"lines":[]}',
    "NaN": b'{"sent": NaN, "lines": []}',
    "a million digits": b'{"sent": ' + b"9" * 900_000 + b', "lines": []}',
    "a million digits in a line": lines(line()).replace(b'"feed full"', b"7" * 900_000),
    "a moment as a number": lines(sent=1780963200),
    "a moment without a zone far off": lines(sent="99999-01-01T00:00:00"),
    "an unknown key": lines(more=1),
    "an unknown key in a line": lines(line(more=1)),
    "an id that is none": lines(line(id="x")),
    "a phrase too long": lines(line(text="a" * 601)),
    "a phrase that is a list": lines(line(text=["feed"])),
    "a tree that is a number": lines(line(tree=5)),
    "a line that is a text": lines("feed full"),
    "too many lines": lines(*[line() for _ in range(201)]),
    "lines as an object": lines(lines={"0": line()}),
    "a mark before it and no JSON after": b"\xef\xbb\xbf{",
}


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES)
def test_a_body_that_is_garbage_is_refused(target: Target, body: bytes) -> None:
    for path in target.posts:
        for kind in ("application/json", "application/json; charset=utf-16", "text/json", ""):
            headers = target.token | ({"content-type": kind} if kind else {})
            answer = target.client.post(filled(path), content=body, headers=headers)
            refused(answer.status_code, answer.content)


KINDS = ("application/x-www-form-urlencoded", "multipart/form-data", "text/plain", "a/b; c=\"",
         "multipart/form-data; boundary=", "multipart/form-data; boundary=x", "application/xml",
         "application/octet-stream", "/", "é")  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_wrong_media_type_is_refused(target: Target, kind: str) -> None:
    for path in target.posts:
        for body in (lines(line()), b"--x\r\n\r\n--x--", b"a=b&" * 100, b"\xff" * 1000):
            answer = target.client.post(
                filled(path),
                content=body,
                headers=[*((k, v) for k, v in target.token.items()),
                         ("content-type", kind.encode("latin-1"))],
            )  # fmt: skip
            refused(answer.status_code, answer.content)


def test_a_body_too_long_is_refused_with_its_limit(target: Target) -> None:
    for path in target.posts:
        answer = target.client.post(filled(path), content=b" " * 41_000_000, headers=target.token)
        assert refused(answer.status_code, answer.content) == "too-big"
        assert (
            "MB" in answer.json()["error"]["allowed"] or "kB" in answer.json()["error"]["allowed"]
        )


@pytest.mark.parametrize("text", ["\ud800", "feed \udfff full", "\0", "a\0b", "\ufffe", "\u2028"])
def test_half_a_letter_and_marks_that_are_none_are_told_line_by_line(
    target: Target, text: str
) -> None:
    """Half of a two-part letter can be written in JSON, and in no file."""
    for change in ({"text": text}, {"tree": text}):
        body = lines(line(tree="no-such-tree") | change)
        answer = target.client.post(
            "/api/lines", content=body, headers=target.token | {"content-type": "application/json"}
        )
        if answer.status_code != 200:
            refused(answer.status_code, answer.content)
        else:
            assert [one["state"] for one in answer.json()["answers"]] == ["refused"]
            assert answer.json()["answers"][0]["error"]
    device = target.client.post(
        "/api/lines",
        content=lines(device=text),
        headers=target.token | {"content-type": "application/json"},
    )
    if device.status_code != 200:
        refused(device.status_code, device.content)


def test_writing_without_a_token_is_refused_before_its_body_is_read(target: Target) -> None:
    for path in target.posts:
        answer = target.client.post(filled(path), content=lines(line()))
        assert refused(answer.status_code, answer.content) == "stale-page"
