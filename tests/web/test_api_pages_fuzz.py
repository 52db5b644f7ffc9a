"""Every address of the app, pages and forms too, asked with garbage: none may fail.

Addresses are read from the app's own modules, so that a new one is asked without being named here.
What is drawn is the same in every run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from html.parser import HTMLParser
from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import pytest
from demo_app import PORT, app_of, browser_on, copy_of
from fastapi.params import File
from fastapi.routing import APIRoute
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from boughwright.web.app import ANSWERS, PAGES

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

EXAMPLES = 10
"""Requests drawn for each address."""
WILD = '<i id="wild">'
"""Must never stand on a page but as text."""
EVIL = "//elsewhere.example/"
NASTY = (
    "", " ", "0", "-1", "1e400", "nan", "-inf", "9" * 400, "٣", "1,5", "2026-02-30", "9999-12-31",
    "0000-00-00", "\0", "a\0b", "\ud800", "\r\nSet-Cookie: a=b", WILD, f"{WILD}</title></svg>",
    "{{ 7 * 7 }}", "%s%n", "{12.1 mm}", "{x", "../../etc/passwd", EVIL, f"https:{EVIL}", "\\\\a\\b",
    "javascript:alert(1)", "null", "[]", "é" * 300, "\u202eabc", "' OR 1=1 --", "on", "true",
)  # fmt: skip
REAL = {
    "tree": ("ditch-field-maple", "tall-beech", "gate-hornbeam"),
    "branch": ("1L", "4R", "trunk", "apex"),
    "place": ("weir-lane", "valdivia"),
    "ending": ("svg", "json"),
    "day": ("2026-06-09",),
    "on": ("2026-06-09",),
    "back": ("/", "/trees"),
    "units": ("in", "mm"),
    "text": ("2R cut to pair 1", "feed full"),
    "name": ("Somewhere", WILD),
}
"""Words that lead further than garbage does, by the name of the parameter or field."""


@dataclass(frozen=True)
class Address:
    """One address with what it takes."""

    method: str
    path: str
    holes: tuple[str, ...]
    queries: tuple[str, ...]
    fields: tuple[str, ...]
    files: tuple[str, ...]

    def __str__(self) -> str:
        """Return its name in a report."""
        return f"{self.method} {self.path}"


def addresses() -> list[Address]:
    """Return every address of every module that the app takes its addresses from."""
    found = []
    for kind, names, prefix in (("api", ANSWERS, "/api"), ("pages", PAGES, "")):
        for name in names:
            module = f"boughwright.web.{kind}.{name}"
            if find_spec(module) is not None:
                router = import_module(module).router
                found += [a for route in router.routes for a in _of(route, prefix)]
    return found


def _of(route: Any, prefix: str) -> list[Address]:
    if not isinstance(route, APIRoute):
        return []
    taken = route.dependant
    queries = list(taken.query_params)
    for inner in taken.dependencies:
        queries += inner.query_params
    files = tuple(f.alias for f in taken.body_params if isinstance(f.field_info, File))
    fields = tuple(f.alias for f in taken.body_params if f.alias not in files)
    return [
        Address(
            method,
            prefix + route.path,
            tuple(re.findall(r"\{(\w+)", route.path)),
            tuple(q.alias for q in queries),
            fields,
            files,
        )
        for method in sorted(route.methods)
    ]


@pytest.fixture(scope="module")
def browser(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """Return a browser on a copy of the demonstration garden that all these tests write into."""
    return browser_on(app_of(copy_of(demo_book, tmp_path_factory.mktemp("fuzz"))))


def words(name: str) -> st.SearchStrategy[str]:
    """Return what may stand for a parameter or field."""
    garbage = st.sampled_from(NASTY) | st.text(max_size=40)
    return st.sampled_from(REAL[name]) | garbage if name in REAL else garbage


def some(names: tuple[str, ...]) -> st.SearchStrategy[dict[str, str]]:
    """Return a value for some of the names, and now and then for one that nobody asked for."""
    asked = {name: words(name) for name in names}
    return st.fixed_dictionaries({}, optional={**asked, "stranger": words("")}) | (
        st.fixed_dictionaries(asked)
    )


def asked_for(address: Address) -> st.SearchStrategy[dict[str, Any]]:
    """Return requests to an address."""
    return st.fixed_dictionaries(
        {
            "holes": st.fixed_dictionaries({hole: words(hole) for hole in address.holes}),
            "params": some(address.queries),
            "data": some(address.fields),
            "file": st.binary(max_size=200) | st.sampled_from((b"", b"\xff\xd8\xff", b"PK\3\4")),
        }
    )


def sent(browser: TestClient, address: Address, drawn: dict[str, Any]) -> Any:
    """Send a request as a form of ours would."""
    path = address.path
    for hole, value in drawn["holes"].items():
        path = re.sub(rf"\{{{hole}(:\w+)?\}}", lambda _, v=value: escaped(v), path)
    more: dict[str, Any] = {}
    if address.method not in ("GET", "HEAD"):
        more["headers"] = {"x-csrf": browser.app.state.seats.token("owner")}
        data = {name: sendable(value) for name, value in drawn["data"].items()}
        if address.files:
            files = {name: (sendable(WILD), drawn["file"]) for name in address.files}
            more |= {"data": data, "files": files}
        else:
            more["headers"]["content-type"] = "application/x-www-form-urlencoded"
            more["content"] = encoded(drawn["data"])
    query = encoded(drawn["params"])
    return browser.request(address.method, f"{path}?{query}" if query else path, **more)


def escaped(value: str) -> str:
    """Return a text as it stands in an address; half letters go as the bytes they would be."""
    return quote(value.encode("utf-8", "surrogatepass"), safe="")


def sendable(value: str) -> str:
    """Return a text that a form with files can carry."""
    return value.encode("utf-8", "replace").decode()


def encoded(values: dict[str, str]) -> str:
    """Return the fields of a form or a query."""
    return "&".join(f"{escaped(name)}={escaped(value)}" for name, value in values.items())


def check(answer: Any) -> None:
    """Check what holds for every answer, whatever was asked."""
    assert answer.status_code < 500, answer.text[:300]
    assert "set-cookie" not in answer.headers or "a=b" not in answer.headers["set-cookie"]
    where = answer.headers.get("location", "/").removeprefix(f"http://127.0.0.1:{PORT}")
    assert where.startswith("/"), where
    assert not where.startswith(("//", "/\\")), where
    kind = answer.headers.get("content-type", "").partition(";")[0]
    if answer.status_code in (204, 303, 304, 307):
        return
    assert kind, answer.status_code
    if kind in ("text/html", "image/svg+xml"):
        assert WILD not in answer.text
        assert " style=" not in answer.text
    if kind == "application/json":
        answer.json()


@pytest.mark.parametrize("address", addresses(), ids=str)
def test_garbage_to_an_address_is_answered(browser: TestClient, address: Address) -> None:
    @settings(
        max_examples=EXAMPLES,
        phases=[Phase.generate],
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(asked_for(address))
    def asked(drawn: dict[str, Any]) -> None:
        check(sent(browser, address, drawn))

    asked()


# --- the forms as the pages hold them -------------------------------------------------------------

LINK = re.compile(r'href="(/[^"#]*)')
MOST_PAGES = 150


def pages(browser: TestClient) -> tuple[dict[str, str], dict[str, str]]:
    """Return the pages that links lead to from the first one, each kind a few times.

    Also links that lead nowhere, each with a page that it stands on.
    """
    waiting, kinds, found, broken = [("/", "/")], {}, {}, {}
    while waiting and len(found) < MOST_PAGES:
        address, page = waiting.pop(0)
        kind = kind_of(address)
        if address in found or kinds.get(kind, 0) >= 2:
            continue
        kinds[kind] = kinds.get(kind, 0) + 1
        answer = browser.get(address)
        if answer.status_code >= 400:
            broken.setdefault(address, f"{answer.status_code}, linked on {page}")
        elif answer.headers.get("content-type", "").startswith("text/html"):
            check(answer)
            found[address] = answer.text
            waiting += [(a.replace("&amp;", "&"), address) for a in LINK.findall(answer.text)]
    return found, broken


def kind_of(address: str) -> str:
    """Return an address without what it says of one tree, branch or record."""
    kind = re.sub(
        r"/(trees|branches|photos|wire|weather|records|places|shelves)/[^/?]+", r"/\1/*", address
    )
    return re.sub(r"=[^&]*", "=", kind)


def test_every_link_of_a_page_leads_somewhere(demo_book: Path) -> None:
    found, broken = pages(browser_on(app_of(demo_book)))
    assert len(found) > 20
    assert broken == {}


class Forms(HTMLParser):
    """The forms of a page that change something: where each goes, and its fields as they stand."""

    def __init__(self, page: str, text: str) -> None:
        super().__init__()
        self.page = page
        self.found: list[tuple[str, dict[str, str]]] = []
        self._inside: dict[str, str] | None = None
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take a form's start, a field of it, or a choice of a field."""
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = {} if given.get("method", "").lower() == "post" else None
            if self._inside is not None:
                self.found.append((given.get("action") or self.page, self._inside))
        elif self._inside is not None and given.get("name"):
            self._inside.setdefault(given["name"], given.get("value", ""))
            self._select = given["name"] if tag == "select" else ""
        elif (
            self._inside is not None
            and (tag, bool(self._select)) == ("option", True)
            and ("selected" in given or not self._inside[self._select])
        ):
            self._inside[self._select] = given.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        """Take a form's end."""
        if tag == "form":
            self._inside = None


