/** How the outbox stands, said on every page: what waits, what was not taken, what to do. */

import { make } from "./dom.ts";
import { canDo, type Can } from "./keeping.ts";
import { discard, discardPhoto, onOutbox, sayChanged, type OutboxState } from "./outbox.ts";
import { showReceipt } from "./receipts.ts";
import type { WaitingLine, WaitingPhoto } from "./store.ts";
import { words } from "./words.ts";

const QUIET_AFTER_MS = 6_000;
let waitedBefore = false;
let quiet: ReturnType<typeof setTimeout> | undefined;

/** True while something waits to be sent. */
export function somethingWaits(): boolean {
  return waitedBefore;
}

function setText(element: Element, text: string): void {
  if (element.textContent !== text) element.textContent = text;
}

function showState(state: OutboxState): void {
  const place = document.querySelector("[data-outbox]");
  const waiting = state.lines.filter((line) => line.refused === undefined).length;
  const photos = state.photos.filter((photo) => photo.refused === undefined).length;
  const refused = state.lines.length + state.photos.length - waiting - photos;
  const told: string[] = [];
  const stuck = state.failures > 0 || !navigator.onLine;
  if (state.letOut) told.push(words("let_out"));
  else if (waiting + photos > 0 && stuck) told.push(words("no_signal"));
  if (waiting > 0) told.push(words("waiting", { n: waiting }));
  if (photos > 0) told.push(words("photos", { n: photos }));
  if (waiting + photos > 0 && stuck && canDo() !== "open") told.push(words("keep_open"));
  if (refused > 0) told.push(words("refused", { n: refused }));
  if (place) say(place, told, waiting + photos > 0);
  waitedBefore = waiting + photos > 0;
  document.documentElement.toggleAttribute("data-waits", waitedBefore);
  listWaiting(state);
}

function say(place: Element, told: string[], waits: boolean): void {
  clearTimeout(quiet);
  if (told.length > 0) return setText(place, told.join(" "));
  if (!waitedBefore || waits) return;
  setText(place, words("all_written"));
  quiet = setTimeout(() => setText(place, ""), QUIET_AFTER_MS);
}

// --- lines one by one -----------------------------------------------------------------------------

function listWaiting(state: OutboxState): void {
  const own = document.querySelector<HTMLElement>("[data-outbox-list]");
  const refused = state.lines.filter((line) => line.refused !== undefined);
  const photos = state.photos.filter((photo) => photo.refused !== undefined);
  const place = own ?? madePlace(refused.length + photos.length > 0);
  if (place === null || place.contains(document.activeElement)) return;
  const waiting = own === null ? [] : state.lines.filter((line) => line.refused === undefined);
  place.replaceChildren(
    ...refused.map(refusedCard),
    ...photos.map(refusedPhoto),
    ...waiting.filter((line) => line.text !== undefined).map(waitingRow),
  );
}

function madePlace(wanted: boolean): HTMLElement | null {
  const there = document.querySelector<HTMLElement>("[data-outbox-refused]");
  if (!wanted) {
    there?.remove();
    return null;
  }
  if (there) return there;
  const made = make("section", { "data-outbox-refused": "", "aria-label": words("not_taken") });
  document.querySelector("main")?.prepend(made);
  return made;
}

function waitingRow(line: WaitingLine): HTMLElement {
  return make("p", { class: "soft", "data-waiting": line.id }, words("kept", { text: line.text ?? "" }));
}

function refusedCard(line: WaitingLine): HTMLElement {
  const id = `change-${line.id}`;
  const field = make("input", { type: "text", id, value: line.text ?? "", autocomplete: "off" });
  const label = make("label", { for: id }, words("change"));
  const again = make("button", { type: "submit" }, words("send_again"));
  const drop = make("button", { type: "button", class: "quiet" }, words("discard"));
  const form = make("form", { class: "notice harm", "data-refused": line.id },
    make("p", { class: "fault" }, `${words("not_taken")}: ${line.text ?? ""}`),
    make("p", {}, line.refused ?? words("no_reason")),
    make("div", { class: "field" }, label, field),
    make("div", { class: "buttons" }, again, drop));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = field.value.trim();
    if (text === "") return;
    leave(form);
    void sayChanged(line, text).then(showReceipt);
  });
  drop.addEventListener("click", () => {
    leave(form);
    void discard(line.id, line.tree);
  });
  return form;
}

function refusedPhoto(photo: WaitingPhoto): HTMLElement {
  const drop = make("button", { type: "button", class: "quiet" }, words("discard"));
  const card = make("div", { class: "notice harm", "data-refused": photo.id },
    make("p", { class: "fault" }, words("not_taken")),
    make("p", {}, photo.refused ?? words("no_reason")),
    make("div", { class: "buttons" }, drop));
  drop.addEventListener("click", () => {
    leave(card);
    void discardPhoto(photo.id);
  });
  return card;
}

/** Give the focus on before a card goes, so that a keyboard does not lose its place. */
function leave(card: HTMLElement): void {
  if (!card.contains(document.activeElement)) return;
  (document.activeElement as HTMLElement).blur();
  document.querySelector<HTMLElement>("main")?.focus({ preventScroll: true });
}

/** Say what this page can do without signal, where the page has a place for it. */
export function sayCan(can: Can): void {
  const told = { open: "can_open", log: "can_log", nothing: "cannot_keep" }[can];
  for (const place of document.querySelectorAll("[data-can]")) setText(place, words(told));
}

/** Keep the page's word on the outbox current. */
export function setUpStatus(): void {
  onOutbox(showState);
}
