"""The whole of what a grower must be able to do, done in the browser at both sizes."""

# ruff: noqa: E501  # the browser's own scripts read better unbroken

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import pytest
from bench_browser import MAPLE, Served, ready
from PIL import Image

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.usefixtures("served")


def press(page: Any, size: str, target: Any) -> None:
    """Tap on a phone, click on a laptop."""
    if size == "phone":
        target.tap()
    else:
        target.click()


@pytest.fixture
def counted(page: Any, size: str) -> Callable[[Any], int]:
    """Press something and return how often something was pressed so far."""
    presses = []

    def one(target: Any) -> int:
        presses.append(target)
        press(page, size, target)
        return len(presses)

    return one


def open_tree(page: Any, tree: str = MAPLE) -> None:
    page.goto(f"/trees/{tree}")
    ready(page)


def another_spot(page: Any, but: str) -> tuple[float, float, str]:
    """Return a place on the canvas where another branch is seen, in CSS pixels, and which.

    The canvas is looked over as with a mouse: pointed at until it says that it met a branch.
    """
    spot = page.evaluate(
        """async (but) => {
          const canvas = document.querySelector('.scene-canvas');
          canvas.scrollIntoView({ block: 'center' });
          const frame = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
          let met = '';
          document.addEventListener('branch:point', (event) => { met = event.detail.branch; });
          for (let k = 0; k < 400; k += 1) {
            const [x, y] = [0.15 + 0.7 * ((k * 0.618) % 1), 0.25 + 0.45 * ((k * 0.382) % 1)];
            const box = canvas.getBoundingClientRect();
            const at = { clientX: Math.round(box.left + x * box.width), clientY: Math.round(box.top + y * box.height) };
            canvas.dispatchEvent(new PointerEvent('pointermove', { ...at, pointerType: 'mouse', bubbles: true }));
            await frame();
            if (met && met !== but && met !== 'trunk') return [at.clientX, at.clientY, met];
          }
          return null;
        }""",
        but,
    )
    assert spot is not None, "no other branch is found on the canvas"
    x, y, branch = spot
    return x, y, branch


def chosen_row(page: Any) -> str:
    name: str = page.get_attribute("[data-branches] [aria-current=true]", "data-branch")
    return name


def test_from_the_week_to_a_reason(page: Any, size: str) -> None:
    page.goto("/")
    ready(page)
    assert re.search(r"trees? before|Nothing|before", page.inner_text("h1"))
    press(page, size, page.locator(".week-rows a.name").first)
    page.wait_for_url("**/trees/*")
    ready(page)
    canvas = page.locator(".scene-canvas")
    before = canvas.get_attribute("data-turned")
    press(page, size, page.locator("[data-way=right]"))
    page.wait_for_function(
        "(before) => document.querySelector('.scene-canvas').dataset.turned !== before", arg=before
    )
    row = (
        page.locator("[data-branches] [data-branch]")
        .filter(has=page.locator(".word.act, .word.harm, .word.run"))
        .first
    )
    press(page, size, row.locator("a").first)
    row.locator(".branch-card").wait_for()
    assert row.get_attribute("aria-current") == "true"
    card = row.locator(".branch-card").inner_text()
    assert "Would change if" in card or "What is known" in card


def test_the_list_and_the_drawing_follow_each_other(page: Any, size: str) -> None:
    open_tree(page)
    row = page.locator("[data-branches] [data-branch='4r']")
    press(page, size, row.locator("a").first)
    page.locator(".scene-label", has_text="4R").wait_for()
    assert chosen_row(page) == "4r"
    row.locator(".branch-card").wait_for()
    x, y, other = another_spot(page, "4r")
    if size == "phone":
        page.touchscreen.tap(x, y)
    else:
        page.mouse.click(x, y)
    name = page.get_attribute(f"[data-branches] [data-branch='{other}']", "data-name")
    page.locator(".scene-label", has_text=name).wait_for()
    assert chosen_row(page) == other
    page.locator(f"[data-branches] [data-branch='{other}'] .branch-card").wait_for()


