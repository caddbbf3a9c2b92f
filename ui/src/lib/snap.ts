/**
 * Finds the place that somebody means who points near something drawn.
 *
 * Comes in: what is drawn, a pointed place, how near counts. Goes out: a place, a word for it, lines that show why.
 * A place that is drawn already comes out exactly as it is written there. Nothing here knows about pixels.
 */
import RBush from "ol/structs/RBush";
import type { Place } from "../api/contract";
import { between, cross, distance, dot, grown, meet, middle, minus, nearest, polar, same, share, boxOf, type Box } from "./geometry";

interface Edge { owner: string; a: Place; b: Place }
interface Spot { owner: string; at: Place }

export type SnapKind =
  | "point" | "crossing" | "middle" | "edge" | "extension" | "right angle" | "parallel" | "offset" | "straight" | "none";

export interface Snapped {
  at: Place;
  kind: SnapKind;
  /** A few words for the hint, such as "corner of B1". */
  words: string;
  /** Lines to draw, from place to place. */
  guides: [Place, Place][];
  /** The feature that was snapped to. */
  owner: string | null;
}

export interface Wish {
  at: Place;
  /** What counts as near, in the job's unit. */
  near: number;
  /** The place drawn last. */
  from?: Place | null;
  /** The place drawn before it. */
  before?: Place | null;
  /** The first two corners of an area that is being drawn: the side that closes it wants to stand square to the first one. */
  ring?: readonly [Place, Place] | null;
  /** Further places that one may snap to, such as those of the shape being drawn. */
  also?: readonly Place[];
  /** Features that do not count, such as the one being dragged. */
  but?: ReadonlySet<string>;
  /** Whether the direction is held to whole steps of 15°. */
  straight?: boolean;
  /** A distance to keep from edges; 0 or absent is none. */
  offset?: number;
}

/** Steps of the direction while it is held straight. */
const STEP = 15;
/** How far beyond its end an edge goes on, as a multiple of what counts as near. */
const BEYOND = 14;
/** Lines that are not drawn anywhere have to be met more closely, or they would get in the way of free places. */
const RAY = 0.55;
/** Edges looked at for directions; nearer ones count first. */
const MOST = 24;

/** Everything that can be snapped to, findable by place. */
export class SnapIndex {
  #edges = new RBush<Edge>(16);
  #spots = new RBush<Spot>(16);
  #owned = new Map<string, { edges: Edge[]; spots: Spot[] }>();

  /** Takes a feature in, or its new shape. */
  set(owner: string, chains: readonly (readonly Place[])[]): void {
    this.remove(owner);
    const edges: Edge[] = [];
    const spots: Spot[] = [];
    for (const chain of chains) {
      const last = chain.length - 1;
      const closed = last > 0 && same(chain[0]!, chain[last]!);
      for (const [i, at] of chain.entries()) {
        if (!(closed && i === last)) spots.push({ owner, at });
        if (i > 0 && !same(chain[i - 1]!, at)) edges.push({ owner, a: chain[i - 1]!, b: at });
      }
    }
    this.#edges.load(edges.map((edge) => boxOf([edge.a, edge.b])), edges);
    this.#spots.load(spots.map((spot) => boxOf([spot.at])), spots);
    this.#owned.set(owner, { edges, spots });
  }

  remove(owner: string): void {
    const owned = this.#owned.get(owner);
    if (owned === undefined) return;
    for (const edge of owned.edges) this.#edges.remove(edge);
    for (const spot of owned.spots) this.#spots.remove(spot);
    this.#owned.delete(owner);
  }

  has(owner: string): boolean {
    return this.#owned.has(owner);
  }

  edges(box: Box, but?: ReadonlySet<string>): Edge[] {
    const found = this.#edges.getInExtent(box);
    return but === undefined || but.size === 0 ? found : found.filter((edge) => !but.has(edge.owner));
  }

  spots(box: Box, but?: ReadonlySet<string>): Spot[] {
    const found = this.#spots.getInExtent(box);
    return but === undefined || but.size === 0 ? found : found.filter((spot) => !but.has(spot.owner));
  }
}

/** A line through `at` along `along`; `guides` show where it comes from. */
interface Ray { at: Place; along: Place; kind: SnapKind; words: string; guides: [Place, Place][]; owner: string | null }

