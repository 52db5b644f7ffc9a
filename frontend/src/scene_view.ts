/** How the tree is looked at: a turntable, a distance, a height; moved by hand or by buttons. */

import { PerspectiveCamera } from "three";
import { calm } from "./dom.ts";
import type { Wood } from "./scene_data.ts";

const FIELD_DEG = 18;
const LIFT_RAD = 0.07;
const CLOSEST = 0.22;
const FURTHEST = 1.25;
const STEP = 1.3;
const MOVE_MS = 220;

/** One way of looking at the tree. */
interface Look {
  turn: number;
  near: number;
  height: number;
}

/** The camera on its rail around the tree. */
export class TurntableView {
  readonly camera = new PerspectiveCamera(FIELD_DEG, 1, 1, 10);
  private look: Look = { turn: 0, near: 1, height: 0 };
  private whole = 1;
  private readonly middle: number;
  private moving = 0;

  constructor(
    private readonly wood: Wood,
    private readonly changed: () => void,
  ) {
    this.middle = (wood.top + wood.foot) / 2;
    this.look.height = this.middle;
  }

  /** Fit the tree, whichever way it is turned, into a box of this width over height. */
  fit(aspect: number): void {
    const half = Math.tan((FIELD_DEG * Math.PI) / 360);
    const high = ((this.wood.top - this.wood.foot) / 2) * 1.06;
    const wide = this.wood.reach * 1.05;
    this.whole = Math.max(high / half, wide / (half * aspect)) + this.wood.reach * 0.3;
    this.camera.aspect = aspect;
    this.place();
  }

  /** The distances between which the wood lies. */
  span(): [number, number] {
    const distance = this.whole * this.look.near;
    return [distance - this.wood.reach, distance + this.wood.reach];
  }

  /** Turn by radians; the tree follows the hand. */
  turn(by: number): void {
    this.set({ ...this.look, turn: this.look.turn - by });
  }

  /** Come closer by a factor over one, go further by one under it. */
  zoom(factor: number): void {
    const near = Math.min(FURTHEST, Math.max(CLOSEST, this.look.near / factor));
    this.set({ ...this.look, near, height: near >= 1 ? this.middle : this.look.height });
  }

  /** Look higher or lower by a share of what is seen. */
  raise(share: number): void {
    const seen = (this.wood.top - this.wood.foot) * this.look.near;
    this.set({ ...this.look, height: this.within(this.look.height + share * seen) });
  }

  /** Bring a height to the middle, when only a part of the tree is seen. */
  centre(height: number): void {
    if (this.look.near < 0.95) this.glide({ ...this.look, height: this.within(height) });
  }

  /** The steps of the buttons. */
  step(way: string): void {
    const quarter = Math.PI / 12;
    const { turn, near } = this.look;
    if (way === "left") this.glide({ ...this.look, turn: turn + quarter });
    else if (way === "right") this.glide({ ...this.look, turn: turn - quarter });
    else if (way === "front") this.glide({ turn: Math.round(turn / (2 * Math.PI)) * 2 * Math.PI, near: 1, height: this.middle });
    else if (way === "closer" || way === "further") {
      const wanted = way === "closer" ? near / STEP : near * STEP;
      const to = Math.min(FURTHEST, Math.max(CLOSEST, wanted));
      this.glide({ ...this.look, near: to, height: to >= 1 ? this.middle : this.look.height });
    }
  }

  /** Degrees that the tree is turned from its front, -180..180, clockwise seen from above. */
  turnedDeg(): number {
    const deg = (this.look.turn * 180) / Math.PI;
    return Math.round(((((deg + 180) % 360) + 360) % 360) - 180);
  }

  private within(height: number): number {
    return Math.min(this.wood.top, Math.max(this.wood.foot, height));
  }

  private set(look: Look): void {
    cancelAnimationFrame(this.moving);
    this.look = look;
    this.place();
    this.changed();
  }

  private glide(to: Look): void {
    const from = this.look;
    if (calm()) return this.set(to);
    cancelAnimationFrame(this.moving);
    const start = performance.now();
    const frame = (now: number): void => {
      const done = Math.min(1, Math.max(0, (now - start) / MOVE_MS));
      const share = 1 - (1 - done) ** 3;
      const mix = (a: number, b: number): number => a + (b - a) * share;
      this.look = { turn: mix(from.turn, to.turn), near: mix(from.near, to.near), height: mix(from.height, to.height) };
      this.place();
      this.changed();
      if (done < 1) this.moving = requestAnimationFrame(frame);
    };
    this.moving = requestAnimationFrame(frame);
  }

  private place(): void {
    const { turn, near, height } = this.look;
    const distance = this.whole * near;
    const flat = distance * Math.cos(LIFT_RAD);
    this.camera.position.set(Math.sin(turn) * flat, height + distance * Math.sin(LIFT_RAD), Math.cos(turn) * flat);
    this.camera.near = Math.max(distance - this.wood.reach * 2.2, distance * 0.02);
    this.camera.far = distance + this.wood.reach * 2.2 + this.wood.top;
    this.camera.lookAt(0, height, 0);
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
  }
}

const TAP_PX = 9;
const TAP_MS = 600;

/** What hands do on the canvas. Up and down scrolls the page, so only sideways turns. */
export function listenToHands(
  canvas: HTMLCanvasElement,
  view: TurntableView,
  on: { tap(x: number, y: number): void; point(x: number, y: number): void; leave(): void },
): void {
  const hands = new Map<number, { x: number; y: number }>();
  let moved = 0;
  let began = 0;
  let tapped = false;
  const apart = (): number => {
    const [a, b] = [...hands.values()];
    return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
  };
  canvas.addEventListener("pointerdown", (event) => {
    if (hands.size === 0) [moved, began] = [0, performance.now()];
    hands.set(event.pointerId, { x: event.clientX, y: event.clientY });
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    const hand = hands.get(event.pointerId);
    if (hand === undefined) {
      if (event.pointerType === "mouse") on.point(event.clientX, event.clientY);
      return;
    }
    const before = apart();
    const [dx, dy] = [event.clientX - hand.x, event.clientY - hand.y];
    [hand.x, hand.y] = [event.clientX, event.clientY];
    moved += Math.hypot(dx, dy);
    if (hands.size === 2 && before > 0) {
      view.zoom(apart() / before);
      view.raise(dy / 2 / canvas.clientHeight);
    } else if (moved > TAP_PX) {
      view.turn((dx / canvas.clientWidth) * Math.PI * 1.4);
    }
  });
  const end = (event: PointerEvent): void => {
    const alone = hands.size === 1;
    if (!hands.delete(event.pointerId)) return;
    const quick = performance.now() - began < TAP_MS;
    tapped = event.type === "pointerup" && alone && quick && moved <= TAP_PX;
  };
  canvas.addEventListener("pointerup", end);
  canvas.addEventListener("pointercancel", end);
  // A tap brings the branch's line into view: only once the click is here, or it would land there.
  canvas.addEventListener("click", (event) => {
    if (tapped) on.tap(event.clientX, event.clientY);
    tapped = false;
  });
  canvas.addEventListener("pointerleave", () => on.leave());
  canvas.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    view.zoom(Math.exp(-event.deltaY / 300));
  }, { passive: false });
}
