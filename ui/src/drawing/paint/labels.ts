/** Names and sizes, where there is room: the weightier first, none over another, under a bar or over the edge. */
import type { Place } from "../../api/contract";
import { along, insidePolygon, lengthOf } from "../../lib/geometry";
import { signsOf } from "./findings";
import { Frame } from "./frame";
import { lettersOf } from "./ground";
import { Room, type Taken } from "./room";
import { stretchBox, type Scene, type Shown } from "./scene";
import { outlineOf, sidesOf, writeSides } from "./sides";

interface Words { text: string; size: number; bold?: boolean; muted?: boolean; italic?: boolean }

/** Width of the pale edge around letters, in pixels. */
const HALO = 3;

/** Most labels of a repaint, so that a big job stays quick. */
const MOST = 420;

export interface Bar { x: number; y: number; w: number; h: number }

export interface Wanted {
  /** Names of everything, or only what is said of what is chosen. */
  names: boolean;
  /** Whether the trenches are shown, and whether they are older than the job. */
  plan: boolean;
  stale: boolean;
  /** What lies over the canvas. */
  bars: readonly Bar[];
  /** What is chosen; of a single one the lengths of its sides are written. */
  chosen: readonly Shown[];
}

/** Gives back where the words stand that it wrote. */
export function paintLabels(frame: Frame, scene: Scene, wanted: Wanted): Taken[] {
  const room = new Room(...frame.size);
  for (const bar of wanted.bars) room.block(bar.x, bar.y, bar.w, bar.h);
  blockSymbols(room, frame, scene, wanted.plan);
  for (const line of linesOf(frame, scene, wanted.plan)) {
    for (let i = 1; i < line.length; i += 1) room.avoid(frame.x(line[i - 1]!), frame.y(line[i - 1]!), frame.x(line[i]!), frame.y(line[i]!));
  }
  for (const one of wanted.chosen) blockHandles(room, frame, one);
  const [single, another] = wanted.chosen;
  const outline = single === undefined || another !== undefined ? null : outlineOf(single);
  const sides = outline === null ? [] : sidesOf(frame, scene, outline, room);
  const names: Taken[] = [];
  if (wanted.names) paintNames({ frame, room, names }, scene, wanted);
  writeSides(frame, sides);
  return [...names, ...sides];
}

/** Symbols and signs, which no name may hide. */
function blockSymbols(room: Room, frame: Frame, scene: Scene, plan: boolean): void {
  const around = (at: Place, reach: number) => room.block(frame.x(at) - reach, frame.y(at) - reach, 2 * reach, 2 * reach);
  for (const kind of ["source", "backflow", "controller", "valve", "manifold", "head", "drip", "cable", "access", "spot", "mark"]) {
    for (const one of scene.byKind.get(kind) ?? []) if (frame.sees(one.box, 0)) for (const [at] of one.chains) if (at) around(at, 2 * frame.mm);
  }
  for (const utility of scene.byKind.get("utility") ?? []) {
    if (!frame.sees(utility.box)) continue;
    for (const chain of utility.chains) for (const letter of lettersOf(frame, chain)) room.block(letter.x - letter.radius, letter.y - letter.radius, 2 * letter.radius, 2 * letter.radius);
  }
  for (const { x, y, radius } of signsOf(frame, scene)) {
    room.block(x - radius - 4, y - radius - 4, 2 * radius + 8, 2 * radius + 8);
    room.block(x + radius * 0.9 - 5, y - radius * 0.9 - 13, 18, 18);
  }
  if (scene.plan === null || !plan) return;
  for (const crossing of scene.plan.crossings) {
    around(crossing.at, 2.4 * frame.mm);
    if (crossing.verdict !== "enough") room.block(frame.x(crossing.at) + 2.4 * frame.mm, frame.y(crossing.at) - 2 * frame.mm, 3 * frame.mm, 4 * frame.mm);
  }
  for (const valve of scene.plan.valves) if (valve.proposed) around(valve.at, 2.3 * frame.mm);
}

/** Where what is chosen is taken hold of: its corners and its middle; around a point lies a ring. */
function blockHandles(room: Room, frame: Frame, one: Shown): void {
  const type = one.feature.geometry?.type;
  if (type === "Point" || type === "MultiPoint") {
    const reach = 3.1 * frame.mm + 5;
    for (const [at] of one.chains) if (at) room.block(frame.x(at) - reach, frame.y(at) - reach, 2 * reach, 2 * reach);
    return;
  }
  for (const place of one.chains.flat()) room.block(frame.x(place) - 7, frame.y(place) - 7, 14, 14);
  if (one.anchor !== null && type === "Polygon") room.block(frame.x(one.anchor) - 11, frame.y(one.anchor) - 11, 22, 22);
}

