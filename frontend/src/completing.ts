/**
 * The phrase box: ways to go on, and what would be written, while the grower types.
 * A list box on a text field as the ARIA Authoring Practices describe it.
 */

import { fieldValue, make } from "./dom.ts";
import { completed } from "./phrase.ts";
import { words } from "./words.ts";

const WAIT_MS = 140;
let made = 0;

interface Reading {
  receipts?: string[];
  doubts?: string[];
  unread?: string[];
  branches?: string[];
}

/** Set up one phrase box. */
export function setUpPhrase(field: HTMLInputElement): void {
  if (field.dataset["ready"] === "yes") return;
  field.dataset["ready"] = "yes";
  new PhraseBox(field);
}

class PhraseBox {
  readonly list: HTMLUListElement;
  readonly count: HTMLElement;
  readonly reading: HTMLElement;
  readonly form: HTMLFormElement;
  chosen = -1;
  asked: AbortController | undefined;
  wait: ReturnType<typeof setTimeout> | undefined;

  constructor(readonly field: HTMLInputElement) {
    made += 1;
    this.form = field.form as HTMLFormElement;
    this.list = make("ul", { id: `ways-on-${made}`, role: "listbox", class: "ways-on", hidden: "", "aria-label": field.labels?.[0]?.textContent ?? field.ariaLabel ?? "" });
    this.count = make("p", { class: "unseen", role: "status" });
    this.reading = this.form.querySelector("[data-reading]") ?? this.form.appendChild(make("div", { "data-reading": "" }));
    this.reading.setAttribute("aria-live", "polite");
    const around = field.closest(".phrase") ?? field;
    around.after(this.list, this.count);
    for (const [name, value] of Object.entries({
      role: "combobox",
      "aria-autocomplete": "list",
      "aria-expanded": "false",
      "aria-controls": this.list.id,
      autocomplete: "off",
      autocapitalize: "off",
      spellcheck: "false",
      enterkeyhint: "send",
    })) field.setAttribute(name, value);
    field.addEventListener("input", () => this.later());
    field.addEventListener("keydown", (event) => this.key(event));
    field.addEventListener("blur", () => this.close());
    this.list.addEventListener("pointerdown", (event) => event.preventDefault());
    this.list.addEventListener("click", (event) => {
      const option = (event.target as Element).closest<HTMLElement>("[role=option]");
      if (option) this.take(option.textContent ?? "");
    });
  }

  later(): void {
    clearTimeout(this.wait);
    this.wait = setTimeout(() => void this.ask(), WAIT_MS);
  }

  async ask(): Promise<void> {
    this.asked?.abort();
    const asked = new AbortController();
    this.asked = asked;
    const text = this.field.value;
    const query = new URLSearchParams({ tree: fieldValue(this.form, "tree"), text });
    const empty = text.trim() === "";
    const here = document.activeElement === this.field;
    const [ways, reading] = await Promise.all([
      here ? fetchJson<{ completions?: string[] }>(`/api/completions?${query}`, asked.signal) : undefined,
      empty ? undefined : fetchJson<Reading>(`/api/reading?${query}`, asked.signal),
    ]);
    if (asked.signal.aborted) return;
    this.show(ways?.completions ?? []);
    this.tell(reading);
  }

  show(ways: string[]): void {
    this.chosen = -1;
    this.field.removeAttribute("aria-activedescendant");
    this.list.replaceChildren(...ways.map((way, k) =>
      make("li", { role: "option", id: `${this.list.id}-${k}`, "aria-selected": "false" }, way)));
    const open = ways.length > 0 && document.activeElement === this.field;
    this.list.hidden = !open;
    this.field.setAttribute("aria-expanded", String(open));
    this.count.textContent = open ? words("suggestions", { n: ways.length }) : "";
  }

  tell(reading: Reading | undefined): void {
    const told = [...(reading?.receipts ?? []), ...(reading?.doubts ?? [])];
    const unread = reading?.unread ?? [];
    if (unread.length > 0) told.push(words("unread", { words: unread.join(", ") }));
    this.reading.replaceChildren(...told.map((text) => make("span", { class: "told" }, text)));
    document.dispatchEvent(new CustomEvent("branches:meant", { detail: { branches: reading?.branches ?? [] } }));
  }

  key(event: KeyboardEvent): void {
    const options = this.list.hidden ? [] : Array.from(this.list.children);
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step !== undefined && options.length > 0) {
      event.preventDefault();
      this.choose((this.chosen + step + options.length + (this.chosen < 0 && step < 0 ? 1 : 0)) % options.length);
    } else if ((event.key === "Enter" || event.key === "Tab") && this.chosen >= 0) {
      event.preventDefault();
      this.take(options[this.chosen]?.textContent ?? "");
    } else if (event.key === "Escape" && options.length > 0) {
      event.preventDefault();
      this.close();
    }
  }

  choose(at: number): void {
    this.chosen = at;
    Array.from(this.list.children).forEach((option, k) => option.setAttribute("aria-selected", String(k === at)));
    const option = this.list.children[at];
    option?.scrollIntoView({ block: "nearest" });
    if (option) this.field.setAttribute("aria-activedescendant", option.id);
  }

  take(way: string): void {
    this.field.value = completed(this.field.value, way);
    this.field.dispatchEvent(new Event("input", { bubbles: true }));
    this.field.focus();
  }

  close(): void {
    clearTimeout(this.wait);
    this.show([]);
  }
}

/** Without signal there are no ways on and no reading; the box still takes the line. */
async function fetchJson<T>(url: string, signal: AbortSignal): Promise<T | undefined> {
  try {
    const response = await fetch(url, { signal, headers: { accept: "application/json" } });
    return response.ok ? ((await response.json()) as T) : undefined;
  } catch {
    return undefined;
  }
}
