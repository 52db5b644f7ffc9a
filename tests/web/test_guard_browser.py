"""Pairing in a real browser: by the link's hidden token, and by the short code without scripts.

The browser runs on this machine but is taken for one on another device, under a home name that
it resolves to this machine. No phone was involved.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from boughwright.web.state import DIST

if TYPE_CHECKING:
    from collections.abc import Iterator

CHROMIUM = Path("/usr/bin/chromium")
SERVER = Path(__file__).with_name("guard_server.py")
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--use-angle=swiftshader",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP bench.local 127.0.0.1",
]

pytestmark = pytest.mark.skipif(
    not os.environ.get("CI") and not (CHROMIUM.exists() and (DIST / "pair.js").exists()),
    reason="no Chromium, or the pages' scripts are not built",
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=str(CHROMIUM), args=ARGS)
        yield chromium
        chromium.close()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Start a server; give the address for other devices, and the short code."""
    with subprocess.Popen(
        [sys.executable, str(SERVER), str(tmp_path / "a.book"), "0", "lan", "away"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as process:
        said = ""
        assert process.stdout is not None
        for line in process.stdout:
            said += line
            if line.startswith("Stop it"):
                break
        address = re.search(r"http://bench\.local:\d+", said)
        code = re.search(r"type  (\w{4} \w{4})", said)
        assert address is not None
        assert code is not None
        yield address[0], code[1]
        process.terminate()
        process.communicate(timeout=20)


def test_the_links_token_goes_into_the_form_and_out_of_the_address(
    browser: Any, served: tuple[str, str]
) -> None:
    address, _ = served
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    asked: list[str] = []
    told: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: told.append(message.text))
    token = "A" * 32  # a wrong one: it must be tried, and its failure told
    page.goto(f"{address}/pair#{token}")
    page.wait_for_function("!location.hash")
    assert page.input_value("[data-pair-token]") == token
    assert page.locator("[data-pair-typed]").is_hidden()
    assert page.locator("[data-pair-linked]").is_visible()
    page.locator("button[type=submit]").click()
    page.wait_for_selector("[role=alert]")
    assert "wrong, used or too old" in page.inner_text("[role=alert]")
    assert not any(token in url for url in asked)
    assert [url for url in asked if not url.startswith(address)] == []
    assert [text for text in told if "403" not in text] == []
    context.close()


@pytest.mark.parametrize("scripts", [True, False])
def test_the_short_code_lets_a_device_in_with_and_without_scripts(
    browser: Any, served: tuple[str, str], *, scripts: bool
) -> None:
    address, code = served
    context = browser.new_context(java_script_enabled=scripts)
    page = context.new_page()
    assert page.goto(f"{address}/").status == 401
    page.locator("a[href='/pair']").click()
    page.get_by_label("Short code").fill(code.lower())
    page.get_by_label("A name").fill("wet phone")
    page.locator("button[type=submit]").click()
    page.wait_for_url(f"{address}/")
    assert page.goto(f"{address}/").status == 200
    page.goto(f"{address}/pair")
    assert "let in as wet phone" in page.inner_text("h1")
    (cookie,) = context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"], cookie["secure"]) == (True, "Lax", False)
    context.close()
