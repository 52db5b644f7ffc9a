/**
 * The tree in the round, from its own measures: turned like on a turntable, drawn like ink, drawn
 * only when something changes. Where it cannot be drawn the page keeps its line drawing.
 */

import {
  BufferGeometry,
  Color,
  ColorManagement,
  Float32BufferAttribute,
  LinearSRGBColorSpace,
  LineBasicMaterial,
  LineSegments,
  Scene,
  WebGLRenderer,
} from "three";
import { all, make } from "./dom.ts";
import { TONES, woodOf, type Drawing, type Wood } from "./scene_data.ts";
import { Overlay } from "./scene_marks.ts";
import { branchAt } from "./scene_pick.ts";
import { listenToHands, TurntableView } from "./scene_view.ts";
import { WoodMeshes, type Palette } from "./scene_wood.ts";

// Ink is thinned with paper as the page's own colours are: by their sRGB values, not by light.
ColorManagement.enabled = false;

const MOST_PIXELS = 2;
const TURNS = ["left", "right", "front", "closer", "further"];

function palette(): Palette {
  const style = getComputedStyle(document.documentElement);
  const names = [...TONES, "paper"] as const;
  const colour = (name: string): Color => new Color(style.getPropertyValue(`--${name}`).trim() || "#1b1d20");
  return Object.fromEntries(names.map((name) => [name, colour(name)])) as Palette;
}

function strokes(ends: number[], colour: Color): LineSegments {
  const lines = new BufferGeometry().setAttribute("position", new Float32BufferAttribute(ends, 3));
  return new LineSegments(lines, new LineBasicMaterial({ color: colour }));
}

/** The soil's edge in its pot, ticked each half hour of the clock, with a long stroke in front. */
function soilEdge(wood: Wood, pot: readonly number[], colour: Color): LineSegments {
  const radius = (pot[0] ?? wood.reach) / 2;
  const ends: number[] = [];
  const steps = 72;
  const at = (k: number, r: number): number[] => {
    const turn = (k / steps) * 2 * Math.PI;
    return [Math.sin(turn) * r * radius, 0, Math.cos(turn) * r * radius];
  };
  for (let k = 0; k < steps; k += 1) {
    ends.push(...at(k, 1), ...at(k + 1, 1));
    if (k % 6 === 0) ends.push(...at(k, 1), ...at(k, k === 0 ? 1.2 : 1.05));
  }
  return strokes(ends, colour);
}

/** Fine twigs are drawn pale: they are not measured one by one. */
function twigColour(colours: Palette): Color {
  return colours.ink.clone().lerp(colours.paper, 0.45);
}

class TreeScene {
  private readonly scene = new Scene();
  private readonly renderer: WebGLRenderer;
  private readonly meshes: WoodMeshes;
  private readonly view: TurntableView;
  private readonly overlay: Overlay;
  private readonly ground: LineSegments;
  private readonly twigs: LineSegments;
  private readonly wood: Wood;
  private size = { width: 1, height: 1 };
  private asked = 0;
  private pointed: { x: number; y: number } | undefined;
  private chosen = -1;
  private lit = -1;

