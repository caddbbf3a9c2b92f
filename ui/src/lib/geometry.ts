/** Plane geometry on places of the job: x right, y up, in the job's length unit. */
import type { Geometry, Place } from "../api/contract";

export type Box = [number, number, number, number];

export const minus = (a: Place, b: Place): Place => [a[0] - b[0], a[1] - b[1]];
export const plus = (a: Place, b: Place): Place => [a[0] + b[0], a[1] + b[1]];
export const times = (a: Place, by: number): Place => [a[0] * by, a[1] * by];
export const dot = (a: Place, b: Place): number => a[0] * b[0] + a[1] * b[1];
export const cross = (a: Place, b: Place): number => a[0] * b[1] - a[1] * b[0];
export const distance = (a: Place, b: Place): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
export const middle = (a: Place, b: Place): Place => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
export const same = (a: Place, b: Place): boolean => a[0] === b[0] && a[1] === b[1];

/** Direction from a to b in degrees counter-clockwise from the x axis, 0 up to 360. */
export function direction(a: Place, b: Place): number {
  const degrees = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
  return degrees < 0 ? degrees + 360 : degrees;
}

/** The place at a distance and a direction in degrees; exact along the axes. */
export function polar(from: Place, length: number, degrees: number): Place {
  const turn = ((degrees % 360) + 360) % 360;
  const [x, y] =
    turn % 90 === 0
      ? ([[1, 0], [0, 1], [-1, 0], [0, -1]][turn / 90] as Place)
      : [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)];
  return [from[0] + x * length, from[1] + y * length];
}

/** How far along a to b the foot of a place lies: 0 at a, 1 at b, outside on the extension. */
export function share(p: Place, a: Place, b: Place): number {
  const d = minus(b, a);
  const long = dot(d, d);
  return long === 0 ? 0 : dot(minus(p, a), d) / long;
}

export const between = (a: Place, b: Place, t: number): Place => [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t];

/** The nearest place of a segment. An end is given back as it is written, not as it is computed. */
export function nearest(p: Place, a: Place, b: Place): Place {
  const t = share(p, a, b);
  if (t <= 0) return a;
  if (t >= 1) return b;
  return between(a, b, t);
}

/** Where the lines through a-b and c-d meet, with the shares along both; null if they are parallel. */
export function meet(a: Place, b: Place, c: Place, d: Place): { at: Place; t: number; u: number } | null {
  const ab = minus(b, a);
  const cd = minus(d, c);
  const turn = cross(ab, cd);
  if (Math.abs(turn) <= 1e-12 * Math.hypot(...ab) * Math.hypot(...cd) || turn === 0) return null;
  const ac = minus(c, a);
  const t = cross(ac, cd) / turn;
  const u = cross(ac, ab) / turn;
  const at = t === 0 ? a : t === 1 ? b : u === 0 ? c : u === 1 ? d : between(a, b, t);
  return { at, t, u };
}

export function boxOf(places: readonly Place[]): Box {
  const box: Box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of places) {
    if (x < box[0]) box[0] = x;
    if (y < box[1]) box[1] = y;
    if (x > box[2]) box[2] = x;
    if (y > box[3]) box[3] = y;
  }
  return box;
}

export const joined = (a: Box, b: Box): Box => [
  Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3]),
];
export const grown = (box: Box, by: number): Box => [box[0] - by, box[1] - by, box[2] + by, box[3] + by];
export const overlap = (a: Box, b: Box): boolean => a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3];
export const within = (inner: Box, outer: Box): boolean =>
  inner[0] >= outer[0] && inner[1] >= outer[1] && inner[2] <= outer[2] && inner[3] <= outer[3];

/** The parts of a shape as chains of places; a point is a chain of one. Rings end where they begin. */
export function chains(geometry: Geometry | null): Place[][] {
  if (geometry === null) return [];
  if (geometry.type === "Point") return [[geometry.coordinates]];
  if (geometry.type === "MultiPoint") return geometry.coordinates.map((place) => [place]);
  if (geometry.type === "LineString") return [geometry.coordinates];
  return geometry.coordinates;
}

export function lengthOf(places: readonly Place[]): number {
  let sum = 0;
  for (let i = 1; i < places.length; i += 1) sum += distance(places[i - 1]!, places[i]!);
  return sum;
}

/** Area of a ring, positive if it turns counter-clockwise. Open and closed rings give the same. */
export function area(ring: readonly Place[]): number {
  const origin = ring[0];
  if (origin === undefined) return 0;
  let sum = 0;
  for (let i = 0; i < ring.length; i += 1) {
    sum += cross(minus(ring[i]!, origin), minus(ring[(i + 1) % ring.length]!, origin));
  }
  return sum / 2;
}

