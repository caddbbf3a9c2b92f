/** What lies over the plan: choice, handles, what is being drawn, snaps, the crosshair. */
import type { Place } from "../../api/contract";
import { area, distance } from "../../lib/geometry";
import { session } from "../../lib/session.svelte";
import { drawing, stretchOf } from "../state.svelte";
import type { Tools } from "../tools.svelte";
import { Frame } from "./frame";
import { Room, type Taken } from "./room";
import type { Scene } from "./scene";
import { outlineSoFar, sidesOf, writeSides } from "./sides";

/** The names on the plan, as they were written in a frame of their own. */
export interface Names { frame: Frame; boxes: readonly Taken[] }

/** With the names that stand on the plan; on a part of the view without words, which are laid out for the whole. */
export function paintOverlay(frame: Frame, scene: Scene, tools: Tools, names: Names | null | "no words"): void {
  if (drawing.grid) paintGrid(frame, scene);
  for (const name of session.selected) lit(frame, scene, name, true);
  if (drawing.hovered !== null && !session.selected.includes(drawing.hovered)) lit(frame, scene, drawing.hovered, false);
  for (const handle of tools.handles()) paintHandle(frame, handle.kind, handle.at, handle.held);
  paintDrawn(frame, scene, tools, names);
  if (tools.box !== null) paintBox(frame, tools.box);
  if (tools.cross !== null) paintCross(frame, tools.cross);
}

/** Something chosen, or under the pointer. */
function lit(frame: Frame, scene: Scene, name: string, chosen: boolean): void {
  const { ctx, scheme } = frame;
  const stretch = stretchOf(name);
  const colour = scheme.accent;
  if (stretch !== null) {
    const found = scene.plan?.stretches.find((one) => one.id === stretch);
    if (found === undefined) return;
    ctx.lineCap = "round";
    ctx.globalAlpha = chosen ? 0.5 : 0.28;
    frame.stroke(found.path, colour, chosen ? 13 : 11);
    ctx.globalAlpha = 1;
    ctx.lineCap = "butt";
    return;
  }
  const one = scene.byId.get(name);
  if (one === undefined) return;
  ctx.globalAlpha = chosen ? 1 : 0.55;
  const type = one.feature.geometry?.type;
  if (type === "Point" || type === "MultiPoint") {
    for (const [place] of one.chains) {
      if (place === undefined) continue;
      ctx.beginPath();
      ctx.arc(frame.x(place), frame.y(place), 3.1 * frame.mm + (chosen ? 2 : 0), 0, 2 * Math.PI);
      frame.strokeHere(scheme.halo, chosen ? 6 : 4);
      frame.strokeHere(colour, chosen ? 2.5 : 1.5, chosen ? [] : [3, 3]);
    }
  } else {
    for (const chain of one.chains) {
      frame.stroke(chain, scheme.halo, chosen ? 6 : 4, [], type === "Polygon");
      frame.stroke(chain, colour, chosen ? 2.6 : 1.6, chosen ? [] : [4, 4], type === "Polygon");
    }
  }
  ctx.globalAlpha = 1;
}

function paintHandle(frame: Frame, kind: "place" | "edge" | "middle", at: Place, held: boolean): void {
  const { ctx, scheme } = frame;
  const [x, y] = [frame.x(at), frame.y(at)];
  ctx.beginPath();
  if (kind === "place") ctx.rect(x - 5, y - 5, 10, 10);
  else ctx.arc(x, y, kind === "edge" ? 4 : 9, 0, 2 * Math.PI);
  ctx.fillStyle = held ? scheme.accent : scheme.paper;
  ctx.fill();
  frame.strokeHere(scheme.accent, held ? 3 : 1.8);
  if (kind !== "middle") return;
  // Four arrows: the whole area moves by it.
  ctx.beginPath();
  for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
    ctx.moveTo(x, y);
    ctx.lineTo(x + dx * 6, y + dy * 6);
  }
  frame.strokeHere(scheme.accent, 1.6);
}

function paintDrawn(frame: Frame, scene: Scene, tools: Tools, names: Names | null | "no words"): void {
  const { ctx, scheme } = frame;
  const { next } = tools;
  if (next !== null && (tools.isDrawing || tools.preview.size > 0)) {
    for (const [a, b] of next.guides) if (distance(a, b) > 0) frame.stroke([a, b], scheme.decision, 1.2, [5, 4]);
  }
  const chain = next !== null && tools.isChain ? [...tools.drawn, next.at] : tools.drawn;
  if (chain.length > 0 && tools.isDrawing) {
    const closes = drawing.tool === "draw" && drawing.shape === "Polygon" && chain.length > 2;
    if (closes) {
      ctx.beginPath();
      frame.trace(chain, true);
      ctx.globalAlpha = 0.12;
      ctx.fillStyle = scheme.accent;
      ctx.fill();
      ctx.globalAlpha = 1;
      frame.stroke([chain.at(-1)!, chain[0]!], scheme.accent, 1.2, [4, 4]);
    }
    frame.stroke(chain, scheme.halo, 5);
    frame.stroke(chain, scheme.accent, 2.2, drawing.tool === "split" ? [8, 4] : []);
    for (const place of tools.drawn) {
      ctx.beginPath();
      ctx.arc(frame.x(place), frame.y(place), 3.5, 0, 2 * Math.PI);
      ctx.fillStyle = scheme.accent;
      ctx.fill();
    }
    if (names !== "no words") {
      const room = new Room(...frame.size);
      if (names !== null && names.frame.scale === frame.scale) {
        const shift = [frame.x(names.frame.centre) - names.frame.size[0] / 2, frame.y(names.frame.centre) - names.frame.size[1] / 2] as const;
        for (const box of names.boxes) room.spare({ ...box, x: box.x + shift[0], y: box.y + shift[1] });
      }
      // The words of the snap stand there.
      if (next !== null) room.block(frame.x(next.at) - 8, frame.y(next.at) - 8, next.words === "" ? 16 : 130, 32);
      writeSides(frame, sidesOf(frame, scene, closes ? outlineSoFar(chain) : { chain, holds: null }, room));
    }
    if (drawing.tool === "measure" && chain.length >= 3 && Math.abs(area(chain)) > 0) {
      ctx.globalAlpha = 0.08;
      ctx.beginPath();
      frame.trace(chain, true);
      ctx.fillStyle = scheme.decision;
      ctx.fill();
      ctx.globalAlpha = 1;
    }
  }
  if (next !== null && (tools.isDrawing || tools.preview.size > 0)) paintSnap(frame, next.at, next.kind, names === "no words" ? "" : next.words);
}

