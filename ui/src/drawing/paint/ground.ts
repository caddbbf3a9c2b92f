/** The ground and what stands on it, services of others, decisions. */
import type { Place } from "../../api/contract";
import { along, lengthOf } from "../../lib/geometry";
import { isPaved, obstaclePattern, service, surfacePattern } from "../palette";
import { Frame } from "./frame";
import { lengthProperty, type Scene, type Shown } from "./scene";

export function paintGround(frame: Frame, scene: Scene): void {
  const { ctx } = frame;
  const of = (kind: string) => (scene.byKind.get(kind) ?? []).filter((one) => one.chains.length === 0 || frame.sees(one.box));
  // A picture underneath has to be seen through what is drawn from it.
  const cover = scene.job.pictures.length > 0 ? 0.4 : 1;
  ctx.globalAlpha = cover;
  surfaces(frame, scene);
  ctx.globalAlpha = 1;
  for (const soil of of("soil")) for (const ring of soil.chains) frame.stroke(ring, frame.scheme.dark ? "#8d7c5f" : "#9a8664", 1, [1.5, 4], true);
  for (const steep of of("steep")) {
    area(frame, steep, "steep");
    outline(frame, steep, frame.scheme.dark ? "#b5a27c" : "#6b5a3c", 0.8, [2.4, 3.2]);
  }
  for (const corridor of of("corridor")) tinted(frame, corridor, frame.scheme.decision, 0.1, 1.2, [2, 4]);
  for (const place of of("keep_out")) keptOut(frame, place);
  for (const trench of of("fixed_trench")) {
    ctx.globalAlpha = 0.4;
    ctx.lineJoin = "round";
    for (const chain of trench.chains) frame.stroke(chain, frame.scheme.decision, 3.6 * frame.mm);
    ctx.globalAlpha = 1;
    for (const chain of trench.chains) frame.stroke(chain, frame.scheme.decision, 1, [6, 3]);
  }
  for (const tree of scene.byKind.get("tree") ?? []) paintTree(frame, scene, tree);
  for (const obstacle of of("obstacle")) paintObstacle(frame, obstacle, cover);
  for (const gate of of("gate")) paintGate(frame, gate);
  for (const boundary of of("boundary")) outline(frame, boundary, frame.scheme.ink, 1.8, [9, 1.4, 1.6, 1.4, 1.6, 1.4].map((dash) => dash * frame.mm));
  for (const utility of of("utility")) paintUtility(frame, utility);
  for (const sleeve of of("sleeve")) paintSleeve(frame, sleeve);
  for (const base of of("baseline")) for (const chain of base.chains) frame.stroke(chain, frame.scheme.muted, 1, [12, 3, 3, 3]);
  for (const kind of ["spot", "mark", "access"]) {
    for (const one of of(kind)) for (const [place] of one.chains) if (place) frame.symbol(kind, frame.x(place), frame.y(place));
  }
}

/** What lies wherever nothing else does comes first and fills the property. */
function surfaces(frame: Frame, scene: Scene): void {
  const list = scene.byKind.get("surface") ?? [];
  const boundary = scene.byKind.get("boundary") ?? [];
  const everywhere = list.find((surface) => surface.chains.length === 0);
  for (const ground of boundary) {
    if (!frame.sees(ground.box)) continue;
    frame.ctx.beginPath();
    for (const ring of ground.chains) frame.trace(ring, true);
    frame.ctx.fillStyle = everywhere ? frame.pattern(surfacePattern(everywhere.feature.properties.surface)) : frame.scheme.paper;
    frame.ctx.fill("evenodd");
  }
  for (const surface of list) {
    if (surface.chains.length === 0 || !frame.sees(surface.box)) continue;
    const kind = surface.feature.properties.surface;
    area(frame, surface, surfacePattern(kind));
    if (isPaved(kind)) outline(frame, surface, frame.scheme.dark ? "#8b8d8d" : "#6a6a6a", 1);
    else outline(frame, surface, frame.scheme.dark ? "#66675a" : "#9a9a8a", 0.6);
  }
}

function area(frame: Frame, one: Shown, pattern: string): void {
  frame.ctx.beginPath();
  for (const ring of one.chains) frame.trace(ring, true);
  frame.ctx.fillStyle = frame.pattern(pattern);
  frame.ctx.fill("evenodd");
}

