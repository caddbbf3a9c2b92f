/** What is drawn place by place, by clicks and by figures that are typed, and what becomes of it. */
import type { Feature, KindView, Place } from "../api/contract";
import { area, cross, distance, dot, lengthOf, minus, same, tidy } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import type { Snapped } from "../lib/snap";
import { placeOf, readEntry, writeArea, writeLength, type Entry } from "../lib/units";
import { Aiming } from "./aiming.svelte";
import { defaults, freshId, prefixOf, shapeOf, spent, split } from "./edits";
import { ONE, TWO } from "./editing.svelte";
import { nameOf } from "./hints";
import { drawing } from "./state.svelte";

export class Drafting extends Aiming {
  typed = $state("");
  /** What is wrong with what was typed. */
  wrong = $state("");

  get kind(): KindView | undefined {
    return session.kinds.find((kind) => kind.name === drawing.kind);
  }

  /** Whether a click adds one of several places, rather than making a whole feature. */
  get isChain(): boolean {
    return this.isDrawing && !(drawing.tool === "draw" && (drawing.shape === "Point" || drawing.shape === "null"));
  }

  get canFinish(): boolean {
    if (drawing.tool === "measure") return this.drawn.length > 0;
    if (drawing.tool === "split") return this.drawn.length >= 2;
    return this.isChain && drawing.shape !== "null" && shapeOf(drawing.shape, this.drawn) !== null;
  }

  protected aim(at: Place): void {
    this.next = this.snapped(at, {});
    if (this.typed.trim() === "") return;
    const read = readEntry(this.typed, this.unit());
    if (read.ok) this.next = this.asTyped(read.value, this.next) ?? this.next;
  }

  /** Where what was typed leads, toward what is aimed at; null where it needs a place to start from. The one preview that is placed. */
  protected asTyped(entry: Entry, toward: Snapped): Snapped | null {
    const [from, before] = [this.drawn.at(-1) ?? null, this.drawn.at(-2) ?? null];
    const place = placeOf(entry, from, before, toward.at);
    if (place === null) return null;
    const at = tidy(place);
    const way = entry.kind === "length" && from !== null ? wayOf(from, before, toward) : "";
    return { at, kind: "none", words: way === "" ? "as typed" : `as typed, ${way}`, guides: from !== null && way !== "" ? [[from, at]] : [], owner: null };
  }

  /** Fixes a place; `typed` where it is not clicked, so that no second click can be meant. */
  place(at: Place, typed = false): void {
    this.typed = "";
    this.wrong = "";
    if (!this.isChain) {
      if (drawing.tool === "draw") void this.create([at]);
      return;
    }
    const first = this.drawn[0];
    if (drawing.tool === "draw" && drawing.shape === "Polygon" && first && this.drawn.length >= 3 && same(first, at)) return this.finish();
    const last = this.drawn.at(-1);
    // The second click of a double click comes to the same place.
    if (last && (typed ? same(last, at) : distance(last, at) <= 2 * this.around.resolution())) return;
    this.drawn = [...this.drawn, at];
    if (drawing.tool === "draw" && drawing.kind !== null && TWO.has(drawing.kind) && this.drawn.length === 2) this.finish();
    this.around.changed("overlay");
  }

  undoPoint(): void {
    this.drawn = this.drawn.slice(0, -1);
    if (this.pointer) this.aim(this.cross ?? this.pointer);
    this.around.changed("overlay");
  }

  finish(): void {
    if (!this.canFinish) {
      this.wrong = drawing.tool === "draw" && drawing.shape === "Polygon" ? "an area needs three corners at least" : "a line needs two places at least";
      return;
    }
    const drawn = this.drawn;
    this.drawn = [];
    if (drawing.tool === "draw") void this.create(drawn);
    else if (drawing.tool === "split") void this.split(drawn);
    else drawing.said = this.measured(drawn);
    this.around.changed("overlay");
  }

  /** Fixes what was typed; without anything typed it finishes or places at the crosshair. */
  enter(): void {
    const aim = this.cross ?? this.pointer;
    if (this.typed.trim() === "") {
      if (this.cross !== null && this.isDrawing) {
        this.aim(this.cross);
        const at = this.next === null ? this.cross : this.exact(this.next);
        const last = this.drawn.at(-1);
        if (last && same(last, at)) this.finish();
        else this.place(at);
      } else if (this.isChain) this.finish();
      return;
    }
    const read = readEntry(this.typed, this.unit());
    if (!read.ok) {
      this.wrong = `${read.what}: ${read.mend}`;
      return;
    }
    // What is aimed at is snapped to here as in the preview, or something else would be placed than was shown.
    const toward: Snapped = aim === null ? { at: this.drawn.at(-1) ?? [0, 0], kind: "none", words: "", guides: [], owner: null } : this.snapped(aim, {});
    const found = this.asTyped(read.value, toward);
    if (found === null) {
      this.wrong = "a length needs a place to start from: click one, or write x, y";
      return;
    }
    const { at } = found;
    this.place(at, true);
    // The mouse goes on from there; without one nothing more is aimed at.
    if (this.cross === null) {
      this.next = null;
      if (this.pointer !== null && this.over && this.isDrawing) this.aim(this.pointer);
    }
    if (this.cross !== null) this.cross = at;
    this.around.show(at);
    this.around.changed("overlay");
  }

