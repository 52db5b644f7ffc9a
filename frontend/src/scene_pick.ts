/** Which branch is under a finger: the wood itself, else the nearest wood within reach. */

import { type Camera, Raycaster, Vector2, Vector3 } from "three";
import type { Wood } from "./scene_data.ts";
import type { WoodMeshes } from "./scene_wood.ts";

const REACH_PX = 14;

/** Find the number of the branch at a place on the canvas, in CSS pixels; -1 for none. */
export function branchAt(
  x: number,
  y: number,
  size: { width: number; height: number },
  camera: Camera,
  wood: Wood,
  meshes: WoodMeshes,
): number {
  const at = new Vector2((x / size.width) * 2 - 1, 1 - (y / size.height) * 2);
  const ray = new Raycaster();
  ray.setFromCamera(at, camera);
  const [hit] = ray.intersectObjects(meshes.group.children, false);
  const branches = hit && meshes.branches.get(hit.object as never);
  if (hit?.instanceId !== undefined && branches) return branches[hit.instanceId] ?? -1;
  return nearest(x, y, size, camera, wood);
}

/** The branch whose wood, as it is seen, runs nearest; -1 when all is out of reach. */
export function nearest(
  x: number,
  y: number,
  size: { width: number; height: number },
  camera: Camera,
  wood: Wood,
): number {
  const from = new Vector3();
  const to = new Vector3();
  let best = REACH_PX;
  let found = -1;
  for (let k = 0; k < wood.count; k += 1) {
    seen(from.fromArray(wood.ends, k * 6).project(camera), size);
    seen(to.fromArray(wood.ends, k * 6 + 3).project(camera), size);
    const away = distance(x, y, from, to);
    if (away < best) [best, found] = [away, wood.branch[k] ?? -1];
  }
  return found;
}

/** Turn a projected place into CSS pixels of the canvas, in place. */
export function seen(place: Vector3, size: { width: number; height: number }): Vector3 {
  place.x = ((place.x + 1) / 2) * size.width;
  place.y = ((1 - place.y) / 2) * size.height;
  return place;
}

function distance(x: number, y: number, a: Vector3, b: Vector3): number {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const long = dx * dx + dy * dy;
  const t = long === 0 ? 0 : Math.min(1, Math.max(0, ((x - a.x) * dx + (y - a.y) * dy) / long));
  return Math.hypot(x - a.x - t * dx, y - a.y - t * dy);
}
