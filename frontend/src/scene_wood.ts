/** Wood for the graphics card: instanced tapered pieces and round joints, drawn like ink. */

import {
  Color,
  CylinderGeometry,
  Group,
  IcosahedronGeometry,
  InstancedBufferAttribute,
  InstancedMesh,
  ShaderMaterial,
  type BufferGeometry,
} from "three";
import { pieceLength, TONES, type Tone, type Wood } from "./scene_data.ts";

/** Colours of the page, read anew when day turns to night. */
export type Palette = Record<Tone | "paper", Color>;

/** Wood thicker than this share of the thickest is drawn rounder. */
const THICK = 0.3;
const SIDES = { thick: 16, thin: 6 };
const ROUNDNESS = { thick: 2, thin: 0 };

const VERTEX = /* glsl */ `
attribute float taper;
attribute float shade;
attribute float branch;
uniform float chosen;
uniform float lit;
varying vec3 face;
varying float depth;
varying float tone;
varying float strong;
varying float above;
void main() {
  vec3 place = position;
  place.xz *= mix(1.0, taper, clamp(place.y, 0.0, 1.0));
  vec4 stood = instanceMatrix * vec4(place, 1.0);
  above = stood.y;
  vec4 seen = modelViewMatrix * stood;
  vec3 axis = instanceMatrix[1].xyz;
  float slope = length(instanceMatrix[0].xyz) * (1.0 - taper) / dot(axis, axis);
  face = normalize(normalMatrix * (normalize(mat3(instanceMatrix) * normal) + slope * axis));
  depth = -seen.z;
  tone = shade;
  strong = abs(branch - chosen) < 0.5 ? 2.0 : abs(branch - lit) < 0.5 ? 1.0 : 0.0;
  gl_Position = projectionMatrix * seen;
}`;

const FRAGMENT = /* glsl */ `
uniform vec3 tones[${TONES.length}];
uniform vec3 paper;
uniform float night;
uniform float chosen;
uniform vec2 span;
varying vec3 face;
varying float depth;
varying float tone;
varying float strong;
varying float above;
void main() {
  if (above < 0.0) discard;
  vec3 colour = tones[0];
  for (int k = 1; k < ${TONES.length}; k += 1) if (abs(tone - float(k)) < 0.5) colour = tones[k];
  float light = dot(normalize(face), normalize(vec3(-0.5, 0.65, 0.6)));
  float wash = light > 0.66 ? 0.36 : light > 0.25 ? 0.18 : 0.0;
  wash = mix(wash, 0.4 - wash, night) * smoothstep(0.15, 0.5, face.z);
  float away = 0.42 * clamp((depth - span.x) / (span.y - span.x), 0.0, 1.0);
  float dim = chosen >= 0.0 && strong < 0.5 ? 0.3 : 0.0;
  float pale = strong > 1.5 ? wash * 0.25 : 1.0 - (1.0 - wash) * (1.0 - away) * (1.0 - dim);
  gl_FragColor = vec4(mix(colour, paper, pale), 1.0);
}`;

/** The wood of one tree, ready to be drawn. */
export class WoodMeshes {
  readonly group = new Group();
  readonly material: ShaderMaterial;
  /** For each mesh, the branch of each of its instances. */
  readonly branches = new Map<InstancedMesh, Uint16Array>();

  constructor(wood: Wood, palette: Palette) {
    this.material = new ShaderMaterial({
      vertexShader: VERTEX,
      fragmentShader: FRAGMENT,
      uniforms: {
        tones: { value: [] },
        paper: { value: palette.paper },
        night: { value: 0 },
        chosen: { value: -1 },
        lit: { value: -1 },
        span: { value: [0, 1] },
      },
    });
    this.paint(palette);
    const thick = wood.radii.reduce((most, r) => Math.max(most, r), 0) * THICK;
    const pieces = Array.from({ length: wood.count }, (_, k) => k);
    const isThick = (k: number): boolean => (wood.radii[2 * k] ?? 0) > thick;
    this.add(wood, pieces.filter(isThick), "thick");
    this.add(wood, pieces.filter((k) => !isThick(k)), "thin");
  }

  private add(wood: Wood, pieces: number[], size: "thick" | "thin"): void {
    if (pieces.length === 0) return;
    const round = new CylinderGeometry(1, 1, 1, SIDES[size], 1, true).translate(0, 0.5, 0);
    const joint = new IcosahedronGeometry(1, ROUNDNESS[size]);
    this.addMesh(round, wood, pieces, alongPiece);
    this.addMesh(joint, wood, pieces, atJoint);
  }

