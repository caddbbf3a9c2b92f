/** What lies under a place: the nearest point first, then lines and outlines, then areas, the smallest first. */
import type { Place, StretchView } from "../api/contract";
import { area, distance, grown, insidePolygon, nearestOfChain, overlap, type Box } from "../lib/geometry";
import { stretchBox, type Scene, type Shown } from "./paint/scene";
import { stretchName } from "./state.svelte";

export interface Hit {
  /** As selected things are named. */
  name: string;
  where: "point" | "line" | "outline" | "inside";
  far: number;
  shown: Shown | null;
  stretch: StretchView | null;
}

const RANK = { point: 0, line: 1, outline: 2, inside: 3 };

export function hits(scene: Scene, at: Place, near: number, plan = true): Hit[] {
  const box = grown([at[0], at[1], at[0], at[1]], near);
  const found: Hit[] = [];
  for (const one of scene.byId.values()) if (overlap(one.box, box)) hitFeature(one, at, near, found);
  if (plan && scene.plan !== null) {
    for (const stretch of scene.plan.stretches) {
      if (!overlap(stretchBox(stretch), box)) continue;
      const { far } = nearestOfChain(at, stretch.path);
      if (far <= near) found.push({ name: stretchName(stretch.id), where: "line", far: far + near * 0.05, shown: null, stretch });
    }
  }
  const size = (hit: Hit) => (hit.where === "inside" && hit.shown !== null ? Math.abs(area(hit.shown.chains[0] ?? [])) : hit.far);
  // What stands on the ground comes before the ground itself.
  const ground = (hit: Hit) => (hit.where === "inside" && (hit.shown?.kind === "boundary" || hit.shown?.kind === "soil") ? 1 : 0);
  return found.sort((a, b) => RANK[a.where] - RANK[b.where] || ground(a) - ground(b) || size(a) - size(b) || (a.name < b.name ? -1 : 1));
}

function hitFeature(one: Shown, at: Place, near: number, found: Hit[]): void {
  const type = one.feature.geometry?.type;
  const push = (where: Hit["where"], far: number) => found.push({ name: one.id, where, far, shown: one, stretch: null });
  if (type === "Point" || type === "MultiPoint") {
    const far = Math.min(...one.chains.map(([place]) => (place ? distance(place, at) : Infinity)));
    if (far <= near) push("point", far);
    return;
  }
  const far = Math.min(...one.chains.map((chain) => nearestOfChain(at, chain).far));
  if (far <= near) push(type === "LineString" ? "line" : "outline", far);
  else if (type === "Polygon" && insidePolygon(at, one.chains)) push("inside", 0);
}

/** Everything that lies wholly within a box. */
export function inBox(scene: Scene, box: Box): string[] {
  const names: string[] = [];
  for (const one of scene.byId.values()) {
    if (one.chains.length > 0 && one.box[0] >= box[0] && one.box[1] >= box[1] && one.box[2] <= box[2] && one.box[3] <= box[3]) names.push(one.id);
  }
  return names;
}
