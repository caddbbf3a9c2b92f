/** The job and its plan as the painters want them; what has not changed is not worked out again. */
import type { Feature, Finding, JobView, Place, PlanView, StretchView } from "../../api/contract";
import { anchorOf, boxOf, chains, type Box } from "../../lib/geometry";
import { metresOf, readLength, type LengthUnit } from "../../lib/units";

export interface Shown {
  id: string;
  kind: string;
  feature: Feature;
  chains: Place[][];
  box: Box;
  anchor: Place | null;
}

const cached = new WeakMap<Feature, Shown>();

/** A feature is never changed in place, so what is known of it lasts as long as it does. */
export function shown(feature: Feature): Shown {
  let known = cached.get(feature);
  if (known === undefined) {
    const parts = chains(feature.geometry);
    known = {
      id: feature.id, kind: String(feature.properties.kind ?? ""), feature, chains: parts,
      box: boxOf(parts.flat()), anchor: anchorOf(feature.geometry),
    };
    cached.set(feature, known);
  }
  return known;
}

export interface Scene {
  job: JobView;
  unit: LengthUnit;
  metre: number;
  byKind: Map<string, Shown[]>;
  byId: Map<string, Shown>;
  plan: PlanView | null;
}

export function sceneOf(job: JobView, preview: ReadonlyMap<string, Feature>, plan: PlanView | null): Scene {
  const byKind = new Map<string, Shown[]>();
  const byId = new Map<string, Shown>();
  for (const feature of job.features) {
    const one = shown(preview.get(feature.id) ?? feature);
    byId.set(one.id, one);
    const list = byKind.get(one.kind);
    if (list === undefined) byKind.set(one.kind, [one]);
    else list.push(one);
  }
  // 1 unit of the job in metres; only to size symbols, no figure comes from it.
  return { job, unit: job.length_unit, metre: metresOf(job.length_unit), byKind, byId, plan };
}

/** A property that is a length with its unit, in the job's unit; null where it says something else. */
export function lengthProperty(feature: Feature, name: string, unit: LengthUnit): number | null {
  const text = feature.properties[name];
  if (typeof text !== "string") return null;
  const read = readLength(text, unit);
  return read.ok && read.value > 0 ? read.value : null;
}

const stretchBoxes = new WeakMap<StretchView, Box>();

export function stretchBox(stretch: StretchView): Box {
  let box = stretchBoxes.get(stretch);
  if (box === undefined) {
    box = boxOf(stretch.path);
    stretchBoxes.set(stretch, box);
  }
  return box;
}

/** The stretches that lie open on the evening of a day; null where no day is asked for. */
export function openOn(plan: PlanView, day: number | null): ReadonlySet<string> | null {
  if (day === null) return null;
  return new Set(plan.days.find((one) => one.day === day)?.stretches_open);
}

export type Severity = "error" | "warning" | "caution";
const ORDER: Record<Severity, number> = { caution: 0, warning: 1, error: 2 };

/** The gravest finding of each feature and of each stretch. Their ids may be alike: findings of the plan mean stretches first. */
export function graveOf(job: JobView, plan: PlanView | null, unplanned: readonly Finding[]): Grave {
  const before = graves.get(job);
  if (before !== undefined && before.plan === plan && before.unplanned === unplanned) return before.grave;
  const grave = gathered(job, plan, unplanned);
  graves.set(job, { plan, unplanned, grave });
  return grave;
}

export interface Grave { features: Map<string, Severity>; stretches: Map<string, Severity> }
const graves = new WeakMap<JobView, { plan: PlanView | null; unplanned: readonly Finding[]; grave: Grave }>();

function gathered(job: JobView, plan: PlanView | null, unplanned: readonly Finding[]): Grave {
  const features = new Map<string, Severity>();
  const stretches = new Map<string, Severity>();
  const note = (map: Map<string, Severity>, id: string, severity: Severity) => {
    const known = map.get(id);
    if (known === undefined || ORDER[severity] > ORDER[known]) map.set(id, severity);
  };
  const ids = new Set(job.features.map((feature) => feature.id));
  for (const finding of [...job.findings, ...unplanned]) if (ids.has(finding.subject)) note(features, finding.subject, finding.severity);
  // They stay as long as their plan is shown, also while the next one is made.
  if (plan !== null) {
    const known = new Set(plan.stretches.map((stretch) => stretch.id));
    for (const { subject, severity } of plan.findings) {
      if (known.has(subject)) note(stretches, subject, severity);
      else if (ids.has(subject)) note(features, subject, severity);
    }
  }
  return { features, stretches };
}
