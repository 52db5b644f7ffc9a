/** Receipts: what was kept or written, in plain words, with one tap to take it back. */

import { make } from "./dom.ts";
import { onAnswer, sayLine, takeBack, type LineAnswer } from "./outbox.ts";
import { signal } from "./signals.ts";
import type { WaitingLine } from "./store.ts";
import { words } from "./words.ts";

const SHOWN = 3;
const shown = new Map<string, HTMLElement>();

function holder(): Element | null {
  return document.querySelector("[data-receipts]");
}

/** Show that a line is kept; the server's words come in its place when they arrive. */
export function showReceipt(line: WaitingLine): void {
  const told = make("ul", {}, make("li", {}, words("kept", { text: line.text ?? "" })));
  const undo = make("button", { type: "button", "data-undo": line.id }, words("undo"));
  const receipt = make("div", { class: "receipt", "data-receipt": line.id, "data-tree": line.tree }, told, undo);
  undo.addEventListener("click", () => void undoLine(line, receipt));
  const place = holder();
  if (place === null) return;
  place.prepend(receipt);
  shown.set(line.id, receipt);
  while (place.childElementCount > SHOWN) place.lastElementChild?.remove();
  clearOf(receipt);
}

/** Scroll the form that was just written in out from under its receipt: the next line follows. */
function clearOf(receipt: HTMLElement): void {
  const form = document.activeElement?.closest("form[data-line]");
  if (!form) return;
  const covered = form.getBoundingClientRect().bottom - receipt.getBoundingClientRect().top;
  const onScreen = form.getBoundingClientRect().top < innerHeight;
  if (covered > 0 && onScreen && innerWidth < 900) scrollBy(0, covered + 8);
}

async function undoLine(line: WaitingLine, receipt: HTMLElement): Promise<void> {
  await takeBack(line.id, line.tree);
  void signal(true);
  shown.delete(line.id);
  receipt.replaceChildren(make("p", {}, words("taken_back", { text: line.text ?? "" })));
  document.querySelector<HTMLElement>("[data-phrase]")?.focus({ preventScroll: true });
  document.dispatchEvent(new CustomEvent("line:back", { detail: { id: line.id, tree: line.tree } }));
}

function sayAnswer(answer: LineAnswer, line: WaitingLine): void {
  const receipt = shown.get(line.id);
  if (answer.state === "refused") {
    receipt?.remove();
    void signal(false);
    return;
  }
  const told = [...(answer.receipts ?? []), ...(answer.doubts ?? [])];
  if (answer.note) told.push(answer.note);
  const list = receipt?.querySelector("ul");
  if (list && told.length > 0) list.replaceChildren(...told.map((text) => make("li", {}, text)));
  else if (list) list.replaceChildren(make("li", {}, words("sending", { text: line.text ?? "" })));
  receipt?.setAttribute("data-written", "");
  document.dispatchEvent(new CustomEvent("line:written", { detail: { id: line.id, tree: line.tree } }));
}

/** Keep a line, show its receipt, and buzz. */
export async function log(tree: string, text: string): Promise<WaitingLine> {
  const line = await sayLine(tree, text);
  showReceipt(line);
  void signal(true);
  return line;
}

/** Let the server's answers reach the receipts on the page. */
export function setUpReceipts(): void {
  onAnswer(sayAnswer);
}
