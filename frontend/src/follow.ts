/** The list and the drawing follow each other: point at a branch in one, see it in the other. */

import { all, calm } from "./dom.ts";
import { fetchPart } from "./htmx.ts";

let chosen = "";

function branchAt(target: EventTarget | null): HTMLElement | SVGElement | null {
  return target instanceof Element ? target.closest<HTMLElement | SVGElement>("[data-branch]") : null;
}

function both(branch: string): (HTMLElement | SVGElement)[] {
  return all<HTMLElement | SVGElement>(document, `[data-branch="${CSS.escape(branch)}"]`);
}

function nameOf(branch: string): string {
  for (const element of both(branch)) {
    if (element.dataset["name"]) return element.dataset["name"];
  }
  return "";
}

function mark(branches: readonly string[], by: string): void {
  for (const element of all<Element>(document, `.${by}`)) {
    if (!branches.includes((element as HTMLElement).dataset["branch"] ?? "")) element.classList.remove(by);
  }
  for (const branch of branches) for (const element of both(branch)) element.classList.add(by);
}

/** Choose a branch everywhere on the page, whichever side it was chosen on. */
export function choose(branch: string, from: Element | null = null): void {
  if (branch === "") return;
  const name = nameOf(branch);
  const before = chosen;
  chosen = branch;
  mark([branch], "chosen");
  for (const element of both(branch)) {
    if (element.closest("[data-branches]")) bringInView(element, from);
  }
  for (const row of all<Element>(document, "[data-branches] [data-branch]")) {
    if ((row as HTMLElement).dataset["branch"] === branch) row.setAttribute("aria-current", "true");
    else row.removeAttribute("aria-current");
  }
  if (before !== branch) showCard(branch);
  document.dispatchEvent(new CustomEvent("branch:chosen", { detail: { branch, name } }));
}

function bringInView(element: Element, from: Element | null): void {
  if (from !== null && element.contains(from)) return;
  element.scrollIntoView({ block: "nearest", behavior: calm() ? "auto" : "smooth" });
}

/** Show why: in the page's one place for it, or under the branch's own line, one at a time. */
function showCard(branch: string): void {
  const place = document.querySelector("[data-branch-card]");
  const link = both(branch).map(linkOf).find((url) => url !== "");
  if (place && link) void fetchPart(link, "[data-card]", place);
  for (const opener of all<HTMLElement>(document, "[data-branches] a[hx-get][hx-target]")) {
    const under = placeUnder(opener);
    const own = opener.closest<HTMLElement>("[data-branch]")?.dataset["branch"] === branch;
    if (under === null) continue;
    if (!own) under.replaceChildren();
    else if (under.childElementCount === 0) void fetchPart(opener.getAttribute("hx-get") ?? "", "", under);
  }
}

/** The place that a line's card goes to. Keys of branches such as 2.5lg are no plain selectors. */
function placeUnder(opener: Element | null): Element | null {
  return document.getElementById((opener?.getAttribute("hx-target") ?? "").replace(/^#/, ""));
}

function linkOf(element: Element): string {
  const link = element.querySelector("a[href]") ?? element.closest("a[href]");
  return link?.getAttribute("href") ?? "";
}

/**
 * A first tap chooses; a tap on what is chosen already opens its page. On a list that has no place
 * for the card beside it, a mouse opens at once: it pointed first.
 */
function onClick(event: MouseEvent): void {
  const element = branchAt(event.target);
  if (element === null || event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
  if ((event.target as Element).closest("[data-branches] a[hx-get]")) return openUnder(element, event);
  if ((event.target as Element).closest("button, input, select, textarea, summary, label")) return;
  const branch = element.dataset["branch"] ?? "";
  const link = (event.target as Element).closest("a[href]");
  const byKey = event.detail === 0;
  const mouse = event instanceof PointerEvent && event.pointerType === "mouse";
  const opens = chosen === branch || byKey || (mouse && document.querySelector("[data-branch-card]") === null);
  const inList = element.closest("[data-branches]") !== null;
  if (link && !(opens && (inList || chosen === branch))) event.preventDefault();
  if (chosen !== branch) choose(branch, event.target as Element);
}

/** A line that opens its card in place: a first tap opens it, a second closes it, one fetch each. */
function openUnder(element: HTMLElement | SVGElement, event: MouseEvent): void {
  event.preventDefault();
  event.stopPropagation();
  const branch = element.dataset["branch"] ?? "";
  const under = placeUnder((event.target as Element).closest("a"));
  if (chosen === branch && under !== null && under.childElementCount > 0) under.replaceChildren();
  else if (chosen === branch) showCard(branch);
  else choose(branch, event.target as Element);
}

function onFocus(event: FocusEvent): void {
  const element = branchAt(event.target);
  if (element === null || !(event.target as Element).matches(":focus-visible")) return;
  choose(element.dataset["branch"] ?? "", event.target as Element);
}

function onPoint(event: PointerEvent): void {
  if (event.pointerType !== "mouse") return;
  const element = branchAt(event.target);
  mark(element ? [element.dataset["branch"] ?? ""] : [], "lit");
}

/** Up and down walk the branches of the list. */
function onKey(event: KeyboardEvent): void {
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  const list = (event.target as Element | null)?.closest?.("[data-branches]");
  if (step === undefined || !list || (event.target as Element).matches("input, select, textarea")) return;
  const rows = all<HTMLElement>(list, "[data-branch]").map((row) => row.querySelector<HTMLElement>("a[href], button") ?? row);
  const at = rows.findIndex((row) => row === event.target || row.contains(event.target as Node));
  const next = rows[at + step];
  if (at < 0 || next === undefined) return;
  event.preventDefault();
  next.focus();
}

/** Listen once for the whole page. */
export function follow(): void {
  document.addEventListener("click", onClick, { capture: true });
  document.addEventListener("focusin", onFocus);
  document.addEventListener("pointerover", onPoint);
  document.addEventListener("keydown", onKey);
  document.addEventListener("branch:pick", (event) => {
    choose((event as CustomEvent<{ branch: string }>).detail.branch);
  });
  document.addEventListener("branch:point", (event) => {
    const { branch } = (event as CustomEvent<{ branch: string }>).detail;
    mark(branch === "" ? [] : [branch], "lit");
  });
  document.addEventListener("branches:meant", (event) => {
    mark((event as CustomEvent<{ branches: string[] }>).detail.branches, "meant");
  });
}