function outline(frame: Frame, one: Shown, colour: string, width: number, dashes: number[] = []): void {
  for (const ring of one.chains) frame.stroke(ring, colour, width, dashes, true);
}

function tinted(frame: Frame, one: Shown, colour: string, alpha: number, width: number, dashes: number[]): void {
  const { ctx } = frame;
  ctx.beginPath();
  for (const ring of one.chains) frame.trace(ring, true);
  ctx.globalAlpha = alpha;
  ctx.fillStyle = colour;
  ctx.fill("evenodd");
  ctx.globalAlpha = 1;
  outline(frame, one, colour, width, dashes);
}

/** A place where nothing is dug: its outline, and slanting lines across it. */
function keptOut(frame: Frame, place: Shown): void {
  const { ctx } = frame;
  tinted(frame, place, frame.scheme.keepOut, 0.08, 1.8, [9, 3.5]);
  ctx.save();
  ctx.beginPath();
  for (const ring of place.chains) frame.trace(ring, true);
  ctx.clip("evenodd");
  const [x0, y0, x1, y1] = [frame.x([place.box[0], 0]), frame.y([0, place.box[3]]), frame.x([place.box[2], 0]), frame.y([0, place.box[1]])];
  const step = 4 * frame.mm;
  ctx.beginPath();
  // From the origin of the job, so that the lines stay where they are while the view moves.
  const origin = frame.x([0, 0]) + frame.y([0, 0]);
  const from = Math.max(x0 + y0, -2000);
  for (let at = origin + Math.ceil((from - origin) / step) * step; at < Math.min(x1 + y1, 8000); at += step) {
    ctx.moveTo(at - y0, y0);
    ctx.lineTo(at - y1, y1);
  }
  frame.strokeHere(frame.scheme.keepOut, 0.8);
  ctx.restore();
}

function paintTree(frame: Frame, scene: Scene, tree: Shown): void {
  const place = tree.anchor;
  if (place === null) return;
  // Where none is stated, the plan knows what the practice makes of the trunk.
  const roots = lengthProperty(tree.feature, "root_radius", scene.unit) ?? scene.plan?.roots.find((one) => one.tree === tree.id)?.radius ?? null;
  const trunk = lengthProperty(tree.feature, "trunk", scene.unit) ?? 0;
  // Roots reach into views that the trunk does not stand in.
  if (!frame.sees(tree.box, 24 + Math.max(roots ?? 0, trunk) * frame.scale)) return;
  const { ctx } = frame;
  const [x, y] = [frame.x(place), frame.y(place)];
  if (roots !== null) {
    ctx.beginPath();
    ctx.arc(x, y, roots * frame.scale, 0, 2 * Math.PI);
    ctx.globalAlpha = 0.13;
    ctx.fillStyle = "#4d7a3a";
    ctx.fill();
    ctx.globalAlpha = 1;
    frame.strokeHere(frame.scheme.dark ? "#84b36c" : "#3f6a2e", 1.2, [6, 3]);
  } else {
    frame.symbol("tree", x, y, 1.3);
  }
  ctx.beginPath();
  ctx.arc(x, y, Math.max((trunk / 2) * frame.scale, 0.9 * frame.mm), 0, 2 * Math.PI);
  ctx.fillStyle = frame.scheme.dark ? "#a77c50" : "#6b4a2b";
  ctx.fill();
  frame.strokeHere(frame.scheme.dark ? "#e0c8ab" : "#2e1d0c", 1);
}

function paintObstacle(frame: Frame, obstacle: Shown, cover: number): void {
  const kind = obstacle.feature.properties.obstacle;
  if (obstacle.feature.geometry?.type === "Polygon") {
    frame.ctx.globalAlpha = cover;
    area(frame, obstacle, obstaclePattern(kind));
    frame.ctx.globalAlpha = 1;
    outline(frame, obstacle, frame.scheme.ink, kind === "building" ? 2.2 : 1.4);
    return;
  }
  for (const chain of obstacle.chains) {
    if (kind === "fence") paintFence(frame, chain);
    else {
      frame.stroke(chain, frame.scheme.ink, Math.max(3, 1.1 * frame.mm));
      frame.stroke(chain, frame.scheme.dark ? "#7a766f" : "#c9c4bd", Math.max(1.4, 0.55 * frame.mm));
    }
  }
}

