/**
 * The outbox: what is said on this device waits here until the server says that it is written.
 *
 * A line gets its id when it is said. It may be sent more than once, by more than one tab, and its
 * answer may be lost: the server knows the id and writes it once. Nothing leaves the outbox but by
 * the server's word or the grower's own.
 */

import { backoff, retryAfterMs, stamp } from "./clock.ts";
import { csrf, renewCsrf } from "./dom.ts";
import { uuid7 } from "./ids.ts";
import { fact, keepFact, nextOrder, openStore, type WaitingLine, type WaitingPhoto } from "./store.ts";
import { words } from "./words.ts";

/** What the server says to one line. */
export interface LineAnswer {
  id: string;
  state: "stored" | "known" | "refused";
  receipts?: string[];
  doubts?: string[];
  note?: string | null;
  error?: string | { what?: string; allowed?: string; todo?: string } | null;
}

/** What the page needs to know of the outbox. */
export interface OutboxState {
  lines: WaitingLine[];
  photos: WaitingPhoto[];
  letOut: boolean;
  failures: number;
}

const BATCH = 50;
const LINE_LIMIT_MS = 15_000;
const PHOTO_LIMIT_MS = 120_000;
const LOOK_EVERY_MS = 30_000;
const TRAIL = 20;

type Listener = (state: OutboxState) => void;
type AnswerListener = (answer: LineAnswer, line: WaitingLine) => void;

const listeners = new Set<Listener>();
const answerListeners = new Set<AnswerListener>();
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("outbox") : undefined;

let letOut = false;
let failures = 0;
let again: ReturnType<typeof setTimeout> | undefined;
let sending = false;
let askedMeanwhile = false;

/** Hear of every change of the outbox, also those made by another tab. */
export function onOutbox(listener: Listener): void {
  listeners.add(listener);
}

/** Hear what the server answered to a line of this device. */
export function onAnswer(listener: AnswerListener): void {
  answerListeners.add(listener);
}

/** Read the outbox as it stands. */
export async function outboxState(): Promise<OutboxState> {
  const store = await openStore();
  const lines = await store.getAllFromIndex("lines", "order");
  const photos = await store.getAllFromIndex("photos", "order");
  return { lines, photos, letOut, failures };
}

async function tell(others = true): Promise<void> {
  const state = await outboxState().catch(() => undefined);
  if (state === undefined) return;
  for (const listener of listeners) listener(state);
  if (others) channel?.postMessage("changed");
}

// --- saying ---------------------------------------------------------------------------------------

async function trail(tree: string): Promise<string[]> {
  return fact<string[]>(`trail:${tree}`, []);
}

let saying: Promise<unknown> = Promise.resolve();

/** Keep a line in the outbox and start sending. Lines said in haste keep their order. */
export function sayLine(tree: string, text: string, said: string = stamp()): Promise<WaitingLine> {
  const kept = saying.then(() => keepLine(tree, text, said));
  saying = kept.catch(() => undefined);
  return kept;
}

async function keepLine(tree: string, text: string, said: string): Promise<WaitingLine> {
  const before = await trail(tree);
  const after = before.at(-1);
  const line = await queue({ tree, text, said, ...(after === undefined ? {} : { after }) });
  await keepFact(`trail:${tree}`, [...before, line.id].slice(-TRAIL));
  await tell();
  void flush();
  return line;
}

async function queue(
  parts: Pick<WaitingLine, "tree" | "said"> & Partial<WaitingLine>,
): Promise<WaitingLine> {
  const store = await openStore();
  const line = { ...parts, id: uuid7(), order: await nextOrder(store), tried: false };
  await store.add("lines", line);
  askToStay();
  return line;
}

let asked = false;

/** Ask once that the browser does not clear what waits; plain http cannot even ask. */
function askToStay(): void {
  if (asked) return;
  asked = true;
  void navigator.storage?.persist?.().catch(() => false);
}

/**
 * Take a line back. One that certainly never left is dropped; any other is withdrawn by a line of
 * its own, which the server may get before or after the one it withdraws.
 */
export async function takeBack(id: string, tree: string): Promise<void> {
  const store = await openStore();
  const tx = store.transaction("lines", "readwrite");
  const line = await tx.store.get(id);
  const unsent = line !== undefined && (!line.tried || line.refused !== undefined);
  if (unsent) {
    await tx.store.delete(id);
    for (const later of await tx.store.getAll()) {
      if (later.after === id) await tx.store.put(followed(later, line.after));
    }
  }
  await tx.done;
  await keepFact(`trail:${tree}`, (await trail(tree)).filter((each) => each !== id));
  if (!unsent) await queue({ tree, withdraws: id, said: stamp() });
  await tell();
  void flush();
}

