"""Every page at both sizes, by day and by night: what none of them may show.

No violation of axe (axe-core, with its rule for small targets), none of the content policy, no
word of complaint from the browser, no request to another machine, nothing to scroll sideways at
320, 390 and 1280 px, no text under 14 px, and on a phone no control lower than 15 mm.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import pytest
from bench_browser import MAPLE, SIZES, WAIT_MS, Heard, Served, ready
from page_table import ELSEWHERE, PAGES, patterns
from page_walk import AXE, LISTEN, faults_of
from PIL import Image

if TYPE_CHECKING:
    from collections.abc import Iterator

CASES = [(pattern, address) for pattern, addresses in PAGES.items() for address in addresses]


def photo(colour: str, day: str) -> bytes:
    """Return a small photo with the day it was taken in it."""
    made = Image.effect_noise((320, 400), 60).convert("RGB")
    made.paste(Image.new("RGB", (80, 400), colour), (120, 0))
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = f"{day} 10:00:00"
    out = io.BytesIO()
    made.save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.fixture(scope="module")
def sent(chromium: Any, served: Served) -> str:
    """Send two photos, write a line, and give the address of its receipt."""
    context = chromium.new_context(base_url=served.address, java_script_enabled=False)
    page = context.new_page()
    for colour, day in (("sienna", "2025:06:01"), ("tan", "2026:06:01")):
        page.goto(f"/trees/{MAPLE}/photos")
        page.set_input_files(
            "#file", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo(colour, day)}
        )
        page.click("form[data-photo] button")
        page.wait_for_load_state()
    page.goto(f"/say?tree={MAPLE}")
    page.fill("#say-text", "2R ok")
    page.click(".say-bar button.main")
    page.wait_for_url("**/said/**")
    address: str = page.url.removeprefix(served.address)
    context.close()
    return address


@pytest.fixture(scope="module", params=list(SIZES))
def walker(
    request: pytest.FixtureRequest, chromium: Any, served: Served, sent: str
) -> Iterator[tuple[str, Any, Heard]]:
    """Open one window for the whole walk: its size, its page, what is heard of it."""
    assert sent
    context = chromium.new_context(
        **SIZES[request.param],
        base_url=served.address,
        reduced_motion="reduce",
        service_workers="block",
    )
    context.set_default_timeout(WAIT_MS)
    context.add_init_script(LISTEN)
    page = context.new_page()
    heard = Heard(quiet_about=("blocked by Playwright",))  # the worker; it has tests of its own
    heard.listen(page)
    yield request.param, page, heard
    context.close()


def link_of(page: Any, pattern: str) -> str | None:
    """Return the first link of a page whose address follows a pattern."""
    wanted = re.compile(
        re.sub(r"\{\w+\}", "[^/?#]+", pattern.replace("{tree}", MAPLE)) + r"(\?.*)?"
    )
    if pattern.startswith("/wire/{tree}"):
        wanted = re.compile(r"/wire/[^/?#]+/[^/?#]+(\?.*)?")
    links = page.eval_on_selector_all(
        "a[href], form[action]",
        "all => all.map((one) => one.getAttribute('href') ?? one.getAttribute('action'))",
    )
    return next((link for link in links if wanted.fullmatch(link.partition("#")[0])), None)


def address_of(page: Any, pattern: str, address: str, sent: str) -> str:
    """Return where a page of the table lies in this garden."""
    if address == "said":
        return sent
    if not address.startswith("found:"):
        return address.replace("{tree}", MAPLE)
    on = address.removeprefix("found:")
    page.goto(address_of(page, on, PAGES[on][0], sent))
    if pattern.endswith("/pair"):
        hrefs = page.eval_on_selector_all(".photo-strip a", "all => all.map((one) => one.href)")
        last, first = (href.rpartition("/")[2] for href in hrefs[:2])
        return f"/trees/{MAPLE}/photos/pair?one={first}&other={last}"
    found = link_of(page, pattern)
    if found is None and "/photos/" in pattern:  # they stand on the page of one photo
        page.goto(link_of(page, "/trees/{tree}/photos/{name}") or "")
        found = link_of(page, pattern)
    assert found is not None, f"no link {pattern} on {page.url}"
    return found


def test_the_table_holds_every_page_that_the_app_has() -> None:
    assert patterns() == {*PAGES, *ELSEWHERE}


@pytest.mark.parametrize(("pattern", "address"), CASES, ids=[address for _, address in CASES])
def test_a_page_shows_nothing_that_it_must_not(
    walker: tuple[str, Any, Heard], sent: str, served: Served, pattern: str, address: str
) -> None:
    assert AXE.exists(), "axe-core is not beside the scripts: run npm ci in frontend"
    size, page, heard = walker
    at = address_of(page, pattern, address, sent)
    heard.clear()
    answer = page.goto(at)
    assert answer.status == 200, f"{at} answers {answer.status}"
    ready(page)
    faults = [*faults_of(page, size), *heard.faults]
    assert not faults, "\n".join([at, *faults])
    assert heard.strangers(served.address) == []