  type(text: string): void {
    this.typed = text;
    this.wrong = "";
    const at = this.cross ?? this.pointer;
    if (at) this.aim(at);
    this.around.changed("overlay");
  }

  async create(drawn: readonly Place[]): Promise<void> {
    const { kind } = this;
    const job = session.job;
    if (kind === undefined || job === null) return;
    const geometry = drawing.shape === "null" ? null : shapeOf(drawing.shape, drawn);
    if (geometry === null && drawing.shape !== "null") return;
    const there = ONE.has(kind.name) ? job.features.find((feature) => feature.properties.kind === kind.name) : undefined;
    if (there !== undefined) {
      const feature = { ...there, geometry };
      drawing.use("select");
      drawing.select([there.id]);
      await session.edit(`Moved ${nameOf(there)}`, [{ op: "put", feature }]);
      return;
    }
    const id = freshId(prefixOf(kind.name), new Set(job.features.map((feature) => feature.id)));
    const preset = { ...drawing.preset };
    // The width as measured counts; until it is, the drawing is the best there is.
    if (kind.name === "gate" && drawn.length === 2) preset.clear_width = `${Number(lengthOf(drawn).toFixed(2))} ${job.length_unit}`;
    const properties = defaults(kind, id, job.features, preset);
    const feature: Feature = { type: "Feature", id, geometry, properties };
    drawing.select([id]);
    const examples = kind.properties.some((property) => property.required && property.type === "quantity" && property.start !== "" && properties[property.name] === property.start);
    drawing.said = `${nameOf(feature)} drawn${examples ? "; its values are a usual beginning, put in your own" : ""}`;
    if (kind.name === "boundary" || ONE.has(kind.name) || drawing.shape === "null") drawing.use("select");
    if (await session.edit(`Drew ${nameOf(feature)}`, [{ op: "put", feature }])) {
      if (kind.name === "boundary") drawing.zoomToAll();
      if (drawing.kind === kind.name) drawing.preset = spent(kind, drawing.preset);
    }
  }

  async split(cutter: readonly Place[]): Promise<void> {
    const scene = this.around.scene();
    if (scene === null || session.job === null) return;
    const wanted = this.chosen.length > 0 ? this.chosen : [...scene.byId.values()].map((one) => one.feature);
    const taken = new Set(session.job.features.map((feature) => feature.id));
    const cut = wanted.flatMap((feature) => {
      // Pieces of a property line or of a pair of posts would be no job any more.
      if (feature.geometry === null || ONE.has(String(feature.properties.kind)) || TWO.has(String(feature.properties.kind))) return [];
      const parts = split(feature.geometry, cutter);
      return parts === null || parts.length < 2 ? [] : [{ feature, parts }];
    });
    // Without a choice only one is cut: the one that was most likely meant, the smallest.
    cut.sort((a, b) => size(a.feature) - size(b.feature));
    const chosen = this.chosen.length > 0 ? cut : cut.slice(0, 1);
    if (chosen.length === 0) {
      this.wrong = this.chosen.length > 0 ? "the line does not cut clean through what is chosen" : "the line cuts nothing clean through; draw it from side to side";
      drawing.said = this.wrong;
      return;
    }
    const ops = chosen.flatMap(({ feature, parts }) =>
      parts.map((geometry, i) => ({
        op: "put" as const,
        feature: { ...feature, id: i === 0 ? feature.id : freshId(/^[A-Za-z_-]+/.exec(feature.id)?.[0] ?? prefixOf(String(feature.properties.kind)), taken), geometry },
      })),
    );
    drawing.use("select");
    drawing.select(ops.map((op) => op.feature.id));
    await session.edit(this.label("Split", chosen.map(({ feature }) => feature.id)), ops);
  }

  measured(drawn: readonly Place[]): string {
    const job = session.job;
    if (job === null || drawn.length === 0) return "";
    const words = [writeLength(lengthOf(drawn), job.length_unit, job.units)];
    if (drawn.length >= 3) words.push(`area inside ${writeArea(Math.abs(area(drawn)), job.length_unit, job.units)}`);
    return words.join(", ");
  }
}

/** Along which way a typed length goes, where that is more than the pointer's: the words of the snap that gave it. */
function wayOf(from: Place, before: Place | null, toward: Snapped): string {
  if (toward.kind === "none" || same(from, toward.at)) return "";
  const way = minus(toward.at, from);
  const far = Math.hypot(...way);
  if (Math.abs(way[1]) <= 1e-9 * far) return "level";
  if (Math.abs(way[0]) <= 1e-9 * far) return "upright";
  if (before !== null) {
    const last = minus(from, before);
    const slack = 1e-9 * far * Math.hypot(...last);
    if (Math.abs(dot(last, way)) <= slack) return "at a right angle";
    if (Math.abs(cross(last, way)) <= slack) return "straight on";
  }
  return `toward: ${toward.words}`;
}

function size(feature: Feature): number {
  const { geometry } = feature;
  if (geometry?.type === "Polygon") return Math.abs(area(geometry.coordinates[0] ?? []));
  return geometry?.type === "LineString" ? lengthOf(geometry.coordinates) * 1e-3 : 0;
}
