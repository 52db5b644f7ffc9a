/** What is written over the wood: each verdict's mark on its branch, its name and its word. */

import { type Camera, Vector3 } from "three";
import { makeSvg } from "./dom.ts";
import { shareAt, type DrawnBranch, type Wood } from "./scene_data.ts";
import { boxAt, Ink, namesOf, placeLabels, type Box, type Placed } from "./scene_labels.ts";
import { seen } from "./scene_pick.ts";

type Size = { width: number; height: number };

/** Marks as strokes along a branch that runs to the right; each part of the line itself. */
const MARKS: Record<string, string> = {
  run: "M4 0L12 0M17 0L25 0M30 0L38 0",
  cut: "M0 -9L0 9",
  "wire on": "M-16 5C-20 -3 -14 -9 -10 -7M-6 5C-10 -3 -4 -9 0 -7M4 5C0 -3 6 -9 10 -7",
  "wire off": "M-16 5C-20 -3 -14 -9 -10 -7M4 5C0 -3 6 -9 10 -7",
  raise: "M0 0Q9 -1 10 -12M6 -9L10 -13L14 -8",
  graft: "M-16 6L12 5M-10 -5l2 9M-2 -5l2 9M6 -5l2 9",
  look: "M0 -7A7 7 0 1 0 0.1 -7",
  guy: "M0 0L-4 26",
  thin: "M-8 -7L-3 1M0 -7L5 1M8 -7L13 1",
  two: "M0 0L11 -7M0 0L11 7",
  rim: "M-6 0A6 4 0 1 0 6 0A6 4 0 1 0 -6 0",
};
/** Beside a branch that has a job: do not touch. */
const KEEP = "M-11 -8L11 -8";
/** Marks that stand at the running end of a branch; all others stand on it. */
const AT_TIP = ["run", "raise", "two"];
const ON_BRANCH = 0.6;
const BESIDE = 0.4;
/** Marks that keep upright whichever way the branch runs. */
const UPRIGHT = ["raise", "guy"];

interface Mark {
  element: SVGPathElement;
  branch: number;
  kind: string;
  from: Vector3;
  to: Vector3;
  start: Vector3;
  tip: Vector3;
}

/** A mark is drawn whole on a branch that is seen this long, and smaller on shorter ones. */
const WHOLE_PX = 90;
const LEAST = 0.45;

/** A label stands two thirds out on its branch. */
const NAMED_AT = 0.66;
/** Under this width name and word stand on two lines. */
const ONE_LINE_FROM = 560;
const LINE_PX = 17;
/** A name further than this from its branch has a line to it. */
const LEAD_FROM = 20;
const CHOSEN_LETTER_PX = 9.2;

/** A name over the wood: what it says, how wide that is, and where it stood last. */
interface Name {
  element: SVGTextElement;
  leader: SVGPathElement;
  branch: number;
  lines: [string, string];
  widths: [number, number];
  at: Vector3;
  before: number;
}

/** Strokes and words laid over the canvas. */
export class Overlay {
  readonly svg = makeSvg("svg", { class: "scene-marks", "aria-hidden": "true", focusable: "false" });
  private readonly marks: Mark[] = [];
  private readonly label = makeSvg("text", { class: "scene-label", "text-anchor": "middle" });
  private readonly leader = makeSvg("path", { class: "scene-leader", fill: "none" });
  private readonly names: Name[];
  private readonly a = new Vector3();
  private readonly b = new Vector3();

  constructor(
    private readonly branches: readonly DrawnBranch[],
    private readonly wood: Wood,
  ) {
    branches.forEach((branch, k) => this.addMark(branch, k));
    this.names = this.addNames();
    this.svg.append(this.leader, this.label);
  }

