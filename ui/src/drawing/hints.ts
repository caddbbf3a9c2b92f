/** What a tool wants next, in a few words. */
import type { Feature, Place } from "../api/contract";
import { distance, nearest } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import type { Hit } from "./hit";
import type { Scene } from "./paint/scene";
import { outletsOf } from "./paint/system";
import { drawing, stretchOf } from "./state.svelte";
import type { Tools } from "./tools.svelte";

/** What people call a kind, within a sentence. */
export function labelOf(kind: unknown): string {
  const label = session.kinds.find((known) => known.name === kind)?.label ?? String(kind);
  return label.charAt(0).toLowerCase() + label.slice(1);
}

/** A feature as people call it: "head H3". */
export const nameOf = (feature: Feature): string => `${labelOf(feature.properties.kind)} ${feature.id}`;

export function hintOf(tools: Tools): string {
  if (drawing.tool === "select") return selecting(tools);
  if (drawing.tool === "measure") {
    if (tools.drawn.length === 0) return "Measure: pick the first place";
    return `${tools.measured(tools.next ? [...tools.drawn, tools.next.at] : tools.drawn)} · pick on, Done ends`;
  }
  if (drawing.tool === "split") {
    const what = tools.chosen.length === 1 ? nameOf(tools.chosen[0]!) : "a line or area";
    return tools.drawn.length < 2 ? `Split: draw a line across ${what}` : "Done splits; or pick on";
  }
  return drawn(tools);
}

/** The plan's words for a sign, a head or a stretch under the pointer; empty where it has none. */
export function tipOf(scene: Scene, at: Place, near: number, hit: Hit | undefined): string {
  const { plan } = scene;
  if (plan === null || !drawing.showPlan) return "";
  const crossing = plan.crossings.find((one) => distance(one.at, at) <= near);
  const old = session.stale ? "Before the last change: " : "";
  if (crossing !== undefined && hit?.where !== "point") return `${old}${crossing.words}${crossing.expose ? "; to be exposed by hand first" : ""}`;
  const narrow = plan.narrows.find((one) => distance(nearest(at, one.from, one.to), at) <= near);
  if (narrow !== undefined && hit?.where !== "point") {
    const away = narrow.keeps_away.map((one) => `${one.method} (${one.needed.text})`).join(", ");
    return `${old}${narrow.words}: ${narrow.clear.text} clear${away === "" ? "" : `, too narrow for ${away}`}`;
  }
  if (hit?.stretch) {
    const { stretch } = hit;
    const method = plan.methods.find((one) => one.id === stretch.method)?.label ?? stretch.method;
    return `${old}${stretch.id}: ${method}, ${stretch.length.text} long, ${stretch.depth.text} deep, ${stretch.contents}`;
  }
  const outlet = hit === undefined ? undefined : outletsOf(plan).get(hit.name)?.outlet;
  if (outlet === undefined) return "";
  return `${old}${outlet.id} in ${outlet.circuit}: ${outlet.pressure.text}, needs ${outlet.needs.text}${outlet.spare < 0 ? `, lacks ${outlet.margin.text.replace(/^[-−]/, "")}` : `, ${outlet.margin.text} to spare`}${outlet.worst ? "; least of its circuit" : ""}`;
}

function selecting(tools: Tools): string {
  const { chosen } = tools;
  if (tools.tip !== "") return tools.tip;
  const stretch = stretchOf(session.selected[0] ?? "");
  if (stretch !== null && chosen.length === 0) return `Stretch ${stretch} chosen`;
  const touch = matchMedia("(pointer: coarse)").matches;
  if (drawing.several) return "Pick several, or drag a box around them";
  if (chosen.length === 0) {
    // The palette stands under the plan on a phone alone.
    const where = matchMedia("(max-width: 640px)").matches ? "below" : "at the side";
    return touch ? `Tap something, or choose ${where} what to draw` : `Pick something, or choose ${where} what to draw. Shift and drag takes all in a box`;
  }
  if (chosen.length > 1 && touch) return `${chosen.length} chosen: drag one of them to move all`;
  if (chosen.length > 1) return `${chosen.length} chosen: drag one or use the arrow keys to move them, Delete removes them`;
  const feature = chosen[0]!;
  if (tools.ref !== null) return `Corner of ${nameOf(feature)}: drag or arrow keys move it, Delete removes it`;
  const type = feature.geometry?.type;
  if (type === undefined) return `${nameOf(feature)} chosen: it has no place of its own on the plan`;
  if (type === "Point" && touch) return `${nameOf(feature)}: drag it to move it`;
  if (type === "Point") return `${nameOf(feature)}: drag or arrow keys move it, Delete removes it`;
  return `${nameOf(feature)}: drag its corners, or the small ones between for a new corner`;
}

function drawn(tools: Tools): string {
  const label = labelOf(drawing.kind);
  const there = drawing.kind === "source" || drawing.kind === "backflow" || drawing.kind === "controller" || drawing.kind === "boundary"
    ? session.job?.features.find((feature) => feature.properties.kind === drawing.kind) : undefined;
  const count = tools.drawn.length;
  if (drawing.shape === "null") return `${label}: it has no place, Add puts it into the job`;
  if (there && count === 0) return drawing.shape === "Point" ? `There is ${nameOf(there)}: pick its new place` : `There is ${nameOf(there)}: draw it anew`;
  if (drawing.shape === "Point") return `Pick where the ${label} is, or type x, y`;
  if (drawing.shape === "MultiPoint") return count === 0 ? `Pick where the ${label} is fed` : "Pick its further places; Done ends";
  if (drawing.kind === "gate" || drawing.kind === "sleeve" || drawing.kind === "baseline") return count === 0 ? `Pick one end of the ${label}` : "Pick the other end, or type its length";
  const held = count > 0 && !matchMedia("(pointer: coarse)").matches ? ". Shift holds to 15°" : "";
  if (drawing.shape === "LineString") return count === 0 ? `Pick where the ${label} begins` : `Pick the next place, or type a length; Done ends${held}`;
  if (count === 0) return `Pick the first corner of the ${label}`;
  return count < 3 ? `Pick the next corner, or type a length${held}` : `Pick the next corner; Done or the first corner closes it${held}`;
}
