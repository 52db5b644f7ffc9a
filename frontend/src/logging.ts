/** The line forms, and the taps that put a phrase together in their box. */

import { all, fieldValue, make } from "./dom.ts";
import { freshen } from "./fresh.ts";
import { fetchPart } from "./htmx.ts";
import { keepPhoto } from "./outbox.ts";
import { filledIn, isWhole, NOTHING, phraseText, placed, tapped, typedOn, type Kind, type Making, type Tap } from "./phrase.ts";
import { log } from "./receipts.ts";
import { signal } from "./signals.ts";
import { somethingWaits } from "./status.ts";
import { words } from "./words.ts";

const KINDS: readonly string[] = ["place", "act", "amount", "why", "next", "when", "same", "except", "all"];
const makings = new WeakMap<HTMLFormElement, Making>();

function box(form: HTMLFormElement): HTMLInputElement | null {
  return form.querySelector<HTMLInputElement>("[name=text]");
}

function making(form: HTMLFormElement): Making {
  return makings.get(form) ?? NOTHING;
}

/** True while the box holds only what taps put there. */
function untouched(form: HTMLFormElement): boolean {
  const text = box(form)?.value.trim() ?? "";
  return text === "" || text === phraseText(making(form));
}

function show(form: HTMLFormElement, next: Making): void {
  makings.set(form, next);
  const field = box(form);
  if (field) {
    field.value = phraseText(next);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
  mark(form, next);
}

/** Press the chips that are part of the phrase, and show the amounts that fit the act. */
function mark(form: HTMLFormElement, now: Making): void {
  for (const chip of chips(form)) {
    const word = chip.dataset["word"] ?? "";
    const pressed = {
      place: now.places.includes(word),
      act: now.act === word,
      amount: Object.values(now.amounts).includes(word),
      why: now.why === word,
      next: now.next === word,
      when: now.when === word,
      same: now.same,
      except: now.sparing,
      all: now.places.includes("all"),
    }[chip.dataset["tap"] as Kind];
    chip.setAttribute("aria-pressed", String(pressed));
  }
  for (const group of groups(form)) {
    const acts = (group.dataset["forAct"] ?? "").split(",").map((act) => act.trim());
    group.hidden = !acts.includes(now.act);
  }
  for (const shown of document.querySelectorAll("[data-place-shown]")) {
    shown.textContent = now.places.join(", ");
  }
}

function belongs(element: HTMLElement, form: HTMLFormElement): boolean {
  return formOf(element) === form;
}

function chips(form: HTMLFormElement): HTMLElement[] {
  return all<HTMLElement>(document, "[data-tap]").filter((chip) => belongs(chip, form));
}

function groups(form: HTMLFormElement): HTMLElement[] {
  return all<HTMLElement>(document, "[data-for-act]").filter((group) => belongs(group, form));
}

/** The form that a chip fills: the one it names, the one it is in, or the page's only one. */
function formOf(element: HTMLElement): HTMLFormElement | null {
  const named = element.closest<HTMLElement>("[data-form]")?.dataset["form"];
  if (named) return document.querySelector<HTMLFormElement>(named);
  return element.closest<HTMLFormElement>("form[data-line]") ?? document.querySelector("form[data-line]");
}

function onTap(chip: HTMLElement): void {
  const form = formOf(chip);
  const kind = chip.dataset["tap"] ?? "";
  if (form === null || !KINDS.includes(kind)) return;
  const group = chip.dataset["group"];
  const tap: Tap = { kind: kind as Kind, word: chip.dataset["word"] ?? "", ...(group ? { group } : {}) };
  const field = box(form);
  if (!untouched(form) && field) {
    field.value = typedOn(field.value, tap);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  } else {
    show(form, tapped(withChosenPlace(form, tap), tap));
  }
  const ends = chip.dataset["ends"] !== undefined && chip.getAttribute("aria-pressed") !== "false";
  if (ends && isWhole(making(form))) form.requestSubmit();
}

/** After a line is written the branch stays chosen: the next act is about it again. */
function withChosenPlace(form: HTMLFormElement, tap: Tap): Making {
  const now = making(form);
  const last = form.dataset["place"] ?? "";
  return tap.kind === "act" && now.places.length === 0 && last !== "" ? placed(now, last) : now;
}

/** A branch tapped on the drawing or in the list becomes the place of the phrase. */
function onBranch(name: string): void {
  for (const form of all<HTMLFormElement>(document, "form[data-line]")) {
    if (form.dataset["follows"] === "no") continue;
    form.dataset["place"] = name;
    if (untouched(form)) show(form, placed(making(form), name));
  }
}

async function submit(form: HTMLFormElement): Promise<void> {
  const field = box(form);
  const text = field?.value.trim() ?? "";
  if (field === null || text === "") {
    field?.focus();
    return;
  }
  const tree = fieldValue(form, "tree");
  show(form, NOTHING);
  const place = form.dataset["place"];
  for (const shown of place ? document.querySelectorAll("[data-place-shown]") : []) {
    shown.textContent = place ?? "";
  }
  try {
    await log(tree, text);
  } catch {
    // This browser keeps nothing: the form goes the way it goes without scripts.
    field.value = text;
    HTMLFormElement.prototype.submit.call(form);
  }
}

async function sayWhole(button: HTMLElement): Promise<void> {
  const form = formOf(button);
  const tree = button.dataset["tree"] ?? (form ? fieldValue(form, "tree") : "");
  const own = button.closest("form");
  try {
    await log(tree, button.dataset["say"] ?? "");
  } catch {
    if (own?.method === "post") HTMLFormElement.prototype.submit.call(own);
    return;
  }
  button.setAttribute("data-said", "");
}

/** A tap that says all but, maybe, some numbers: one button or the numbers of its form end it. */
async function logTap(form: HTMLFormElement, button: HTMLButtonElement | null): Promise<void> {
  const data = new FormData(form, button);
  const text = tapText(data, form.dataset["units"] === "in" ? " in" : "");
  if (text === "") {
    form.querySelector<HTMLInputElement>("[name=number]")?.focus();
    return;
  }
  try {
    await log(String(data.get("tree") ?? ""), text);
  } catch {
    // This browser keeps nothing: the form goes the way it goes without scripts.
    if (button?.name === "text") form.append(make("input", { type: "hidden", name: "text", value: button.value }));
    HTMLFormElement.prototype.submit.call(form);
    return;
  }
  form.reset();
  const bar = form.closest(".acts-bar");
  closePanels(null);
  if (bar === null && form.closest(".tap-page")) location.assign(String(data.get("back") ?? "/"));
}

/** The phrase that a form of taps says as it is filled in. */
function tapText(data: FormData, unit: string): string {
  const value = (name: string): string => String(data.get(name) ?? "").trim();
  const why = value("why");
  const said = [
    filledIn(value("text"), data.getAll("number").map((given) => String(given).trim()), unit),
    value("way"),
    why === "" ? "" : `because ${why}`,
    value("then"),
  ];
  return said[0] === "" ? "" : said.filter((part) => part !== "").join(" ");
}

/** Close what the bar has open, all but one. */
function closePanels(but: Element | null): void {
  for (const open of all<HTMLDetailsElement>(document, ".acts-bar details[open]")) {
    if (open !== but) open.open = false;
  }
}

/** Where there is room the acts stand under the drawing instead of over the page's end. */
function placeActs(): void {
  const bar = document.getElementById("acts");
  const beside = document.querySelector(".drawing-side, .two > .line-drawing");
  if (bar && beside && matchMedia("(min-width: 900px)").matches) beside.append(bar);
}

/** What was just written may change the acts that come next. */
function onWritten(tree: string): void {
  freshen(tree);
  const bar = document.querySelector<HTMLElement>("[data-acts]");
  if (bar?.dataset["acts"] !== `/trees/${tree}/acts` || bar.querySelector("details[open]")) return;
  if (bar.contains(document.activeElement) && document.activeElement?.matches("input")) return;
  showActs(bar.querySelector<HTMLElement>("[data-acts-branch]")?.dataset["actsBranch"] ?? "");
}

async function submitPhoto(form: HTMLFormElement): Promise<void> {
  const data = new FormData(form);
  const file = data.get("file");
  if (!(file instanceof File) || file.size === 0) return;
  const fields: Record<string, string> = {};
  for (const [name, value] of data) {
    if (typeof value === "string" && name !== "csrf" && name !== "tree") fields[name] = value;
  }
  let kept: string;
  try {
    kept = (await keepPhoto(fieldValue(form, "tree"), fields, file)).id;
  } catch {
    HTMLFormElement.prototype.submit.call(form);
    return;
  }
  form.reset();
  void signal(true);
  const receipt = make("p", { class: "receipt", "data-photo-kept": kept }, words("photo_kept"));
  document.querySelector("[data-receipts]")?.prepend(receipt);
}

/** A photo that is written is shown on its page, unless something still waits to be sent there. */
function onPhotoWritten(id: string): void {
  const receipt = document.querySelector(`[data-photo-kept="${CSS.escape(id)}"]`);
  if (receipt) receipt.textContent = words("photo_written");
  if (receipt && document.querySelector("form[data-photo]") && !somethingWaits()) location.reload();
}

/** Show the acts that are likely for a branch now; without signal the bar stays as it is. */
function showActs(branch: string): void {
  const bar = document.querySelector<HTMLElement>("[data-acts]");
  const url = bar?.dataset["acts"];
  if (bar && url) void fetchPart(`${url}?branch=${encodeURIComponent(branch)}`, "", bar);
}

/** Set up the pieces of one part of the page; chips that come in later show what is chosen. */
export function setUpLogging(root: ParentNode): void {
  const wanted = all(root, "form[data-line], [data-tap], [data-for-act]").length > 0;
  if (!wanted) return;
  for (const form of all<HTMLFormElement>(document, "form[data-line]")) mark(form, making(form));
}

/** What taps put in the box is gone on from by typing: a space, and the caret behind it. */
function goOn(field: HTMLInputElement): void {
  const form = field.form;
  if (form === null || field.value === "" || field.value.endsWith(" ") || !untouched(form)) return;
  field.value += " ";
  field.setSelectionRange(field.value.length, field.value.length);
}

/** Listen once for the whole page, so that parts that come in later are heard as well. */
export function listenForLogging(): void {
  placeActs();
  document.addEventListener("focusin", (event) => {
    if ((event.target as Element).matches("[data-phrase]")) goOn(event.target as HTMLInputElement);
  });
  document.addEventListener("click", (event) => {
    const target = event.target as Element;
    const chip = target.closest<HTMLElement>("[data-tap]");
    const whole = target.closest<HTMLElement>("[data-say]");
    if (chip) onTap(chip);
    else if (whole) {
      event.preventDefault();
      void sayWhole(whole);
    } else if (target.closest(".acts-bar") === null) closePanels(null);
  });
  document.addEventListener("submit", (event) => {
    const form = event.target as HTMLFormElement;
    if (form.matches("form[data-line]")) {
      event.preventDefault();
      void submit(form);
    } else if (form.matches("form[data-log]")) {
      event.preventDefault();
      void logTap(form, event.submitter as HTMLButtonElement | null);
    } else if (form.matches("form[data-photo]")) {
      event.preventDefault();
      void submitPhoto(form);
    }
  });
  document.addEventListener("toggle", (event) => {
    const panel = event.target as HTMLDetailsElement;
    if (panel.open && panel.closest(".acts-bar")) closePanels(panel);
  }, { capture: true });
  document.addEventListener("keydown", (event) => {
    const open = document.querySelector<HTMLDetailsElement>(".acts-bar details[open]");
    if (event.key !== "Escape" || open === null) return;
    closePanels(null);
    open.querySelector<HTMLElement>("summary")?.focus();
  });
  document.addEventListener("line:written", (event) => {
    onWritten((event as CustomEvent<{ tree: string }>).detail.tree);
  });
  document.addEventListener("line:back", (event) => {
    onWritten((event as CustomEvent<{ tree: string }>).detail.tree);
  });
  document.addEventListener("photo:written", (event) => {
    onPhotoWritten((event as CustomEvent<{ id: string }>).detail.id);
  });
  document.addEventListener("branch:chosen", (event) => {
    const { branch, name } = (event as CustomEvent<{ branch: string; name: string }>).detail;
    if (name !== "") onBranch(name);
    showActs(branch);
  });
}
