/**
 * Marks on a photo: tap where the branch is, or the two ends of a length that is known. The form
 * beside the photo holds the numbers and works by itself; this only fills it in.
 */

import { all, makeSvg } from "./dom.ts";
import { words } from "./words.ts";

/** Two numbers of the form that stand for one place on the photo. */
interface Pair {
  x: HTMLInputElement;
  y: HTMLInputElement;
}

/** A place on the photo, 0..1 across and down. */
export interface Spot {
  x: number;
  y: number;
}

const BOX = 1000;
const STROKE = 16;
const STEP = 0.01;
const BIG_STEP = 0.05;
const NAMES = [["x", "y"], ["x1", "y1"], ["x2", "y2"]] as const;

/** The pairs of number fields of a form, in the order in which they are tapped. */
function pairsOf(form: HTMLFormElement): Pair[] {
  const field = (name: string): HTMLInputElement | null => form.querySelector(`input[name="${name}"]`);
  return NAMES.flatMap(([across, down]) => {
    const [x, y] = [field(across), field(down)];
    return x && y ? [{ x, y }] : [];
  });
}

/** A field's own scale: shares of the photo, or per cent where its largest value says so. */
function whole(field: HTMLInputElement): number {
  return Number(field.max) || 1;
}

function write(field: HTMLInputElement, share: number): void {
  const kept = Math.min(1, Math.max(0, share));
  field.value = String(Number((kept * whole(field)).toFixed(whole(field) > 1 ? 2 : 4)));
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

function read(pair: Pair): Spot | undefined {
  if (pair.x.value.trim() === "" || pair.y.value.trim() === "") return undefined;
  const spot = { x: Number(pair.x.value) / whole(pair.x), y: Number(pair.y.value) / whole(pair.y) };
  return Number.isFinite(spot.x) && Number.isFinite(spot.y) ? spot : undefined;
}

class Marker {
  private readonly strokes = makeSvg("g", { class: "own-mark", fill: "none", stroke: "currentColor" });
  private readonly told = document.createElement("p");
  /** Which pair the next tap sets. */
  private next = 0;
  private cursor: Spot = { x: 0.5, y: 0.5 };

  constructor(
    figure: HTMLElement,
    private readonly svg: SVGSVGElement,
    private readonly pairs: Pair[],
  ) {
    this.told.setAttribute("role", "status");
    this.told.className = "small soft";
    this.told.textContent = words("marker_help");
    figure.querySelector("form")?.before(this.told);
    svg.append(this.strokes);
    svg.setAttribute("tabindex", "0");
    svg.setAttribute("role", "application");
    svg.setAttribute("aria-label", words("marker_help"));
    svg.addEventListener("click", (event) => this.tap(event));
    svg.addEventListener("keydown", (event) => this.key(event));
    svg.addEventListener("focus", () => this.draw());
    svg.addEventListener("blur", () => this.draw());
    for (const { x, y } of pairs) for (const field of [x, y]) field.addEventListener("input", () => this.draw());
    const first = pairs.map(read).find((spot) => spot !== undefined);
    if (first) this.cursor = first;
    this.draw();
  }

  private tap(event: MouseEvent): void {
    const box = this.svg.getBoundingClientRect();
    this.set({ x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height });
  }

  private key(event: KeyboardEvent): void {
    const step = event.shiftKey ? BIG_STEP : STEP;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (way) {
      const move = (at: number, by: number): number => Math.min(1, Math.max(0, at + by * step));
      this.cursor = { x: move(this.cursor.x, way[0] ?? 0), y: move(this.cursor.y, way[1] ?? 0) };
      this.draw();
    } else if (event.key === "Enter" || event.key === " ") {
      this.set(this.cursor);
    } else if (event.key === "Escape") {
      for (const { x, y } of this.pairs) [x.value, y.value] = ["", ""];
      this.next = 0;
      this.draw();
    } else {
      return;
    }
    event.preventDefault();
  }

  private set(spot: Spot): void {
    const pair = this.pairs[this.next];
    if (pair === undefined) return;
    if (this.next === 0) for (const later of this.pairs.slice(1)) [later.x.value, later.y.value] = ["", ""];
    this.cursor = spot;
    write(pair.x, spot.x);
    write(pair.y, spot.y);
    this.next = (this.next + 1) % this.pairs.length;
    const percent = (share: number): number => Math.round(share * 100);
    this.told.textContent = words("point_set", { x: percent(spot.x), y: percent(spot.y) });
    this.draw();
  }

  /** One place is a short stroke; two are joined by a line. */
  private draw(): void {
    const spots = this.pairs.map(read).filter((spot) => spot !== undefined);
    const lines = spots.map((spot) => stroke(spot));
    const [a, b] = spots;
    if (a && b) lines.push(line(a, b));
    if (document.activeElement === this.svg) {
      const ring = makeSvg("circle", { cx: this.cursor.x * BOX, cy: this.cursor.y * BOX, r: STROKE, class: "cursor" });
      lines.push(ring);
    }
    for (const each of lines) each.setAttribute("vector-effect", "non-scaling-stroke");
    this.strokes.replaceChildren(...lines);
  }
}

function stroke({ x, y }: Spot): SVGElement {
  return line({ x: x - STROKE / BOX, y: y + STROKE / BOX }, { x: x + STROKE / BOX, y: y - STROKE / BOX });
}

function line(a: Spot, b: Spot): SVGElement {
  return makeSvg("line", { x1: a.x * BOX, y1: a.y * BOX, x2: b.x * BOX, y2: b.y * BOX });
}

/** Set up every photo to be marked of a part of the page. */
export function setUp(root: ParentNode): void {
  for (const figure of all<HTMLElement>(root, "[data-marker]")) {
    const svg = figure.querySelector("svg");
    const form = figure.querySelector<HTMLFormElement>("form[data-marker-form]");
    if (figure.dataset["ready"] === "yes" || svg === null || form === null) continue;
    figure.dataset["ready"] = "yes";
    const pairs = pairsOf(form);
    if (pairs.length > 0) new Marker(figure, svg, pairs);
  }
}

setUp(document);
