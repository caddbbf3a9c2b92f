/** The plan: stretches in the style of their method, crossings, gaps too narrow, pits and what stands on them. */
import type { MethodView, NarrowView, Place, PlanView, StretchView } from "../../api/contract";
import { along, lengthOf, middle } from "../../lib/geometry";
import { onPaper } from "../palette";
import { Frame } from "./frame";
import { openOn, stretchBox, type Scene } from "./scene";

export interface PlanState {
  stale: boolean;
  openOnDay: number | null;
}

export function paintTrenches(frame: Frame, scene: Scene, state: PlanState): void {
  const { plan } = scene;
  if (plan === null) return;
  const methods = new Map(plan.methods.map((method) => [method.id, method]));
  const seen = plan.stretches.filter((stretch) => frame.sees(stretchBox(stretch)));
  const { ctx } = frame;
  ctx.lineJoin = "round";
  ctx.beginPath();
  for (const stretch of seen) frame.trace(stretch.path);
  frame.strokeHere(frame.scheme.halo, Math.max(4, 2.2 * frame.mm));
  const lit = openOn(plan, state.openOnDay);
  const weight = Math.max(frame.mm, 2.2) * 0.9;
  for (const [id, list] of groups(seen)) {
    const method = methods.get(id);
    // One path for all stretches of a method; the emphasis of a day takes them apart once more.
    const open = lit === null ? [] : list.filter((stretch) => lit.has(stretch.id));
    const rest = lit === null ? list : list.filter((stretch) => !lit.has(stretch.id));
    strokeAll(frame, rest, method, weight, state.stale || lit !== null, lit === null ? 1 : 0.4);
    if (open.length > 0) {
      ctx.beginPath();
      for (const stretch of open) frame.trace(stretch.path);
      ctx.globalAlpha = 0.35;
      frame.strokeHere(frame.scheme.dark ? "#f0b95a" : "#c77700", 12);
      ctx.globalAlpha = 1;
      strokeAll(frame, open, method, weight * 1.2, state.stale, 1);
    }
  }
  for (const stretch of seen) if (stretch.section.sleeve) sleeveEnds(frame, stretch.path, state.stale);
  paintSigns(frame, plan, state);
}

/** By method, in the order of the plan. */
function groups(stretches: readonly StretchView[]): Map<string, StretchView[]> {
  const map = new Map<string, StretchView[]>();
  for (const stretch of stretches) {
    const list = map.get(stretch.method);
    if (list === undefined) map.set(stretch.method, [stretch]);
    else list.push(stretch);
  }
  return map;
}

function strokeAll(frame: Frame, list: readonly StretchView[], method: MethodView | undefined, mm: number, grey: boolean, alpha: number): void {
  if (list.length === 0) return;
  const { ctx } = frame;
  const style = method?.style ?? { colour: "#111111", weight: 0.8, dashes: [], hollow: false };
  ctx.beginPath();
  for (const stretch of list) frame.trace(stretch.path);
  ctx.globalAlpha = alpha;
  const dashes = style.dashes.map((dash) => dash * mm);
  frame.strokeHere(grey ? frame.scheme.muted : onPaper(style.colour, frame.scheme), style.weight * mm, dashes);
  if (style.hollow) frame.strokeHere(frame.scheme.paper, Math.max(0.8, (style.weight - 0.7) * mm));
  ctx.globalAlpha = 1;
}

/** A bar across each end. */
function sleeveEnds(frame: Frame, path: readonly Place[], grey: boolean): void {
  const half = 1.7 * frame.mm;
  frame.ctx.beginPath();
  for (const length of [0, lengthOf(path)]) {
    const here = along(path, length);
    if (here === null) continue;
    const [x, y] = [frame.x(here.at), frame.y(here.at)];
    const [dx, dy] = [-Math.sin(here.turn) * half, -Math.cos(here.turn) * half];
    frame.ctx.moveTo(x - dx, y - dy);
    frame.ctx.lineTo(x + dx, y + dy);
  }
  frame.strokeHere(grey ? frame.scheme.muted : frame.scheme.ink, 2);
}

