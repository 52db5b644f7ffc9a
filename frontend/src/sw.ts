/**
 * The worker that lets pages open without signal, where the origin is secure.
 *
 * Built files are kept whole, one edition at a time. Pages come from the network first; when that
 * is slow or gone, the kept one is shown. What is written, how devices pair, and every answer that
 * is not a plain success are never kept. When the server does not let this device in any more,
 * every kept page goes.
 */

declare const KEPT_FILES: readonly string[];
declare const EDITION: string;

const worker = self as unknown as ServiceWorkerGlobalScope;

const FILES = `files-${EDITION}`;
const PAGES = "pages";
const PICTURES = "pictures";
const OFFLINE = "/offline";
const PATIENCE_MS = 2_500;
const MOST_PAGES = 240;
const MOST_PICTURES = 240;
const FRESH_MS = 30 * 60_000;

/** Pages worth opening without signal. All others need the server. */
const KEPT_PAGES = [
  /^\/$/,
  /^\/(trees|wire|weather|say|stock|promises|may-i|sure|more|offline)$/,
  /^\/wire\/strip$/,
  /^\/trees\/[^/]+(\/(bench|records|photos|paper|acts|log|log\/acts))?$/,
  /^\/trees\/[^/]+\/branches\/[^/]+$/,
  /^\/api\/trees\/[^/]+\/drawing$/,
];
const NOT_TREES = /^\/trees\/new(\/|$)/;
const KEPT_PICTURES = /^\/(charts\/.+|photos\/[0-9a-f]{64}(\/\d+)?)$/;
const BUILT = /^\/static\/dist\//;
/** Parts of an address that make another page of it; others are views of the same one. */
const TELLING = ["part", "branch", "place", "act", "light"];

worker.addEventListener("install", (event) => {
  event.waitUntil(install());
});

async function install(): Promise<void> {
  const files = await caches.open(FILES);
  await files.addAll(KEPT_FILES.map((url) => new Request(url, { cache: "reload" })));
  await refreshOffline();
  await worker.skipWaiting();
}

async function refreshOffline(): Promise<void> {
  try {
    const response = await fetch(OFFLINE, { credentials: "same-origin" });
    if (isGood(response)) await (await caches.open(PAGES)).put(OFFLINE, response);
  } catch {
    // Without it a page that is not kept says so in the plainest words.
  }
}

worker.addEventListener("activate", (event) => {
  event.waitUntil(activate());
});

async function activate(): Promise<void> {
  for (const name of await caches.keys()) {
    if (name.startsWith("files-") && name !== FILES) await caches.delete(name);
  }
  await worker.clients.claim();
}

worker.addEventListener("message", (event) => {
  const asked = event.data as { keep?: unknown; forget?: unknown };
  if (asked.forget === true) event.waitUntil(forget());
  if (Array.isArray(asked.keep)) event.waitUntil(keep(asked.keep.map(String)));
});

/** Fetch pages that the grower may want next, one after the other, unless kept lately. */
async function keep(paths: string[]): Promise<void> {
  for (const path of paths) {
    const url = new URL(path, worker.location.origin);
    if (url.origin !== worker.location.origin || !isKeptPage(url)) continue;
    const kept = await (await caches.open(PAGES)).match(keyOf(url));
    if (kept && Date.now() - Date.parse(kept.headers.get("date") ?? "") < FRESH_MS) continue;
    try {
      await keepAnswer(url, await fetch(url, { credentials: "same-origin" }));
    } catch {
      return;
    }
  }
}

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== worker.location.origin) return;
  if (request.cache === "no-store" || request.headers.get("accept")?.includes("event-stream")) return;
  if (BUILT.test(url.pathname)) event.respondWith(built(request, url));
  else if (KEPT_PICTURES.test(url.pathname)) event.respondWith(picture(event, url));
  else if (isKeptPage(url)) event.respondWith(page(event, url));
  else if (request.mode === "navigate") event.respondWith(online(event));
});

function isKeptPage(url: URL): boolean {
  return !NOT_TREES.test(url.pathname) && KEPT_PAGES.some((kept) => kept.test(url.pathname));
}

