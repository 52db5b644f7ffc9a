"""What every page holds to, whatever it shows: no code in it, forms that are meant, own words."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html import unescape
from html.parser import HTMLParser
from typing import TYPE_CHECKING

from fastapi.testclient import TestClient

from boughwright.journal.events import Event, GardenSet, TreeSet
from boughwright.store.book import Book
from boughwright.usecases.devices import Doorkeeper
from boughwright.web.app import create_app
from boughwright.web.guard import GuardOptions, Listening

if TYPE_CHECKING:
    from pathlib import Path

PORT = 8764

HOSTILE = '<img src=x onerror="alert(1)"><script>alert(2)</script> **b** [x](javascript:y)'
LONG_AGO = date(2015, 1, 1)
YESTERDAY = date(2026, 6, 8)
"""The day before that of the demonstration garden."""


class _Reader(HTMLParser):
    """Walks a page: every element with its attributes, and the text of the main part."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.heads: list[str] = []
        self.words: list[str] = []
        self._open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        self._open.append(tag)
        if tag == "h1":
            self.heads.append("")

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if "script" in self._open or "style" in self._open:
            return
        self.words.append(data)
        if "h1" in self._open:
            self.heads[-1] += data


def read(page: str) -> _Reader:
    """Return a page taken apart."""
    reader = _Reader()
    reader.feed(page)
    return reader


def first_sentence(page: str) -> str:
    """Return the page's one heading, which answers its question."""
    heads = read(page).heads
    assert len(heads) == 1, heads
    return " ".join(heads[0].split())


def text_of(page: str) -> str:
    """Return all that a reader sees of a page, in one line."""
    return " ".join(" ".join(read(page).words).split())


def assert_clean(page: str) -> None:
    """Hold a page to the content policy, and each form that writes to its token."""
    for tag, attributes in read(page).elements:
        assert "style" not in attributes, (tag, attributes)
        assert not [name for name in attributes if name.startswith("on")], (tag, attributes)
        if tag == "script":
            assert attributes.get("src", "").startswith("/static/dist/") or (
                attributes.get("type") == "application/json"
            ), attributes
        for name in ("src", "href", "action"):
            assert not attributes.get(name, "").startswith(("http", "//", "javascript")), attributes
    for form in re.findall(r"<form\b.*?</form>", page, re.S):
        if 'method="post"' in form:
            assert re.search(r'name="csrf" value="[^"]+"', form), form


def in_german(book: Path) -> None:
    """Set a book to German."""
    write(book, Event(GardenSet({"language": "de"}), YESTERDAY))


def rename(book: Path, tree: str, name: str = HOSTILE) -> None:
    """Give a tree another name."""
    write(book, Event(TreeSet({"name": name}), YESTERDAY, tree))


def write(book: Path, *events: Event) -> None:
    """Write events into a book."""
    with Book.open(book) as opened:
        opened.append(events)


def token(client: TestClient, path: str) -> str:
    """Return the token of the forms of a page."""
    found = re.search(r'name="csrf" value="([^"]+)"', client.get(path).text)
    assert found is not None
    return unescape(found[1])


def browser_on(book: Path) -> TestClient:
    """Return a browser without JavaScript on the whole app of a book."""
    options = GuardOptions(
        keeper=Doorkeeper(book, lambda: datetime.now(UTC)), doors=(Listening("http", PORT),)
    )
    return TestClient(
        create_app(book, guard=options),
        base_url=f"http://127.0.0.1:{PORT}",
        client=("127.0.0.1", 50_000),
        follow_redirects=False,
    )
