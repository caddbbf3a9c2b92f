/** The way from an empty page to a plan: what a job still lacks, in the order in which it is drawn. */
import type { Feature, KindView } from "../api/contract";
import { kindOf } from "./edits";

export interface Step {
  id: string;
  /** What to do. */
  title: string;
  hint: string;
  kind: string;
  /** What a new feature of this step says of itself from the start. */
  preset: Record<string, string>;
  /** How many there are. */
  have: number;
  done: boolean;
  /** There is one in a job; drawn again it takes the place of the one before. */
  single: boolean;
  /** A plan can be made without it: it is asked for all the same, and passed over where there is none. */
  optional: boolean;
  /** The shape in which it is drawn, where the first of its kind's is not meant. */
  shape?: "LineString" | undefined;
}

const has = (features: Feature[], kind: string, property?: string, value?: string): number =>
  features.filter((feature) => kindOf(feature) === kind && (property === undefined || feature.properties[property] === value)).length;

const SINGLE = new Set(["boundary", "source", "backflow", "controller"]);

/** The steps in three stages. */
export function stages(features: Feature[]): { title: string; steps: Step[] }[] {
  const step = (id: string, title: string, hint: string, kind: string, have: number, preset: Record<string, string> = {}, optional = false): Step => ({
    id, title, hint, kind, preset, have, done: have > 0, optional, single: SINGLE.has(kind),
  });
  const outlets = has(features, "head") + has(features, "drip");
  const everywhere = (kind: string) => features.filter((feature) => kindOf(feature) === kind && feature.geometry === null).length;
  return [
    {
      title: "The property",
      steps: [
        step("boundary", "Property line", "Click its corners, or type a length and Enter; Enter ends it.", "boundary", has(features, "boundary")),
        step("surface", "What covers the ground", "One cover for wherever nothing else is drawn.", "surface", everywhere("surface"), { surface: "lawn_kept" }),
        step("soil", "Soil", "What most of the ground is made of.", "soil", everywhere("soil"), { texture: "loam", coarse: "5 %", moisture: "moist" }),
      ],
    },
    {
      title: "What is in the way",
      steps: [
        step("house", "House", "Click its corners.", "obstacle", has(features, "obstacle", "obstacle", "building"), { obstacle: "building" }),
        step("access", "Where machines get in", "A place at the street or the drive.", "access", has(features, "access")),
        step("utility", "Buried services", "As they are marked on the ground. Have them located before anyone digs.", "utility", has(features, "utility"), {}, true),
        step("paving", "Paving and beds", "Drives, walks, patios, beds: whatever covers the ground in places.", "surface", has(features, "surface") - everywhere("surface"), {}, true),
        step("trees", "Trees", "Their roots are kept from the trenches.", "tree", has(features, "tree"), {}, true),
        { ...step("fences", "Fences, walls", "What stands in a trench's way.", "obstacle", has(features, "obstacle") - has(features, "obstacle", "obstacle", "building"), { obstacle: "fence" }, true), shape: "LineString" as const },
      ],
    },
    {
      title: "The system",
      steps: [
        step("source", "Water source", "Pressure and the flowing test, as measured.", "source", has(features, "source")),
        step("backflow", "Backflow assembly", "Where it stands.", "backflow", has(features, "backflow")),
        step("controller", "Controller", "Where its wire leaves the house.", "controller", has(features, "controller")),
        step("valves", "Place for valves (manifold)", "The plan groups the heads and stands their valves here.", "manifold", has(features, "manifold") + has(features, "valve")),
        step("heads", "Heads", "Click one after the other.", "head", outlets),
      ],
    },
  ];
}

/** The first step that is neither done nor passed over, as long as a plan still lacks something. */
export function nextOf(steps: readonly Step[], passed: readonly string[]): Step | undefined {
  if (steps.every((step) => step.done || step.optional)) return undefined;
  return steps.find((step) => !step.done && !isPassed(step, passed));
}

/** Whether there is none of what a step asks for, as somebody has said. */
export const isPassed = (step: Step, passed: readonly string[]): boolean => step.optional && !step.done && passed.includes(step.id);

/** Steps that need no place on the drawing: a cover or a soil for wherever no other is drawn. */
export const placeless = (step: Step): boolean => step.id === "surface" || step.id === "soil";

/** The feature that such a step adds. */
export function everywhere(step: Step, choice: string, id: string, kinds: KindView[]): Feature {
  const properties: Record<string, unknown> = { kind: step.kind, ...step.preset };
  const chosen = kinds.find((kind) => kind.name === step.kind)?.properties.find((property) => property.type === "choice" && property.within === "");
  if (chosen && choice !== "") properties[chosen.name] = choice;
  return { type: "Feature", id, geometry: null, properties };
}
