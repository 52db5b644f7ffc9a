/** Long works: how far they are, as the server tells it, until they are done. */

interface Told {
  share?: number;
  words?: string;
  done?: boolean;
  href?: string;
  failed?: string;
}

const TRIES = 4;

/** Follow one long work. */
export function setUpProgress(place: HTMLElement): void {
  const url = place.dataset["progressUrl"];
  if (!url || place.dataset["ready"] === "yes") return;
  place.dataset["ready"] = "yes";
  const source = new EventSource(url);
  let faults = 0;
  source.addEventListener("message", (event: MessageEvent<string>) => {
    faults = 0;
    hear(place, source, JSON.parse(event.data) as Told);
  });
  source.addEventListener("error", () => {
    faults += 1;
    if (faults < TRIES && source.readyState !== EventSource.CLOSED) return;
    source.close();
    setTimeout(() => location.reload(), 3_000);
  });
}

function hear(place: HTMLElement, source: EventSource, told: Told): void {
  const bar = place.querySelector("progress");
  const text = place.querySelector("[data-progress-words]");
  if (bar && told.share !== undefined) {
    bar.max = 1;
    bar.value = told.share;
  }
  const said = told.failed ?? told.words;
  if (text && said !== undefined) text.textContent = said;
  if (told.failed !== undefined || told.done) source.close();
  if (told.failed !== undefined) bar?.remove();
  if (told.done && told.href) location.assign(new URL(told.href, location.href));
  else if (told.done) location.reload();
}
