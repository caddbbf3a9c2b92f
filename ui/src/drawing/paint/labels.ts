/** Names and sizes, where there is room: the weightier first, none over another. */
import type { Place } from "../../api/contract";
import { along, lengthOf } from "../../lib/geometry";
import { Frame } from "./frame";
import type { Scene, Shown } from "./scene";

/** Room that is taken, in cells of a few pixels. */
class Room {
  #cells = new Set<number>();
  free(x: number, y: number, w: number, h: number): boolean {
    return this.#each(x, y, w, h, (cell) => !this.#cells.has(cell));
  }

  /** Takes the box if it is free, or all the same. */
  take(x: number, y: number, w: number, h: number, force = false): boolean {
    if (!force && !this.free(x, y, w, h)) return false;
    this.#each(x, y, w, h, (cell) => this.#cells.add(cell) !== undefined);
    return true;
  }

  #each(x: number, y: number, w: number, h: number, then: (cell: number) => boolean): boolean {
    for (let i = Math.floor(x / CELL); i <= Math.floor((x + w) / CELL); i += 1) {
      for (let j = Math.floor(y / CELL); j <= Math.floor((y + h) / CELL); j += 1) if (!then(i * 8192 + j)) return false;
    }
    return true;
  }
}

/** Side of a cell of room, in pixels. */
const CELL = 6;

interface Words { text: string; size: number; bold?: boolean; muted?: boolean; italic?: boolean }

/** Most labels of a repaint, so that a big job stays quick. */
const MOST = 420;