  private addMesh(
    shape: BufferGeometry,
    wood: Wood,
    pieces: number[],
    place: (wood: Wood, piece: number, into: Float32Array, at: number) => number,
  ): void {
    const mesh = new InstancedMesh(shape, this.material, pieces.length);
    const matrices = mesh.instanceMatrix.array as Float32Array;
    const taper = new Float32Array(pieces.length);
    const shade = new Float32Array(pieces.length);
    const own = new Float32Array(pieces.length);
    pieces.forEach((piece, k) => {
      const branch = wood.branch[piece] ?? 0;
      taper[k] = place(wood, piece, matrices, k * 16);
      shade[k] = wood.tone[piece] ?? 0;
      own[k] = branch;
    });
    shape.setAttribute("taper", new InstancedBufferAttribute(taper, 1));
    shape.setAttribute("shade", new InstancedBufferAttribute(shade, 1));
    shape.setAttribute("branch", new InstancedBufferAttribute(own, 1));
    mesh.frustumCulled = false;
    this.group.add(mesh);
    this.branches.set(mesh, Uint16Array.from(own));
  }

  /** Take the page's colours. */
  paint(palette: Palette): void {
    const { paper } = palette;
    this.set("tones", TONES.map((tone) => palette[tone]));
    this.set("paper", paper);
    this.set("night", paper.r + paper.g + paper.b < 1 ? 1 : 0);
  }

  /** Draw one branch strong and another lit; -1 for none. */
  point(chosen: number, lit: number): void {
    this.set("chosen", chosen);
    this.set("lit", lit);
  }

  /** Tell between which distances the wood fades. */
  fade(near: number, far: number): void {
    this.set("span", [near, far]);
  }

  private set(name: string, value: unknown): void {
    const uniform = this.material.uniforms[name];
    if (uniform) uniform.value = value;
  }
}

/** Write the matrix that stretches a unit cylinder along a piece; return its taper. */
function alongPiece(wood: Wood, piece: number, into: Float32Array, at: number): number {
  const from = piece * 6;
  const read = (k: number): number => wood.ends[from + k] ?? 0;
  const [x, y, z] = [read(3) - read(0), read(4) - read(1), read(5) - read(2)];
  const length = Math.hypot(x, y, z) || 1e-6;
  const [ux, uy, uz] = [x / length, y / length, z / length];
  // Any vector that is not along the piece gives two more that stand square on it.
  const level = Math.abs(uy) < 0.99;
  const [sx, sy, sz] = level ? [uz, 0, -ux] : [0, -uz, uy];
  const s = Math.hypot(sx, sy, sz) || 1;
  const [ax, ay, az] = [sx / s, sy / s, sz / s];
  const [bx, by, bz] = [ay * uz - az * uy, az * ux - ax * uz, ax * uy - ay * ux];
  const r = Math.max(wood.radii[piece * 2] ?? 0, 1e-4);
  into.set([ax * r, ay * r, az * r, 0, ux * length, uy * length, uz * length, 0], at);
  into.set([bx * r, by * r, bz * r, 0, read(0), read(1), read(2), 1], at + 8);
  return (wood.radii[piece * 2 + 1] ?? 0) / r;
}

/**
 * Write the matrix of the round joint at a piece's far end; a joint has no taper. Where the wood
 * tapers steeply, a ball as thick as the wood would stand out of it, so it is that much smaller.
 */
function atJoint(wood: Wood, piece: number, into: Float32Array, at: number): number {
  const from = piece * 6 + 3;
  const next = wood.branch[piece + 1] === wood.branch[piece] ? piece + 1 : piece;
  const r = (wood.radii[piece * 2 + 1] ?? 0) * Math.min(inside(wood, piece), inside(wood, next));
  const [x = 0, y = 0, z = 0] = wood.ends.subarray(from, from + 3);
  into.set([r, 0, 0, 0, 0, r, 0, 0, 0, 0, r, 0, x, y, z, 1], at);
  return 1;
}

/** How much of its radius a ball keeps to touch a tapering piece from inside. */
function inside(wood: Wood, piece: number): number {
  const taper = (wood.radii[piece * 2] ?? 0) - (wood.radii[piece * 2 + 1] ?? 0);
  const length = pieceLength(wood, piece);
  return length > 0 ? length / Math.hypot(length, taper) : 1;
}
