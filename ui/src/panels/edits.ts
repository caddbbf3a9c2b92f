/** Changes to the job that the panel proposes, as steps for the server. Nothing here draws or asks. */
import type { Feature, Geometry, KindView, Op, Place, PropertyView, StretchView } from "../api/contract";
import { along, lengthOf, nearestOfChain } from "../lib/geometry";

export const kindOf = (feature: Feature): string => String(feature.properties.kind ?? "");

/** A feature with one property changed; nothing or an empty text takes the property away. */
export function withProperty(feature: Feature, name: string, value: unknown): Feature {
  const properties = { ...feature.properties };
  if (value === undefined || value === null || value === "" || (Array.isArray(value) && value.length === 0)) delete properties[name];
  else properties[name] = value;
  return { ...feature, properties };
}

/** The properties that all chosen features have, in the order of the first one's kind. */
export function common(features: Feature[], kinds: KindView[]): PropertyView[] {
  const lists = [...new Set(features.map(kindOf))].map((name) => kinds.find((kind) => kind.name === name)?.properties ?? []);
  const [first, ...others] = lists;
  if (!first) return [];
  return first.filter((property) => others.every((list) => list.some((other) => other.name === property.name && other.type === property.type)));
}

/** What all chosen features say of a property, or that they differ. */
export function agreed(features: Feature[], name: string): { value: unknown; differs: boolean } {
  const value = features[0]?.properties[name];
  const differs = features.some((feature) => JSON.stringify(feature.properties[name]) !== JSON.stringify(value));
  return differs ? { value: undefined, differs } : { value, differs };
}

/** Whether one of the features still has what newly drawn parts of the system begin with. */
export function usual(features: Feature[], kinds: KindView[], property: PropertyView): boolean {
  const system = (feature: Feature) => kinds.some((kind) => kind.name === kindOf(feature) && kind.group === "system");
  return property.start !== "" && features.some((feature) => feature.properties[property.name] === property.start && system(feature));
}

/** Whether an id can stand in a job file. */
export const goodId = (id: string): boolean => /^[\p{L}\p{N}_-]{1,64}$/u.test(id);

function renamedIn(value: unknown, from: string, to: string): unknown {
  if (Array.isArray(value)) return value.map((one) => (one === from ? to : one));
  if (typeof value !== "string") return value;
  return value
    .split(",")
    .map((part) => (part.trim() === from ? part.replace(from, to) : part))
    .join(",");
}

/**
 * A new id for a feature, in one change with all that refers to it. It keeps its position, since of two areas that
 * overlap the later one counts.
 */
export function rename(features: Feature[], kinds: KindView[], from: string, to: string): Op[] {
  const at = features.findIndex((feature) => feature.id === from);
  const renamed = features[at];
  if (!renamed) return [];
  const refers = (feature: Feature): PropertyView[] =>
    (kinds.find((kind) => kind.name === kindOf(feature))?.properties ?? []).filter(
      (property) => property.type === "feature" || property.name === "carries",
    );
  const mended = (feature: Feature): Feature =>
    refers(feature).reduce((changed, property) => {
      const before = changed.properties[property.name];
      const after = renamedIn(before, from, to);
      return JSON.stringify(after) === JSON.stringify(before) ? changed : withProperty(changed, property.name, after);
    }, feature);
  const ops: Op[] = [
    { op: "put", feature: mended({ ...renamed, id: to }), at },
    { op: "remove", id: from },
  ];
  for (const feature of features) {
    const next = mended(feature);
    if (feature !== renamed && next !== feature) ops.push({ op: "put", feature: next });
  }
  return ops;
}

const shift = (place: Place, by: Place): Place => [place[0] + by[0], place[1] + by[1]];

export function moved(geometry: Geometry | null, by: Place): Geometry | null {
  if (geometry === null) return null;
  if (geometry.type === "Point") return { ...geometry, coordinates: shift(geometry.coordinates, by) };
  if (geometry.type === "Polygon") return { ...geometry, coordinates: geometry.coordinates.map((ring) => ring.map((place) => shift(place, by))) };
  return { ...geometry, coordinates: geometry.coordinates.map((place) => shift(place, by)) };
}