export function paintLabels(frame: Frame, scene: Scene, stale: boolean, showPlan: boolean): void {
  const { ctx } = frame;
  const room = new Room();
  const perMetre = frame.scale / scene.metre;
  const view = { frame, room, left: MOST };
  ctx.lineJoin = "round";
  const components = ["source", "backflow", "controller", "valve", "manifold", "head", "drip", "cable", "access"];
  for (const kind of components) {
    for (const one of scene.byKind.get(kind) ?? []) {
      const at = one.anchor;
      if (at !== null && frame.sees(one.box, 0)) room.take(frame.x(at) - 2 * frame.mm, frame.y(at) - 2 * frame.mm, 4 * frame.mm, 4 * frame.mm, true);
    }
  }
  for (const crossing of scene.plan?.crossings ?? []) {
    room.take(frame.x(crossing.at) - 2.4 * frame.mm, frame.y(crossing.at) - 2.4 * frame.mm, 4.8 * frame.mm, 4.8 * frame.mm, true);
  }
  if (perMetre > 3) {
    for (const kind of ["source", "backflow", "controller"]) for (const one of scene.byKind.get(kind) ?? []) beside(view, one, { text: `${one.id} ${kind}`, size: 12, bold: true });
    areas(view, scene, perMetre);
  }
  if (perMetre > 9) {
    for (const one of scene.byKind.get("valve") ?? []) beside(view, one, { text: `${one.id} for ${String(one.feature.properties.circuit ?? "?")}`, size: 11.5, bold: true });
    for (const kind of ["manifold", "head", "drip"]) for (const one of scene.byKind.get(kind) ?? []) beside(view, one, { text: one.id, size: 11.5 });
  }
  if (scene.plan !== null && showPlan && perMetre > 12) {
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

interface View { frame: Frame; room: Room; left: number }

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
  for (const [kind, text] of named) {
    for (const one of scene.byKind.get(kind) ?? []) {
      if (one.anchor === null || !view.frame.sees(one.box)) continue;
      const wide = (one.box[2] - one.box[0]) * view.frame.scale;
      const words = text(one);
      if (kind === "surface" && wide < words.length * 5.5) continue;
      if (one.feature.geometry?.type === "Polygon") centred(view, one.anchor, { text: words, size: 12, muted: kind === "surface" || kind === "steep" });
      else beside(view, one, { text: words, size: 11.5, muted: true });
    }
  }
}

function set(frame: Frame, words: Words): void {
  frame.ctx.font = `${words.italic ? "italic " : ""}${words.bold ? "600 " : ""}${words.size}px system-ui, sans-serif`;
  frame.ctx.textBaseline = "middle";
}

function write(view: View, words: Words, x: number, y: number): void {
  const { ctx, scheme } = view.frame;
  view.left -= 1;
  ctx.strokeStyle = scheme.halo;
  ctx.lineWidth = 3;
  ctx.strokeText(words.text, x, y);
  ctx.fillStyle = words.muted ? scheme.muted : scheme.ink;
  ctx.fillText(words.text, x, y);
}

function beside(view: View, one: Shown, words: Words): void {
  const { frame, room } = view;
  if (one.anchor === null || view.left <= 0 || !frame.sees([one.anchor[0], one.anchor[1], one.anchor[0], one.anchor[1]], 0)) return;
  set(frame, words);
  frame.ctx.textAlign = "left";
  const [x, y] = [frame.x(one.anchor), frame.y(one.anchor)];
  const wide = frame.ctx.measureText(words.text).width;
  const off = 2.6 * frame.mm;
  const tall = words.size + 2;
  const tries: [number, number][] = [[x + off, y], [x - off - wide, y], [x - wide / 2, y - off - tall / 2], [x - wide / 2, y + off + tall / 2], [x + off * 0.7, y - off], [x + off * 0.7, y + off]];
  for (const [left, at] of tries) {
    if (room.take(left, at - tall / 2, wide, tall)) return write(view, words, left, at);
  }
}

function centred(view: View, at: Place, words: Words): void {
  const { frame, room } = view;
  if (view.left <= 0 || !frame.sees([at[0], at[1], at[0], at[1]], 0)) return;
  set(frame, words);
  frame.ctx.textAlign = "left";
  const wide = frame.ctx.measureText(words.text).width;
  const tall = words.size + 2;
  const [x, y] = [frame.x(at) - wide / 2, frame.y(at)];
  for (const shift of [0, -tall * 1.6, tall * 1.6]) if (room.take(x, y + shift - tall / 2, wide, tall)) return write(view, words, x, y + shift);
}

/** Along a line, turned so that it is read from left to right; `row` says how far off the line. */
function alongLine(view: View, path: readonly Place[], length: number, words: Words, row: number): boolean {
  const { frame, room } = view;
  if (view.left <= 0) return false;
  set(frame, words);
  const wide = frame.ctx.measureText(words.text).width;
  if (length * frame.scale < wide + 6) return false;
  for (const part of [0.5, 0.3, 0.7]) {
    const here = along(path, length * part);
    if (here === null || !frame.sees([here.at[0], here.at[1], here.at[0], here.at[1]], 0)) continue;
    let turn = -here.turn;
    if (turn > Math.PI / 2 + 1e-6) turn -= Math.PI;
    if (turn < -Math.PI / 2 - 1e-6) turn += Math.PI;
    const off = row < 0 ? words.size * 0.95 : -(words.size * 0.95 + row * (words.size + 1));
    const x = frame.x(here.at) - Math.sin(turn) * off;
    const y = frame.y(here.at) + Math.cos(turn) * off;
    if (!free(room, x, y, wide, turn, words.size)) continue;
    const { ctx } = frame;
    ctx.save();
    ctx.translate(x, y);
    ctx.rotate(turn);
    ctx.textAlign = "center";
    write(view, words, 0, 0);
    ctx.restore();
    return true;
  }
  return false;
}

/** Takes a turned strip of room, in squares along it. */
function free(room: Room, x: number, y: number, wide: number, turn: number, size: number): boolean {
  const count = Math.max(2, Math.ceil(wide / size));
  const boxes: [number, number][] = [];
  for (let i = 0; i <= count; i += 1) {
    const d = (i / count - 0.5) * wide;
    boxes.push([x + Math.cos(turn) * d - size / 2, y + Math.sin(turn) * d - size / 2]);
  }
  if (!boxes.every(([left, top]) => room.free(left, top, size, size))) return false;
  for (const [left, top] of boxes) room.take(left, top, size, size, true);
  return true;
}