  private addNames(): Name[] {
    const pen = document.createElement("canvas").getContext("2d");
    const face = getComputedStyle(document.documentElement).getPropertyValue("--sans").trim() || "sans-serif";
    if (pen) pen.font = `650 15px ${face}`;
    const width = (text: string): number => pen?.measureText(text).width ?? text.length * 8.4;
    return namesOf(this.branches).map(({ branch, name, of }) => {
      const lines: [string, string] = [name, wordOf(of)];
      const element = makeSvg("text", { class: `scene-name role-${of.role}`, "text-anchor": "middle", fill: "currentColor" });
      const leader = makeSvg("path", { class: `scene-lead role-${of.role}`, fill: "none", stroke: "currentColor" });
      this.svg.append(leader, element);
      const [, at] = stretch(of.points, NAMED_AT);
      return { element, leader, branch, lines, widths: [width(lines[0]), width(lines[1])], at, before: -1 };
    });
  }

  private addMark(branch: DrawnBranch, k: number): void {
    if (branch.points.length < 8 || branch.beyond) return;
    const stroke = MARKS[branch.mark];
    const tip = AT_TIP.includes(branch.mark);
    const cut = branch.cut_mm === null ? undefined : shareAt(branch.points, branch.cut_mm);
    if (stroke !== undefined) this.addStroke(branch, k, branch.mark, stroke, tip ? 1 : (cut ?? ON_BRANCH));
    if (branch.keep) this.addStroke({ ...branch, role: "ink" }, k, "keep", KEEP, BESIDE);
  }

  private addStroke(branch: DrawnBranch, k: number, kind: string, stroke: string, share: number): void {
    const element = makeSvg("path", { d: stroke, class: `scene-mark role-${branch.role}`, fill: "none", stroke: "currentColor" });
    const [from, to] = stretch(branch.points, share);
    const [start, tip] = [spot(branch.points, 0), spot(branch.points, branch.points.length / 4 - 1)];
    this.marks.push({ element, branch: k, kind, from, to, start, tip });
    this.svg.append(element);
  }

  /** Put every mark where its branch is seen now. */
  place(camera: Camera, size: Size, chosen: number): void {
    this.svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
    for (const mark of this.marks) {
      seen(this.a.copy(mark.from).project(camera), size);
      seen(this.b.copy(mark.to).project(camera), size);
      const turn = UPRIGHT.includes(mark.kind) ? 0 : angle(this.a, this.b);
      const [x, y] = [this.b.x.toFixed(1), this.b.y.toFixed(1)];
      const long = seen(this.a.copy(mark.start).project(camera), size).distanceTo(seen(this.b.copy(mark.tip).project(camera), size));
      const scale = mark.branch === chosen ? 1.2 : Math.min(1, Math.max(LEAST, long / WHOLE_PX));
      mark.element.setAttribute("transform", `translate(${x} ${y}) rotate(${turn.toFixed(1)}) scale(${scale.toFixed(2)})`);
      mark.element.classList.toggle("behind", chosen >= 0 && mark.branch !== chosen);
    }
    const taken = this.name(camera, size, chosen);
    this.nameOthers(camera, size, chosen, taken);
  }

  private nameOthers(camera: Camera, size: Size, chosen: number, taken: readonly Box[]): void {
    const oneLine = size.width >= ONE_LINE_FROM;
    const space = 8;
    const wanted = this.names.map(({ widths: [a, b], at, before }) => {
      seen(this.a.copy(at).project(camera), size);
      const width = oneLine ? a + space + b : Math.max(a, b);
      return { width, height: (oneLine ? 1 : 2) * LINE_PX + 2, x: this.a.x, y: this.a.y, before };
    });
    const shown = wanted.filter((_, k) => this.names[k]?.branch !== chosen);
    const spots = placeLabels(shown, this.ink(camera, size), size, taken);
    for (const [k, name] of this.names.entries()) {
      const spot = spots[shown.indexOf(wanted[k] as (typeof wanted)[number])];
      name.before = spot?.spot ?? -1;
      write(name, wanted[k] as (typeof wanted)[number], spot, oneLine);
      name.element.classList.toggle("behind", chosen >= 0);
    }
  }

