"""What a page is looked through for, in the browser itself."""

# ruff: noqa: E501  # the browser's own scripts read better unbroken

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

AXE = Path(__file__).parents[2] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
SMALLEST_PX = 14.0
TARGET_PX = 57.0
"""15 mm at 96 px to the inch."""

LISTEN = """window.__policy = [];
document.addEventListener('securitypolicyviolation',
  (event) => window.__policy.push(event.violatedDirective + ' ' + event.blockedURI));"""

SMALL_TEXT = """(smallest) => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.data.trim();
    const own = walk.currentNode.parentElement;
    if (text === '' || own.closest('script, style, noscript, option, .unseen, title, desc')) continue;
    if (!own.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true })) continue;
    const svg = own.closest('svg') ? own.getScreenCTM() : null;
    const scale = svg ? Math.hypot(svg.a, svg.b) : 1;
    const size = parseFloat(getComputedStyle(own).fontSize) * scale;
    if (size < smallest - 0.05) found.push(`${size.toFixed(1)} px: ${text.slice(0, 40)}`);
  }
  return found;
}"""

LOW_TARGETS = """(least) => {
  const controls = document.querySelectorAll(`main button, main .button, main .chip, main :is(a, summary).tap,
    main select, main textarea, main summary, main .choices label, .acts button, .acts summary,
    .acts :is(a, summary).tap, main input:not([type=checkbox], [type=radio], [type=hidden])`);
  return Array.from(controls)
    .filter((one) => one.checkVisibility() && one.getClientRects().length > 0)
    .filter((one) => !one.closest('.unseen') && one.getBoundingClientRect().height < least - 0.5)
    .map((one) => `${one.getBoundingClientRect().height.toFixed(0)} px tall: `
      + `<${one.tagName.toLowerCase()} class="${one.className}"> ${(one.textContent || one.name || '').trim().slice(0, 40)}`);
}"""

WIDE = """() => {
  const wide = document.documentElement.scrollWidth - innerWidth;
  if (wide <= 0) return [];
  const out = Array.from(document.body.querySelectorAll('*')).filter((one) => {
    const box = one.getBoundingClientRect();
    return box.right > innerWidth + 0.5 && box.width > 0 && !one.closest('.unseen');
  });
  return out.slice(0, 3).map((one) => `${innerWidth} px wide, and ${wide} px more: `
    + `<${one.tagName.toLowerCase()} class="${one.getAttribute('class') ?? ''}">`);
}"""

PLAIN = """() => {
  const found = [];
  const heads = document.querySelectorAll('h1').length;
  if (heads !== 1) found.push(`${heads} headings of the first rank`);
  if (!document.querySelector('h1')?.textContent.trim()) found.push('an empty first heading');
  if (!document.title.trim()) found.push('no title');
  for (const one of document.querySelectorAll('[style]')) {
    if (one.closest('main, header, nav') && !one.closest('[data-scene]')) found.push(`a style on ${one.tagName}`);
  }
  if (/\\{[\\w. ]+\\}|undefined|\\bNone\\b|\\bnan\\b/.test(document.body.innerText)) {
    found.push('a hole: ' + document.body.innerText.match(/.{0,30}(\\{[\\w. ]+\\}|undefined|\\bNone\\b|\\bnan\\b).{0,20}/)[0]);
  }
  return found;
}"""

RUN_AXE = """(only) => axe.run(document, {
  resultTypes: ['violations'],
  ...(only ? { runOnly: { type: 'rule', values: only } } : { rules: { 'target-size': { enabled: true } } }),
}).then((told) => told.violations.flatMap((rule) => rule.nodes.slice(0, 4).map(
  (node) => `${rule.id}: ${node.target.join(' ')} ${node.any.concat(node.all, node.none).map((c) => c.message).join('; ').slice(0, 160)}`)))"""


def axe(page: Any, *, colours_only: bool = False) -> list[str]:
    """Return what axe finds against the page; the whole of it, or its colours alone."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE.read_text())
    found: list[str] = page.evaluate(RUN_AXE, ["color-contrast"] if colours_only else None)
    return found


def faults_of(page: Any, size: str) -> Iterator[str]:
    """Yield everything that a page must not show, by day and by night."""
    width = page.viewport_size["width"]
    yield from page.evaluate(PLAIN)
    yield from page.evaluate(SMALL_TEXT, SMALLEST_PX)
    yield from page.evaluate(WIDE)
    if size == "phone":
        yield from page.evaluate(LOW_TARGETS, TARGET_PX)
    yield from (f"axe, day: {one}" for one in axe(page))
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    yield from (f"axe, night: {one}" for one in axe(page, colours_only=True))
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    if size == "phone":
        page.set_viewport_size({"width": 320, "height": 640})
        yield from page.evaluate(WIDE)
        page.set_viewport_size({"width": width, "height": 844})
    yield from (f"against the policy: {one}" for one in page.evaluate("() => window.__policy"))
