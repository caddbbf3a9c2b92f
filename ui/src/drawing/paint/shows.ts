/** What each canvas of the plan shows: as long as that is the same, it need not be painted again. */
import type { Feature, JobView, PlanView } from "../../api/contract";

const SYSTEM = new Set(["head", "drip", "valve", "manifold", "controller", "backflow", "source", "cable"]);

export interface Shows {
  ground: readonly unknown[];
  system: readonly unknown[];
  /** What is dragged of the system: it is painted over the plan, which stays as it is meanwhile. */
  lifted: ReadonlySet<string>;
}

export function showsOf(job: JobView, plan: PlanView | null, preview: ReadonlyMap<string, Feature>): Shows {
  const isOfSystem = (feature: Feature) => SYSTEM.has(String(feature.properties.kind));
  const lifted = new Set([...preview.values()].filter(isOfSystem).map((feature) => feature.id));
  const features = job.features.map((feature) => preview.get(feature.id) ?? feature);
  const around = [job.length_unit, job.units, job.pictures];
  // Where nobody has stated how far roots reach, the plan says it.
  const roots = JSON.stringify(plan?.roots ?? []);
  return {
    ground: [...around, roots, ...features.filter((feature) => !isOfSystem(feature))],
    system: [...around, job.findings, plan, ...features.filter((feature) => !lifted.has(feature.id))],
    lifted,
  };
}

export const alike = (a: readonly unknown[], b: readonly unknown[]): boolean => a.length === b.length && a.every((one, i) => one === b[i]);
