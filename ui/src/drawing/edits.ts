/** Changes of shapes: pure, so that the tools only say which. Nothing here knows what is right for the trade. */
import type { Feature, Geometry, KindView, Place } from "../api/contract";
import { area, distance, insidePolygon, mapPlaces, meet, middle, plus, same, tidy, type Box } from "../lib/geometry";

/** A place of a shape: which chain (ring, or 0), and which place in it. */
export interface Ref { chain: number; at: number }

export const isRing = (geometry: Geometry): boolean => geometry.type === "Polygon";

export function moved(feature: Feature, by: Place): Feature {
  if (feature.geometry === null) return feature;
  return { ...feature, geometry: mapPlaces(feature.geometry, (place) => tidy(plus(place, by))) };
}

/** Moves a shape so that one of its places comes to lie exactly at another. */
export function movedTo(feature: Feature, from: Place, to: Place): Feature {
  if (feature.geometry === null) return feature;
  const by: Place = [to[0] - from[0], to[1] - from[1]];
  return { ...feature, geometry: mapPlaces(feature.geometry, (place) => (same(place, from) ? to : tidy(plus(place, by)))) };
}

/** Every place of a shape that can be taken hold of; the closing place of a ring is the first. */
export function refs(geometry: Geometry): { ref: Ref; at: Place }[] {
  if (geometry.type === "Point") return [{ ref: { chain: 0, at: 0 }, at: geometry.coordinates }];
  if (geometry.type === "Polygon") {
    return geometry.coordinates.flatMap((ring, chain) => ring.slice(0, -1).map((at, i) => ({ ref: { chain, at: i }, at })));
  }
  return geometry.coordinates.map((at, i) => ({ ref: { chain: 0, at: i }, at }));
}

/** The middles of the edges; taking hold of one makes a new place after `ref`. */
export function edgeRefs(geometry: Geometry): { ref: Ref; at: Place; from: Place; to: Place }[] {
  const chains = geometry.type === "Polygon" ? geometry.coordinates : geometry.type === "LineString" ? [geometry.coordinates] : [];
  return chains.flatMap((chain, c) => chain.slice(1).map((to, i) => ({ ref: { chain: c, at: i }, at: middle(chain[i]!, to), from: chain[i]!, to })));
}

function withChain(geometry: Geometry, chain: number, change: (places: Place[], ring: boolean) => Place[]): Geometry {
  if (geometry.type === "Polygon") {
    return { type: "Polygon", coordinates: geometry.coordinates.map((ring, i) => (i === chain ? change(ring, true) : ring)) };
  }
  if (geometry.type === "Point") return { type: "Point", coordinates: change([geometry.coordinates], false)[0] ?? geometry.coordinates };
  return { type: geometry.type, coordinates: change(geometry.coordinates, false) };
}

export function withPlace(feature: Feature, ref: Ref, to: Place): Feature {
  if (feature.geometry === null) return feature;
  const geometry = withChain(feature.geometry, ref.chain, (places, ring) => {
    const next = places.with(ref.at, to);
    return ring && ref.at === 0 ? next.with(-1, to) : next;
  });
  return { ...feature, geometry };
}

/** A new place on the edge after `ref`. */
export function withNewPlace(feature: Feature, ref: Ref, at: Place): Feature {
  if (feature.geometry === null) return feature;
  return { ...feature, geometry: withChain(feature.geometry, ref.chain, (places) => places.toSpliced(ref.at + 1, 0, at)) };
}

/** Without one of its places; null where too few would be left. */
export function withoutPlace(feature: Feature, ref: Ref): Feature | null {
  const { geometry } = feature;
  if (geometry === null || geometry.type === "Point") return null;
  const places = geometry.type === "Polygon" ? geometry.coordinates[ref.chain] : geometry.coordinates;
  const least = geometry.type === "Polygon" ? 5 : 3;
  if (places === undefined || places.length < least) return null;
  return {
    ...feature,
    geometry: withChain(geometry, ref.chain, (chain, ring) => {
      const next = chain.toSpliced(ref.at, 1);
      return ring && ref.at === 0 ? next.with(-1, next[0]!) : next;
    }),
  };
}

/** A shape of the places that were drawn; null where they are too few. */
export function shapeOf(type: "Point" | "MultiPoint" | "LineString" | "Polygon", drawn: readonly Place[]): Geometry | null {
  const places = drawn.filter((place, i) => i === 0 || !same(place, drawn[i - 1]!));
  if (type === "Point") return places[0] ? { type, coordinates: places[0] } : null;
  if (type === "MultiPoint" || type === "LineString") return places.length >= 2 ? { type, coordinates: places } : null;
  const open = places.length > 1 && same(places[0]!, places.at(-1)!) ? places.slice(0, -1) : places;
  if (open.length < 3 || area(open) === 0) return null;
  return { type, coordinates: [[...open, open[0]!]] };
}

