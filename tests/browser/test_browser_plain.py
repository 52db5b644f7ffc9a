"""Without JavaScript: every page can be read, a line is written, and taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from bench_browser import DESK, MAPLE, WAIT_MS, Served
from page_table import PAGES

if TYPE_CHECKING:
    from collections.abc import Iterator

PLAIN = [
    address.replace("{tree}", MAPLE)
    for addresses in PAGES.values()
    for address in addresses
    if address.startswith("/")
]


@pytest.fixture(scope="module")
def still(chromium: Any, served: Served) -> Iterator[Any]:
    """Return a page in which no script runs."""
    context = chromium.new_context(**DESK, base_url=served.address, java_script_enabled=False)
    context.set_default_timeout(WAIT_MS)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("path", PLAIN)
def test_a_page_can_be_read(still: Any, path: str) -> None:
    answer = still.goto(path)
    assert answer.status == 200
    assert len(still.inner_text("h1").strip()) > 3
    assert len(still.inner_text("main").strip()) > 40
    assert still.locator("canvas").count() == 0


def test_the_tree_is_drawn_and_turned_by_links(still: Any) -> None:
    still.goto(f"/trees/{MAPLE}")
    before = still.locator(".line-drawing .wood").first.inner_html()
    still.get_by_role("link", name="Turn right").click()
    still.wait_for_url("**turn=45**")
    assert still.locator(".line-drawing .wood").first.inner_html() != before
    still.locator("[data-branches] a", has_text="4R").first.click()
    still.wait_for_url("**/branches/**")
    assert "What is known" in still.inner_text("main")


def test_a_line_is_written_by_the_form_and_taken_back(still: Any, served: Served) -> None:
    before = served.records(MAPLE)
    still.goto(f"/trees/{MAPLE}")
    still.fill("#say-text", "4R base 9.3")
    still.locator(".say-bar button.main").click()
    still.wait_for_url("**/said/**")
    assert "base 9.3 mm" in still.inner_text("main")
    assert len(served.records(MAPLE)) == len(before) + 1
    still.get_by_role("button", name="Undo").first.click()
    still.wait_for_load_state()
    assert served.records(MAPLE) == before


def test_a_tap_of_the_bar_is_a_form(still: Any, served: Served) -> None:
    before = len(served.records(MAPLE))
    still.goto(f"/trees/{MAPLE}/branches/1l-1")
    still.locator(".acts form[data-log] button").first.click()
    still.wait_for_url("**/said/**")
    assert len(served.records(MAPLE)) == before + 1


def test_an_empty_line_is_refused_with_a_reason(still: Any) -> None:
    still.goto(f"/say?tree={MAPLE}")
    still.fill("#say-text", "")
    still.evaluate("() => document.querySelector('.say-bar').noValidate = true")
    still.locator(".say-bar button.main").click()
    assert still.locator("[role=alert]").inner_text().strip()