/** What the first ring holds without the holes that the others are. */
export const areaOf = (rings: readonly Place[][]): number =>
  rings.reduce((sum, ring, i) => sum + (i === 0 ? 1 : -1) * Math.abs(area(ring)), 0);

export function insideRing(p: Place, ring: readonly Place[]): boolean {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const a = ring[i]!;
    const b = ring[j]!;
    if (a[1] > p[1] !== b[1] > p[1] && p[0] < ((b[0] - a[0]) * (p[1] - a[1])) / (b[1] - a[1]) + a[0]) inside = !inside;
  }
  return inside;
}

export const insidePolygon = (p: Place, rings: readonly Place[][]): boolean => {
  let count = 0;
  for (const ring of rings) if (insideRing(p, ring)) count += 1;
  return count % 2 === 1;
};

export function nearestOfChain(p: Place, chain: readonly Place[]): { at: Place; far: number; edge: number } {
  let best = { at: chain[0] ?? p, far: chain[0] ? distance(p, chain[0]) : Infinity, edge: 0 };
  for (let i = 1; i < chain.length; i += 1) {
    const at = nearest(p, chain[i - 1]!, chain[i]!);
    const far = distance(p, at);
    if (far < best.far) best = { at, far, edge: i - 1 };
  }
  return best;
}

/** The place at a length along a chain, and the direction there in radians. */
export function along(chain: readonly Place[], length: number): { at: Place; turn: number } | null {
  let left = length;
  for (let i = 1; i < chain.length; i += 1) {
    const a = chain[i - 1]!;
    const b = chain[i]!;
    const long = distance(a, b);
    if ((left <= long || i === chain.length - 1) && long > 0) {
      return { at: between(a, b, Math.min(1, left / long)), turn: Math.atan2(b[1] - a[1], b[0] - a[0]) };
    }
    left -= long;
  }
  return null;
}

/** A place to write beside or put a sign on: inside an area, on a line, on a point. */
export function anchorOf(geometry: Geometry | null): Place | null {
  if (geometry === null) return null;
  if (geometry.type === "Point") return geometry.coordinates;
  if (geometry.type === "MultiPoint") return geometry.coordinates[0] ?? null;
  if (geometry.type === "LineString") {
    return along(geometry.coordinates, lengthOf(geometry.coordinates) / 2)?.at ?? geometry.coordinates[0] ?? null;
  }
  return insideOf(geometry.coordinates);
}

/** The widest gap on a few level lines across an area: a good place for its name. */
function insideOf(rings: readonly Place[][]): Place | null {
  const outer = rings[0];
  if (outer === undefined || outer.length === 0) return null;
  const box = boxOf(outer);
  let best: { width: number; at: Place } | null = null;
  for (const part of [0.5, 0.35, 0.65, 0.2, 0.8]) {
    const y = box[1] + (box[3] - box[1]) * part + (box[3] - box[1]) * 1e-7;
    const cuts: number[] = [];
    for (const ring of rings) {
      for (let i = 1; i < ring.length; i += 1) {
        const a = ring[i - 1]!;
        const b = ring[i]!;
        if (a[1] > y !== b[1] > y) cuts.push(a[0] + ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]));
      }
    }
    cuts.sort((a, b) => a - b);
    for (let i = 1; i < cuts.length; i += 2) {
      const width = cuts[i]! - cuts[i - 1]!;
      // The middle line wins unless another is clearly wider.
      if (best === null || width > best.width * 1.25) best = { width, at: [(cuts[i]! + cuts[i - 1]!) / 2, y] };
    }
  }
  return best?.at ?? outer[0]!;
}

export function mapPlaces(geometry: Geometry, each: (place: Place) => Place): Geometry {
  switch (geometry.type) {
    case "Point":
      return { type: "Point", coordinates: each(geometry.coordinates) };
    case "MultiPoint":
      return { type: "MultiPoint", coordinates: geometry.coordinates.map(each) };
    case "LineString":
      return { type: "LineString", coordinates: geometry.coordinates.map(each) };
    case "Polygon":
      return { type: "Polygon", coordinates: geometry.coordinates.map((ring) => ring.map(each)) };
  }
}

/** Takes the noise of binary arithmetic off what goes into the file: a hundred-thousandth of a unit. */
export const tidy = (p: Place): Place => [Number(p[0].toFixed(5)) + 0, Number(p[1].toFixed(5)) + 0];