/** The places drawn hide no more than this part of a shape's own size between two cuts. */
const TINY = 1e-9;

/** The parts into which a drawn line cuts a line or an area; null where it does not cut it clean through. */
export function split(geometry: Geometry, cutter: readonly Place[]): Geometry[] | null {
  if (geometry.type === "LineString") return splitLine(geometry.coordinates, cutter);
  if (geometry.type === "Polygon") return splitArea(geometry.coordinates, cutter);
  return null;
}

interface Cut { edge: number; t: number; along: number; at: Place }

function cutsOf(chain: readonly Place[], cutter: readonly Place[]): Cut[] {
  const cuts: Cut[] = [];
  for (let k = 1; k < cutter.length; k += 1) {
    for (let i = 1; i < chain.length; i += 1) {
      const hit = meet(chain[i - 1]!, chain[i]!, cutter[k - 1]!, cutter[k]!);
      if (hit === null || hit.t < -TINY || hit.t > 1 + TINY || hit.u < -TINY || hit.u > 1 + TINY) continue;
      if (cuts.some((cut) => distance(cut.at, hit.at) < 1e-7)) continue;
      // A cut at a corner is that corner, to the last digit.
      const corner = [chain[i - 1]!, chain[i]!].find((place) => distance(place, hit.at) < 1e-7);
      cuts.push({ edge: i - 1, t: hit.t, along: k - 1 + hit.u, at: corner ?? tidy(hit.at) });
    }
  }
  return cuts;
}

function splitLine(line: readonly Place[], cutter: readonly Place[]): Geometry[] | null {
  const ends = [line[0]!, line.at(-1)!];
  const cuts = cutsOf(line, cutter).filter((cut) => !ends.some((end) => same(end, cut.at)));
  if (cuts.length === 0) return null;
  cuts.sort((a, b) => a.edge - b.edge || a.t - b.t);
  const parts: Place[][] = [[line[0]!]];
  let next = 0;
  for (let i = 1; i < line.length; i += 1) {
    for (; next < cuts.length && cuts[next]!.edge === i - 1; next += 1) {
      parts.at(-1)!.push(cuts[next]!.at);
      parts.push([cuts[next]!.at]);
    }
    parts.at(-1)!.push(line[i]!);
  }
  return parts.map((part) => shapeOf("LineString", part)).filter((part) => part !== null);
}

/** By the first stretch of the cutter that runs through the area from edge to edge. */
function splitArea(rings: readonly Place[][], cutter: readonly Place[]): Geometry[] | null {
  const outer = rings[0];
  if (outer === undefined) return null;
  const cuts = cutsOf(outer, cutter).sort((a, b) => a.along - b.along);
  for (let i = 1; i < cuts.length; i += 1) {
    const [from, to] = [cuts[i - 1]!, cuts[i]!];
    const through = [from.at, ...cutter.filter((_, k) => k > from.along && k < to.along), to.at];
    const probe = middle(through[0]!, through[1]!);
    if (!insidePolygon(probe, [outer])) continue;
    // A hole in the way would have to be cut as well; that is refused rather than half done.
    if (rings.slice(1).some((hole) => cutsOf(hole, through).length > 0)) return null;
    const one = ringBetween(outer, to, from, through);
    const other = ringBetween(outer, from, to, through.toReversed());
    const shapes = [one, other].map((ring) => shapeOf("Polygon", ring));
    if (shapes.some((shape) => shape === null)) continue;
    return shapes.map((shape) => {
      const ring = (shape as { coordinates: Place[][] }).coordinates[0]!;
      const holes = rings.slice(1).filter((hole) => insidePolygon(hole[0]!, [ring]));
      return { type: "Polygon", coordinates: [ring, ...holes] };
    });
  }
  return null;
}

/** Along the ring from one cut on to another, and back along the cutting line. */
function ringBetween(ring: readonly Place[], from: Cut, to: Cut, back: readonly Place[]): Place[] {
  const count = ring.length - 1;
  const places: Place[] = [];
  let edge = from.edge;
  let steps = 0;
  // On the same edge behind the start the way leads once around.
  const around = from.edge === to.edge && to.t <= from.t;
  while (edge !== to.edge || (around && steps === 0)) {
    edge = (edge + 1) % count;
    places.push(ring[edge]!);
    steps += 1;
    if (steps > count) break;
  }
  return [...back, ...places].filter((place, i, all) => i === 0 || !same(place, all[i - 1]!));
}

