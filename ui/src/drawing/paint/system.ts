/** Heads, drip points, valves and the rest of the system, with how their pressure stands. */
import type { OutletView, PlanView } from "../../api/contract";
import { SPARE } from "../palette";
import { Frame } from "./frame";
import type { Scene } from "./scene";

/** Half the frame around the outlet with the least to spare, and the ring, in millimetres. */
const FRAME = 2.2;
const RING = 1.65;

export function paintSystem(frame: Frame, scene: Scene, stale: boolean): void {
  const { ctx } = frame;
  const marks = scene.plan === null ? null : outletsOf(scene.plan);
  for (const kind of ["cable", "drip", "head", "manifold", "valve", "controller", "backflow", "source"]) {
    for (const one of scene.byKind.get(kind) ?? []) {
      if (!frame.sees(one.box)) continue;
      for (const [place] of one.chains) {
        if (place === undefined) continue;
        const [x, y] = [frame.x(place), frame.y(place)];
        if (marks !== null && (kind === "head" || kind === "drip")) {
          const mark = marks.get(one.id);
          if (mark !== undefined) paintStand(frame, x, y, mark.stand, mark.outlet.worst, stale);
        }
        frame.symbol(kind, x, y);
      }
      if (kind === "cable" && one.chains.length > 1) {
        ctx.beginPath();
        for (const [i, [place]] of one.chains.entries()) if (place) (i === 0 ? ctx.moveTo : ctx.lineTo).call(ctx, frame.x(place), frame.y(place));
        frame.strokeHere(frame.scheme.muted, 0.7, [1, 4]);
      }
    }
  }
  if (scene.plan === null) return;
  for (const valve of scene.plan.valves) {
    if (!valve.proposed) continue;
    // A valve that the plan proposes: dashed, as no one has put it there.
    const [x, y] = [frame.x(valve.at), frame.y(valve.at)];
    ctx.beginPath();
    const r = 2.3 * frame.mm;
    ctx.moveTo(x, y - r);
    ctx.lineTo(x + r, y);
    ctx.lineTo(x, y + r);
    ctx.lineTo(x - r, y);
    ctx.closePath();
    frame.strokeHere(stale ? frame.scheme.muted : frame.scheme.accent, 1.4, [3, 2]);
    frame.symbol("valve", x, y);
  }
}

export type Stand = "lacks" | 0 | 1 | 2 | 3;
type Mark = { outlet: OutletView; stand: Stand };
const known = new WeakMap<PlanView, Map<string, Mark>>();

/** How each outlet stands: the classes are a reading aid, cut by the job's own outlets into quarters. */
export function outletsOf(plan: PlanView): Map<string, Mark> {
  let map = known.get(plan);
  if (map === undefined) {
    const cuts = cutsOf(plan);
    map = new Map(plan.outlets.map((outlet) => [outlet.id, { outlet, stand: standOf(outlet.spare, cuts) }]));
    known.set(plan, map);
  }
  return map;
}

export function cutsOf(plan: PlanView): [number, number, number] | null {
  const spare = plan.outlets.map((outlet) => outlet.spare).filter((share) => share >= 0).sort((a, b) => a - b);
  if (spare.length === 0) return null;
  const cut = (quarter: number) => spare[Math.min(Math.floor((spare.length * quarter) / 4), spare.length - 1)]!;
  return [cut(1), cut(2), cut(3)];
}

export function standOf(spare: number, cuts: readonly number[] | null): Stand {
  if (spare < 0) return "lacks";
  return (cuts ?? []).filter((cut) => spare >= cut).length as Stand;
}

/** An arc that is the longer, the more there is to spare; a heavy cross where pressure lacks. */
export function paintStand(frame: Frame, x: number, y: number, stand: Stand, worst: boolean, stale: boolean): void {
  const { ctx, mm } = frame;
  if (stand === "lacks") {
    ctx.beginPath();
    for (const [dx, dy] of [[1, 1], [1, -1], [-1, 1], [-1, -1]] as const) {
      ctx.moveTo(x + dx * mm, y + dy * mm);
      ctx.lineTo(x + dx * (FRAME + 0.3) * mm, y + dy * (FRAME + 0.3) * mm);
    }
    frame.strokeHere(stale ? frame.scheme.muted : frame.scheme.bad, Math.max(2, 0.9 * mm));
  } else {
    const shades = SPARE[stand]!;
    const colour = stale ? frame.scheme.muted : shades[frame.scheme.dark ? 1 : 0];
    ctx.beginPath();
    ctx.arc(x, y, RING * mm, 0, 2 * Math.PI);
    frame.strokeHere(colour, Math.max(0.7, 0.15 * mm));
    if (stand > 0) {
      ctx.beginPath();
      ctx.arc(x, y, RING * mm, -Math.PI / 2, -Math.PI / 2 + (stand === 3 ? 1 : stand / 4) * 2 * Math.PI);
      frame.strokeHere(colour, Math.max(1.8, 0.7 * mm));
    }
  }
  if (worst) {
    ctx.beginPath();
    ctx.rect(x - FRAME * mm - 1, y - FRAME * mm - 1, 2 * FRAME * mm + 2, 2 * FRAME * mm + 2);
    frame.strokeHere(stale ? frame.scheme.muted : frame.scheme.ink, 1.3);
  }
}
