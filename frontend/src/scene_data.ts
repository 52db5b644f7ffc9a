/** A tree's drawing as the server gives it, spread into flat arrays for the graphics card. */

/** One branch of the drawing. Points are x, y, z, radius in mm: right, up, toward the viewer. */
export interface DrawnBranch {
  id: string;
  name: string;
  /** What part of the tree it is: trunk, primary and so on. */
  kind: string;
  /** 0 trunk, 1 primary and so on; the number of the branch it grows from. */
  order?: number;
  parent?: number | null;
  /** The verdict's word. */
  act: string;
  /** Colour: run, act, harm, look or ink. */
  role: string;
  /** The mark drawn for the verdict; "leave" is the plain line. */
  mark: string;
  /** How far along its line it is to be cut, where it is. */
  cut_mm: number | null;
  /** It has a job: not to be touched. */
  keep: boolean;
  /** It stands beyond the cut of the branch it grows from. */
  beyond: boolean;
  points: number[];
}

/** A tree's drawing. */
export interface Drawing {
  branches: DrawnBranch[];
  /** Both ends of every fine twig: x, y, z, x, y, z. */
  twigs: number[];
  /** Width and height of the pot. */
  pot_mm: number[];
}

/** Colours of the wood, in the order of their number in the arrays; the last is cut away. */
export const TONES = ["ink", "run", "act", "harm", "look", "line"] as const;

/** A name of a colour. */
export type Tone = (typeof TONES)[number];

const CUT_AWAY = TONES.indexOf("line");

/** Tapered pieces of wood, one after the other. */
export interface Wood {
  count: number;
  /** Both ends of each piece: x, y, z, x, y, z. */
  ends: Float32Array;
  /** Radius at both ends of each piece. */
  radii: Float32Array;
  /** The number of the branch that each piece belongs to. */
  branch: Uint16Array;
  /** The number of each piece's colour. */
  tone: Uint8Array;
  /** How far the wood reaches from the turntable's axis, and how high and low. */
  reach: number;
  top: number;
  foot: number;
}

const NUMBERS = 4;
/** How far below the soil the near edge of the pot is seen, as a share of its radius. */
const RIM_SEEN = 0.2;

/** Spread a drawing into pieces of wood. */
export function woodOf(drawing: Drawing): Wood {
  const pieces = drawing.branches.map(({ points }) => Math.max(0, points.length / NUMBERS - 1));
  const count = pieces.reduce((sum, n) => sum + n, 0);
  const wood: Wood = {
    count,
    ends: new Float32Array(count * 6),
    radii: new Float32Array(count * 2),
    branch: new Uint16Array(count),
    tone: new Uint8Array(count),
    reach: 1,
    top: 1,
    foot: 0,
  };
  let piece = 0;
  drawing.branches.forEach((branch, number) => {
    const { points } = branch;
    const own = toneOf(branch);
    let along = 0;
    for (let k = 0; k + 2 * NUMBERS <= points.length; k += NUMBERS) {
      setPiece(wood, piece, number, points, k);
      const half = pieceLength(wood, piece) / 2;
      along += half;
      const away = branch.beyond || (branch.cut_mm !== null && along > branch.cut_mm);
      wood.tone[piece] = away ? CUT_AWAY : own;
      along += half;
      piece += 1;
    }
  });
  reachOver(wood, drawing);
  return wood;
}

/** The trunk stays ink whatever is to be done on it, so that it does not shout branches down. */
function toneOf({ kind, role }: DrawnBranch): number {
  return kind === "trunk" ? 0 : Math.max(0, (TONES as readonly string[]).indexOf(role));
}

/** Twigs and pot are to be seen whole as well. */
function reachOver(wood: Wood, { twigs, pot_mm }: Drawing): void {
  for (let k = 0; k + 2 < twigs.length; k += 3) {
    const [x = 0, y = 0, z = 0] = twigs.slice(k, k + 3);
    wood.reach = Math.max(wood.reach, Math.hypot(x, z));
    wood.top = Math.max(wood.top, y);
  }
  const pot = (pot_mm[0] ?? 0) / 2;
  wood.reach = Math.max(wood.reach, pot);
  wood.foot = -RIM_SEEN * pot;
}

/** The length of a piece. */
export function pieceLength(wood: Wood, piece: number): number {
  const [x = 0, y = 0, z = 0, x2 = 0, y2 = 0, z2 = 0] = wood.ends.subarray(piece * 6, piece * 6 + 6);
  return Math.hypot(x2 - x, y2 - y, z2 - z);
}

/** The share of a branch's line, counted in points, that lies before a length along it. */
export function shareAt(points: readonly number[], alongMm: number): number {
  let along = 0;
  const pieces = points.length / NUMBERS - 1;
  for (let k = 0; k < pieces; k += 1) {
    const d = [0, 1, 2].map((n) => (points[k * NUMBERS + NUMBERS + n] ?? 0) - (points[k * NUMBERS + n] ?? 0));
    const long = Math.hypot(...d);
    if (along + long >= alongMm) return (k + (long > 0 ? (alongMm - along) / long : 0)) / pieces;
    along += long;
  }
  return 1;
}

function setPiece(wood: Wood, piece: number, branch: number, points: number[], k: number): void {
  for (let end = 0; end < 2; end += 1) {
    const from = k + end * NUMBERS;
    const [x = 0, y = 0, z = 0, r = 0] = points.slice(from, from + NUMBERS);
    wood.ends.set([x, y, z], piece * 6 + end * 3);
    wood.radii[piece * 2 + end] = r;
    wood.reach = Math.max(wood.reach, Math.hypot(x, z) + r);
    wood.top = Math.max(wood.top, y + r);
  }
  wood.branch[piece] = branch;
}
