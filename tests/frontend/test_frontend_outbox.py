"""The outbox in a real browser: nothing said is lost, and nothing is written twice.

The server is a small one made for these tests, on this machine alone; it keeps what it is sent by
id, as the real one does, and can be told to fail. "Offline" is the browser's own switch.
"""

from __future__ import annotations

import re
import time
import uuid
from datetime import datetime
from typing import Any

from bench_pages import Bench, serving
from browser_help import needs

pytestmark = needs(browser=True, built=True)

VERSION_SEVEN = 7


def say(page: Any, text: str) -> None:
    page.fill("[data-phrase]", text)
    page.press("[data-phrase]", "Enter")


def until(true: Any, what: str, seconds: float = 10.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return
        time.sleep(0.02)
    raise AssertionError(f"never came true: {what}")


def open_with_worker(page: Any, address: str) -> None:
    page.goto(address)
    page.get_by_text("This page opens without signal").wait_for()
    until(lambda: page.evaluate("() => navigator.serviceWorker.controller !== null"), "control")


def waiting(page: Any) -> int:
    return int(
        page.evaluate(
            """() => new Promise((give) => {
              const ask = indexedDB.open("bench");
              ask.onsuccess = () => {
                const db = ask.result;
                const count = db.transaction("lines").objectStore("lines").count();
                count.onsuccess = () => { give(count.result); db.close(); };
              };
            })"""
        )
    )


def test_a_line_is_written_and_the_receipt_turns_into_the_servers_words(
    page: Any, bench: Bench
) -> None:
    page.goto(bench.address)
    say(page, "2R wire on 2 al")
    page.get_by_text("Written: 2R wire on 2 al").wait_for()
    (line,) = bench.written.values()
    assert uuid.UUID(line["id"]).version == VERSION_SEVEN
    assert datetime.fromisoformat(line["said"]).tzinfo is not None
    assert line["tree"] == "elm"
    assert page.input_value("[data-phrase]") == ""
    assert waiting(page) == 0


def test_lines_said_offline_wait_are_counted_and_go_in_order_when_signal_is_back(
    page: Any, device: Any, bench: Bench
) -> None:
    page.goto(bench.address)
    device.set_offline(True)
    for text in ("1L ok", "2R ok", "3B ok"):
        say(page, text)
        page.get_by_text(f"Kept on this device: {text}").wait_for()
    until(lambda: "3 lines wait" in page.inner_text("[data-outbox]"), "three lines are counted")
    assert "No signal" in page.inner_text("[data-outbox]")
    assert bench.written == {}
    device.set_offline(False)
    page.get_by_text("All written.").wait_for()
    assert bench.texts == ["1L ok", "2R ok", "3B ok"]
    first, second, third = bench.written.values()
    assert "after" not in first
    assert second["after"] == first["id"]
    assert third["after"] == second["id"]


def test_reload_and_a_new_tab_offline_open_the_page_and_keep_the_queue(
    page: Any, device: Any, bench: Bench
) -> None:
    open_with_worker(page, bench.address)
    page.reload()
    device.set_offline(True)
    say(page, "1L ok")
    page.get_by_text("Kept on this device").wait_for()
    page.reload()
    assert page.inner_text("h1") == "This week"
    until(lambda: "1 line waits" in page.inner_text("[data-outbox]"), "the line is still counted")
    say(page, "2R ok")
    tab = device.new_page()
    tab.goto(bench.address + "/?hours=3")
    assert tab.inner_text("h1") == "This week"
    assert waiting(tab) == 2
    device.set_offline(False)
    until(lambda: bench.texts == ["1L ok", "2R ok"], "both lines are written")


def test_trees_that_the_week_lists_open_offline_and_others_say_that_they_are_not_kept(
    page: Any, device: Any, bench: Bench
) -> None:
    open_with_worker(page, bench.address)
    until(lambda: "/trees/elm" in bench.pages_asked, "the tree is fetched ahead")
    kept = "async () => Boolean(await (await caches.open('pages')).match('/trees/elm'))"
    until(lambda: page.evaluate(kept), "the tree is kept")
    device.set_offline(True)
    page.goto(bench.address + "/trees/elm")
    assert page.inner_text("h1") == "Elm"
    page.goto(bench.address + "/unkept")
    assert page.inner_text("h1") == "Not kept here"


def test_a_slow_network_shows_the_kept_page_within_its_patience(page: Any, bench: Bench) -> None:
    open_with_worker(page, bench.address)
    page.reload()
    bench.slow_s = 8.0
    page.goto(bench.address, wait_until="domcontentloaded", timeout=6_000)
    assert page.inner_text("h1") == "This week"
    bench.slow_s = 0.0


def test_answers_of_the_api_and_failures_are_never_kept(page: Any, bench: Bench) -> None:
    open_with_worker(page, bench.address)
    say(page, "1L ok")
    page.get_by_text("Written: 1L ok").wait_for()
    page.goto(bench.address + "/wire", wait_until="domcontentloaded")  # not there: 404
    kept = page.evaluate(
        """async () => {
          const names = await caches.keys();
          const urls = [];
          for (const name of names) for (const each of await (await caches.open(name)).keys())
            urls.push(new URL(each.url).pathname);
          return urls;
        }"""
    )
    assert "/" in kept
    assert "/static/dist/app.js" in kept
    assert "/wire" not in kept
    assert not [url for url in kept if re.match(r"/api/(lines|reading|completions)", url)]


def test_a_device_no_longer_let_in_forgets_its_pages_and_keeps_its_lines(
    page: Any, device: Any, bench: Bench
) -> None:
    open_with_worker(page, bench.address)
    page.reload()
    bench.let_in = False
    say(page, "1L ok")
    page.get_by_text("not let in any more").wait_for()
    page.goto(bench.address)
    assert "not let in" in page.inner_text("body")
    assert page.evaluate("async () => (await (await caches.open('pages')).keys()).length") == 0
    assert waiting(page) == 1
    bench.let_in = True
    page.goto(bench.address)
    until(lambda: bench.texts == ["1L ok"], "the line is written once the device is let in again")


def test_a_lost_reply_is_sent_again_and_written_once(page: Any, bench: Bench) -> None:
    bench.lose_replies = 1
    page.goto(bench.address)
    say(page, "1L ok")
    page.get_by_text("Written: 1L ok").wait_for()
    assert len(bench.seen) == 2
    assert len(set(bench.seen)) == 1
    assert len(bench.written) == 1
    assert waiting(page) == 0


def test_the_server_away_and_back_under_the_same_address(page: Any) -> None:
    bench = Bench()
    with serving(bench):
        page.goto(bench.address)
        port = int(bench.address.rpartition(":")[2])
    say(page, "1L ok")
    until(lambda: "No signal" in page.inner_text("[data-outbox]"), "the loss is told")
    assert bench.written == {}
    with serving(bench, port):
        until(lambda: bench.texts == ["1L ok"], "the line is written")
        page.get_by_text("Written: 1L ok").wait_for()


def test_two_tabs_share_one_outbox_and_write_each_line_once(
    page: Any, device: Any, bench: Bench
) -> None:
    page.goto(bench.address)
    tab = device.new_page()
    tab.goto(bench.address)
    device.set_offline(True)
    for k in range(6):
        say((page, tab)[k % 2], f"{k + 1}L ok")
        (page, tab)[k % 2].get_by_text(f"Kept on this device: {k + 1}L ok").wait_for()
    until(lambda: "6 lines wait" in page.inner_text("[data-outbox]"), "the first tab counts all")
    until(lambda: "6 lines wait" in tab.inner_text("[data-outbox]"), "the second tab counts all")
    device.set_offline(False)
    until(lambda: len(bench.written) == 6, "all lines are written")
    assert bench.texts == [f"{k + 1}L ok" for k in range(6)]
    assert sorted(bench.seen) == sorted(bench.written)


def test_a_refused_line_stays_with_its_reason_until_the_grower_changes_it(
    page: Any, bench: Bench
) -> None:
    bench.refuse = "9000"
    page.goto(bench.address)
    say(page, "1L ok")
    say(page, "2R base 9000")
    say(page, "3B ok")
    page.get_by_text("2R base 9000 cannot be. Say it otherwise").wait_for()
    until(lambda: bench.texts == ["1L ok", "3B ok"], "the others are written")
    assert "1 line was not taken" in page.inner_text("[data-outbox]")
    page.reload()
    page.get_by_text("2R base 9000 cannot be. Say it otherwise").wait_for()
    page.get_by_label("Line to change").fill("2R base 9")
    page.get_by_role("button", name="Send again").click()
    until(lambda: bench.texts == ["1L ok", "3B ok", "2R base 9"], "the changed line is written")
    assert page.locator("[data-refused]").count() == 0


def test_a_refused_line_may_be_discarded_by_hand(page: Any, bench: Bench) -> None:
    bench.refuse = "9000"
    page.goto(bench.address)
    say(page, "2R base 9000")
    page.get_by_role("button", name="Discard").click()
    until(lambda: page.locator("[data-refused]").count() == 0, "the card goes")
    assert waiting(page) == 0
    assert bench.written == {}


def test_a_batch_the_server_cannot_read_is_sent_line_by_line(
    page: Any, device: Any, bench: Bench
) -> None:
    page.goto(bench.address)
    device.set_offline(True)
    say(page, "1L ok")
    say(page, "2R ok")
    page.get_by_text("Kept on this device: 2R ok").wait_for()
    bench.fail_with = 422
    device.set_offline(False)
    until(lambda: page.locator("[data-refused]").count() == 2, "both are shown as not taken")
    assert page.get_by_text("no. Wait").count() == 2
    assert waiting(page) == 2


def test_undo_of_an_unsent_line_drops_it_and_mends_what_follows(
    page: Any, device: Any, bench: Bench
) -> None:
    page.set_viewport_size({"width": 1280, "height": 900})  # a phone shows the newest receipt only
    page.goto(bench.address)
    device.set_offline(True)
    for text in ("1L ok", "2R ok", "3B ok"):
        say(page, text)
        page.get_by_text(f"Kept on this device: {text}").wait_for()
    # It was never on its way: this browser tried none while offline was set before it was said.
    receipts = page.locator("[data-receipt]")
    ids = [receipts.nth(k).get_attribute("data-receipt") for k in range(3)]
    tried = page.evaluate("""() => new Promise((give) => { const ask = indexedDB.open("bench");
        ask.onsuccess = () => { const all = ask.result.transaction("lines").objectStore("lines")
        .getAll(); all.onsuccess = () => { give(all.result.filter((l) => l.tried).length);
        ask.result.close(); }; }; })""")
    receipts.nth(1).get_by_role("button", name="Undo").click()
    page.get_by_text("Taken back: 2R ok").wait_for()
    device.set_offline(False)
    page.get_by_text("All written.").wait_for()
    standing = [
        line["text"]
        for line in bench.written.values()
        if "text" in line and line["id"] not in {w.get("withdraws") for w in bench.written.values()}
    ]
    assert standing == ["1L ok", "3B ok"]
    if tried == 0:
        assert ids[1] not in bench.written


def test_undo_of_a_written_line_withdraws_it(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    say(page, "1L ok")
    page.get_by_text("Written: 1L ok").wait_for()
    page.get_by_role("button", name="Undo").click()
    until(lambda: len(bench.written) == 2, "the withdrawal arrives")
    line, withdrawal = bench.written.values()
    assert withdrawal["withdraws"] == line["id"]
    assert "text" not in withdrawal
    say(page, "same 2R")
    until(lambda: len(bench.written) == 3, "the next line arrives")
    assert "after" not in list(bench.written.values())[2]


def test_a_stale_token_is_renewed_and_the_line_written_once(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    bench.csrf = "token-2"
    say(page, "1L ok")
    page.get_by_text("Written: 1L ok").wait_for()
    assert bench.texts == ["1L ok"]
    assert page.get_attribute("meta[name=csrf]", "content") == "token-2"
    assert page.input_value("input[name=csrf]") == "token-2"


def test_a_device_clock_set_back_puts_no_line_in_the_future(
    page: Any, device: Any, bench: Bench
) -> None:
    page.clock.install(time="2026-06-10T12:00:00Z")
    page.goto(bench.address)
    device.set_offline(True)
    say(page, "1L ok")
    page.get_by_text("Kept on this device").wait_for()
    page.clock.set_system_time("2026-06-09T12:00:00Z")
    device.set_offline(False)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    until(lambda: len(bench.written) == 1, "the line is written")
    (line,) = bench.written.values()
    assert datetime.fromisoformat(line["said"]).isoformat() <= "2026-06-09T12:01:00+00:00"


def test_a_browser_that_keeps_nothing_sends_the_form_the_ordinary_way(
    page: Any, bench: Bench
) -> None:
    page.add_init_script(
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); };"
    )
    page.goto(bench.address)
    say(page, "1L ok")
    page.get_by_text("written the plain way").wait_for()
    assert bench.plain == ["1L ok"]
    assert bench.written == {}


def test_plain_http_logs_while_the_page_stays_open_and_says_so(chromium: Any, bench: Bench) -> None:
    """An address of the local network is no secure origin: no worker, no reload without signal."""
    from browser_help import ARGUMENTS, CHROMIUM
    from playwright.sync_api import Browser

    assert isinstance(chromium, Browser)
    mapped = "--host-resolver-rules=MAP bench.test 127.0.0.1"
    other = chromium.browser_type.launch(executable_path=CHROMIUM, args=[*ARGUMENTS, mapped])
    try:
        device = other.new_context()
        page = device.new_page()
        page.goto(bench.address.replace("127.0.0.1", "bench.test"))
        assert page.evaluate("() => isSecureContext") is False
        page.get_by_text("keeps logging while it stays open").wait_for()
        device.set_offline(True)
        say(page, "1L ok")
        page.get_by_text("Kept on this device").wait_for()
        until(lambda: "do not reload" in page.inner_text("[data-outbox]"), "the warning is shown")
        asked: list[str] = []
        page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
        page.evaluate("() => setTimeout(() => location.reload(), 0)")
        until(lambda: (page.wait_for_timeout(50), asked)[1] == ["beforeunload"], "leaving is asked")
        device.set_offline(False)
        until(lambda: (page.wait_for_timeout(20), bench.texts)[1] == ["1L ok"], "it is written")
    finally:
        other.close()


def test_a_photo_waits_offline_and_is_written_once(page: Any, device: Any, bench: Bench) -> None:
    page.goto(bench.address + "/photo")
    device.set_offline(True)
    content = b"\xff\xd8 not a real picture \xff\xd9"
    page.set_input_files(
        "[name=file]", {"name": "../IMG 1.jpg", "mimeType": "image/jpeg", "buffer": content}
    )
    page.get_by_role("button", name="Send").click()
    page.get_by_text("Photo kept on this device.").wait_for()
    until(lambda: "1 photo waits" in page.inner_text("[data-outbox]"), "the photo is counted")
    device.set_offline(False)
    until(lambda: len(bench.photos) == 1, "the photo is written")
    (photo,) = bench.photos.values()
    assert photo["bytes"] == content
    assert (photo["tree"], photo["side"]) == ("elm", "front")
    assert uuid.UUID(photo["id"]).version == VERSION_SEVEN
    assert "csrf" not in photo


def test_a_file_that_is_no_photo_is_shown_with_the_reason(page: Any, bench: Bench) -> None:
    bench.refuse = "junk"
    page.goto(bench.address + "/photo")
    page.set_input_files(
        "[name=file]", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"junk"}
    )
    page.get_by_role("button", name="Send").click()
    page.get_by_text("this is not a photo. Send JPEG").wait_for()
    page.get_by_role("button", name="Discard").click()
    until(lambda: page.locator("[data-refused]").count() == 0, "the card goes")