function isGood(response: Response): boolean {
  return response.status === 200 && response.type === "basic" && !response.redirected;
}

/** The address under which a page is kept: without what only changes how it is looked at. */
function keyOf(url: URL): string {
  const told = new URLSearchParams();
  for (const name of TELLING) {
    const value = url.searchParams.get(name);
    if (value !== null) told.set(name, value);
  }
  const query = told.toString();
  return query === "" ? url.pathname : `${url.pathname}?${query}`;
}

function isPlain(url: URL): boolean {
  return [...url.searchParams.keys()].every((name) => TELLING.includes(name));
}

async function built(request: Request, url: URL): Promise<Response> {
  const files = await caches.open(FILES);
  const kept = await files.match(url.pathname);
  if (kept) return kept;
  const response = await fetch(request);
  if (isGood(response)) await files.put(url.pathname, response.clone());
  return response;
}

async function picture(event: FetchEvent, url: URL): Promise<Response> {
  const pictures = await caches.open(PICTURES);
  const lasting = url.pathname.startsWith("/photos/");
  const kept = await pictures.match(keyOf(url));
  if (kept && lasting) return kept;
  try {
    const response = await fetch(event.request);
    if (isGood(response)) event.waitUntil(put(PICTURES, keyOf(url), response.clone(), MOST_PICTURES));
    return response;
  } catch (fault) {
    if (kept) return kept;
    throw fault;
  }
}

/** From the network when it answers in time, else the kept one; the late answer is kept too. */
async function page(event: FetchEvent, url: URL): Promise<Response> {
  const fromNetwork = fetch(event.request).then(async (response) => {
    await heard(response);
    if (isPlain(url)) await keepAnswer(url, response.clone());
    return response;
  });
  event.waitUntil(fromNetwork.catch(() => undefined));
  const kept = await (await caches.open(PAGES)).match(keyOf(url));
  try {
    return await (kept ? Promise.race([fromNetwork, tooLate()]) : fromNetwork);
  } catch {
    return kept ?? (await instead(event.request));
  }
}

async function online(event: FetchEvent): Promise<Response> {
  try {
    const response = await fetch(event.request);
    await heard(response);
    return response;
  } catch {
    return instead(event.request);
  }
}

function tooLate(): Promise<never> {
  return new Promise((_resolve, reject) => {
    setTimeout(() => reject(new Error("too late")), PATIENCE_MS);
  });
}

async function heard(response: Response): Promise<void> {
  if (response.status === 401) await forget();
}

async function forget(): Promise<void> {
  await Promise.all([caches.delete(PAGES), caches.delete(PICTURES)]);
}

async function keepAnswer(url: URL, response: Response): Promise<void> {
  await heard(response);
  if (isGood(response)) await put(PAGES, keyOf(url), response, MOST_PAGES);
}

/** Keep an answer as the newest; the oldest make room. One cut short does not cost the kept one. */
async function put(name: string, key: string, response: Response, most: number): Promise<void> {
  const whole = new Response(await response.blob(), response);
  const cache = await caches.open(name);
  await cache.delete(key);
  await cache.put(key, whole);
  const keys = await cache.keys();
  const old = keys.filter((each) => new URL(each.url).pathname !== OFFLINE);
  for (const each of old.slice(0, Math.max(0, keys.length - most))) await cache.delete(each);
}

const PLAINEST = `<!doctype html><html lang="en"><meta charset="utf-8"><title>No signal</title>
<meta name="viewport" content="width=device-width"><link rel="stylesheet" href="/static/dist/app.css">
<main><h1>No signal</h1><p>This page is not kept on this device. <a href="/">This week</a></p></main>`;

/** What is shown for a page that is not kept. */
async function instead(request: Request): Promise<Response> {
  if (request.mode !== "navigate") return Response.error();
  const kept = await (await caches.open(PAGES)).match(OFFLINE);
  return kept ?? new Response(PLAINEST, { status: 503, headers: { "content-type": "text/html; charset=utf-8" } });
}
