/** Where the marks of our small charts lie. Pure arithmetic on what the server sent; nothing of the trade. */
import type { SectionView, TaskView } from "../api/contract";

/** Round values from 0 that cover `most`, few enough to be read. */
export function ticks(least: number, most: number, about = 4): number[] {
  const span = most - least;
  if (!Number.isFinite(span) || span <= 0) return [least];
  const raw = span / about;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((part) => part * power).find((size) => size >= raw * 0.999) ?? 10 * power;
  const first = Math.ceil(least / step - 1e-9);
  const found: number[] = [];
  for (let at = first; at * step <= most + step * 1e-9; at += 1) found.push(Number((at * step).toPrecision(12)));
  return found;
}

/** Parts of a whole side by side: where each begins and how long it is, as shares of 1. Parts below 0 take no room. */
export function stacked(amounts: number[]): { from: number; size: number }[] {
  const sum = amounts.reduce((total, amount) => total + Math.max(amount, 0), 0);
  let from = 0;
  return amounts.map((amount) => {
    const size = sum > 0 ? Math.max(amount, 0) / sum : 0;
    const part = { from, size };
    from += size;
    return part;
  });
}

export interface Bar { task: TaskView; row: number; lane: number }
export interface Row { name: string; lanes: number; kind: "crew" | "machine" }
/** From when until when a task takes its lane. */
export type Span = (task: TaskView) => { from: number; to: number };

const itself: Span = (task) => ({ from: task.start, to: Math.max(task.end, task.start) });

/** Tasks in rows by crew, in as many lanes as lie beside each other; then a row for each machine. */
export function schedule(tasks: TaskView[], span: Span = itself): { rows: Row[]; bars: Bar[] } {
  const rows: Row[] = [];
  const bars: Bar[] = [];
  const fill = (name: string, kind: Row["kind"], list: TaskView[]): void => {
    const ends: number[] = [];
    const row = rows.length;
    const spans = list.map((task) => ({ task, ...span(task) }));
    for (const { task, from, to } of spans.sort((a, b) => a.from - b.from || a.to - b.to)) {
      const free = ends.findIndex((end) => end <= from + 1e-9);
      const lane = free < 0 ? ends.length : free;
      ends[lane] = to;
      bars.push({ task, row, lane });
    }
    rows.push({ name, lanes: Math.max(ends.length, 1), kind });
  };
  const by = (key: (task: TaskView) => string | null): Map<string, TaskView[]> => {
    const groups = new Map<string, TaskView[]>();
    for (const task of tasks) {
      const name = key(task);
      if (name !== null) groups.set(name, [...(groups.get(name) ?? []), task]);
    }
    return groups;
  };
  for (const [crew, list] of by((task) => task.crew)) fill(crew, "crew", list);
  for (const [machine, list] of by((task) => task.machine)) fill(machine, "machine", list);
  return { rows, bars };
}

export interface Named {
  lines: string[];
  /** Where the lines stand: in the bar, after its end or before its beginning. */
  where: "in" | "after" | "before";
  /** From where to where bar and name reach together. */
  left: number;
  right: number;
}

/** Between a bar and its name, in pixels. */
const APART = 5;

/**
 * Where the name of a bar stands whole: in it, else beside it, so that it does not reach beyond `most`; in two lines
 * where one is too long. The bar goes from `x` over `wide`; `measure` tells how wide a text is.
 */
export function named(text: string, x: number, wide: number, most: number, measure: (text: string) => number): Named {
  const one = { lines: [text], width: measure(text) };
  const bar = { left: x, right: x + wide };
  if (one.width + 2 * APART <= wide) return { lines: one.lines, where: "in", ...bar };
  const two = halved(text, measure);
  if (two.width + 2 * APART <= wide) return { lines: two.lines, where: "in", ...bar };
  const { lines, width } = one.width < SHORT ? one : two;
  const after = x + wide + APART + width;
  const before = x - APART - width;
  if (after > most && before >= 0) return { lines, where: "before", left: before - APART, right: bar.right };
  return { lines, where: "after", left: x, right: after + APART };
}

/** Names up to this many pixels stand in one line. */
const SHORT = 64;

/** A text in two lines, parted where the longer of them is shortest. */
function halved(text: string, measure: (text: string) => number): { lines: string[]; width: number } {
  let best = { lines: [text], width: measure(text) };
  for (let at = text.indexOf(" "); at > 0; at = text.indexOf(" ", at + 1)) {
    const lines = [text.slice(0, at), text.slice(at + 1)];
    const width = Math.max(...lines.map(measure));
    if (width < best.width) best = { lines, width };
  }
  return best;
}

/**
 * Times in days, with the hours between one working day and the next left out: 1.5 is the middle of what is worked on
 * the second day. The working hours are those from the earliest beginning to the latest end of any task.
 */
