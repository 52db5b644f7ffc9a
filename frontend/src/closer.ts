/**
 * Charts to look at closely: the same definition the picture was drawn from, read by an
 * interpreter, so that nothing is compiled to code and the content policy holds.
 */

import { expressionInterpreter } from "vega-interpreter";
import { compile, type TopLevelSpec } from "vega-lite";
import { loader, parse, View } from "vega";

/** A chart brings its own data; it may fetch nothing. */
function bareLoader(): ReturnType<typeof loader> {
  const bare = loader();
  const refuse = (): Promise<never> => Promise.reject(new Error("A chart fetches nothing."));
  bare.load = refuse;
  bare.http = refuse;
  return bare;
}

/** Put the chart that moves in the stead of its picture. */
export async function open(figure: HTMLElement): Promise<void> {
  // The data of the very picture that is shown: its light and its width.
  const shown = figure.querySelector("img")?.currentSrc ?? "";
  const url = shown.includes(".svg?") ? shown.replace(".svg?", ".json?") : (figure.dataset["chart"] ?? "");
  const response = await fetch(url, { headers: { accept: "application/json" } });
  if (!response.ok) throw new Error(`The chart's data did not come: ${response.status}`);
  const spec = (await response.json()) as TopLevelSpec;
  const picture = figure.querySelector("picture, img, svg");
  const label = figure.querySelector("img")?.alt ?? figure.getAttribute("aria-label") ?? "";
  const place = document.createElement("div");
  place.className = "chart-close";
  const view = new View(parse(compile(spec).spec, undefined, { ast: true }), {
    expr: expressionInterpreter,
    loader: bareLoader(),
    renderer: "canvas",
    hover: true,
  });
  picture?.before(place);
  await view.initialize(place).runAsync();
  place.setAttribute("role", "img");
  place.setAttribute("aria-label", label);
  if (picture instanceof HTMLElement || picture instanceof SVGElement) picture.setAttribute("hidden", "");
}
