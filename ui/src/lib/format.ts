/** Words and figures as the page shows them. Figures of the trade come from the server as texts. */
import type * as C from "../api/contract";

/** "1 error", "3 errors". */
export function count(number: number, one: string, many = `${one}s`): string {
  return `${number.toLocaleString("en-US")} ${number === 1 ? one : many}`;
}

/** A key such as `lawn_kept` as words. */
export function words(key: string): string {
  return key.replaceAll("_", " ");
}

/** An id with the name that somebody gave beside it; the id alone where the name says no more ("Circuit C1"). */
export function titled(id: string, name: string, kind: string, between = " "): string {
  const said = name.trim().toLowerCase();
  return ["", id.toLowerCase(), `${words(kind)} ${id}`.toLowerCase()].includes(said) ? id : `${id}${between}${name}`;
}

/** Several of a kind, by its label: "heads", "water sources", "sleeves in place". */
export function several(label: string): string {
  const [, noun = label, rest = ""] = /^(.*?)( (?:in|to|of|for) .*)?$/.exec(label) ?? [];
  const many = /[^aeiou]y$/.test(noun) ? `${noun.slice(0, -1)}ies` : /(?:s|x|ch|sh)$/.test(noun) ? `${noun}es` : `${noun}s`;
  return `${many}${rest}`;
}

/** The first letter large. */
export function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function total(plan: C.PlanView, id: string): C.Total | undefined {
  return plan.totals.find((one) => one.id === id);
}

/** The methods that put something in. */
export const used = (plan: C.PlanView): C.MethodView[] => plan.methods.filter((method) => method.used);

/** What is to be added to a job file, as it is written there: its name, and a value that would do. */
const ADDED = /^add "([a-z_]+)": "?([^"]*)"?$/;

/** Whether a finding says of a property only that it is missing. */
export const missing = (finding: C.Finding): boolean => ADDED.test(finding.mend);

/** A finding's words as a sentence; names of properties between backticks become words, and so do members of a file. */
export function plain(said: string): string {
  const [, name = "", value = ""] = ADDED.exec(said) ?? [];
  const text = name === "" ? said : `put in ${words(name)}${/\d/.test(value) ? `, such as ${value}` : ""}`;
  return sentence(text.replace(/`([^`]*)`/g, (_, name: string) => (/^[a-z_]+$/.test(name) ? words(name) : name))).replace(/[.!?]?$/, (end) => end || ".");
}

/** What a plan comes to, in one sentence for the ear. */
export function spoken(plan: C.PlanView): string {
  const [price, trench, days] = ["price", "trench", "days"].map((id) => total(plan, id)?.fig.text);
  if (price !== undefined && trench !== undefined && days !== undefined) return `New plan: ${price}, ${trench} of trench, ${days}.`;
  return `New plan: ${plan.totals.slice(0, 3).map((one) => `${one.what} ${one.fig.text}`).join(", ")}.`;
}

export type Sense = "better" | "worse" | "same";

/** Which way a difference goes, and what that means for the job. */
export function sense(difference: number, better: C.Total["better"]): Sense {
  if (difference === 0) return "same";
  return difference < 0 === (better === "less") ? "better" : "worse";
}

/** A difference in words that do without colour: the size without a sign, and "more" or "less". */
export function difference(total: C.Total): { arrow: string; text: string; word: string; sense: Sense } {
  const size = total.fig.text.replace(/^[+\-−–]\s*/, "");
  const way = sense(total.value, total.better);
  if (total.value === 0) return { arrow: "=", text: "", word: "as before", sense: way };
  const up = total.value > 0;
  return { arrow: up ? "▲" : "▼", text: `${up ? "+" : "−"}${size}`, word: up ? "more" : "less", sense: way };
}

/** How far one figure lies above or below what it is now; empty where there is nothing to compare with. */
export function share(one: number, now: number): string {
  if (now === 0 || !Number.isFinite(one) || !Number.isFinite(now)) return "";
  const part = ((one - now) / Math.abs(now)) * 100;
  if (Math.abs(part) < 0.05) return "as now";
  return `${Math.abs(part).toFixed(1)} % ${part > 0 ? "above" : "below"} now`;
}

/** A time of the history: the hour today, else day and hour. */
export function moment(iso: string, now = new Date()): string {
  const at = new Date(iso);
  if (Number.isNaN(at.getTime())) return iso;
  const hour = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (at.toDateString() === now.toDateString()) return hour;
  const day = at.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  return `${day} ${hour}`;
}

/** What a finding's severity is called, and the sign that stands beside it. */
export const SEVERITY: Record<C.Finding["severity"], { one: string; many: string; sign: string }> = {
  error: { one: "error", many: "errors", sign: "✕" },
  warning: { one: "warning", many: "warnings", sign: "!" },
  caution: { one: "caution", many: "cautions", sign: "△" },
};

/** Findings of the job and of its plan, each once, errors first. */
export function gathered(...lists: C.Finding[][]): C.Finding[] {
  const seen = new Set<string>();
  const all = lists.flat().filter((finding) => {
    const key = `${finding.rule} ${finding.subject} ${finding.what}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  const order = ["error", "warning", "caution"];
  return all.sort((a, b) => order.indexOf(a.severity) - order.indexOf(b.severity));
}

/** The findings that speak of a property of a feature: their words name it between backticks. */
export function about(findings: C.Finding[], id: string, property: string): C.Finding[] {
  return findings.filter((finding) => finding.subject === id && finding.what.includes(`\`${property}\``));
}

/** Whether all words of a search stand somewhere in a text. */
export function matches(text: string, search: string): boolean {
  const within = text.toLowerCase();
  return search.toLowerCase().split(/\s+/).every((word) => within.includes(word));
}
