/** How it stands with the plan, in a few words for the top bar. */
import type { Feature, Finding, PlanView } from "../api/contract";
import { count, gathered } from "../lib/format";
import { stages } from "./guide";
import type { TabId } from "./view.svelte";

export interface Standing {
  sign: string;
  words: string;
  tone: "good" | "busy" | "bad" | "calm";
  /** Where more is said about it. */
  tab: TabId;
}

export interface Known {
  features: Feature[];
  /** What stands against the job as it is. */
  findings: Finding[];
  unplanned: Finding[];
  planning: string;
  plan: PlanView | null;
  stale: boolean;
}

/** Steps that are still to be drawn before a first plan can be made. */
export function lacking(features: Feature[]): number {
  return stages(features).flatMap((stage) => stage.steps).filter((step) => !step.done && !step.optional).length;
}

export function errors(known: Pick<Known, "findings" | "unplanned">): Finding[] {
  return gathered(known.unplanned, known.findings).filter((finding) => finding.severity === "error");
}

export function standing(known: Known): Standing {
  const against = errors(known);
  const steps = lacking(known.features);
  // A job that is only begun is no mistake.
  if (known.plan === null && steps > 0 && (against.length > 0 || known.unplanned.length > 0)) {
    return { sign: "○", words: `${count(steps, "step")} to a plan`, tone: "calm", tab: "properties" };
  }
  if (against.length > 0) return { sign: "✕", words: `cannot be planned: ${count(against.length, "error")}`, tone: "bad", tab: "findings" };
  if (known.unplanned.length > 0) return { sign: "✕", words: "cannot be planned", tone: "bad", tab: "findings" };
  if (known.planning !== "") return { sign: "…", words: known.planning, tone: "busy", tab: "plan" };
  if (known.plan === null) return { sign: "…", words: "no plan yet", tone: "busy", tab: "plan" };
  if (known.stale) return { sign: "…", words: "planning", tone: "busy", tab: "plan" };
  if (known.plan.quality === "draft") return { sign: "~", words: "draft", tone: "busy", tab: "plan" };
  return { sign: "✓", words: "planned", tone: "good", tab: "plan" };
}