/** Trenches, services, fences, walls and the property line, as far as they are in sight. */
function linesOf(frame: Frame, scene: Scene, plan: boolean): Place[][] {
  const drawn = ["boundary", "utility", "fixed_trench", "gate", "sleeve", "obstacle"].flatMap((kind) => scene.byKind.get(kind) ?? []);
  const trenches = plan ? (scene.plan?.stretches ?? []).filter((stretch) => frame.sees(stretchBox(stretch))).map((stretch) => stretch.path) : [];
  return [...trenches, ...drawn.filter((one) => frame.sees(one.box)).flatMap((one) => one.chains)];
}

function paintNames(view: View, scene: Scene, { plan, stale }: Wanted): void {
  const { frame } = view;
  const perMetre = frame.scale / scene.metre;
  frame.ctx.lineJoin = "round";
  if (perMetre > 3) {
    for (const kind of ["source", "backflow", "controller"]) for (const one of scene.byKind.get(kind) ?? []) beside(view, one, { text: `${one.id} ${kind}`, size: 12, bold: true });
    areas(view, scene, perMetre);
  }
  if (perMetre > 9) {
    for (const one of scene.byKind.get("valve") ?? []) beside(view, one, { text: `${one.id} for ${String(one.feature.properties.circuit ?? "?")}`, size: 11.5, bold: true });
    for (const kind of ["manifold", "head", "drip"]) for (const one of scene.byKind.get(kind) ?? []) beside(view, one, { text: one.id, size: 11.5 });
  }
  if (scene.plan !== null && plan && perMetre > 12) {
    const taken = new Map<string, number>();
    for (const pipe of scene.plan.pipes) {
      const length = lengthOf(pipe.path);
      if (length * frame.scale < 50) continue;
      const beforeOnStretch = taken.get(pipe.stretch) ?? 0;
      const name = pipe.kind === "lateral" ? (pipe.circuit ?? pipe.line) : pipe.kind;
      if (alongLine(view, pipe.path, length, { text: `${name} ${pipe.size}`, size: 11, muted: stale }, beforeOnStretch)) taken.set(pipe.stretch, beforeOnStretch + 1);
    }
    if (perMetre > 26) {
      for (const stretch of scene.plan.stretches) {
        const length = lengthOf(stretch.path);
        if (length * frame.scale > 36) alongLine(view, stretch.path, length, { text: stretch.id, size: 10.5, italic: true, muted: true }, -1);
      }
    }
  }
  if (perMetre > 12) {
    for (const one of scene.byKind.get("cable") ?? []) beside(view, one, { text: `${one.id} ${String(one.feature.properties.service ?? "")}`, size: 11 });
    for (const one of scene.byKind.get("spot") ?? []) beside(view, one, { text: String(one.feature.properties.elevation ?? one.id), size: 10.5, muted: true });
    for (const kind of ["mark", "baseline", "soil"]) for (const one of scene.byKind.get(kind) ?? []) beside(view, one, { text: kind === "soil" ? `${one.id} ${word(one, "texture")}` : one.id, size: 11, muted: true });
  }
}

const word = (one: Shown, property: string) => String(one.feature.properties[property] ?? "").replaceAll("_", " ");

interface View { frame: Frame; room: Room; names: Taken[] }

function areas(view: View, scene: Scene, perMetre: number): void {
  const named: [string, (one: Shown) => string][] = [
    ["obstacle", (one) => `${one.id} ${word(one, "obstacle")}`],
    ["tree", (one) => `${one.id} ${perMetre > 12 ? `trunk ${word(one, "trunk")}` : ""}`.trim()],
    ["keep_out", (one) => `${one.id} kept out`],
    ["corridor", (one) => `${one.id} corridor`],
    ["gate", (one) => `${one.id} gate ${word(one, "clear_width")}`],
    ["sleeve", (one) => `${one.id} sleeve`],
    ["fixed_trench", (one) => one.id],
    ["surface", (one) => `${one.id} ${word(one, "surface")}`],
    ["steep", (one) => `${one.id} slope ${word(one, "slope")}`],
  ];
  const standing = (scene.byKind.get("obstacle") ?? []).filter((one) => one.feature.geometry?.type === "Polygon");
  for (const [kind, text] of named) {
    for (const one of scene.byKind.get(kind) ?? []) {
      if (one.anchor === null || !view.frame.sees(one.box)) continue;
      const wide = (one.box[2] - one.box[0]) * view.frame.scale;
      const words = text(one);
      if (kind === "surface" && wide < words.length * 5.5) continue;
      if (one.feature.geometry?.type === "Polygon") centred(view, one, { text: words, size: 12, muted: kind === "surface" || kind === "steep" }, kind === "obstacle" ? [] : standing);
      else beside(view, one, { text: words, size: 11.5, muted: true });
    }
  }
}