/** Letters that begin the ids of a kind, as in the demonstration jobs. */
const PREFIX: Record<string, string> = {
  boundary: "P", surface: "U", obstacle: "B", tree: "T", utility: "E", soil: "S", steep: "ST", spot: "SP", gate: "GT", access: "A", mark: "MK",
  baseline: "BL", source: "M", backflow: "BF", controller: "CT", circuit: "C", manifold: "MF", valve: "V", head: "H", drip: "DP", cable: "LC",
  sleeve: "SL", keep_out: "KO", corridor: "CO", fixed_trench: "FT",
};
export const prefixOf = (kind: string): string => PREFIX[kind] ?? kind.slice(0, 2).toUpperCase();

/** An id that is not taken, and takes it. As many digits as the others of its letters have. */
export function freshId(prefix: string, taken: Set<string>): string {
  let digits = 1;
  for (const id of taken) {
    const match = /^0\d+$/.exec(id.startsWith(prefix) ? id.slice(prefix.length) : "");
    if (match) digits = Math.max(digits, match[0].length);
  }
  for (let number = 1; ; number += 1) {
    const id = `${prefix}${String(number).padStart(digits, "0")}`;
    if (taken.has(id) || taken.has(`${prefix}${number}`)) continue;
    taken.add(id);
    return id;
  }
}

/** The same features once more, elsewhere, under ids of their own; references among them follow. */
export function copies(features: readonly Feature[], taken: Set<string>, by: Place): Feature[] {
  const names = new Map(features.map((feature) => [feature.id, freshId(/^[A-Za-z_-]+/.exec(feature.id)?.[0] ?? "X", taken)]));
  return features.map((feature) => ({
    ...moved(feature, by),
    id: names.get(feature.id)!,
    properties: Object.fromEntries(
      Object.entries(feature.properties).map(([name, value]) => [name, name !== "kind" && typeof value === "string" && REFERENCES.has(name) ? (names.get(value) ?? value) : value]),
    ),
  }));
}

const REFERENCES = new Set(["circuit", "manifold", "runs_with"]);

/** Properties that belong to one feature alone and are not taken over. */
const OWN = new Set(["note", "name", "elevation", "manifold", "kind"]);

/** Properties of a new feature: what the last of its kind has, else what each that is needed begins with. What has to be measured is left out. */
export function defaults(kind: KindView, id: string, features: readonly Feature[], preset: Record<string, unknown>): Record<string, unknown> {
  const properties: Record<string, unknown> = { kind: kind.name };
  const last = features.findLast((feature) => feature.properties.kind === kind.name);
  for (const property of kind.properties) {
    const before = last?.properties[property.name];
    if (before !== undefined && !OWN.has(property.name) && kind.group === "system") {
      // A valve opens one circuit alone: the next valve is for one that has none.
      if (!(kind.name === "valve" && property.name === "circuit")) {
        properties[property.name] = before;
        continue;
      }
    }
    if (!property.required) continue;
    if (property.name === "name") properties[property.name] = `${kind.label} ${id}`;
    else if (property.start !== "") properties[property.name] = property.start;
    else if (property.type === "flag") properties[property.name] = false;
    else if (property.type === "feature") {
      const all = features.filter((feature) => feature.properties.kind === property.of);
      const used = new Set(features.filter((feature) => feature.properties.kind === kind.name).map((feature) => feature.properties[property.name]));
      const free = all.find((feature) => !used.has(feature.id)) ?? all[0];
      if (free) properties[property.name] = free.id;
    }
  }
  return { ...properties, ...preset };
}

/**
 * A preset once a feature was drawn with it: what the next one takes over from that feature is said there, and may be
 * corrected there.
 */
export function spent(kind: KindView, preset: Record<string, unknown>): Record<string, unknown> {
  if (kind.group !== "system") return preset;
  const taken = new Set(kind.properties.filter((property) => property.type !== "choice" && !OWN.has(property.name)).map((property) => property.name));
  return Object.fromEntries(Object.entries(preset).filter(([name]) => !taken.has(name)));
}

/** Whether a box holds all of a shape. */
export const holds = (box: Box, geometry: Geometry | null): boolean => {
  if (geometry === null) return false;
  let all = true;
  mapPlaces(geometry, (place) => {
    if (place[0] < box[0] || place[1] < box[1] || place[0] > box[2] || place[1] > box[3]) all = false;
    return place;
  });
  return all;
};
