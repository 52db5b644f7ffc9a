/** Entry point of every page. Each part sets up what it finds, and the page works without all. */

import { all, make } from "./dom.ts";
import { setUpPhrase } from "./completing.ts";
import { follow } from "./follow.ts";
import { onArrival } from "./htmx.ts";
import { keepPages, warnBeforeLeaving } from "./keeping.ts";
import { listenForLogging, setUpLogging } from "./logging.ts";
import { keepSending } from "./outbox.ts";
import { setUpProgress } from "./progress.ts";
import { setUpReceipts } from "./receipts.ts";
import { setUpTone } from "./signals.ts";
import { sayCan, setUpStatus, somethingWaits } from "./status.ts";
import { words } from "./words.ts";

/** Scripts that few pages want, fetched where their part of a page stands. */
const LATER: Record<string, string> = {
  "[data-scene]": "scene.js",
  "[data-marker]": "marker.js",
};

type Part = { setUp(root: ParentNode): void };

function fetchLater(root: ParentNode): void {
  for (const [selector, file] of Object.entries(LATER)) {
    if (all(root, selector).length === 0) continue;
    const url = new URL(file, import.meta.url).href;
    import(url).then((part: Part) => part.setUp(root)).catch(() => undefined);
  }
}

/** A chart's own data can be looked at closer; the large runtime for it comes only when asked. */
function offerCloser(figure: HTMLElement): void {
  if (figure.querySelector("[data-look-closer]") !== null) return;
  const button = make("button", { type: "button", class: "quiet", "data-look-closer": "" }, words("look_closer"));
  figure.append(button);
  button.addEventListener("click", () => {
    button.disabled = true;
    const url = new URL("closer.js", import.meta.url).href;
    import(url)
      .then((closer: { open(figure: HTMLElement): Promise<void> }) => closer.open(figure))
      .then(() => button.remove())
      .catch(() => {
        button.disabled = false;
        button.textContent = words("failed");
      });
  });
}

/** On a narrow screen the row of a tree's pages slides; the page that is open shows in it. */
function showOpenTab(): void {
  for (const row of all<HTMLElement>(document, ".tabs, .ways")) {
    const open = row.querySelector<HTMLElement>("[aria-current]");
    if (open === null || row.scrollWidth <= row.clientWidth) continue;
    row.scrollLeft += open.getBoundingClientRect().right - row.getBoundingClientRect().right + row.clientWidth / 4;
  }
}

function setUp(root: ParentNode): void {
  for (const element of all<HTMLElement>(root, "[data-script]")) element.hidden = false;
  for (const element of all<HTMLElement>(root, "[data-no-script]")) element.hidden = true;
  for (const field of all<HTMLInputElement>(root, "[data-phrase]")) setUpPhrase(field);
  for (const place of all<HTMLElement>(root, "[data-progress-url]")) setUpProgress(place);
  for (const box of all<HTMLInputElement>(root, "input[data-tone]")) void setUpTone(box).catch(() => undefined);
  for (const figure of all<HTMLElement>(root, "figure[data-chart]")) offerCloser(figure);
  setUpLogging(root);
  fetchLater(root);
}

setUpReceipts();
setUpStatus();
listenForLogging();
follow();
setUp(document);
showOpenTab();
onArrival(setUp);
warnBeforeLeaving(somethingWaits);
try {
  keepSending();
} catch {
  // A browser that keeps nothing still writes line by line.
}
void keepPages().then(sayCan);
