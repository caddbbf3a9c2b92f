/** Lengths and angles as people type them. Plain numbers are in the job's unit. */
import type { Place } from "../api/contract";
import { polar } from "./geometry";

export type LengthUnit = "ft" | "m";
export type Read<T> = { ok: true; value: T } | { ok: false; what: string; mend: string };

/** Metres in a unit, each exact by its definition. */
const METRES: Record<string, number> = { mm: 0.001, cm: 0.01, m: 1, in: 0.0254, ft: 0.3048, yd: 0.9144 };
const NAMES: Record<string, string> = {
  "'": "ft", "′": "ft", "’": "ft", ft: "ft", foot: "ft", feet: "ft", '"': "in", "″": "in", "”": "in", "''": "in", in: "in",
  inch: "in", inches: "in", yd: "yd", yard: "yd", yards: "yd", mm: "mm", cm: "cm", m: "m", metre: "m", metres: "m", meter: "m", meters: "m",
};

const refused = (what: string, mend: string): { ok: false; what: string; mend: string } => ({ ok: false, what, mend });
const example = (unit: LengthUnit) => (unit === "ft" ? `write it like 62' 6" or 62.5` : "write it like 19.05 or 40 cm");

/** A length in the job's unit. May be negative if the text says so. */
export function readLength(text: string, unit: LengthUnit): Read<number> {
  const trimmed = text.trim();
  if (trimmed === "") return refused("there is no length", example(unit));
  if (/\d,\d/.test(trimmed)) return refused(`“${trimmed}” has a comma in it`, "write the decimals after a point, like 19.05");
  const negative = /^[-−]/.test(trimmed);
  const parts = pieces(negative ? trimmed.slice(1) : trimmed);
  if (typeof parts === "string") return refused(parts, example(unit));
  let metres = 0;
  let least = Infinity;
  for (const [i, part] of parts.entries()) {
    let name = part.unit;
    if (name === "") {
      // "62' 6": what follows feet without a word is inches; elsewhere a bare number stands alone.
      if (parts.length === 1) name = unit;
      else if (i === parts.length - 1 && parts[i - 1]!.unit === "ft") name = "in";
      else return refused(`“${trimmed}” has a number without its unit`, example(unit));
    }
    const size = METRES[name]!;
    if (size >= least) return refused(`“${trimmed}” has its units in the wrong order`, "put the larger unit first, like 3 ft 4 in");
    least = size;
    metres += part.value * size;
  }
  const value = parts.length === 1 && (parts[0]!.unit === "" || parts[0]!.unit === unit) ? parts[0]!.value : metres / METRES[unit]!;
  if (!Number.isFinite(value) || value > 1e7) return refused(`“${trimmed}” is too long`, example(unit));
  return { ok: true, value: negative ? -round(value) : round(value) };
}

/** Removes the noise of conversions, far below what a tape shows. */
const round = (value: number) => Number(value.toFixed(9));

interface Piece { value: number; unit: string }