/** The same line, coming after another one. */
function followed(line: WaitingLine, after: string | undefined): WaitingLine {
  const { after: _before, ...rest } = line;
  return after === undefined ? rest : { ...rest, after };
}

/** Drop a refused line, by the grower's word. */
export async function discard(id: string, tree: string): Promise<void> {
  await (await openStore()).delete("lines", id);
  await keepFact(`trail:${tree}`, (await trail(tree)).filter((each) => each !== id));
  await tell();
}

/** Say a refused line again in other words: it keeps its time, and gets an id of its own. */
export async function sayChanged(line: WaitingLine, text: string): Promise<WaitingLine> {
  const said = await sayLine(line.tree, text, line.said);
  await discard(line.id, line.tree);
  return said;
}

/** Keep a photo in the outbox and start sending. */
export async function keepPhoto(tree: string, fields: Record<string, string>, file: Blob): Promise<WaitingPhoto> {
  const store = await openStore();
  const photo = { id: uuid7(), order: await nextOrder(store), said: stamp(), tree, fields, file };
  await store.add("photos", photo);
  await tell();
  void flush();
  return photo;
}

/** Drop a refused photo, by the grower's word. */
export async function discardPhoto(id: string): Promise<void> {
  await (await openStore()).delete("photos", id);
  await tell();
}

// --- sending --------------------------------------------------------------------------------------

/** Send what waits, in order; one tab at a time where the browser can hold the others off. */
export async function flush(): Promise<void> {
  if (sending) {
    askedMeanwhile = true;
    return;
  }
  sending = true;
  clearTimeout(again);
  try {
    do {
      askedMeanwhile = false;
      await alone(sendAll);
      failures = 0;
    } while (askedMeanwhile);
    await tell();
  } catch (fault) {
    failures += 1;
    const wait = fault instanceof Later && fault.waitMs !== undefined ? fault.waitMs : backoff(failures);
    if (!letOut) again = setTimeout(() => void flush(), wait);
    await tell();
  } finally {
    sending = false;
  }
}

async function alone(work: () => Promise<void>): Promise<void> {
  if ("locks" in navigator) await navigator.locks.request("outbox", work);
  else await work();
}

/** The server or the way to it is not ready: what waits goes on waiting. */
class Later extends Error {
  constructor(readonly waitMs?: number) {
    super("later");
  }
}

async function sendAll(): Promise<void> {
  const store = await openStore();
  for (;;) {
    const all = await store.getAllFromIndex("lines", "order");
    const waiting = all.filter((line) => line.refused === undefined).slice(0, BATCH);
    if (waiting.length === 0) break;
    await sendLines(waiting);
  }
  for (const photo of await store.getAllFromIndex("photos", "order")) {
    if (photo.refused === undefined) await sendPhoto(photo);
  }
}

async function sendLines(lines: WaitingLine[]): Promise<void> {
  const store = await openStore();
  const tx = store.transaction("lines", "readwrite");
  const still: WaitingLine[] = [];
  for (const { id } of lines) {
    const found = await tx.store.get(id);
    if (found === undefined) continue;
    const line = { ...found, tried: true, said: notAhead(found.said) };
    await tx.store.put(line);
    still.push(line);
  }
  await tx.done;
  if (still.length === 0) return;
  const device = await deviceId();
  const response = await post("/api/lines", () => ({
    body: JSON.stringify({ sent: stamp(), device, lines: still.map(asSent) }),
    type: "application/json",
  }));
  if (response.ok) return takeAnswers(still, await answersOf(response));
  const reason = await reasonOf(response);
  if (still.length === 1) {
    return takeAnswers(still, [{ id: still[0]?.id ?? "", state: "refused", error: reason }]);
  }
  for (const line of still) await sendLines([line]);
}

/** Nothing is said after it is sent: a clock set back in between does not put a line in the future. */
function notAhead(said: string): string {
  const now = new Date();
  return Date.parse(said) > now.getTime() ? stamp(now) : said;
}

async function deviceId(): Promise<string> {
  const known = await fact("device", "");
  if (known !== "") return known;
  const made = uuid7();
  await keepFact("device", made);
  return made;
}

