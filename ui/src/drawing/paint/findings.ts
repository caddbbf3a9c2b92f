/** Signs at what is found wrong or doubtful. Cautions have none on the plan. */
import type { Place, PlanView, StretchView } from "../../api/contract";
import { anchorOf } from "../../lib/geometry";
import { session } from "../../lib/session.svelte";
import { Frame } from "./frame";
import { graveOf, lengthProperty, type Scene, type Severity, type Shown } from "./scene";

/** What is dragged stands elsewhere than the rest: its signs alone, or those of all else. */
export function paintFindings(frame: Frame, scene: Scene, lifted: ReadonlySet<string>, only: "lifted" | "resting"): void {
  for (const sign of signsOf(frame, scene)) if (lifted.has(sign.id) === (only === "lifted")) paintSign(frame, sign);
}

interface Sign { id: string; x: number; y: number; severity: "error" | "warning"; radius: number }

export function signsOf(frame: Frame, scene: Scene): Sign[] {
  const { features, stretches } = graveOf(scene.job, scene.plan, session.unplanned);
  const signs: Sign[] = [];
  const put = (id: string, at: Place | null, severity: Severity, radius: number) => {
    if (at === null || severity === "caution" || !frame.sees([at[0], at[1], at[0], at[1]], 24 + 2 * radius)) return;
    signs.push({ id, x: frame.x(at), y: frame.y(at), severity, radius });
  };
  for (const [id, severity] of features) {
    const one = scene.byId.get(id);
    if (one) put(id, one.anchor, severity, signRadius(frame, scene, one));
  }
  const known = scene.plan === null ? null : byIdOf(scene.plan);
  for (const [id, severity] of stretches) {
    const stretch = known?.get(id);
    // A stretch is never dragged, whatever feature has the same id.
    if (stretch) put("", anchorOf({ type: "LineString", coordinates: stretch.path }), severity, 7);
  }
  for (const finding of [...scene.job.findings, ...session.unplanned]) if (finding.at && !features.has(finding.subject)) put("", finding.at, finding.severity, 7);
  return signs;
}

const stretchesById = new WeakMap<PlanView, Map<string, StretchView>>();

function byIdOf(plan: PlanView): Map<string, StretchView> {
  let known = stretchesById.get(plan);
  if (known === undefined) {
    known = new Map(plan.stretches.map((stretch) => [stretch.id, stretch]));
    stretchesById.set(plan, known);
  }
  return known;
}

function signRadius(frame: Frame, scene: Scene, one: Shown): number {
  if (one.kind === "tree") return Math.max(7, (lengthProperty(one.feature, "trunk", scene.unit) ?? 0) * frame.scale);
  return Math.max(8, 2.7 * frame.mm);
}

/** A ring and a sign: a cross for what has to be mended, a mark of exclamation for warnings. */
function paintSign(frame: Frame, { x, y, severity, radius }: Sign): void {
  const { ctx, scheme } = frame;
  const colour = severity === "error" ? scheme.bad : scheme.dark ? "#f0b95a" : "#8a5a00";
  ctx.beginPath();
  ctx.arc(x, y, radius + 2, 0, 2 * Math.PI);
  frame.strokeHere(scheme.halo, 4);
  frame.strokeHere(colour, 2, severity === "error" ? [] : [5, 3]);
  const [bx, by, r] = [x + radius * 0.9 + 4, y - radius * 0.9 - 4, 7];
  ctx.beginPath();
  if (severity === "error") {
    ctx.arc(bx, by, r, 0, 2 * Math.PI);
  } else {
    ctx.moveTo(bx, by - r - 1);
    ctx.lineTo(bx + r + 1.5, by + r);
    ctx.lineTo(bx - r - 1.5, by + r);
    ctx.closePath();
  }
  ctx.fillStyle = colour;
  ctx.fill();
  frame.strokeHere(scheme.paper, 1);
  ctx.font = "bold 11px system-ui, sans-serif";
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillStyle = scheme.paper;
  ctx.fillText(severity === "error" ? "×" : "!", bx, by + (severity === "error" ? 0.5 : 1.5));
}