  /** Where wood and marks are seen now. */
  private ink(camera: Camera, size: Size): Ink {
    const ink = new Ink(size);
    const foot = seen(this.a.set(0, 0, 0).project(camera), size).y;
    const perMm = Math.abs(foot - seen(this.b.set(0, this.wood.top, 0).project(camera), size).y) / this.wood.top;
    for (let k = 0; k < this.wood.count; k += 1) {
      seen(this.a.fromArray(this.wood.ends, k * 6).project(camera), size);
      seen(this.b.fromArray(this.wood.ends, k * 6 + 3).project(camera), size);
      ink.stroke(this.a.x, this.a.y, this.b.x, this.b.y, (this.wood.radii[k * 2] ?? 0) * perMm);
    }
    return ink;
  }

  private name(camera: Camera, size: Size, chosen: number): Box[] {
    const branch = this.branches[chosen];
    this.label.textContent = branch ? `${branch.name}  ${wordOf(branch)}` : "";
    this.leader.setAttribute("d", "");
    if (branch === undefined || branch.points.length < 8) return [];
    const [, tip] = stretch(branch.points, 0.85);
    seen(tip.project(camera), size);
    const half = (this.label.textContent.length * CHOSEN_LETTER_PX) / 2 + 8;
    const x = Math.min(size.width - half, Math.max(half, tip.x + (tip.x < size.width / 2 ? -30 : 30)));
    const y = tip.y > 64 ? tip.y - 34 : tip.y + 46;
    this.label.setAttribute("x", x.toFixed(1));
    this.label.setAttribute("y", y.toFixed(1));
    const foot = y < tip.y ? y + 6 : y - 18;
    this.leader.setAttribute("d", `M${x.toFixed(1)} ${foot.toFixed(1)}L${tip.x.toFixed(1)} ${tip.y.toFixed(1)}`);
    return [boxAt({ width: 2 * half, height: 22 }, x, y - 6, 2)];
  }
}

/** Write a name where it stands now; one without room is left out. */
function write(name: Name, wanted: { width: number; height: number; x: number; y: number }, spot: Placed | undefined, oneLine: boolean): void {
  name.element.toggleAttribute("hidden", spot === undefined);
  name.leader.setAttribute("d", "");
  if (spot === undefined) return name.element.replaceChildren();
  const lines = oneLine ? [name.lines.join("  ")] : name.lines;
  const first = spot.y - wanted.height / 2 + LINE_PX - 3;
  const texts = lines.map((text, k) => {
    const line = makeSvg("tspan", { x: spot.x.toFixed(1), y: (first + k * LINE_PX).toFixed(1) });
    line.textContent = text;
    return line;
  });
  name.element.replaceChildren(...texts);
  const box = boxAt(wanted, spot.x, spot.y, 0);
  const [x, y] = [Math.min(box.right, Math.max(box.left, wanted.x)), Math.min(box.bottom, Math.max(box.top, wanted.y))];
  if (Math.hypot(wanted.x - x, wanted.y - y) < LEAD_FROM) return;
  name.leader.setAttribute("d", `M${x.toFixed(1)} ${y.toFixed(1)}L${wanted.x.toFixed(1)} ${wanted.y.toFixed(1)}`);
}

/** The verdict's word as the page's own list says it, in the grower's language. */
function wordOf(branch: DrawnBranch): string {
  const row = document.querySelector(`[data-branches] [data-branch="${CSS.escape(branch.id)}"] .word`);
  return row?.textContent ?? branch.act;
}

/** The place at a share along a branch, and one shortly before it. */
function stretch(points: readonly number[], share: number): [Vector3, Vector3] {
  const pieces = points.length / 4 - 1;
  const at = Math.min(pieces, Math.max(0, share * pieces));
  const before = Math.max(0, at - Math.max(1, pieces * 0.12));
  return at - before < 1e-6 ? [spot(points, 0), spot(points, 1)] : [spot(points, before), spot(points, at)];
}

function spot(points: readonly number[], at: number): Vector3 {
  const k = Math.min(Math.floor(at), points.length / 4 - 2);
  const t = at - k;
  const mix = (n: number): number => (points[k * 4 + n] ?? 0) * (1 - t) + (points[k * 4 + 4 + n] ?? 0) * t;
  return new Vector3(mix(0), mix(1), mix(2));
}

function angle(a: Vector3, b: Vector3): number {
  return (Math.atan2(b.y - a.y, b.x - a.x) * 180) / Math.PI;
}