export function worked(tasks: TaskView[]): TaskView[] {
  const part = (time: number): number => time - Math.floor(time);
  const ending = (time: number): number => (time > 0 && part(time) < 1e-9 ? 1 : part(time));
  const first = tasks.reduce((least, task) => Math.min(least, part(task.start)), 1);
  const last = tasks.reduce((most, task) => Math.max(most, ending(task.end)), 0);
  if (last - first < 1e-6) return tasks;
  const within = (share: number): number => Math.min(Math.max((share - first) / (last - first), 0), 1);
  return tasks.map((task) => {
    const end = ending(task.end);
    return { ...task, start: Math.floor(task.start) + within(part(task.start)), end: Math.round(task.end - end) + within(end) };
  });
}

/** A curve through quantiles as an SVG path: share of trials upwards, amount to the right. */
export function quantilePath(quantiles: number[], x: (amount: number) => number, y: (share: number) => number): string {
  const last = quantiles.length - 1;
  if (last < 1) return "";
  return quantiles.map((amount, index) => `${index === 0 ? "M" : "L"}${x(amount).toFixed(1)} ${y(index / last).toFixed(1)}`).join("");
}

/** The share of trials at which an amount lies, between 0 and 1. */
export function shareBelow(quantiles: number[], amount: number): number {
  const last = quantiles.length - 1;
  const above = quantiles.findIndex((one) => one >= amount);
  if (above < 0) return 1;
  if (above === 0) return 0;
  const low = quantiles[above - 1] ?? amount;
  const high = quantiles[above] ?? amount;
  const between = high > low ? (amount - low) / (high - low) : 0;
  return (above - 1 + between) / last;
}

export interface SectionShapes {
  /** Pixels of the drawing for a metre. */
  scale: number;
  width: number;
  height: number;
  surface: number;
  /** Middle of the cut. */
  middle: number;
  cut: string;
  crown: string;
  bedding: string;
  circles: { x: number; y: number; r: number; what: string; cover: string }[];
  markers: { y: number; from: number; to: number; what: string }[];
  left: number;
  right: number;
  bottom: number;
}

/** A cross-section to scale in a drawing of the given size: widths and depths have the same scale. */
export function section(view: SectionView, width: number, height: number): SectionShapes {
  const top = Math.max(view.top_width, view.width, 0.02);
  const deep = Math.max(view.depth, 0.02);
  const air = Math.max(view.crown, deep * 0.08) + deep * 0.06;
  const below = deep * 0.1;
  const scale = Math.min((height - 8) / (deep + air + below), (width * 0.4) / top);
  const surface = air * scale + 4;
  // Names stand to the right, so the cut stands left of the middle.
  const middle = width * 0.37;
  const bottom = surface + deep * scale;
  const half = (view.width / 2) * scale;
  const topHalf = (top / 2) * scale;
  const cut = `M${middle - topHalf} ${surface}L${middle - half} ${bottom}H${middle + half}L${middle + topHalf} ${surface}`;
  const rise = view.crown * scale;
  const crown = rise > 0.3 ? `M${middle - topHalf - 2} ${surface}Q${middle} ${surface - 2 * rise} ${middle + topHalf + 2} ${surface}Z` : "";
  const floor = bottom - view.bedding * scale;
  const bedding = view.bedding > 0 ? `M${middle - half} ${bottom}V${floor}H${middle + half}V${bottom}Z` : "";
  const circles: SectionShapes["circles"] = [];
  // The middles count from one side of the room that the contents need; that room is centred in the cut.
  const reach = view.contents.reduce((most, one) => Math.max(most, one.middle + one.outside / 2), 0);
  const nearest = view.contents.reduce((least, one) => Math.min(least, one.middle - one.outside / 2), Infinity);
  const offset = Number.isFinite(nearest) ? (reach + nearest) / 2 : 0;
  for (const one of view.contents) {
    const r = (one.outside / 2) * scale;
    const columns = Math.ceil(Math.sqrt(one.count));
    for (let index = 0; index < one.count; index += 1) {
      const column = index % columns;
      const row = Math.floor(index / columns);
      const inRow = Math.min(columns, one.count - row * columns);
      const x = middle + (one.middle - offset) * scale + (column - (inRow - 1) / 2) * 2 * r;
      circles.push({ x, y: floor - r - row * 2 * r, r: Math.max(r, 0.8), what: one.what, cover: one.cover.text });
    }
  }
  const markers = view.markers.map((marker) => {
    const y = surface + marker.cover * scale;
    const share = deep > 0 ? Math.min(marker.cover / deep, 1) : 0;
    const reachHalf = topHalf + (half - topHalf) * share - 2;
    return { y, from: middle - reachHalf, to: middle + reachHalf, what: marker.what };
  });
  return { scale, width, height, surface, middle, cut, crown, bedding, circles, markers, left: middle - topHalf, right: middle + topHalf, bottom };
}