def test_a_hand_turns_the_tree(page: Any, size: str) -> None:
    open_tree(page)
    canvas = page.locator(".scene-canvas")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert size in ("phone", "desk")
    x, y = box["x"] + box["width"] * 0.3, box["y"] + box["height"] * 0.4
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + box["width"] * 0.25, y, steps=4)
    page.mouse.up()
    page.wait_for_function("() => document.querySelector('.scene-canvas').dataset.turned !== '0'")
    # The tree follows the hand: its right side went away, so more of its left is seen.
    assert 30 < abs(int(canvas.get_attribute("data-turned"))) < 90


def test_an_act_takes_three_taps_or_fewer_and_one_takes_it_back(
    page: Any, size: str, served: Served, counted: Callable[[Any], int]
) -> None:
    tree = MAPLE
    open_tree(page, tree)
    before = served.records(tree)
    counted(page.locator("[data-branches] [data-branch='6r-1'] a").first)
    bar = page.locator("[data-acts-branch='6r-1']")
    bar.wait_for()
    presses = counted(bar.locator("form[data-log] button").first)
    assert presses <= 3
    receipt = page.locator("[data-receipts] .receipt[data-written]").first
    receipt.wait_for()
    assert "6th right, 1st side shoot: ok" in receipt.inner_text()
    assert len(served.records(tree)) == len(before) + 1
    press(page, size, receipt.locator("[data-undo]"))
    page.get_by_text("Taken back").first.wait_for()
    page.wait_for_function("() => !document.documentElement.hasAttribute('data-waits')")
    assert served.records(tree) == before


def test_wire_goes_on_in_three_taps(
    page: Any, size: str, served: Served, counted: Callable[[Any], int]
) -> None:
    """Branch, act, gauge: the longest of the taps that need an amount."""
    branch, told = {
        "phone": ("1l-1", "1st left, 1st side shoot"),
        "desk": ("1l-2", "1st left, 2nd side shoot"),
    }[size]
    open_tree(page)
    before = len(served.records(MAPLE))
    counted(page.locator(f"[data-branches] [data-branch='{branch}'] a").first)
    bar = page.locator(f"[data-acts-branch='{branch}']")
    bar.wait_for()
    counted(bar.locator("summary", has_text="Wire on"))
    presses = counted(bar.locator("details[open] button", has_text="2.0 mm aluminium"))
    assert presses == 3
    receipt = page.locator("[data-receipts] .receipt[data-written]").first
    receipt.wait_for()
    assert f"{told}: 2.0 mm aluminium on" in receipt.inner_text()
    assert len(served.records(MAPLE)) == before + 1


def test_a_phrase_is_completed_read_back_and_written(page: Any, size: str, served: Served) -> None:
    open_tree(page)
    box = page.locator("#say-text")
    box.click()
    box.press_sequentially("4R ba", delay=20)
    offered = page.locator(".ways-on li")
    offered.first.wait_for()
    press(page, size, offered.filter(has_text="base").first)
    assert box.input_value().startswith("4R base")
    number = "9.4" if size == "phone" else "9.5"
    box.press("End")
    box.press_sequentially(f"{'' if box.input_value().endswith(' ') else ' '}{number}", delay=20)
    reading = page.locator("[data-reading]")
    reading.filter(has_text=number).wait_for()
    assert "4th right: base" in reading.inner_text()
    box.press("Escape")
    box.press("Enter")
    receipt = page.locator("[data-receipts] .receipt[data-written]").first
    receipt.wait_for()
    assert f"{number} mm" in receipt.inner_text()
    assert box.input_value() == ""
    assert served.said(MAPLE, number)


def test_what_is_not_understood_is_said_before_and_kept_as_a_note(
    page: Any, served: Served
) -> None:
    open_tree(page)
    page.fill("#say-text", "4R sing loudly")
    page.locator("[data-reading]", has_text="kept as a note").wait_for()
    page.locator(".say-bar button.main").click()
    receipt = page.locator("[data-receipts] .receipt[data-written]").first
    receipt.wait_for()
    assert "kept as a note, not read: 4R sing loudly" in receipt.inner_text()
    assert served.said(MAPLE, "sing loudly")