const fontOf = (words: Words) => `${words.italic ? "italic " : ""}${words.bold ? "600 " : ""}${words.size}px system-ui, sans-serif`;

/** Rooms of words that were measured: the same names are written at every repaint. */
const measured = new Map<string, { w: number; h: number }>();
const MEASURED = 5000;

/** The room that the words take with their halo. */
function roomOf(frame: Frame, words: Words): { w: number; h: number } {
  const key = `${fontOf(words)} ${words.text}`;
  let room = measured.get(key);
  if (room === undefined) {
    frame.ctx.font = fontOf(words);
    const { width, fontBoundingBoxAscent: above, fontBoundingBoxDescent: below } = frame.ctx.measureText(words.text);
    room = { w: width + HALO, h: Math.min(above + below, words.size * 1.25) + HALO / 2 };
    if (measured.size >= MEASURED) measured.clear();
    measured.set(key, room);
  }
  return room;
}

function write(view: View, words: Words, at: Taken): void {
  const { ctx, scheme } = view.frame;
  view.names.push(at);
  ctx.save();
  ctx.font = fontOf(words);
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.translate(at.x, at.y);
  ctx.rotate(at.turn);
  ctx.strokeStyle = scheme.halo;
  ctx.lineWidth = HALO;
  ctx.strokeText(words.text, 0, 0);
  ctx.fillStyle = words.muted ? scheme.muted : scheme.ink;
  ctx.fillText(words.text, 0, 0);
  ctx.restore();
}

/** Writes where there is room, on no line if it can be; leaves the words out where there is none. */
function writeAt(view: View, words: Words, places: readonly Taken[]): boolean {
  const place = view.room.best(places);
  if (place !== null) write(view, words, place);
  return place !== null;
}

const seen = (frame: Frame, at: Place) => frame.sees([at[0], at[1], at[0], at[1]], 0);

function beside(view: View, one: Shown, words: Words): void {
  const { frame } = view;
  if (one.anchor === null || view.names.length >= MOST || !seen(frame, one.anchor)) return;
  const size = roomOf(frame, words);
  const [x, y] = [frame.x(one.anchor), frame.y(one.anchor)];
  // Close by first, else around the ring of what is chosen or the sign of a finding.
  const places = [2.2 * frame.mm, 3.1 * frame.mm + 6].flatMap((off) => {
    const [aside, above] = [off + size.w / 2, off + size.h / 2];
    const slant = aside - off * 0.3;
    return [[aside, 0], [-aside, 0], [0, -above], [0, above], [slant, -above], [slant, above], [-slant, -above], [-slant, above]];
  });
  writeAt(view, words, places.map(([dx, dy]) => ({ ...size, x: x + dx!, y: y + dy!, turn: 0 })));
}

/** In an area, at the place for its name or somewhat above or below it, but neither out of it nor where others lie on it. */
function centred(view: View, one: Shown, words: Words, beneath: readonly Shown[]): void {
  const { frame } = view;
  const at = one.anchor;
  if (at === null || view.names.length >= MOST || !seen(frame, at)) return;
  const size = roomOf(frame, words);
  // Near the edge the words come inwards, as long as they still stand over the place.
  const x = Math.min(Math.max(frame.x(at), size.w / 2 + 2), frame.size[0] - size.w / 2 - 2);
  if (Math.abs(x - frame.x(at)) > size.w / 2) return;
  const within = (shift: number) => {
    const place: Place = [at[0], at[1] - (shift * size.h) / frame.scale];
    return insidePolygon(place, one.chains) && !beneath.some((other) => insidePolygon(place, other.chains));
  };
  writeAt(view, words, [0, -0.7, 0.7, -1.3, 1.3, -2.6, 2.6, -3.6, 3.6].filter(within).map((shift) => ({ ...size, x, y: frame.y(at) + shift * size.h, turn: 0 })));
}

/** Along a line, turned so that it is read from left to right; `row` says how far off the line. */
function alongLine(view: View, path: readonly Place[], length: number, words: Words, row: number): boolean {
  const { frame } = view;
  if (view.names.length >= MOST) return false;
  const size = roomOf(frame, words);
  if (length * frame.scale < size.w + 4) return false;
  const off = row < 0 ? words.size * 0.95 : -(words.size * 0.95 + row * (words.size + 1));
  const places: Taken[] = [];
  for (const part of [0.5, 0.3, 0.7]) {
    const here = along(path, length * part);
    if (here === null || !seen(frame, here.at)) continue;
    let turn = -here.turn;
    if (turn > Math.PI / 2 + 1e-6) turn -= Math.PI;
    if (turn < -Math.PI / 2 - 1e-6) turn += Math.PI;
    places.push({ ...size, x: frame.x(here.at) - Math.sin(turn) * off, y: frame.y(here.at) + Math.cos(turn) * off, turn });
  }
  return writeAt(view, words, places);
}