/** Copies beside the originals, each with an id of its own. */
export function duplicates(chosen: Feature[], all: Feature[], by: Place): Feature[] {
  const taken = new Set(all.map((feature) => feature.id));
  return chosen.map((feature) => {
    const prefix = feature.id.replace(/\d+$/, "");
    let number = 1;
    while (taken.has(`${prefix}${number}`)) number += 1;
    const id = `${prefix}${number}`;
    taken.add(id);
    return { ...feature, id, geometry: moved(feature.geometry, by) };
  });
}

/** What lies in a stretch, as `carries` of a fixed trench names it. */
export function carried(stretch: StretchView, pipes: { stretch: string; kind: string; circuit: string | null }[], features: Feature[]): string[] {
  const found: string[] = [];
  for (const pipe of pipes) if (pipe.stretch === stretch.id) found.push(pipe.kind === "lateral" ? (pipe.circuit ?? "") : pipe.kind);
  if (/\bwires?\b/.test(stretch.contents)) found.push("wire");
  for (const feature of features) if (kindOf(feature) === "cable" && new RegExp(`\\b${feature.id}\\b`).test(stretch.contents)) found.push(feature.id);
  return [...new Set(found.filter((line) => line !== ""))];
}

/** A fixed trench where a stretch runs now. */
export function fixedTrench(id: string, stretch: StretchView, carries: string[], method: string): Feature {
  const properties: Record<string, unknown> = { kind: "fixed_trench", carries: carries.join(", ") };
  if (method !== "") properties.method = method;
  return { type: "Feature", id, geometry: { type: "LineString", coordinates: stretch.path }, properties };
}

const STRETCH = "stretch:";

/** A stretch among what is chosen or pointed at: its id is written with a prefix there, as a feature may have the same. */
export const stretchRef = (id: string): string => `${STRETCH}${id}`;
export const stretchIn = (ref: string): string | null => (ref.startsWith(STRETCH) ? ref.slice(STRETCH.length) : null);

type Run = Pick<StretchView, "id" | "path">;

/**
 * What is chosen, carried over from one plan to the next: stretches are numbered anew in each, so each is sought where
 * it lay. One that nothing lies near any more is let go.
 */
export function followed(chosen: string[], before: Run[], after: Run[]): string[] {
  const next = chosen.flatMap((ref) => {
    const id = stretchIn(ref);
    const old = id === null ? undefined : before.find((one) => one.id === id);
    if (!old) return id === null ? [ref] : [];
    const same = after.find((one) => JSON.stringify(one.path) === JSON.stringify(old.path));
    if (same) return [stretchRef(same.id)];
    const reach = lengthOf(old.path) / 2;
    const middle = along(old.path, reach)?.at ?? old.path[0];
    if (!middle) return [];
    const near = after.map((one) => ({ id: one.id, far: nearestOfChain(middle, one.path).far })).sort((a, b) => a.far - b.far)[0];
    return near && near.far <= reach ? [stretchRef(near.id)] : [];
  });
  return [...new Set(next)];
}

/** Of what is chosen that which is there: features of the job, stretches of its plan. */
export function present(chosen: string[], features: Pick<Feature, "id">[], stretches: Pick<StretchView, "id">[]): string[] {
  const there = new Set([...features.map((feature) => feature.id), ...stretches.map((stretch) => stretchRef(stretch.id))]);
  return chosen.filter((ref) => there.has(ref));
}

/** A list as a property keeps it: a list, or a text with commas between. */
export function asList(value: unknown): string[] {
  if (Array.isArray(value)) return value.map((one) => (typeof one === "string" ? one : JSON.stringify(one)));
  if (typeof value !== "string" || value.trim() === "") return [];
  return value.split(",").map((part) => part.trim());
}

/** A list in the form that the property had before; a text where it had none. */
export function fromList(list: string[], before: unknown): unknown {
  const kept = list.map((one) => one.trim()).filter((one) => one !== "");
  return Array.isArray(before) ? kept : kept.join(", ");
}