def test_a_refused_line_stays_and_can_be_said_again(page: Any, served: Served) -> None:
    page.goto("/say")
    ready(page)
    page.fill("#say-text", "4R base 9.7")  # of no tree
    page.locator(".say-bar button.main").click()
    refused = page.locator("[data-refused]").first
    refused.wait_for()
    field = refused.locator("input")
    assert field.input_value() == "4R base 9.7"
    field.fill("ditch field maple 4R base 9.7")
    refused.locator("button[type=submit]").click()
    refused.wait_for(state="detached")
    page.locator("[data-receipts] .receipt[data-written]", has_text="9.7 mm").wait_for()
    assert served.said(MAPLE, "9.7")


def camera_photo(size: str) -> bytes:
    """Return what a camera held upright sends: lying on its side, with a place and a day in it."""
    made = Image.new("RGB", (480, 360), "sienna" if size == "phone" else "olive")
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0x9003] = "2026:06:08 07:30:00"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (48.0, 7.0, 0.0)
    out = io.BytesIO()
    made.save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_a_photo_is_kept_upright_dated_and_without_its_place(
    page: Any, size: str, served: Served
) -> None:
    page.goto(f"/trees/{MAPLE}/photos")
    ready(page)
    file = {"name": "../../place.jpg", "mimeType": "image/jpeg", "buffer": camera_photo(size)}
    page.set_input_files("#file", file)
    press(page, size, page.locator("form[data-photo] button.main"))
    shown = page.locator(".photo-strip img").first
    shown.wait_for()
    assert "8 June" in page.locator(".photo-day").first.inner_text()
    address = shown.get_attribute("src").removesuffix("/320")
    kept = page.request.get(address).body()
    picture = Image.open(io.BytesIO(kept))
    assert (picture.width, picture.height) == (360, 480)
    assert not picture.getexif().get_ifd(0x8825)
    assert b"place" not in kept


def test_may_i_answers_with_a_reason(page: Any, size: str) -> None:
    page.goto("/may-i")
    ready(page)
    page.select_option("#may-tree", MAPLE)
    page.locator("#may-place option[value='2R']").wait_for(state="attached")
    page.select_option("#may-place", "2R")
    page.wait_for_url("**place=2R**")
    page.select_option("#may-work", "repot")
    answer = page.locator(".may-answer")
    answer.wait_for()
    assert answer.locator(".may-word .word").inner_text().lower() in ("yes", "not now", "never")
    assert len(answer.locator("p").nth(1).inner_text()) > 15
    assert size


def test_a_step_of_the_bench_session_is_ticked_off(page: Any, size: str, served: Served) -> None:
    page.goto(f"/trees/{MAPLE}/bench")
    ready(page)
    ticks = page.locator("#session form.tick button.main")
    phrase = ticks.first.get_attribute("data-say")
    before = len(served.records(MAPLE))
    done = page.locator(".ticked li").count()
    press(page, size, ticks.first)
    page.locator("[data-receipts] .receipt[data-written]").first.wait_for()
    page.wait_for_function("(n) => document.querySelectorAll('.ticked li').length > n", arg=done)
    assert len(served.records(MAPLE)) > before, phrase


def test_the_slider_of_hours_changes_the_answer_at_once(page: Any) -> None:
    page.goto("/?hours=20")
    ready(page)
    before = page.inner_text("h1")
    page.evaluate(
        """() => { const one = document.querySelector('#hours'); one.value = '0.5';
        one.dispatchEvent(new Event('change', { bubbles: true })); }"""
    )
    page.wait_for_function(
        "(before) => document.querySelector('h1').innerText !== before", arg=before
    )
    page.wait_for_url("**hours=0.5**")
    assert "30 min" in page.inner_text("h1") or "0.5" in page.inner_text("h1")