/** A line with small crosses. */
function paintFence(frame: Frame, chain: Place[]): void {
  frame.stroke(chain, frame.scheme.ink, 1);
  const length = lengthOf(chain);
  const step = (5 * frame.mm) / frame.scale;
  const arm = 0.75 * frame.mm;
  if (length / step > 2000) return;
  frame.ctx.beginPath();
  for (let at = step / 2; at < length; at += step) {
    const here = along(chain, at);
    if (here === null) continue;
    const [x, y] = [frame.x(here.at), frame.y(here.at)];
    for (const turn of [0.8, -0.8]) {
      const [dx, dy] = [Math.cos(here.turn + turn) * arm, -Math.sin(here.turn + turn) * arm];
      frame.ctx.moveTo(x - dx, y - dy);
      frame.ctx.lineTo(x + dx, y + dy);
    }
  }
  frame.strokeHere(frame.scheme.ink, 1);
}

/** Posts, the opening between them, and the leaf. */
function paintGate(frame: Frame, gate: Shown): void {
  const [from, to] = gate.chains[0] ?? [];
  if (from === undefined || to === undefined) return;
  const { ctx } = frame;
  const [ax, ay, bx, by] = [frame.x(from), frame.y(from), frame.x(to), frame.y(to)];
  const wide = Math.hypot(bx - ax, by - ay);
  const turn = Math.atan2(by - ay, bx - ax);
  frame.stroke([from, to], frame.scheme.paper, 1.7 * frame.mm);
  ctx.beginPath();
  ctx.moveTo(ax, ay);
  ctx.lineTo(ax + Math.cos(turn - 1) * wide, ay + Math.sin(turn - 1) * wide);
  frame.strokeHere(frame.scheme.ink, 1.4);
  ctx.beginPath();
  ctx.arc(ax, ay, wide, turn - 1, turn);
  frame.strokeHere(frame.scheme.ink, 0.8);
  ctx.fillStyle = frame.scheme.ink;
  const half = 0.6 * frame.mm;
  for (const [x, y] of [[ax, ay], [bx, by]] as [number, number][]) ctx.fillRect(x - half, y - half, half * 2, half * 2);
}

/** In its marking colour with a letter; dashed where its place is in doubt. */
function paintUtility(frame: Frame, utility: Shown): void {
  const { ctx } = frame;
  const [colour, letter] = service(utility.feature.properties.service);
  const sure = utility.feature.properties.located === true && utility.feature.properties.marked === true;
  const dashes = sure ? [] : [3.2 * frame.mm, 1.6 * frame.mm];
  for (const chain of utility.chains) {
    frame.stroke(chain, frame.scheme.dark ? "#f4f2ea" : "#3a3a3a", Math.max(3.2, frame.mm), dashes);
    frame.stroke(chain, colour, Math.max(2, 0.65 * frame.mm), dashes);
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    for (const { x, y, radius } of lettersOf(frame, chain)) {
      ctx.font = `bold ${Math.round(radius * 1.5)}px system-ui, sans-serif`;
      ctx.beginPath();
      ctx.arc(x, y, radius, 0, 2 * Math.PI);
      ctx.fillStyle = frame.scheme.paper;
      ctx.fill();
      frame.strokeHere(colour, 1.5);
      ctx.fillStyle = frame.scheme.ink;
      ctx.fillText(letter, x, y + 0.5);
    }
  }
}

/** Where the letter of a service stands along its line. */
export function lettersOf(frame: Frame, chain: readonly Place[]): { x: number; y: number; radius: number }[] {
  const length = lengthOf(chain);
  const count = Math.min(40, Math.max(1, Math.floor((length * frame.scale) / (30 * frame.mm))));
  const radius = Math.max(5.5, 1.75 * frame.mm);
  return Array.from({ length: count }, (_, i) => along(chain, ((i + 0.5) * length) / count))
    .filter((here) => here !== null)
    .map((here) => ({ x: frame.x(here.at), y: frame.y(here.at), radius }));
}

function paintSleeve(frame: Frame, sleeve: Shown): void {
  for (const chain of sleeve.chains) {
    frame.stroke(chain, frame.scheme.muted, 3 * frame.mm);
    frame.stroke(chain, frame.scheme.paper, 3 * frame.mm - 2);
    frame.stroke(chain, frame.scheme.muted, 1, [4, 4]);
  }
}
