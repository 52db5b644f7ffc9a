"""Nothing said is lost and nothing is written twice, whatever becomes of signal or server."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING, Any

import httpx
import pytest
from bench_browser import DESK, PHONE, WAIT_MS, Heard, Served, ready, serving

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

TREE = "gate-hornbeam"
DAY_S = 86_400
AHEAD = f"""(() => {{
  const ahead = {DAY_S * 1000};
  const True = Date;
  globalThis.Date = class extends True {{
    constructor(...given) {{ given.length ? super(...given) : super(True.now() + ahead); }}
    static now() {{ return True.now() + ahead; }}
  }};
}})()"""


def say(page: Any, *lines: str) -> None:
    """Write lines in the box, one after the other, as fast as a hand could."""
    for line in lines:
        page.fill("#say-text", line)
        page.press("#say-text", "Enter")
        page.locator("[data-receipts]", has_text=line.split()[-1]).first.wait_for()


def waiting(page: Any) -> int:
    """Return how many lines wait on this device, by the device's own store."""
    found: int = page.evaluate(
        """() => new Promise((done, fail) => {
          indexedDB.databases().then(([{ name }]) => {
            const asked = indexedDB.open(name);
            asked.onerror = fail;
            asked.onsuccess = () => {
              const count = asked.result.transaction('lines').objectStore('lines').count();
              count.onsuccess = () => { asked.result.close(); done(count.result); };
            };
          });
        })"""
    )
    return found


def all_written(page: Any) -> None:
    """Wait until nothing waits any more."""
    until = time.monotonic() + 3 * WAIT_MS / 1000
    while waiting(page) and time.monotonic() < until:
        page.wait_for_timeout(100)
    assert waiting(page) == 0
    page.wait_for_function("() => !document.documentElement.hasAttribute('data-waits')")


def kept(page: Any, path: str) -> None:
    """Wait until a page is kept on the device and its worker opens pages."""
    page.wait_for_function(
        "async (path) => navigator.serviceWorker.controller !== null"
        " && (await caches.match(path)) !== undefined",
        arg=path,
    )


def open_kept(context: Any, tree: str = TREE) -> Any:
    page = context.new_page()
    page.goto(f"/trees/{tree}")
    ready(page)
    kept(page, f"/trees/{tree}")
    kept(page, f"/api/trees/{tree}/drawing")
    return page


def times(served: Served, *parts: str, tree: str = TREE) -> dict[str, int]:
    """Return how often each part stands in a tree's records."""
    return {part: len(served.said(tree, part)) for part in parts}


def once(*parts: str) -> dict[str, int]:
    return dict.fromkeys(parts, 1)


@pytest.fixture
def second(chromium: Any, served: Served) -> Iterator[Any]:
    """Return another device."""
    context = chromium.new_context(**DESK, base_url=served.address)
    context.set_default_timeout(WAIT_MS)
    yield context
    context.close()


def test_lines_said_without_signal_outlive_a_reload_and_are_written_once(
    device: Any, served: Served
) -> None:
    page = open_kept(device)
    device.set_offline(True)
    say(page, "1R base 22.1", "1R base 22.2", "2L base 22.3")
    assert "3 lines wait" in page.inner_text("[data-outbox]")
    assert "No signal" in page.inner_text("[data-outbox]")
    page.reload()
    # On a busy device the line drawing may stand in for the tree in the round; logging goes on.
    page.locator("[data-outbox]", has_text="3 lines").wait_for()
    assert "3 lines wait" in page.locator("[data-outbox]", has_text="3 lines").inner_text()
    say(page, "2L base 22.4")
    page.goto("/offline")
    page.locator("[data-outbox]", has_text="4 lines wait").wait_for()
    values = ("22.1", "22.2", "22.3", "22.4")
    assert sum(times(served, *values).values()) == 0
    device.set_offline(False)
    all_written(page)
    assert times(served, *values) == once(*values)
    page.reload()
    page.wait_for_timeout(300)
    assert times(served, *values) == once(*values)


def test_a_page_never_opened_says_so_without_signal(device: Any) -> None:
    page = open_kept(device)
    device.set_offline(True)
    page.goto("/trees/fan-maple/facts")
    assert page.locator("h1").count() == 1
    assert page.locator("form[data-line]").count() == 1


def test_a_line_taken_back_before_it_left_is_never_written(device: Any, served: Served) -> None:
    page = open_kept(device)
    device.set_offline(True)
    say(page, "1R base 23.1", "1R base 23.2")
    page.locator(".receipt", has_text="23.2").locator("[data-undo]").click()
    page.locator("[data-receipts]", has_text="Taken back").wait_for()
    device.set_offline(False)
    all_written(page)
    assert times(served, "23.1", "23.2") == {"23.1": 1, "23.2": 0}


