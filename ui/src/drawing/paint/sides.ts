/** How long the sides of a shape are, and how large it is, written beside them. */
import type { Place } from "../../api/contract";
import { anchorOf, area, areaOf, boxOf, distance, insidePolygon, middle } from "../../lib/geometry";
import { writeArea, writeLength } from "../../lib/units";
import type { Frame } from "./frame";
import { touch, type Room, type Taken } from "./room";
import type { Scene, Shown } from "./scene";

const FONT = "600 12px system-ui, sans-serif";
const TALL = 16;
/** How wide the outline of what is chosen is drawn, with its pale edge. */
const LINE = 6;
/** More sides than this are a curve rather than sides. */
const MOST = 60;

interface Written extends Taken { text: string }

export interface Outline {
  chain: readonly Place[];
  /** What it holds, and where that is written; null for a line. */
  holds: { area: number; at: Place } | null;
}

/** Where the words stand; those that find no room are left out. Area and long sides come first. */
export function sidesOf(frame: Frame, scene: Scene, { chain, holds }: Outline, room: Room): Written[] {
  if (chain.length < 2 || chain.length > MOST + 1) return [];
  frame.ctx.font = FONT;
  // No words on the outline itself, which would strike them through.
  const lines = chain.slice(1).map((to, i): Taken => {
    const [x0, y0, x1, y1] = [frame.x(chain[i]!), frame.y(chain[i]!), frame.x(to), frame.y(to)];
    return { x: (x0 + x1) / 2, y: (y0 + y1) / 2, w: Math.hypot(x1 - x0, y1 - y0), h: LINE, turn: Math.atan2(y1 - y0, x1 - x0) };
  });
  const best = (places: readonly Taken[]) => room.best(places.filter((place) => !lines.some((line) => touch(place, line))));
  const box = (text: string): Taken & { text: string } => ({ x: 0, y: 0, w: frame.ctx.measureText(text).width + 8, h: TALL, turn: 0, text });
  const found: Written[] = [];
  if (holds !== null && holds.area > 0) {
    const words = box(writeArea(holds.area, scene.unit, scene.job.units));
    const [x, y] = [frame.x(holds.at), frame.y(holds.at)];
    const within = [22, -22, 40, -40].map((off) => ({ ...words, x, y: y + off }));
    const at = best([...within, ...aroundOf(frame, chain, words)]);
    if (at !== null) found.push({ ...at, text: words.text });
  }
  const sides = chain.slice(1).map((to, i): [Place, Place] => [chain[i]!, to]);
  for (const [from, to] of sides.sort((a, b) => distance(...b) - distance(...a))) {
    const words = box(writeLength(distance(from, to), scene.unit, scene.job.units));
    const at = best(besideOf(frame, from, to, words, holds !== null ? chain : null).map((place) => ({ ...words, ...place })));
    if (at !== null) found.push({ ...at, text: words.text });
  }
  return found;
}

/** Both sides of a line near its middle, outside an area before inside; none where the line is too short to be told apart. */
function besideOf(frame: Frame, from: Place, to: Place, words: Taken, ring: readonly Place[] | null): { x: number; y: number }[] {
  const long = distance(from, to) * frame.scale;
  if (long < 14) return [];
  const [nx, ny] = [(frame.y(to) - frame.y(from)) / long, -(frame.x(to) - frame.x(from)) / long];
  // So far that the level words clear a slanting line.
  const off = (Math.abs(nx) * words.w + Math.abs(ny) * words.h) / 2 + 5;
  const at = (part: number, way: number) => ({ x: frame.x(from) + (frame.x(to) - frame.x(from)) * part + nx * off * way, y: frame.y(from) + (frame.y(to) - frame.y(from)) * part + ny * off * way });
  const probe = middle(from, to);
  const inside = ring !== null && insidePolygon([probe[0] + (nx * 2) / frame.scale, probe[1] - (ny * 2) / frame.scale], [[...ring]]);
  // Beside a line the words stand above it.
  const first = ring === null ? (ny < 0 ? 1 : -1) : inside ? -1 : 1;
  return [at(0.5, first), at(0.5, -first), at(0.36, first), at(0.64, first), at(0.36, -first), at(0.64, -first), at(0.2, first), at(0.8, first)];
}

/** Beside an area too narrow for the words: below it, above it, to its right and its left. */
function aroundOf(frame: Frame, chain: readonly Place[], words: Taken): Taken[] {
  const [left, low, right, high] = boxOf(chain);
  const [x, y] = [(frame.x([left, 0]) + frame.x([right, 0])) / 2, (frame.y([0, low]) + frame.y([0, high])) / 2];
  const [below, above] = [frame.y([0, low]) + words.h + 16, frame.y([0, high]) - words.h - 16];
  const [aside, before] = [frame.x([right, 0]) + words.w / 2 + 8, frame.x([left, 0]) - words.w / 2 - 8];
  return [[x, below], [x, above], [aside, y + 22], [before, y + 22], [aside, y - 22], [before, y - 22]].map(([x, y]) => ({ ...words, x: x!, y: y! }));
}

export function writeSides(frame: Frame, written: readonly Written[]): void {
  const { ctx, scheme } = frame;
  ctx.font = FONT;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  for (const one of written) {
    ctx.globalAlpha = 0.9;
    ctx.fillStyle = scheme.paper;
    ctx.beginPath();
    ctx.roundRect(one.x - one.w / 2, one.y - one.h / 2, one.w, one.h, 4);
    ctx.fill();
    ctx.globalAlpha = 1;
    ctx.fillStyle = scheme.accent;
    ctx.fillText(one.text, one.x, one.y + 0.5);
  }
}

/** The outline of a feature; null where it has no sides. */
export function outlineOf(one: Shown): Outline | null {
  const { geometry } = one.feature;
  const [chain] = one.chains;
  if (chain === undefined || (geometry?.type !== "Polygon" && geometry?.type !== "LineString")) return null;
  return { chain, holds: geometry.type === "Polygon" && one.anchor !== null ? { area: areaOf(one.chains), at: one.anchor } : null };
}

/** The outline of an area that is being drawn, from its corners so far. */
export function outlineSoFar(corners: readonly Place[]): Outline {
  const ring = [...corners, corners[0]!];
  const at = anchorOf({ type: "Polygon", coordinates: [ring] });
  return { chain: ring, holds: at === null ? null : { area: Math.abs(area(ring)), at } };
}
