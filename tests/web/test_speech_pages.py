"""Every page of the demonstration garden in German: no sentence of it is left in English."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest
from demo_app import app_of, browser_on, copy_of
from uuid6 import uuid7

from boughwright.journal.events import Event, GardenSet
from boughwright.store.book import Book
from boughwright.web.speech_core import untold

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

MOST_OF_A_KIND = 3
"""Pages looked at of each kind: trees, branches, wires."""
OPEN_TAGS = {
    "br", "circle", "col", "hr", "image", "img", "input", "line", "link", "meta", "path", "rect",
    "stop", "use",
}  # fmt: skip
SPOKEN = ("title", "alt", "aria-label")
AS_TYPED = frozenset(["code", "kbd", "option", "script", "style", "textarea"])
"""Elements that hold what a grower types or chose, in the words of a phrase."""
PHRASES = ("2R ", "courtyard elm ")
"""How the examples of bench phrases begin, which are English everywhere."""
OWN_WORDS = {"two inner shoots pass 2.5"}
"""What a grower of the demonstration said."""
ENGLISH = re.compile(
    r"\b(?:the|of|is|and|with|its|to|on|by|it|from|for|look|whole|tree|feed|cut|before|branch|not"
    r"|than|this|that|are|be|you|your|has|no|at|or)\b",
    re.I,
)
"""Words that no German text holds."""


class _Page(HTMLParser):
    """Links of a page, and its texts that are not marked as English."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.texts: list[str] = []
        self._open: list[tuple[str, bool]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "a" and given.get("href", "").startswith("/"):
            self.links.append(given["href"].partition("#")[0])
        self.texts += [given[name] for name in SPOKEN if given.get(name)]
        if tag not in OPEN_TAGS:
            self._open.append((tag, tag in AS_TYPED or given.get("lang") == "en"))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        if data.strip() and not any(quiet for _, quiet in self._open):
            self.texts.append(" ".join(data.split()))


@pytest.fixture(scope="module")
def german(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    book = copy_of(demo_book, tmp_path_factory.mktemp("german"))
    body = GardenSet({"language": "de"})
    now = datetime.now(UTC)
    with Book.open(book) as opened:
        opened.append([Event(body, date(2026, 6, 9), None, None, "grower", now, uuid7())])
    return browser_on(app_of(book))


def _kind(path: str) -> str:
    path = re.sub(r"/branches/[^/?]+", "/branches/{}", path.partition("?")[0])
    return re.sub(r"^/(trees|wire|photos|species)/[^/]+", r"/\1/{}", path)


def test_every_page_is_german(german: TestClient) -> None:
    untold.clear()
    todo, seen, kinds = ["/"], {"/"}, dict[str, int]()
    english: list[str] = []
    while todo:
        path = todo.pop(0)
        kind = _kind(path)
        kinds[kind] = kinds.get(kind, 0) + 1
        if kinds[kind] > MOST_OF_A_KIND:
            continue
        answer = german.get(path)
        if answer.status_code != 200 or "html" not in answer.headers["content-type"]:
            continue
        page = _Page()
        page.feed(answer.text)
        assert '<html lang="de"' in answer.text
        english += [
            f"{path}: {text}"
            for text in page.texts
            if ENGLISH.search(text) and not text.startswith(PHRASES)
        ]
        fresh = [link for link in dict.fromkeys(page.links) if link not in seen]
        seen |= set(fresh)
        todo += fresh
    assert len(kinds) > 25
    assert english == []
    assert set(untold) <= OWN_WORDS
