/** Where names stand beside the wood: near their branch, off the ink, none over another. */

import type { DrawnBranch } from "./scene_data.ts";

/** A label to place: the size of its text and the place on its branch, in CSS pixels. */
export interface Wanted {
  width: number;
  height: number;
  x: number;
  y: number;
  /** Where it stood before, as the number of its candidate; -1 for nowhere. */
  before: number;
}

/** Where a label stands: its middle, and the number of the candidate it took. */
export interface Placed {
  x: number;
  y: number;
  spot: number;
}

/** A box on the canvas. */
export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

/** What one label says, and the branch it points to. */
export interface Named {
  branch: number;
  name: string;
  /** Its verdict's word is that of this branch. */
  of: DrawnBranch;
}

const CELL = 8;
const RAYS = 16;
const REACHES = [14, 26, 42, 62, 88, 118];
const GAP = 4;
/** Page for each label, so that a small page is not all words. */
const ROOM_PX2 = 11_000;
/** What it costs to jump to another place, so that names keep still while the tree turns. */
const JUMP = 26;
const URGENT = ["harm", "act", "look", "run", "ink"];

/** How much wood stands in each cell of the canvas. */
export class Ink {
  private readonly cells: Uint8Array;
  private readonly columns: number;
  private readonly rows: number;

  constructor(size: { width: number; height: number }) {
    this.columns = Math.ceil(size.width / CELL);
    this.rows = Math.ceil(size.height / CELL);
    this.cells = new Uint8Array(this.columns * this.rows);
  }

  /** Take note of wood between two places, so thick to either side. */
  stroke(x: number, y: number, x2: number, y2: number, half = 0): void {
    const long = Math.hypot(x2 - x, y2 - y);
    const steps = Math.max(1, Math.ceil(long / CELL));
    const [nx, ny] = long > 0 ? [-(y2 - y) / long, (x2 - x) / long] : [1, 0];
    for (let k = 0; k <= steps; k += 1) {
      const [px, py] = [x + ((x2 - x) * k) / steps, y + ((y2 - y) * k) / steps];
      this.dot(px, py);
      for (let off = CELL; off < half + CELL; off += CELL) {
        const to = Math.min(off, half);
        this.dot(px + nx * to, py + ny * to);
        this.dot(px - nx * to, py - ny * to);
      }
    }
  }

  private dot(x: number, y: number): void {
    const [column, row] = [Math.floor(x / CELL), Math.floor(y / CELL)];
    if (column < 0 || row < 0 || column >= this.columns || row >= this.rows) return;
    this.cells[row * this.columns + column] = 1;
  }

  /** The cells with wood under a box. */
  under(box: Box): number {
    let found = 0;
    const [first, last] = [Math.max(0, Math.floor(box.left / CELL)), Math.min(this.columns - 1, Math.floor(box.right / CELL))];
    const [top, foot] = [Math.max(0, Math.floor(box.top / CELL)), Math.min(this.rows - 1, Math.floor(box.bottom / CELL))];
    for (let row = top; row <= foot; row += 1) {
      for (let column = first; column <= last; column += 1) found += this.cells[row * this.columns + column] ?? 0;
    }
    return found;
  }
}

/**
 * Place labels one after the other, the first first; undefined where one finds no room that is free
 * of the others and of what is taken already.
 */
export function placeLabels(
  wanted: readonly Wanted[],
  ink: Ink,
  size: { width: number; height: number },
  taken: readonly Box[] = [],
): (Placed | undefined)[] {
  const boxes = [...taken];
  const most = Math.floor((size.width * size.height) / ROOM_PX2);
  let stand = 0;
  return wanted.map((label) => {
    const spot = stand < most ? best(label, ink, size, boxes) : undefined;
    if (spot === undefined) return undefined;
    stand += 1;
    boxes.push(boxAt(label, spot.x, spot.y, GAP));
    return spot;
  });
}

function best(label: Wanted, ink: Ink, size: { width: number; height: number }, boxes: readonly Box[]): Placed | undefined {
  let found: Placed | undefined;
  let least = Infinity;
  const out = label.x < size.width / 2 ? -1 : 1;
  for (let spot = 0; spot < RAYS * REACHES.length; spot += 1) {
    const reach = REACHES[Math.floor(spot / RAYS)] ?? 0;
    const [x, y] = middleAt(label, spot % RAYS, reach);
    const box = boxAt(label, x, y, 0);
    if (box.left < 2 || box.top < 2 || box.right > size.width - 2 || box.bottom > size.height - 2) continue;
    if (boxes.some((other) => overlaps(box, other))) continue;
    const inward = Math.max(0, -out * (x - label.x));
    const price = 7 * ink.under(box) + reach + 0.35 * inward + (label.before >= 0 && label.before !== spot ? JUMP : 0);
    if (price < least) [least, found] = [price, { x, y, spot }];
  }
  return found;
}

/** The middle of a label whose nearest edge lies so far along a ray. */
function middleAt(label: Wanted, ray: number, reach: number): [number, number] {
  const turn = (ray / RAYS) * 2 * Math.PI;
  const [dx, dy] = [Math.cos(turn), Math.sin(turn)];
  return [label.x + dx * (reach + label.width / 2), label.y + dy * (reach + label.height / 2)];
}

/** The box of a label, with a margin. */
export function boxAt(label: { width: number; height: number }, x: number, y: number, margin: number): Box {
  return {
    left: x - label.width / 2 - margin,
    right: x + label.width / 2 + margin,
    top: y - label.height / 2 - margin,
    bottom: y + label.height / 2 + margin,
  };
}

function overlaps(a: Box, b: Box): boolean {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

/**
 * The labels of a drawing, the most urgent first: each branch that asks for something; side shoots
 * of one branch with the same act share one.
 */
export function namesOf(branches: readonly DrawnBranch[]): Named[] {
  const groups = new Map<string, number[]>();
  branches.forEach((branch, k) => {
    const quiet = branch.mark === "leave" && branch.role === "ink";
    if (quiet || branch.points.length < 8 || (branch.beyond && branch.role === "ink")) return;
    const key = (branch.order ?? 1) > 1 ? `${branch.parent}/${branch.act}/${branch.role}` : String(k);
    groups.set(key, [...(groups.get(key) ?? []), k]);
  });
  const made = [...groups.values()].map((group) => {
    const branch = group[Math.floor(group.length / 2)] ?? 0;
    const names = group.map((k) => branches[k]?.name ?? "");
    return { branch, name: sharedName(names), of: branches[branch] as DrawnBranch };
  });
  return made.sort((a, b) => rank(a) - rank(b));
}

function rank({ branch, of }: Named): number {
  return (URGENT.indexOf(of.role) * 10 + (of.order ?? 1)) * 1000 + branch;
}

/** One name for a few shoots of one branch: "1L-1…4", or all of them where numbers miss. */
export function sharedName(names: readonly string[]): string {
  const parts = names.map((name) => /^(.*)-(\d+)$/.exec(name));
  const stem = parts[0]?.[1];
  if (names.length < 2 || parts.some((part) => part === null || part[1] !== stem)) return names.join(", ");
  const numbers = parts.map((part) => Number(part?.[2])).sort((a, b) => a - b);
  const [first = 0, last = 0] = [numbers[0], numbers.at(-1)];
  const whole = numbers.length > 2 && last - first === numbers.length - 1;
  return whole ? `${stem}-${first}…${last}` : `${stem}-${numbers.join(", ")}`;
}
