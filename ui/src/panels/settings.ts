/** What may be typed for a rule or a price, as far as the page can tell before the program does; which errors speak of it. */
import type { Finding, SettingView } from "../api/contract";
import { words } from "../lib/format";
import { bareNumber, withUnit } from "../lib/units";

export const isNumber = (one: SettingView): boolean => one.type === "number" || (one.default !== "" && Number.isFinite(Number(one.default)));

/** A size as a rule has it: one number and its unit, such as `18 in` or `40 %`. */
const SIZE = /^[-−+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?\s+\S+$/;
const BEGINS = /^[-−+]?(?:\d|\.\d)/;

/** A value as the file takes it, or why it is none. What is a bare number, or yes or no, stays one. */
export function settingOf(one: SettingView, typed: string): { value: string | number | boolean } | { wrong: string } {
  const raw = typed.trim();
  if (isNumber(one)) {
    const bare = bareNumber(raw);
    const number = Number(bare);
    return bare !== "" && Number.isFinite(number) ? { value: number } : { wrong: `“${raw}” is not a number. Write one like ${one.default}.` };
  }
  if (one.default === "true" || one.default === "false") {
    return raw === "true" || raw === "false" ? { value: raw === "true" } : { wrong: `“${raw}” is neither true nor false.` };
  }
  if (SIZE.test(one.default)) {
    return BEGINS.test(raw) ? { value: withUnit(raw, one.default) } : { wrong: `“${raw}” does not begin with a number. Write a value like ${one.default}.` };
  }
  return { value: raw };
}

const unescaped = (path: string): string[] => path.slice(1).split("/").map((part) => part.replaceAll("~1", "/").replaceAll("~0", "~"));

/** How findings name a rule or a price: "Price labour › wage". */
export function nameOf(one: SettingView): string {
  const [part, ...rest] = unescaped(one.path);
  return `${part === "prices" ? "Price" : "Rule"} ${rest.map(words).join(" › ")}`;
}

/** The errors that are about a rule or a price. */
export const against = (one: SettingView, findings: readonly Finding[]): Finding[] =>
  findings.filter((finding) => finding.severity === "error" && finding.subject === nameOf(one));
