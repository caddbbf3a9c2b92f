/** What on the plan a finding speaks of. */
import type { Feature, Finding, PlanView } from "../api/contract";
import { kindOf, stretchRef } from "./edits";

type Planned = Pick<PlanView, "outlets" | "circuits" | "stretches">;

/** The features and stretches that a finding is about, by the names under which they are chosen: of a circuit all that hangs on it. */
export function pointedAt(finding: Pick<Finding, "subject" | "what">, features: readonly Feature[], plan: Planned | null): string[] {
  const byId = new Map(features.map((feature) => [feature.id, feature]));
  const circuits = new Set(plan?.circuits.map((circuit) => circuit.id));
  const stretches = new Set(plan?.stretches.map((stretch) => stretch.id));
  const named = (id: string): string[] => {
    const feature = byId.get(id);
    if (circuits.has(id) || (feature !== undefined && kindOf(feature) === "circuit")) {
      const drawn = features.filter((other) => other.properties.circuit === id && other.geometry !== null).map((other) => other.id);
      const planned = plan?.outlets.filter((outlet) => outlet.circuit === id && byId.has(outlet.id)).map((outlet) => outlet.id) ?? [];
      const members = [...new Set([...drawn, ...planned])];
      return members.length > 0 || feature === undefined ? members : [id];
    }
    if (feature !== undefined) return [id];
    return stretches.has(id) ? [stretchRef(id)] : [];
  };
  const subjects = [finding.subject, ...finding.subject.split(/,\s*|\s+and\s+/)].flatMap(named);
  // Further ones in the words; a name without a figure may be a word like any other.
  const spoken = (finding.what.match(/[\p{L}\p{N}_-]+/gu) ?? []).filter((word) => /\d/.test(word) && !circuits.has(word)).flatMap(named);
  return [...new Set([...subjects, ...spoken])];
}
