/** The plan on paper, as the program prints it: which sheets there are, and where they are asked for. */
import type { PlanView, Finding } from "../api/contract";

/** In the order in which they are printed; the names are those that the program knows. */
export const SHEETS = [
  { name: "job", label: "Job on a page" },
  { name: "locate", label: "Locate request" },
  { name: "plan", label: "Plan sheets" },
  { name: "staking", label: "Staking list" },
  { name: "cut-list", label: "Cut list" },
  { name: "valves-and-wire", label: "Valve and wire schedule" },
  { name: "material", label: "Material order and cutting list" },
  { name: "days", label: "Day plan" },
  { name: "talk", label: "Toolbox talk and trench check" },
  { name: "records", label: "Test and backfill records" },
  { name: "as-built", label: "As-built blank" },
] as const;

export type SheetName = (typeof SHEETS)[number]["name"];

export const OFFER = "api/offer";

/** Where the chosen sheets are asked for; all of them need not be named. */
export function sheetsAt(chosen: ReadonlySet<SheetName>): string {
  const names = SHEETS.map((sheet) => sheet.name).filter((name) => chosen.has(name));
  return names.length === SHEETS.length ? "api/sheets" : `api/sheets?only=${names.join(",")}`;
}

/** Why nothing can be printed of the job as it is; empty where it can. */
export function unprintable(known: { plan: PlanView | null; unplanned: readonly Finding[] }): string {
  if (known.unplanned.length > 0 && known.plan !== null) return "The job as it is now cannot be planned; its findings say why.";
  return known.plan === null ? "There is no plan yet; what is still to be drawn stands under Properties." : "";
}

/** What is to be known of a plan that is printed before it is whole or of today. */
export function unready(known: { plan: PlanView | null; stale: boolean }): string {
  if (known.stale) return "A new plan is being made; wait for it, or the sheets may be of the job before the last change.";
  if (known.plan?.quality === "draft") return "This is a draft; the full plan follows in a moment. Wait for it before you print what is dug by.";
  return "";
}