/** The place meant by a wish. Drawn places count before crossings, these before middles, lines before edges alone. */
export function snap(index: SnapIndex, wish: Wish): Snapped {
  const box = grown(boxOf([wish.at]), wish.near);
  if (wish.straight && wish.from) return straightened(index, wish, box);
  const edges = index.edges(box, wish.but).filter((edge) => distance(wish.at, nearest(wish.at, edge.a, edge.b)) <= wish.near);
  const rays = [...offsets(index, wish), ...extensions(index, wish), ...directions(index, wish, edges), ...closings(wish)];
  return (
    toSpot(index, wish, box) ??
    toCrossing(wish, edges, rays.filter((ray) => ray.kind === "offset")) ??
    toMiddle(wish, edges) ??
    toRayCrossing(wish, edges, rays, wish.ring ? squares(wish, directions(index, wish, edges, 1)) : []) ??
    toRay(wish, rays.filter((ray) => ray.kind === "offset")) ??
    toEdge(wish, edges) ??
    toRay(wish, rays) ?? { at: wish.at, kind: "none", words: "", guides: [], owner: null }
  );
}

function toSpot(index: SnapIndex, wish: Wish, box: Box): Snapped | null {
  const spots: { owner: string | null; at: Place }[] = index.spots(box, wish.but);
  for (const at of wish.also ?? []) spots.push({ owner: null, at });
  const found = least(spots, (spot) => distance(spot.at, wish.at), wish.near);
  if (found === null) return null;
  return { at: found.at, kind: "point", words: found.owner === null ? "a place drawn before" : `point of ${found.owner}`, guides: [], owner: found.owner };
}

function toCrossing(wish: Wish, edges: readonly Edge[], rays: readonly Ray[]): Snapped | null {
  const found: Snapped[] = [];
  const near = byDistance(wish.at, edges);
  for (const [i, one] of near.entries()) {
    for (const other of near.slice(i + 1)) {
      const hit = meet(one.a, one.b, other.a, other.b);
      if (hit === null || hit.t < 0 || hit.t > 1 || hit.u < 0 || hit.u > 1) continue;
      const words = one.owner === other.owner ? `where ${one.owner} crosses itself` : `where ${one.owner} and ${other.owner} cross`;
      found.push({ at: hit.at, kind: "crossing", words, guides: [], owner: one.owner });
    }
  }
  for (const [i, one] of rays.entries()) {
    for (const other of rays.slice(i + 1)) {
      const hit = meet(one.at, sum(one.at, one.along), other.at, sum(other.at, other.along));
      if (hit !== null) found.push({ at: hit.at, kind: "offset", words: `${one.words}, ${other.words}`, guides: [...one.guides, ...other.guides], owner: one.owner });
    }
  }
  return least(found, (one) => distance(one.at, wish.at), wish.near);
}

function toMiddle(wish: Wish, edges: readonly Edge[]): Snapped | null {
  // Of short edges the middle would be all that is left.
  const long = edges.filter((edge) => distance(edge.a, edge.b) > wish.near * 4);
  const found = least(long, (edge) => distance(middle(edge.a, edge.b), wish.at), wish.near * 0.7);
  if (found === null) return null;
  return { at: middle(found.a, found.b), kind: "middle", words: `middle of an edge of ${found.owner}`, guides: [[found.a, found.b]], owner: found.owner };
}

function toRayCrossing(wish: Wish, edges: readonly Edge[], rays: readonly Ray[], more: readonly Snapped[]): Snapped | null {
  // A corner that closes an area squarely counts from as far as a drawn place does.
  const found: Snapped[] = [...more];
  for (const [i, ray] of rays.entries()) {
    const tip = sum(ray.at, ray.along);
    for (const edge of edges) {
      const hit = meet(edge.a, edge.b, ray.at, tip);
      if (hit === null || hit.t < 0 || hit.t > 1) continue;
      found.push({ at: hit.at, kind: ray.kind, words: `${ray.words}, on ${edge.owner}`, guides: [...ray.guides, [ray.at, hit.at]], owner: edge.owner });
    }
    for (const other of rays.slice(i + 1)) {
      if (same(ray.at, other.at)) continue;
      const hit = meet(ray.at, tip, other.at, sum(other.at, other.along));
      if (hit === null || distance(hit.at, wish.at) > wish.near * RAY) continue;
      found.push({
        at: hit.at, kind: ray.kind, words: `${ray.words}, ${other.words}`,
        guides: [...ray.guides, ...other.guides, [ray.at, hit.at], [other.at, hit.at]], owner: ray.owner,
      });
    }
  }
  return least(found, (one) => distance(one.at, wish.at), wish.near);
}