  constructor(
    private readonly canvas: HTMLCanvasElement,
    context: WebGL2RenderingContext,
    private readonly drawing: Drawing,
    stage: HTMLElement,
  ) {
    this.wood = woodOf(drawing);
    const colours = palette();
    this.meshes = new WoodMeshes(this.wood, colours);
    this.ground = soilEdge(this.wood, drawing.pot_mm, colours.line);
    this.twigs = strokes(drawing.twigs, twigColour(colours));
    this.scene.add(this.meshes.group, this.ground, this.twigs);
    this.renderer = new WebGLRenderer({ canvas, context, antialias: true, alpha: true });
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
    this.renderer.setClearColor(0, 0);
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, MOST_PIXELS));
    this.view = new TurntableView(this.wood, () => this.ask());
    this.overlay = new Overlay(drawing.branches, this.wood);
    stage.append(this.overlay.svg);
    this.resize();
  }

  /** Start to follow hands, buttons, the list, the light and the size of the page. */
  listen(stage: HTMLElement): void {
    listenToHands(this.canvas, this.view, {
      tap: (x, y) => this.tap(x, y),
      point: (x, y) => {
        this.pointed = { x, y };
        this.ask();
      },
      leave: () => this.light(-1),
    });
    stage.addEventListener("click", (event) => {
      const way = (event.target as Element).closest<HTMLElement>("[data-way]")?.dataset["way"];
      if (way) this.view.step(way);
    });
    document.addEventListener("branch:chosen", (event) => {
      this.choose((event as CustomEvent<{ branch: string }>).detail.branch);
    });
    new ResizeObserver(() => this.resize()).observe(this.canvas);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.repaint());
    new MutationObserver(() => this.repaint()).observe(document.documentElement, { attributeFilter: ["data-light"] });
    this.canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    this.canvas.addEventListener("webglcontextrestored", () => this.ask());
  }

  /** Draw a branch strong. */
  choose(id: string): void {
    this.chosen = this.drawing.branches.findIndex((branch) => branch.id === id);
    const points = this.drawing.branches[this.chosen]?.points;
    if (points) this.view.centre(points[Math.floor(points.length / 8) * 4 + 1] ?? 0);
    this.ask();
  }

  /** Draw now. */
  draw(): void {
    this.asked = 0;
    this.point();
    this.meshes.point(this.chosen, this.lit);
    this.meshes.fade(...this.view.span());
    this.renderer.render(this.scene, this.view.camera);
    this.overlay.place(this.view.camera, this.size, this.chosen);
    this.canvas.dataset["drawn"] = String(Number(this.canvas.dataset["drawn"] ?? 0) + 1);
    this.canvas.dataset["turned"] = String(this.view.turnedDeg());
  }

  private ask(): void {
    if (this.asked === 0) this.asked = requestAnimationFrame(() => this.draw());
  }

  private at(clientX: number, clientY: number): number {
    const box = this.canvas.getBoundingClientRect();
    return branchAt(clientX - box.left, clientY - box.top, this.size, this.view.camera, this.wood, this.meshes);
  }

  private tap(x: number, y: number): void {
    const branch = this.drawing.branches[this.at(x, y)];
    if (branch) document.dispatchEvent(new CustomEvent("branch:pick", { detail: { branch: branch.id } }));
  }

  /** A mouse may point many times a frame; it is looked at once. */
  private point(): void {
    if (this.pointed === undefined) return;
    const { x, y } = this.pointed;
    this.pointed = undefined;
    this.light(this.at(x, y));
  }

  private light(branch: number): void {
    if (branch === this.lit) return;
    this.lit = branch;
    this.canvas.classList.toggle("on-branch", branch >= 0);
    const id = this.drawing.branches[branch]?.id ?? "";
    document.dispatchEvent(new CustomEvent("branch:point", { detail: { branch: id } }));
    this.ask();
  }

  private resize(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (width === 0 || height === 0) return;
    this.size = { width, height };
    this.renderer.setSize(width, height, false);
    this.view.fit(width / height);
    this.ask();
  }

  private repaint(): void {
    const colours = palette();
    this.meshes.paint(colours);
    (this.ground.material as LineBasicMaterial).color = colours.line;
    (this.twigs.material as LineBasicMaterial).color = twigColour(colours);
    this.ask();
  }
}

/** The buttons that turn the tree, named by the page. */
function turnButtons(host: HTMLElement): HTMLElement {
  const buttons = TURNS.map((way) => {
    const told = host.dataset[way] ?? host.dataset[`turn${way[0]?.toUpperCase()}${way.slice(1)}`] ?? way;
    return make("button", { type: "button", class: "quiet", "data-way": way }, told);
  });
  return make("div", { class: "buttons thumb turn no-print" }, ...buttons);
}

async function setUpOne(host: HTMLElement): Promise<void> {
  if (host.dataset["ready"] !== undefined) return;
  host.dataset["ready"] = "no";
  const canvas = make("canvas", { class: "scene-canvas", role: "img", "aria-label": host.dataset["label"] ?? "" });
  const context = canvas.getContext("webgl2", { antialias: true, alpha: true });
  if (context === null) return;
  const response = await fetch(host.dataset["scene"] ?? "", { headers: { accept: "application/json" } });
  if (!response.ok) return;
  const drawing = (await response.json()) as Drawing;
  performance.mark("scene-start");
  const stage = make("div", { class: "scene-stage" }, canvas);
  host.prepend(stage);
  let tree: TreeScene;
  try {
    tree = new TreeScene(canvas, context, drawing, stage);
    tree.draw();
  } catch (fault) {
    stage.remove();
    throw fault;
  }
  performance.measure("scene-setup", "scene-start");
  swapDrawing(host, stage);
  tree.listen(host);
  const current = document.querySelector<HTMLElement>("[data-branches] [aria-current=true]");
  if (current?.dataset["branch"]) tree.choose(current.dataset["branch"]);
  host.dataset["ready"] = "yes";
}

/** The line drawing goes only now that there is another; its links for turning go with it. */
function swapDrawing(host: HTMLElement, stage: HTMLElement): void {
  stage.after(turnButtons(host));
  for (const flat of all<HTMLElement>(host, "[data-drawing]")) flat.hidden = true;
  for (const links of all<HTMLElement>(document, ".no-scene")) links.hidden = true;
}

/** Set up every drawing of a part of the page. */
export function setUp(root: ParentNode): void {
  for (const host of all<HTMLElement>(root, "[data-scene]")) void setUpOne(host).catch(() => undefined);
}

setUp(document);
