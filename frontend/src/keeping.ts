/** What this page can do without signal, said honestly, and the worker that makes it possible. */

/** How much a page can do without signal. */
export type Can = "open" | "log" | "nothing";

let can: Can = "indexedDB" in globalThis ? "log" : "nothing";

/** What this page can do without signal, as far as is known yet. */
export function canDo(): Can {
  return can;
}

/** Register the worker where the origin is secure; plain http has none. */
export async function keepPages(): Promise<Can> {
  if (can === "nothing" || !("serviceWorker" in navigator)) return can;
  try {
    await navigator.serviceWorker.register("/sw.js", { scope: "/", updateViaCache: "none" });
    await navigator.serviceWorker.ready;
    can = "open";
    keepListed();
  } catch {
    can = "log";
  }
  return can;
}

const AT_MOST = 40;

const TREE = /^\/trees\/[^/]+$/;

/** Have the worker fetch this page, and the trees that the week's page lists, drawings last. */
function keepListed(): void {
  const links = location.pathname === "/" ? document.querySelectorAll<HTMLAnchorElement>("main a[href]") : [];
  const trees = Array.from(links, (link) => new URL(link.href, location.href))
    .filter((url) => url.origin === location.origin && TREE.test(url.pathname))
    .map((url) => url.pathname);
  const listed = [...new Set(trees)].slice(0, AT_MOST);
  const drawn = TREE.test(location.pathname) ? [location.pathname, ...listed] : listed;
  const keep = ["/offline", location.pathname, ...listed, ...drawn.map((path) => `/api${path}/drawing`)];
  void navigator.serviceWorker.ready.then((ready) => ready.active?.postMessage({ keep }));
}

/** Warn before a page is left that could not be opened again and still holds lines. */
export function warnBeforeLeaving(waits: () => boolean): void {
  addEventListener("beforeunload", (event) => {
    if (can === "open" || !waits()) return;
    event.preventDefault();
  });
}