function asSent(line: WaitingLine): Record<string, unknown> {
  const { id, said, tree, text, withdraws, after } = line;
  return {
    id,
    said,
    tree,
    ...(text === undefined ? {} : { text }),
    ...(withdraws === undefined ? {} : { withdraws }),
    ...(after === undefined ? {} : { after }),
  };
}

async function answersOf(response: Response): Promise<LineAnswer[]> {
  try {
    const body = (await response.json()) as { answers?: unknown };
    if (Array.isArray(body.answers)) return body.answers as LineAnswer[];
  } catch {
    // An answer cut short is a lost answer.
  }
  throw new Later();
}

async function takeAnswers(lines: WaitingLine[], answers: LineAnswer[]): Promise<void> {
  const store = await openStore();
  const byId = new Map(answers.map((answer) => [answer.id, answer]));
  let taken = 0;
  for (const line of lines) {
    const answer = byId.get(line.id);
    if (answer === undefined) continue;
    taken += 1;
    if (answer.state !== "refused") await store.delete("lines", line.id);
    else if (line.withdraws !== undefined) await store.delete("lines", line.id);
    else if ((await store.get("lines", line.id)) !== undefined) {
      await store.put("lines", { ...line, tried: true, refused: plain(answer.error) });
    }
    for (const listener of answerListeners) listener(answer, line);
  }
  await tell();
  if (taken === 0) throw new Later();
}

async function sendPhoto(photo: WaitingPhoto): Promise<void> {
  const response = await post("/api/photos", () => {
    const body = new FormData();
    for (const [name, value] of Object.entries(photo.fields)) body.set(name, value);
    body.set("id", photo.id);
    body.set("tree", photo.tree);
    body.set("said", photo.said);
    body.set("sent", stamp());
    body.set("file", photo.file, "photo");
    return { body };
  }, PHOTO_LIMIT_MS);
  const store = await openStore();
  if (response.ok) {
    await store.delete("photos", photo.id);
  } else {
    await store.put("photos", { ...photo, refused: await reasonOf(response) });
  }
  await tell();
  if (response.ok) document.dispatchEvent(new CustomEvent("photo:written", { detail: { id: photo.id } }));
}

type Load = { body: BodyInit; type?: string };

/** Post; anything that is not the server's last word on what was sent means: later. */
async function post(url: string, load: () => Load, limitMs = LINE_LIMIT_MS): Promise<Response> {
  let response = await once(url, load(), limitMs);
  if (response.status === 403 && (await freshToken())) response = await once(url, load(), limitMs);
  if (response.status === 401) {
    letOut = true;
    throw new Later();
  }
  letOut = false;
  const passing = [403, 404, 408, 425, 429].includes(response.status) || response.status >= 500;
  if (passing) throw new Later(retryAfterMs(response.headers.get("retry-after")));
  return response;
}

async function once(url: string, { body, type }: Load, limitMs: number): Promise<Response> {
  return fetch(url, {
    method: "POST",
    body,
    headers: { "x-csrf": csrf(), accept: "application/json", ...(type ? { "content-type": type } : {}) },
    credentials: "same-origin",
    cache: "no-store",
    redirect: "error",
    signal: AbortSignal.timeout(limitMs),
  });
}

/** A page kept on the device holds an old token: ask for the page of the lines anew and take its. */
async function freshToken(): Promise<boolean> {
  const response = await fetch("/say", { cache: "no-store" });
  if (!response.ok) return false;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const token = page.querySelector<HTMLMetaElement>('meta[name="csrf"]')?.content ?? "";
  if (token === "" || token === csrf()) return false;
  renewCsrf(token);
  return true;
}

async function reasonOf(response: Response): Promise<string> {
  try {
    const body = (await response.json()) as { error?: LineAnswer["error"]; detail?: unknown };
    return plain(body.error);
  } catch {
    return words("no_reason");
  }
}

function plain(error: LineAnswer["error"] | undefined): string {
  if (error === null || error === undefined) return words("no_reason");
  if (typeof error === "string") return error;
  const told = [error.what, error.todo].filter((part) => part !== undefined && part !== "");
  return told.length > 0 ? told.join(". ") : words("no_reason");
}

/** Send what waits whenever there is a chance that it gets through. */
export function keepSending(): void {
  const tryNow = (): void => {
    failures = 0;
    void flush();
  };
  addEventListener("online", tryNow);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") tryNow();
  });
  setInterval(() => void flush(), LOOK_EVERY_MS);
  channel?.addEventListener("message", () => void tell(false));
  tryNow();
}