/** Each kind of snap has a shape of its own, and its words beside it. */
function paintSnap(frame: Frame, at: Place, kind: string, text: string): void {
  const { ctx, scheme } = frame;
  const [x, y] = [frame.x(at), frame.y(at)];
  ctx.beginPath();
  if (kind === "none") {
    ctx.arc(x, y, 3, 0, 2 * Math.PI);
  } else if (kind === "point") {
    ctx.rect(x - 6, y - 6, 12, 12);
  } else if (kind === "middle") {
    ctx.moveTo(x, y - 7);
    ctx.lineTo(x + 7, y + 5);
    ctx.lineTo(x - 7, y + 5);
    ctx.closePath();
  } else if (kind === "crossing") {
    ctx.moveTo(x - 6, y - 6);
    ctx.lineTo(x + 6, y + 6);
    ctx.moveTo(x + 6, y - 6);
    ctx.lineTo(x - 6, y + 6);
  } else if (kind === "right angle") {
    ctx.moveTo(x - 7, y - 6);
    ctx.lineTo(x - 7, y + 6);
    ctx.lineTo(x + 6, y + 6);
  } else {
    ctx.arc(x, y, 6, 0, 2 * Math.PI);
  }
  frame.strokeHere(scheme.halo, 4.5);
  frame.strokeHere(scheme.decision, 2);
  if (text !== "") {
    ctx.font = "12px system-ui, sans-serif";
    ctx.textBaseline = "middle";
    ctx.strokeStyle = scheme.dark ? "#141815" : "#ffffff";
    ctx.lineWidth = 4;
    ctx.lineJoin = "round";
    // Beside the place, but not over the edge of the canvas.
    const wide = ctx.measureText(text).width;
    const left = Math.max(6, Math.min(x + 13, frame.size[0] - wide - 8));
    ctx.textAlign = "left";
    ctx.strokeText(text, left, y + 15);
    ctx.fillStyle = scheme.decision;
    ctx.fillText(text, left, y + 15);
  }
}

function paintBox(frame: Frame, [a, b]: [Place, Place]): void {
  const { ctx, scheme } = frame;
  ctx.beginPath();
  ctx.rect(frame.x(a), frame.y(a), frame.x(b) - frame.x(a), frame.y(b) - frame.y(a));
  ctx.globalAlpha = 0.1;
  ctx.fillStyle = scheme.accent;
  ctx.fill();
  ctx.globalAlpha = 1;
  frame.strokeHere(scheme.accent, 1.5, [6, 4]);
}

function paintCross(frame: Frame, at: Place): void {
  const { ctx, scheme } = frame;
  const [x, y] = [frame.x(at), frame.y(at)];
  ctx.beginPath();
  for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
    ctx.moveTo(x + dx * 5, y + dy * 5);
    ctx.lineTo(x + dx * 22, y + dy * 22);
  }
  frame.strokeHere(scheme.dark ? "#141815" : "#ffffff", 5);
  frame.strokeHere(scheme.accent, 2);
}

/** Lines at round distances: 1, 2 or 5 times a power of ten. */
function paintGrid(frame: Frame, scene: Scene): void {
  const step = roundLength(64 / frame.scale);
  const { box, ctx, scheme } = frame;
  ctx.beginPath();
  for (let x = Math.ceil(box[0] / step) * step; x < box[2]; x += step) {
    ctx.moveTo(Math.round(frame.x([x, 0])) + 0.5, 0);
    ctx.lineTo(Math.round(frame.x([x, 0])) + 0.5, frame.size[1]);
  }
  for (let y = Math.ceil(box[1] / step) * step; y < box[3]; y += step) {
    ctx.moveTo(0, Math.round(frame.y([0, y])) + 0.5);
    ctx.lineTo(frame.size[0], Math.round(frame.y([0, y])) + 0.5);
  }
  ctx.globalAlpha = 0.25;
  frame.strokeHere(scheme.muted, 0.7);
  ctx.globalAlpha = 1;
  void scene;
}

export function roundLength(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((by) => by * power).find((size) => size >= least) ?? 10 * power;
}