function toEdge(wish: Wish, edges: readonly Edge[]): Snapped | null {
  const found = least(edges, (edge) => distance(nearest(wish.at, edge.a, edge.b), wish.at), wish.near);
  if (found === null) return null;
  return { at: nearest(wish.at, found.a, found.b), kind: "edge", words: `edge of ${found.owner}`, guides: [[found.a, found.b]], owner: found.owner };
}

function toRay(wish: Wish, rays: readonly Ray[]): Snapped | null {
  const found = least(rays, (ray) => distance(foot(wish.at, ray), wish.at), wish.near);
  if (found === null) return null;
  const at = foot(wish.at, found);
  return { at, kind: found.kind, words: found.words, guides: [...found.guides, [found.at, at]], owner: found.owner };
}

/** Edges that go on beyond their ends. */
function extensions(index: SnapIndex, wish: Wish): Ray[] {
  const edges = byDistance(wish.at, index.edges(grown(boxOf([wish.at]), wish.near * BEYOND), wish.but));
  const rays: Ray[] = [];
  for (const edge of edges) {
    const t = share(wish.at, edge.a, edge.b);
    if (t >= 0 && t <= 1) continue;
    const end = t < 0 ? edge.a : edge.b;
    const other = t < 0 ? edge.b : edge.a;
    const ray: Ray = {
      at: end, along: minus(end, other), kind: "extension", words: `in line with an edge of ${edge.owner}`, guides: [[other, end]], owner: edge.owner,
    };
    if (distance(foot(wish.at, ray), wish.at) <= wish.near * RAY) rays.push(ray);
  }
  return rays;
}

/** From the last place at a right angle or parallel to the line before and to edges nearby. */
function directions(index: SnapIndex, wish: Wish, near: readonly Edge[], slack = RAY): Ray[] {
  const from = wish.from;
  if (!from) return [];
  const rays: Ray[] = [];
  const add = (along: Place, kind: SnapKind, words: string, guide: [Place, Place], owner: string | null) => {
    const ray: Ray = { at: from, along, kind, words, guides: [guide], owner };
    if (distance(foot(wish.at, ray), wish.at) <= wish.near * slack) rays.push(ray);
  };
  if (wish.before && !same(wish.before, from)) {
    const along = minus(from, wish.before);
    add([-along[1], along[0]], "right angle", "at a right angle", [wish.before, from], null);
    add(along, "parallel", "straight on", [wish.before, from], null);
  }
  const beside = index.edges(grown(boxOf([from]), wish.near * 2), wish.but);
  for (const edge of [...byDistance(from, beside).slice(0, 8), ...near.slice(0, 8)]) {
    const along = minus(edge.b, edge.a);
    add([-along[1], along[0]], "right angle", `at a right angle to ${edge.owner}`, [edge.a, edge.b], edge.owner);
    add(along, "parallel", `parallel to ${edge.owner}`, [edge.a, edge.b], edge.owner);
  }
  // The axes of the plan are edges that are always there.
  add([1, 0], "straight", "level", [from, from], null);
  add([0, 1], "straight", "upright", [from, from], null);
  return rays;
}

/** From the first corner of an area, where the side that closes it would run: square to the first side or in line with it, upright or level. */
function closings(wish: Wish): Ray[] {
  if (!wish.ring || !wish.from) return [];
  const [first, second] = wish.ring;
  if (same(first, second) || same(first, wish.from)) return [];
  const side = minus(second, first);
  const rays: Ray[] = [];
  const add = (along: Place, kind: SnapKind, words: string, guides: [Place, Place][]) => {
    const ray: Ray = { at: first, along, kind, words, guides, owner: null };
    const there = rays.some((other) => Math.abs(cross(other.along, along)) <= 1e-9 * Math.hypot(...other.along) * Math.hypot(...along));
    if (!there && distance(foot(wish.at, ray), wish.at) <= wish.near * RAY) rays.push(ray);
  };
  add([-side[1], side[0]], "right angle", "closes at a right angle to the first side", [[first, second]]);
  add(side, "extension", "closes in line with the first side", [[first, second]]);
  add([0, 1], "straight", "upright with the first corner", []);
  add([1, 0], "straight", "level with the first corner", []);
  return rays;
}

