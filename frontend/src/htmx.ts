/** Page parts fetched in place: set up so that it keeps to the strict content policy. */

import "./htmx_config.ts";
import htmx from "htmx.org";
import { csrf } from "./dom.ts";

type Context = { request: { method: string; headers: Record<string, string> } };

function refuseCode(): never {
  throw new Error("Code in attributes is not run on these pages.");
}

htmx.registerExtension("bench", {
  init(api: { initSecurity(policy: null, sync: unknown, later: unknown): void }) {
    api.initSecurity(null, refuseCode, refuseCode);
  },
  htmx_config_request(_element: Element, detail: { ctx: Context }) {
    const { request } = detail.ctx;
    if (request.method.toUpperCase() !== "GET") request.headers["x-csrf"] = csrf();
  },
  htmx_before_response(_element: Element, detail: { ctx: { response: { status: number } } }) {
    if (detail.ctx.response.status !== 401) return true;
    location.reload();
    return false;
  },
});

/** Fetch a page and put it, or the part of it that a selector names, in an element. */
export async function fetchPart(url: string, part: string, into: Element): Promise<void> {
  const select = part === "" ? {} : { select: part };
  await htmx.ajax("GET", url, { target: into as HTMLElement, swap: "innerHTML", ...select });
}

/** Call back with every piece of page that comes in later. */
export function onArrival(callback: (root: Element) => void): void {
  htmx.onLoad((root) => {
    if (root instanceof Element) callback(root);
  });
}