@pytest.fixture
def plain(chromium: Any, served: Served) -> Iterator[Any]:
    """Return a phone whose requests a test may lose: it has no worker between."""
    context = chromium.new_context(**PHONE, base_url=served.address, service_workers="block")
    context.set_default_timeout(3 * WAIT_MS)
    yield context
    context.close()


def test_a_lost_reply_does_not_write_twice(plain: Any, served: Served) -> None:
    page = plain.new_page()
    page.goto(f"/trees/{TREE}")
    ready(page)
    lost: list[int] = []

    def lose(route: Any) -> None:
        if len(lost) < 2:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    page.route("**/api/lines", lose)
    say(page, "2L base 24.1")
    all_written(page)
    assert lost == [200, 200]
    assert times(served, "24.1") == once("24.1")


def test_two_devices_say_things_of_one_tree_and_all_is_there_once(
    device: Any, second: Any, served: Served
) -> None:
    pages = open_kept(device), open_kept(second)
    for context in (device, second):
        context.set_offline(True)
    say(pages[0], "5L base 25.1", "6R base 25.2")
    say(pages[1], "5L base 25.3", "1R base 25.4")
    say(pages[0], "2L base 25.5")
    for context in (second, device):
        context.set_offline(False)
    for page in pages:
        all_written(page)
    values = ("25.1", "25.2", "25.3", "25.4", "25.5")
    assert times(served, *values) == once(*values)


def test_a_clock_a_day_ahead_does_not_move_a_line_to_another_day(
    chromium: Any, device: Any, served: Served
) -> None:
    right = open_kept(device)
    say(right, "1R base 26.1")
    all_written(right)
    wrong = chromium.new_context(**PHONE, base_url=served.address)
    wrong.set_default_timeout(WAIT_MS)
    wrong.add_init_script(AHEAD)
    page = open_kept(wrong)
    assert page.evaluate("() => Date.now()") > (time.time() + DAY_S / 2) * 1000
    wrong.set_offline(True)
    say(page, "1R base 26.2")
    wrong.set_offline(False)
    all_written(page)
    wrong.close()
    days = {
        value: [row["on"] for row in served.records(TREE) if value in row["what"]]
        for value in ("26.1", "26.2")
    }
    assert days["26.2"] == days["26.1"]
    assert len(days["26.2"]) == 1


def test_a_server_killed_in_the_middle_of_a_sync_loses_and_doubles_nothing(
    chromium: Any, demo: Path, tmp_path: Path
) -> None:
    with serving(demo, tmp_path) as served:
        context = chromium.new_context(**PHONE, base_url=served.address)
        context.set_default_timeout(3 * WAIT_MS)
        page = open_kept(context)
        context.set_offline(True)
        values = [f"{40 + n // 10}.{n % 10}" for n in range(24)]
        say(page, *(f"{('1R', '2L', '5L')[k % 3]} base {value}" for k, value in enumerate(values)))
        assert waiting(page) == len(values)
        context.set_offline(False)
        threading.Timer(0.02, served.kill).start()
        page.wait_for_timeout(1_500)
        served.start()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        all_written(page)
        assert times(served, *values) == once(*values)
        context.close()


def test_a_photo_taken_without_signal_is_sent_later_once(device: Any, served: Served) -> None:
    from test_browser_pages import photo

    page = device.new_page()
    page.goto(f"/trees/{TREE}/photos")
    ready(page)
    kept(page, f"/trees/{TREE}/photos")
    device.set_offline(True)
    page.set_input_files(
        "#file",
        {"name": "b.jpg", "mimeType": "image/jpeg", "buffer": photo("black", "2026:06:02")},
    )
    page.locator("form[data-photo] button.main").click()
    page.locator("[data-outbox]", has_text="1 photo waits").wait_for()
    device.set_offline(False)
    page.locator(".photo-strip img").first.wait_for()
    answer = httpx.get(f"{served.address}/trees/{TREE}/photos", timeout=20)
    assert answer.text.count("/320") == 1


def test_without_signal_the_browser_complains_of_nothing_but_the_lost_network(
    device: Any, heard: Heard
) -> None:
    heard.quiet_about = ("ERR_INTERNET_DISCONNECTED", "Failed to load resource")
    page = open_kept(device)
    heard.listen(page)
    device.set_offline(True)
    say(page, "2L base 27.1")
    page.reload()
    ready(page)
    device.set_offline(False)
    all_written(page)
    assert heard.faults == []