def test_garbage_in_every_field_of_every_form_is_answered(
    browser: TestClient, demo_book: Path
) -> None:
    """Every form as its page gives it, with garbage in one field at a time, then in all."""
    kinds: dict[tuple[str, ...], tuple[str, dict[str, str]]] = {}
    for page, text in pages(browser_on(app_of(demo_book)))[0].items():
        for address, fields in Forms(page, text).found:
            kinds.setdefault((kind_of(address), *sorted(fields)), (address, fields))
    failed: dict[str, str] = {}
    turn = 0
    for address, whole in kinds.values():
        fields = {name: value for name, value in whole.items() if name != "csrf"}
        for name in (*fields, ""):
            for garbage in (NASTY[(turn + step) % len(NASTY)] for step in (0, 11, 22)):
                wrong = {name: garbage} if name else dict.fromkeys(fields, garbage)
                try:
                    check(posted(browser, address, fields | wrong))
                except AssertionError as error:
                    failed.setdefault(f"{address} {name}", f"{garbage!r}: {error}"[:300])
            turn += 1
    assert turn > 100
    assert failed == {}


def posted(browser: TestClient, address: str, fields: dict[str, str]) -> Any:
    """Send a form as a page of ours would."""
    headers = {
        "x-csrf": browser.app.state.seats.token("owner"),
        "content-type": "application/x-www-form-urlencoded",
    }
    return browser.post(address, content=encoded(fields), headers=headers)


def test_pages_still_open_after_all_that_garbage(browser: TestClient) -> None:
    found, broken = pages(browser)
    assert found
    assert broken == {}
