"""What the scripts add to pages: taps, the phrase box, list and drawing, the round, marks.

Bare pages from a small server of the tests, with the content policy of the real one. That the
browser may run no code from text is part of every test here: the page fixture fails on any fault.
"""

from __future__ import annotations

import gzip
import io
import os
import time
from typing import Any

import pytest
from bench_pages import DIST, Bench
from browser_help import FRONT_END, needs
from PIL import Image
from test_frontend_outbox import say, until

pytestmark = needs(browser=True, built=True)

LEAST_TEXT_PX = 14
LIGHT_KB = 60
"""JavaScript on a page without the tree in the round, packed. [kB]"""
TARGET_PX = 57
"""15 mm at 96 px an inch."""


def box(page: Any) -> str:
    return str(page.input_value("[data-phrase]"))


def tap(page: Any, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


# --- taps -----------------------------------------------------------------------------------------


def test_branch_act_gauge_writes_wire_in_three_taps(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    page.locator("li[data-branch=b2] a").click()
    tap(page, "wire on")
    assert box(page) == "4R wire on"
    assert page.get_by_role("button", name="bite 3").is_hidden()
    tap(page, "2 al")
    until(lambda: bench.texts == ["4R wire on 2 al"], "the line is written")
    assert box(page) == ""


def test_the_branch_stays_chosen_for_the_next_act(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    page.locator("li[data-branch=b1] a").click()
    tap(page, "ok")
    until(lambda: bench.texts == ["1L ok"], "the first line is written")
    assert page.inner_text("[data-place-shown]") == "1L"
    tap(page, "wire off")
    tap(page, "cut off")
    tap(page, "bite 3")
    until(lambda: bench.texts == ["1L ok", "1L wire off bite 3 cut"], "the second line is written")


def test_why_next_and_day_are_built_before_the_line_ends(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    page.locator("li[data-branch=b1] a").click()
    for name in ("wire off", "look in 10 d", "because gap", "yesterday"):
        tap(page, name)
    assert box(page) == "1L wire off because gap look 10d yesterday"
    pressed = page.get_by_role("button", name="yesterday").get_attribute("aria-pressed")
    assert pressed == "true"
    page.get_by_role("button", name="Write").click()
    until(lambda: bench.texts == ["1L wire off because gap look 10d yesterday"], "it is written")


def test_same_again_on_other_branches_but_one(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    tap(page, "same again")
    page.locator("li[data-branch=b1] a").click()
    page.locator("li[data-branch=b2] a").click()
    assert box(page) == "same 1L 4R"
    page.get_by_role("button", name="Write").click()
    until(lambda: bench.texts == ["same 1L 4R"], "it is written")


def test_what_is_typed_by_hand_is_never_overwritten_by_a_tap(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    page.fill("[data-phrase]", "low outer left pinch")
    page.locator("li[data-branch=b1] a").click()
    assert box(page) == "low outer left pinch"
    tap(page, "yesterday")
    assert box(page) == "low outer left pinch yesterday"


def test_a_bench_step_is_logged_by_one_tap(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    tap(page, "step one done")
    until(lambda: bench.texts == ["1L let run"], "it is written")
    assert page.get_by_text("with scripts").is_visible()


def test_two_lines_in_haste_keep_their_words_and_their_order(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    for text in ("1L ok", "2R ok", "3B ok", "4F ok"):
        say(page, text)
    until(lambda: len(bench.written) == 4, "all are written")
    assert bench.texts == ["1L ok", "2R ok", "3B ok", "4F ok"]


def test_without_scripts_the_form_is_an_ordinary_form(chromium: Any, bench: Bench) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(bench.address)
    form = page.locator("form[data-line]")
    assert form.get_attribute("method") == "post"
    assert page.get_by_text("with scripts").is_hidden()
    context.close()


# --- the phrase box -------------------------------------------------------------------------------


def test_completion_by_keyboard(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    field = page.get_by_role("combobox")
    field.press_sequentially("2R wi")
    options = page.get_by_role("option")
    options.first.wait_for()
    assert options.all_inner_texts() == ["wire on", "wire off", "will keep"]
    assert field.get_attribute("aria-expanded") == "true"
    field.press("ArrowDown")
    field.press("ArrowDown")
    active = page.locator(f"#{field.get_attribute('aria-activedescendant')}")
    assert active.inner_text() == "wire off"
    assert active.get_attribute("aria-selected") == "true"
    field.press("Enter")
    assert box(page) == "2R wire off "
    assert bench.written == {}
    field.press("Escape")
    assert field.get_attribute("aria-expanded") == "false"
    field.press("Enter")
    until(lambda: bench.texts == ["2R wire off"], "it is written")


def test_the_reading_is_live_and_lights_the_branches_that_are_meant(
    page: Any, bench: Bench
) -> None:
    page.goto(bench.address + "/trees/elm")
    page.get_by_role("combobox").press_sequentially("4R blah")
    page.get_by_text("read: 4R blah").wait_for()
    page.get_by_text("Kept as a note: blah").wait_for()
    assert page.get_attribute("[data-reading]", "aria-live") == "polite"
    assert "meant" in page.get_attribute("li[data-branch=b2]", "class")
    assert "meant" not in (page.get_attribute("li[data-branch=b1]", "class") or "")


def test_text_of_a_grower_is_never_read_as_markup(page: Any, bench: Bench) -> None:
    page.goto(bench.address)
    say(page, "<img src=x onerror=alert(1)> <b>2R</b>")
    page.get_by_text("Written: <img src=x onerror=alert(1)> <b>2R</b>").wait_for()
    assert page.locator("[data-receipts] img, [data-receipts] b, [data-reading] b").count() == 0


# --- list and drawing -----------------------------------------------------------------------------


def without_round(device: Any) -> Any:
    """Open a page of a browser that cannot draw in the round: the line drawing stays."""
    page = device.new_page()
    page.add_init_script("HTMLCanvasElement.prototype.getContext = function () { return null; };")
    return page


def test_where_nothing_can_be_drawn_in_the_round_the_line_drawing_stays(
    device: Any, bench: Bench
) -> None:
    page = without_round(device)
    page.goto(bench.address + "/trees/elm")
    page.locator("[data-scene][data-ready=no]").wait_for()
    assert page.locator("[data-drawing]").is_visible()
    assert page.locator(".no-scene").is_visible()
    assert page.locator("canvas").count() == 0


def test_a_tap_on_the_drawing_chooses_in_the_list_and_shows_why(device: Any, bench: Bench) -> None:
    page = without_round(device)
    page.goto(bench.address + "/trees/elm")
    area = page.locator("svg [data-branch=b2] path").bounding_box()
    page.touchscreen.tap(area["x"] + area["width"] / 2, area["y"] + area["height"] / 2)
    page.get_by_text("Why b2").wait_for()
    assert "chosen" in page.get_attribute("li[data-branch=b2]", "class")
    assert page.get_attribute("li[data-branch=b2]", "aria-current") == "true"
    assert box(page) == "4R"
    page.locator("li[data-branch=b1] a").tap()
    page.get_by_text("Why b1").wait_for()
    assert page.get_by_text("Why b2").count() == 0
    assert "chosen" in page.get_attribute("svg [data-branch=b1]", "class")
    assert page.url.endswith("/trees/elm")


def test_a_second_tap_closes_the_card_and_asks_the_server_once(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/trees/elm")
    row = page.locator("li[data-branch=b1] a")
    row.click()
    page.get_by_text("Why b1").wait_for()
    row.click()
    until(lambda: page.get_by_text("Why b1").count() == 0, "the card closes")
    assert bench.pages_asked.count("/trees/elm/branches/b1") == 1


def test_up_and_down_walk_the_list_and_the_drawing_follows(device: Any, bench: Bench) -> None:
    page = without_round(device)
    page.goto(bench.address + "/trees/elm")
    page.locator("li[data-branch=b1] a").focus()
    page.keyboard.press("ArrowDown")
    focused = page.evaluate("() => document.activeElement.closest('[data-branch]').dataset.branch")
    assert focused == "b2"
    assert "chosen" in page.get_attribute("svg [data-branch=b2]", "class")
    page.keyboard.press("ArrowUp")
    assert "chosen" in page.get_attribute("svg [data-branch=b1]", "class")


# --- the tree in the round ------------------------------------------------------------------------


@pytest.fixture
def round_tree(page: Any, bench: Bench) -> Any:
    page.goto(bench.address + "/trees/elm")
    page.locator("[data-scene][data-ready=yes]").wait_for()
    return page


def drawn(page: Any) -> int:
    return int(page.get_attribute("canvas", "data-drawn"))


def test_the_round_takes_the_place_of_the_line_drawing(round_tree: Any) -> None:
    canvas = round_tree.locator("canvas")
    assert canvas.get_attribute("role") == "img"
    assert canvas.get_attribute("aria-label") == "Elm in the round"
    assert round_tree.locator("[data-drawing]").is_hidden()
    assert round_tree.locator(".no-scene").is_hidden()
    sizes = round_tree.evaluate(
        "() => [...document.querySelectorAll('[data-way]')].map((b) => b.offsetHeight)"
    )
    assert min(sizes) >= TARGET_PX
    assert round_tree.evaluate("() => performance.getEntriesByName('scene-setup').length") == 1


def test_nothing_is_drawn_while_nothing_changes(round_tree: Any) -> None:
    round_tree.wait_for_timeout(300)
    before = drawn(round_tree)
    round_tree.wait_for_timeout(700)
    assert drawn(round_tree) == before
    round_tree.get_by_role("button", name="right", exact=True).click()
    until(lambda: drawn(round_tree) > before, "a turn is drawn")


def test_buttons_turn_by_fifteen_degrees_and_back_to_the_front(round_tree: Any) -> None:
    round_tree.emulate_media(reduced_motion="reduce")

    def turned() -> str:
        round_tree.wait_for_timeout(120)
        return str(round_tree.get_attribute("canvas", "data-turned"))

    for _ in range(2):
        round_tree.get_by_role("button", name="left", exact=True).click()
    assert turned() == "30"
    round_tree.get_by_role("button", name="right", exact=True).click()
    assert turned() == "15"
    round_tree.get_by_role("button", name="front", exact=True).click()
    assert turned() == "0"


def test_a_drag_turns_the_tree_with_the_hand_and_chooses_nothing(round_tree: Any) -> None:
    area = round_tree.locator("canvas").bounding_box()
    x, y = area["x"] + area["width"] / 2, area["y"] + area["height"] / 2
    round_tree.mouse.move(x, y)
    round_tree.mouse.down()
    round_tree.mouse.move(x + 60, y, steps=6)
    round_tree.mouse.up()
    until(lambda: int(round_tree.get_attribute("canvas", "data-turned")) < 0, "it turns")
    assert round_tree.locator("li.chosen").count() == 0


def test_a_tap_on_wood_chooses_the_branch_aimed_at(round_tree: Any) -> None:
    """The first two branches of the test's tree leave it straight to the right and to the left."""
    area = round_tree.locator("canvas").bounding_box()
    across = [area["x"] + area["width"] * share for share in (0.62, 0.38)]
    for x, branch in zip(across, ("b1", "b2"), strict=True):
        for step in range(48):
            y = area["y"] + area["height"] * (0.2 + step * 0.0125)
            round_tree.mouse.click(x, y)
            chosen = round_tree.locator(f"li.chosen[data-branch={branch}]")
            if chosen.count():
                break
        else:
            raise AssertionError(f"no tap found {branch}")
    label = round_tree.locator(".scene-label")
    until(lambda: label.text_content() == "2L  wire off", "the chosen branch is named")
    size = label.evaluate("(text) => parseFloat(getComputedStyle(text).fontSize)")
    assert size >= LEAST_TEXT_PX


def test_the_list_chooses_in_the_round(round_tree: Any) -> None:
    round_tree.locator("li[data-branch=b1] a").click()
    until(
        lambda: (round_tree.locator(".scene-label").text_content() or "").startswith("1L"),
        "the label names it",
    )


def test_night_repaints_the_tree(round_tree: Any) -> None:
    def middle() -> int:
        round_tree.wait_for_timeout(150)
        picture = Image.open(io.BytesIO(round_tree.locator("canvas").screenshot())).convert("L")
        return int(picture.getpixel((picture.width // 2, picture.height // 2)))

    round_tree.evaluate("() => { document.documentElement.dataset.light = 'day'; }")
    day = middle()
    round_tree.evaluate("() => { document.documentElement.dataset.light = 'night'; }")
    assert day < 128 < middle()  # ink is dark by day and pale by night


def test_three_thousand_pieces_are_set_up_and_drawn(page: Any, bench: Bench) -> None:
    """How long it takes is measured elsewhere; here that all of it is drawn, in few calls."""
    bench.pieces = 3000
    page.goto(bench.address + "/trees/elm")
    page.locator("[data-scene][data-ready=yes]").wait_for(timeout=30_000)
    assert page.evaluate("() => performance.getEntriesByName('scene-setup').length") == 1
    assert page.locator(".scene-mark").count() == 2


# --- marks, charts, long works --------------------------------------------------------------------


def test_a_tap_marks_a_place_on_a_photo(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/marker/point")
    svg = page.locator("[data-marker] > svg")
    svg.wait_for()
    page.locator("svg[tabindex='0']").wait_for()
    area = svg.bounding_box()
    page.mouse.click(area["x"] + area["width"] * 0.25, area["y"] + area["height"] * 0.5)
    assert float(page.input_value("[name=x]")) == pytest.approx(0.25, abs=0.01)
    assert float(page.input_value("[name=y]")) == pytest.approx(0.5, abs=0.01)
    assert page.locator(".own-mark line").count() == 1
    page.get_by_text("Mark at 25 % across and 50 % down.").wait_for()


def test_two_ends_are_set_by_keyboard_in_per_cent(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/marker/scale?most=100")
    svg = page.locator("svg[tabindex='0']")
    svg.focus()
    page.keyboard.press("Enter")
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    values = [float(page.input_value(f"[name={name}]")) for name in ("x1", "y1", "x2", "y2")]
    assert values == pytest.approx([50, 50, 55, 53])
    assert page.locator(".own-mark line").count() == 3
    page.keyboard.press("Escape")
    assert page.input_value("[name=x1]") == ""


def test_numbers_typed_in_the_form_move_the_mark(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/marker/point")
    page.locator("svg[tabindex='0']").wait_for()
    page.fill("[name=x]", "0.5")
    page.fill("[name=y]", "0.25")
    line = page.locator(".own-mark line")
    ends = [float(line.get_attribute(name)) for name in ("x1", "x2", "y1", "y2")]
    assert sum(ends[:2]) / 2 == pytest.approx(500)
    assert sum(ends[2:]) / 2 == pytest.approx(250)


def test_a_chart_is_looked_at_closer_without_running_code_from_text(
    page: Any, bench: Bench
) -> None:
    page.goto(bench.address + "/chart")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    tap(page, "Look closer")
    page.locator(".chart-close canvas").wait_for()
    assert page.locator("figure img").is_hidden()
    assert page.get_attribute(".chart-close", "aria-label") == "Bases by year"
    assert all(url.startswith((bench.address, "blob:", "data:")) for url in asked)


def test_a_long_work_tells_how_far_it_is_and_goes_on_when_done(page: Any, bench: Bench) -> None:
    page.goto(bench.address + "/steps")
    page.get_by_text("Half of it").wait_for()
    assert page.evaluate("() => document.querySelector('progress').value") == 0.5
    page.wait_for_url("**/say")


# --- what is shipped ------------------------------------------------------------------------------


def test_a_page_without_the_round_loads_little_and_nothing_from_elsewhere(
    page: Any, bench: Bench
) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(bench.address)
    page.wait_for_load_state("networkidle")
    scripts = {url.rpartition("/")[2] for url in asked if url.endswith(".js")}
    assert scripts == {"app.js"}
    packed = sum(len(gzip.compress((DIST / name).read_bytes())) for name in ("app.js", "sw.js"))
    assert packed <= LIGHT_KB * 1000
    assert all(url.startswith(bench.address) for url in asked)


def test_pages_of_the_scripts_have_no_fault_that_axe_finds(page: Any, bench: Bench) -> None:
    axe = FRONT_END / "node_modules" / "axe-core" / "axe.min.js"
    if not axe.exists():
        absent = pytest.fail if os.environ.get("CI") else pytest.skip
        absent("axe-core is not beside the scripts: run npm ci in frontend")
    for path in ("/", "/say", "/trees/elm", "/marker/scale", "/photo"):
        page.goto(bench.address + path)
        time.sleep(0.3)
        page.evaluate(axe.read_text(encoding="utf-8") + "\n;undefined")
        told = page.evaluate("() => axe.run()")
        found = [(each["id"], each["nodes"][0]["html"]) for each in told["violations"]]
        assert found == [], path