function pieces(text: string): Piece[] | string {
  const found: Piece[] = [];
  let rest = text.trim();
  while (rest !== "") {
    const match = /^(?:(\d+)\s*[-\s]\s*(\d+)\/(\d+)|(\d+)\/(\d+)|(\d+\.?\d*|\.\d+))\s*/.exec(rest);
    if (match === null) return `“${rest}” is not a length`;
    rest = rest.slice(match[0].length);
    let value: number;
    if (match[3] !== undefined || match[5] !== undefined) {
      const under = Number(match[3] ?? match[5]);
      if (under === 0) return `a fraction in “${text}” is parted by 0`;
      value = Number(match[1] ?? 0) + Number(match[2] ?? match[4]) / under;
    } else {
      value = Number(match[6]);
    }
    const word = /^(?:''|['"′″’”]|[a-zµA-Z]+\.?)/.exec(rest)?.[0] ?? "";
    rest = rest.slice(word.length).trimStart();
    const name = word === "" ? "" : NAMES[word.replace(/\.$/, "").toLowerCase()];
    if (name === undefined) return `“${word}” is not a unit of length`;
    found.push({ value, unit: name });
    // A dash between feet and inches, as in 62'-6".
    if (name === "ft" && rest.startsWith("-")) rest = rest.slice(1).trimStart();
  }
  return found.length === 0 ? `“${text}” is not a length` : found;
}

export interface Angle {
  /** Degrees counter-clockwise. */
  degrees: number;
  /** Whether they turn from the line before, to the left. */
  relative: boolean;
}

/** `45`, `45°`, `-30`, `<90` (turned from the line before), `N30E` (from the y axis, which is up on the plan). */
export function readAngle(text: string): Read<Angle> {
  const trimmed = text.trim();
  const mend = "write a direction like @ 45, a turn like < 90, or a bearing like N30E";
  if (trimmed === "") return refused("there is no angle", mend);
  const bearing = /^([ns])\s*(\d+\.?\d*)\s*°?\s*([ew])$/i.exec(trimmed);
  if (bearing !== null) {
    const off = Number(bearing[2]);
    if (off > 90) return refused(`“${trimmed}” turns more than 90° from north or south`, mend);
    const north = bearing[1]!.toLowerCase() === "n";
    const east = bearing[3]!.toLowerCase() === "e";
    const degrees = north ? (east ? 90 - off : 90 + off) : east ? 270 + off : 270 - off;
    return { ok: true, value: { degrees: degrees % 360, relative: false } };
  }
  const plain = /^(<?)\s*([-−+]?)(\d+\.?\d*|\.\d+)\s*(?:°|deg|degrees)?$/i.exec(trimmed);
  if (plain === null) return refused(`“${trimmed}” is not an angle`, mend);
  const size = Number(plain[3]);
  if (size > 360) return refused(`“${trimmed}” is more than a full turn`, mend);
  const degrees = plain[2] === "-" || plain[2] === "−" ? -size : size;
  return { ok: true, value: { degrees: degrees + 0, relative: plain[1] === "<" } };
}

/** What may be typed while drawing. */
export type Entry =
  | { kind: "length"; length: number }
  | { kind: "vector"; length: number; angle: Angle }
  | { kind: "angle"; angle: Angle }
  | { kind: "place"; at: Place };

/** `15'6"` · `15'6" @ 45` · `15'6" < 90` · `@ 45` · `< 90` · `N30E` · `12, 7.5` (a place). */
export function readEntry(text: string, unit: LengthUnit): Read<Entry> {
  const trimmed = text.trim();
  if (trimmed === "") return refused("nothing is typed", `${example(unit)}; in a direction ${unit === "ft" ? `15'6" @ 45` : "4.7 @ 45"}, after a turn ${unit === "ft" ? `15'6" < 90` : "4.7 < 90"}; a place is x, y`);
  const parts = trimmed.split(/[,;]/);
  if (parts.length === 2) {
    const x = readLength(parts[0]!, unit);
    const y = readLength(parts[1]!, unit);
    if (!x.ok) return x;
    if (!y.ok) return y;
    return { ok: true, value: { kind: "place", at: [x.value, y.value] } };
  }
  if (parts.length > 2) return refused(`“${trimmed}” has more than one comma`, "write a place like 12.5, 7, with points for decimals");
  if (/^[<@]/.test(trimmed) || /^[ns]\s*\d/i.test(trimmed) || /^[-−+]?[\d.]+\s*°$/.test(trimmed)) {
    const angle = readAngle(trimmed.replace(/^@/, ""));
    return angle.ok ? { ok: true, value: { kind: "angle", angle: angle.value } } : angle;
  }
  const cut = /^(.*?)\s*(<.*|@.*|\bat\b.*)$/.exec(trimmed);
  if (cut !== null) {
    const length = readLength(cut[1]!, unit);
    if (!length.ok) return length;
    if (length.value < 0) return refused("a length with a direction cannot be negative", "turn the angle by 180 instead");
    const angle = readAngle(cut[2]!.replace(/^(?:@|at\b)/, ""));
    return angle.ok ? { ok: true, value: { kind: "vector", length: length.value, angle: angle.value } } : angle;
  }
  const length = readLength(trimmed, unit);
  if (!length.ok) return length;
  if (length.value < 0) return refused("a length along a line cannot be negative", "point the other way, or write a turn: < 180");
  return { ok: true, value: { kind: "length", length: length.value } };
}

/** Where an entry leads from the last place; `toward` is where the pointer is, `before` the place before the last. */
export function placeOf(entry: Entry, from: Place | null, before: Place | null, toward: Place): Place | null {
  if (entry.kind === "place") return entry.at;
  if (from === null) return null;
  const pointed = Math.hypot(toward[0] - from[0], toward[1] - from[1]);
  const turned = (angle: Angle) => {
    const base = angle.relative && before !== null ? Math.atan2(from[1] - before[1], from[0] - before[0]) * (180 / Math.PI) : 0;
    return base + angle.degrees;
  };
  const at = (length: number, degrees: number): Place => {
    // Right angles come out exact, whatever the direction before was computed to.
    const near = Math.round(degrees / 90) * 90;
    return polar(from, length, Math.abs(degrees - near) < 1e-9 ? near : degrees);
  };
  if (entry.kind === "vector") return at(entry.length, turned(entry.angle));
  if (entry.kind === "angle") {
    const degrees = turned(entry.angle);
    const radians = (degrees * Math.PI) / 180;
    const reach = (toward[0] - from[0]) * Math.cos(radians) + (toward[1] - from[1]) * Math.sin(radians);
    return at(Math.max(reach, 0), degrees);
  }
  if (pointed === 0) return [from[0] + entry.length, from[1]];
  return [from[0] + ((toward[0] - from[0]) / pointed) * entry.length, from[1] + ((toward[1] - from[1]) / pointed) * entry.length];
}

/** A length of the job in words: feet and inches to an eighth, or metres to the centimetre. */
export function writeLength(value: number, unit: LengthUnit, units: "us" | "si"): string {
  const metres = value * METRES[unit]!;
  if (units === "si") return `${withSign(metres, (size) => size.toFixed(2))} m`;
  return withSign(metres / METRES.in!, (inches) => {
    const eighths = Math.round(inches * 8);
    const feet = Math.floor(eighths / 96);
    const whole = Math.floor((eighths - feet * 96) / 8);
    const part = fraction(eighths % 8);
    const inch = part === "" ? `${whole}"` : whole === 0 ? `${part}"` : `${whole} ${part}"`;
    if (feet === 0) return inch;
    return whole === 0 && part === "" ? `${feet}'` : `${feet}' ${inch}`;
  });
}

const withSign = (value: number, write: (size: number) => string) => {
  const text = write(Math.abs(value));
  return value < 0 && /[1-9]/.test(text) ? `−${text}` : text;
};

function fraction(eighths: number): string {
  if (eighths === 0) return "";
  if (eighths === 4) return "1/2";
  return eighths % 2 === 0 ? `${eighths / 2}/4` : `${eighths}/8`;
}

export function writeArea(value: number, unit: LengthUnit, units: "us" | "si"): string {
  const metres = value * METRES[unit]! ** 2;
  return units === "si" ? `${metres.toFixed(1)} m²` : `${(metres / METRES.ft! ** 2).toFixed(0)} sq ft`;
}

export function writeAngle(degrees: number): string {
  return `${Number((((degrees % 360) + 360) % 360).toFixed(1)) % 360}°`;
}

/** A turn from the side before, the shorter way: to the left, or with a minus to the right. */
export function writeTurn(degrees: number): string {
  const turn = Number((((degrees % 360) + 360) % 360).toFixed(1)) % 360;
  return turn > 180 ? `−${Number((360 - turn).toFixed(1))}°` : `${turn}°`;
}

/**
 * A way from one place to the next as it could be typed: its length, its direction, and its turn from the side before.
 */
export function writeWay(length: number, direction: number, before: number | null, unit: LengthUnit, units: "us" | "si"): string {
  const turn = before === null ? "" : ` or < ${writeTurn(direction - before)}`;
  return `${writeLength(length, unit, units)} @ ${writeAngle(direction)}${turn}`;
}

/** Metres of a unit of the job. */
export const metresOf = (unit: LengthUnit): number => METRES[unit]!;

const BARE = /^[-−+]?(?:\d+\s*[-\s]\s*\d+\/\d+|\d+\/\d+|\d+\.?\d*|\.\d+)$/;

/** What was typed, with the unit of the example ("62 psi", "3/4 in") behind it where it is a bare number or fraction. */
export function withUnit(raw: string, sample: string): string {
  const typed = raw.trim();
  const [, figure = "", unit] = /^(\S+)\s+([^\s\d]\S*)$/.exec(sample.trim()) ?? [];
  return unit !== undefined && BARE.test(figure) && BARE.test(typed) ? `${typed} ${unit}` : typed;
}

/** What was typed for a bare number, without a currency sign before it and commas between its thousands. */
export function bareNumber(raw: string): string {
  const typed = raw.trim().replace(/^([-−+]?)\s*[$€£]\s*/, "$1");
  return /^[-−+]?\d{1,3}(?:,\d{3})+(?:\.\d*)?$/.test(typed) ? typed.replaceAll(",", "") : typed;
}