/** On lines from the last corner, where the side that closes the area would leave them at a right angle. */
function squares(wish: Wish, rays: readonly Ray[]): Snapped[] {
  const { from, ring } = wish;
  if (!ring || !from) return [];
  const [first] = ring;
  return rays.filter((ray) => same(ray.at, from)).flatMap((ray) => {
    const at = foot(first, ray);
    if (distance(at, from) <= wish.near || distance(at, first) <= wish.near) return [];
    return [{ at, kind: "right angle" as const, words: `${ray.words}, closes at a right angle`, guides: [...ray.guides, [from, at], [at, first]] as [Place, Place][], owner: ray.owner }];
  });
}

/** Lines that keep the wished distance from edges, on the side of the pointer. */
function offsets(index: SnapIndex, wish: Wish): Ray[] {
  const keep = wish.offset ?? 0;
  if (keep <= 0) return [];
  const rays: Ray[] = [];
  for (const edge of byDistance(wish.at, index.edges(grown(boxOf([wish.at]), keep + wish.near), wish.but))) {
    const along = minus(edge.b, edge.a);
    const long = Math.hypot(...along);
    const side = cross(along, minus(wish.at, edge.a)) < 0 ? -1 : 1;
    const across: Place = [(-along[1] / long) * keep * side, (along[0] / long) * keep * side];
    const ray: Ray = {
      at: sum(edge.a, across), along, kind: "offset", words: `at the distance from ${edge.owner}`,
      guides: [[edge.a, edge.b]], owner: edge.owner,
    };
    const t = share(wish.at, edge.a, edge.b);
    const reach = wish.near / long;
    if (t >= -reach && t <= 1 + reach && distance(foot(wish.at, ray), wish.at) <= wish.near) rays.push(ray);
  }
  return rays;
}

function straightened(index: SnapIndex, wish: Wish, box: Box): Snapped {
  const from = wish.from!;
  const far = distance(from, wish.at);
  const turn = (Math.atan2(wish.at[1] - from[1], wish.at[0] - from[0]) * 180) / Math.PI;
  const held = Math.round(turn / STEP) * STEP;
  const along = minus(polar(from, 1, held), from);
  const words = `${((held % 360) + 360) % 360}°`;
  const plain = polar(from, Math.max(0, dot(minus(wish.at, from), along)), held);
  // On the held line one may still stop at an edge that it crosses.
  const hits: Snapped[] = [];
  for (const edge of index.edges(box, wish.but)) {
    const hit = meet(edge.a, edge.b, from, sum(from, along));
    if (hit === null || hit.t < 0 || hit.t > 1 || hit.u <= 0) continue;
    hits.push({ at: hit.at, kind: "straight", words: `${words}, on ${edge.owner}`, guides: [[from, hit.at]], owner: edge.owner });
  }
  const ray: Ray = { at: from, along, kind: "straight", words, guides: [], owner: null };
  for (const other of closings({ ...wish, at: plain, near: wish.near / RAY })) {
    const hit = meet(other.at, sum(other.at, other.along), from, sum(from, along));
    if (hit !== null && hit.u > 0) hits.push({ at: hit.at, kind: other.kind, words: `${words}, ${other.words}`, guides: [[from, hit.at], [other.at, hit.at]], owner: null });
  }
  hits.push(...squares(wish, [ray]));
  return (
    least(hits, (one) => distance(one.at, plain), wish.near) ??
    { at: far === 0 ? wish.at : plain, kind: "straight", words, guides: [[from, plain]], owner: null }
  );
}

const sum = (a: Place, b: Place): Place => [a[0] + b[0], a[1] + b[1]];

function foot(p: Place, ray: Ray): Place {
  const tip = sum(ray.at, ray.along);
  // Level and upright lines keep their coordinate to the last digit.
  if (ray.along[0] === 0) return [ray.at[0], p[1]];
  if (ray.along[1] === 0) return [p[0], ray.at[1]];
  return between(ray.at, tip, share(p, ray.at, tip));
}

const byDistance = (at: Place, edges: readonly Edge[]): Edge[] =>
  edges
    .map((edge) => ({ edge, far: distance(at, nearest(at, edge.a, edge.b)) }))
    .sort((one, other) => one.far - other.far || (one.edge.owner < other.edge.owner ? -1 : 1))
    .slice(0, MOST)
    .map(({ edge }) => edge);

/** The one with the least measure, if that is small enough; of equals the first. */
function least<T>(all: readonly T[], measure: (one: T) => number, most: number): T | null {
  let best: T | null = null;
  let low = most;
  for (const one of all) {
    const size = measure(one);
    if (size < low || (best === null && size <= most)) {
      best = one;
      low = size;
    }
  }
  return best;
}
