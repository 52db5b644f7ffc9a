"""The tree in the round: drawn only when something changes, named, and done without where it must."""

# ruff: noqa: E501  # the browser's own scripts read better unbroken

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bench_browser import MAPLE, ready

if TYPE_CHECKING:
    from bench_browser import Served

NO_GRAPHICS = """HTMLCanvasElement.prototype.getContext = function () {
  return null;
};"""
BOXES = """() => Array.from(document.querySelectorAll('.scene-name:not([hidden])')).filter((one) => one.textContent)
  .map((one) => { const b = one.getBBox(); return [one.textContent, b.x, b.y, b.x + b.width, b.y + b.height]; })"""


def drawn(page: Any) -> int:
    return int(page.get_attribute(".scene-canvas", "data-drawn"))


def test_nothing_is_drawn_while_nothing_changes(page: Any) -> None:
    page.goto(f"/trees/{MAPLE}")
    ready(page)
    page.wait_for_timeout(600)
    before = drawn(page)
    page.wait_for_timeout(900)
    assert drawn(page) == before
    page.locator("[data-way=left]").click()
    page.wait_for_function(
        "(n) => Number(document.querySelector('.scene-canvas').dataset.drawn) > n", arg=before
    )


def test_branches_that_ask_for_something_are_named_and_no_name_covers_another(page: Any) -> None:
    page.goto(f"/trees/{MAPLE}")
    ready(page)
    size = page.eval_on_selector(".scene-canvas", "(one) => [one.clientWidth, one.clientHeight]")
    for _ in range(3):
        boxes = page.evaluate(BOXES)
        said = [text for text, *_ in boxes]
        assert len(said) >= 8
        assert any("4R" in text and "wire off" in text for text in said)
        assert not any("leave alone" in text for text in said)
        for k, (_, left, top, right, foot) in enumerate(boxes):
            assert left >= -1
            assert top >= -1
            assert right <= size[0] + 1
            assert foot <= size[1] + 1
            for _, left2, top2, right2, foot2 in boxes[k + 1 :]:
                assert right <= left2 or right2 <= left or foot <= top2 or foot2 <= top
        page.locator("[data-way=right]").click()
        page.wait_for_timeout(150)


def test_the_five_buttons_stand_in_one_row(page: Any) -> None:
    page.goto(f"/trees/{MAPLE}")
    ready(page)
    boxes = page.eval_on_selector_all(
        "[data-way]",
        "all => all.map((one) => one.getBoundingClientRect()).map((b) => [b.top, b.left, b.right])",
    )
    assert len(boxes) == 5
    assert len({round(top) for top, *_ in boxes}) == 1
    assert all(left >= 0 and right <= page.viewport_size["width"] for _, left, right in boxes)


def test_without_graphics_the_line_drawing_stays(chromium: Any, served: Served) -> None:
    context = chromium.new_context(base_url=served.address)
    context.add_init_script(NO_GRAPHICS)
    page = context.new_page()
    page.goto(f"/trees/{MAPLE}")
    page.locator("[data-scene][data-ready=no]").wait_for()
    page.wait_for_timeout(300)
    assert page.locator("canvas").count() == 0
    assert page.locator(".line-drawing svg").is_visible()
    assert page.get_by_role("link", name="Turn right").is_visible()
    page.locator(".line-drawing .taps a").first.focus()
    page.locator("[data-branches] [aria-current=true]").wait_for()
    context.close()