function paintSigns(frame: Frame, plan: PlanView, state: PlanState): void {
  const { ctx } = frame;
  if (state.stale) ctx.globalAlpha = 0.5;
  for (const narrow of plan.narrows) paintGap(frame, narrow);
  for (const crossing of plan.crossings) {
    const [x, y] = [frame.x(crossing.at), frame.y(crossing.at)];
    if (crossing.verdict === "too_close") {
      const r = 2.4 * frame.mm;
      ctx.beginPath();
      ctx.arc(x, y, r, 0, 2 * Math.PI);
      frame.strokeHere(frame.scheme.bad, 2.4);
    }
    frame.symbol("crossing", x, y, 1.15);
    if (crossing.verdict !== "enough") {
      // The sign beside the triangle says the verdict: a question, or a cross.
      ctx.font = `bold ${Math.round(3.4 * frame.mm)}px system-ui, sans-serif`;
      ctx.textAlign = "left";
      ctx.textBaseline = "middle";
      ctx.lineWidth = 3;
      ctx.strokeStyle = frame.scheme.halo;
      const word = crossing.verdict === "unknown" ? "?" : "×";
      ctx.strokeText(word, x + 2.6 * frame.mm, y);
      ctx.fillStyle = crossing.verdict === "unknown" ? frame.scheme.ink : frame.scheme.bad;
      ctx.fillText(word, x + 2.6 * frame.mm, y);
    }
  }
  ctx.globalAlpha = 1;
}

/** Two arrows from outside against the ends of a gap, and a fine line across it. */
function paintGap(frame: Frame, narrow: NarrowView): void {
  const { ctx } = frame;
  const [ax, ay, bx, by] = [frame.x(narrow.from), frame.y(narrow.from), frame.x(narrow.to), frame.y(narrow.to)];
  const turn = Math.atan2(by - ay, bx - ax);
  const head = 1.6 * frame.mm;
  ctx.beginPath();
  ctx.moveTo(ax, ay);
  ctx.lineTo(bx, by);
  frame.strokeHere(frame.scheme.bad, 1);
  for (const [x, y, out] of [[ax, ay, turn + Math.PI], [bx, by, turn]] as [number, number, number][]) {
    ctx.beginPath();
    ctx.moveTo(x, y);
    ctx.lineTo(x + Math.cos(out + 0.4) * head, y + Math.sin(out + 0.4) * head);
    ctx.lineTo(x + Math.cos(out - 0.4) * head, y + Math.sin(out - 0.4) * head);
    ctx.closePath();
    ctx.fillStyle = frame.scheme.bad;
    ctx.fill();
    ctx.beginPath();
    ctx.moveTo(x + Math.cos(out) * head * 0.9, y + Math.sin(out) * head * 0.9);
    ctx.lineTo(x + Math.cos(out) * head * 2, y + Math.sin(out) * head * 2);
    frame.strokeHere(frame.scheme.bad, 1.6);
  }
}

export const narrowMiddle = (narrow: NarrowView): Place => middle(narrow.from, narrow.to);

/** Arrows in the direction of flow, where a pipe is long enough on screen to hold one. */
export function paintFlow(frame: Frame, plan: PlanView, stale: boolean): void {
  const { ctx } = frame;
  ctx.fillStyle = stale ? frame.scheme.muted : frame.scheme.ink;
  const taken = new Set<string>();
  for (const pipe of plan.pipes) {
    if (taken.has(pipe.stretch)) continue;
    const length = lengthOf(pipe.path);
    if (length * frame.scale < 46) continue;
    const here = along(pipe.path, length * 0.62);
    if (here === null || !frame.sees([here.at[0], here.at[1], here.at[0], here.at[1]])) continue;
    taken.add(pipe.stretch);
    const [x, y] = [frame.x(here.at), frame.y(here.at)];
    const size = 1.5 * frame.mm;
    ctx.beginPath();
    for (const [i, off] of [0, 2.5, -2.5].entries()) {
      const reach = i === 0 ? size : size * 0.9;
      const [px, py] = [x + Math.cos(-here.turn + off) * reach, y + Math.sin(-here.turn + off) * reach];
      if (i === 0) ctx.moveTo(px, py);
      else ctx.lineTo(px, py);
    }
    ctx.closePath();
    ctx.strokeStyle = frame.scheme.halo;
    ctx.lineWidth = 2.5;
    ctx.stroke();
    ctx.fill();
  }
}
