/** After a line is written the page's verdicts are new: its list and its sentence are brought up to date. */

import { all } from "./dom.ts";
import { fetchPart } from "./htmx.ts";

const WAIT_MS = 400;
let wait: ReturnType<typeof setTimeout> | undefined;

/** Bring the page of a tree up to date, once for several lines said in haste. */
export function freshen(tree: string): void {
  const bar = document.querySelector<HTMLElement>("[data-acts]");
  if (bar?.dataset["acts"] !== `/trees/${tree}/acts`) return;
  clearTimeout(wait);
  wait = setTimeout(() => void fetchNew().catch(() => undefined), WAIT_MS);
}

async function fetchNew(): Promise<void> {
  const response = await fetch(location.href, { headers: { accept: "text/html" }, cache: "no-cache" });
  if (!response.ok) return;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  taken(page.querySelector("h1"), document.querySelector("h1"));
  for (const row of all<HTMLElement>(document, "[data-branches] > [data-branch]")) {
    const now = page.getElementById(row.id);
    const changed = taken(now?.querySelector("a"), row.querySelector("a"));
    const card = row.querySelector<HTMLElement>(".card-place");
    const opener = row.querySelector<HTMLElement>("a[hx-get]");
    const open = card !== null && card.childElementCount > 0 && !card.contains(document.activeElement);
    if (open && opener && (changed || row.classList.contains("chosen"))) {
      await fetchPart(opener.getAttribute("hx-get") ?? "", "", card);
    }
  }
}

/** Take over what an element holds in the new page; tell whether it changed. */
function taken(now: Element | null | undefined, here: Element | null): boolean {
  if (!now || !here || now.innerHTML === here.innerHTML) return false;
  here.replaceChildren(...Array.from(now.childNodes, (node) => document.importNode(node, true)));
  return true;
}
