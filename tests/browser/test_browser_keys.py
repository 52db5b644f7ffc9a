"""The grower's path without a mouse: every step by Tab, arrows, Enter and Escape."""

# ruff: noqa: E501  # the browser's own scripts read better unbroken

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from bench_browser import MAPLE, ready

if TYPE_CHECKING:
    from bench_browser import Served

FOCUS = """() => {
  const one = document.activeElement;
  const box = one.getBoundingClientRect();
  const style = getComputedStyle(one);
  return {
    tag: one.tagName.toLowerCase(), href: one.getAttribute('href') ?? '', id: one.id,
    text: (one.textContent || one.getAttribute('aria-label') || one.name || '').trim().slice(0, 40),
    ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
    drawn: one.closest('svg') !== null,
    onScreen: box.bottom > 0 && box.top < innerHeight && box.width > 0,
    covered: (() => {
      const on = document.elementFromPoint(box.left + box.width / 2, box.top + Math.min(box.height / 2, 20));
      return on !== null && !one.contains(on) && !on.contains(one) && on.closest('.ways, .acts, .live, .week-axis') !== null;
    })(),
  };
}"""
MOST_TABS = 150


def tabs(page: Any, until: str, most: int = MOST_TABS) -> list[dict[str, Any]]:
    """Press Tab until what has the focus fits a selector; return all that had it."""
    walked = []
    for _ in range(most):
        page.keyboard.press("Tab")
        walked.append(page.evaluate(FOCUS))
        if page.evaluate("(until) => document.activeElement.matches(until)", until):
            return walked
    raise AssertionError(f"{until} is not reached: {[one['text'] for one in walked]}")


def test_the_focus_is_seen_at_every_stop_of_the_week(page: Any) -> None:
    page.goto("/")
    ready(page)
    walked = tabs(page, ".say-bar button.main")
    assert walked[0]["href"] == "#main"
    unseen = [one for one in walked if not (one["ring"] and one["onScreen"])]
    assert unseen == []
    assert [one for one in walked if one["covered"]] == []


def test_the_skip_link_leads_past_the_frame(page: Any) -> None:
    page.goto(f"/trees/{MAPLE}")
    ready(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("() => document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.closest('main') !== null")


def test_the_whole_path_without_a_mouse(page: Any, served: Served) -> None:
    page.goto("/")
    ready(page)
    tabs(page, f".week-rows a.name[href='/trees/{MAPLE}']")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/trees/{MAPLE}")
    ready(page)
    tabs(page, "[data-way=right]")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.scene-canvas').dataset.turned !== '0'")
    tabs(page, "[data-branches] a")
    first = page.evaluate("() => document.activeElement.closest('[data-branch]').dataset.branch")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    second = page.evaluate("() => document.activeElement.closest('[data-branch]').dataset.branch")
    assert second != first
    assert page.get_attribute("[data-branches] [aria-current=true]", "data-branch") == second
    page.locator(f"[data-branches] [data-branch='{second}'] .branch-card").wait_for()
    name = page.get_attribute(f"[data-branches] [data-branch='{second}']", "data-name")
    page.locator(".scene-label", has_text=name).wait_for()
    page.focus("#say-text")  # its place in the order is held by the test of the week
    assert page.input_value("#say-text") == f"{name} "  # the chosen branch stands there already
    page.keyboard.type("base 2.7")
    page.locator("[data-reading]", has_text="base 2.7").wait_for()
    page.keyboard.press("Escape")
    before = len(served.records(MAPLE))
    page.keyboard.press("Enter")
    page.locator("[data-receipts] .receipt[data-written]").first.wait_for()
    assert len(served.records(MAPLE)) == before + 1
    tabs(page, "[data-undo]")
    page.keyboard.press("Enter")
    page.locator("[data-receipts]", has_text="Taken back").wait_for()
    page.wait_for_function("() => !document.documentElement.hasAttribute('data-waits')")
    assert len(served.records(MAPLE)) == before


def test_an_act_is_chosen_and_closed_by_keys(page: Any) -> None:
    page.goto(f"/trees/{MAPLE}")
    ready(page)
    summary = page.locator(".acts-bar summary").first
    summary.focus()
    page.keyboard.press("Enter")
    page.locator(".acts-bar details[open]").wait_for()
    page.keyboard.press("Escape")
    page.wait_for_function("() => document.querySelector('.acts-bar details[open]') === null")
    assert page.evaluate("() => document.activeElement.matches('.acts-bar summary')")


@pytest.mark.parametrize("path", ["/may-i", "/settings", f"/trees/{MAPLE}/facts", "/say"])
def test_every_field_of_a_form_is_reached_in_its_order(page: Any, path: str) -> None:
    page.goto(path)
    ready(page)
    order = page.evaluate(
        """() => Array.from(document.querySelectorAll('main input:not([type=hidden]), main select, main textarea'))
        .filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0
          && !(one.type === 'radio' && document.querySelector(`[name="${one.name}"]:checked`) !== one
            && [...document.querySelectorAll(`[name="${one.name}"]`)].indexOf(one) > 0))
        .map((one) => one.id || one.name)"""
    )
    reached: list[str] = []
    page.evaluate("() => document.querySelector('main').focus()")
    for _ in range(2 * MOST_TABS):
        page.keyboard.press("Tab")
        one = page.evaluate(
            "() => document.activeElement.matches('main input, main select, main textarea')"
            " ? document.activeElement.id || document.activeElement.name : null"
        )
        if one is not None and (not reached or reached[-1] != one):
            reached.append(one)
        if page.evaluate("() => document.activeElement === document.body"):
            break
        if order and reached[-1:] == order[-1:]:
            break
    radios = set(
        page.evaluate(
            "() => [...document.querySelectorAll('main [type=radio]')].map((one) => one.id || one.name)"
        )
    )
    assert [one for one in reached if one not in radios] == [
        one for one in order if one not in radios
    ]
