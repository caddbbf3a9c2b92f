/** The tools: what gestures and keys do to the job. The page sends whole changes; the server plans. */
import type { Feature, KindView, Place } from "../api/contract";
import { area, distance, lengthOf, minus, same, tidy } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import { snap, SnapIndex, type Snapped } from "../lib/snap";
import { placeOf, readEntry, readLength, writeArea, writeLength } from "../lib/units";
import { defaults, freshId, moved, movedTo, prefixOf, refs, shapeOf, spent, split, withNewPlace, withPlace, type Ref } from "./edits";
import { Editing, ONE, STEP, TWO } from "./editing.svelte";
import { hits, inBox, type Hit } from "./hit";
import type { Gesture, Hand } from "./map";
import type { Scene } from "./paint/scene";
import { hintOf, nameOf, tipOf } from "./hints";
import { Live } from "./live";
import { drawing, stretchOf } from "./state.svelte";

/** Pixels of a metre from which on points are dragged without being chosen first. */
const DRAG_FROM = 6;
/** Pixels that count as near, for a mouse and for a finger. */
const NEAR = { mouse: 10, touch: 22 };

type Drag =
  | { kind: "features"; before: Feature[]; from: Place; hold: Place; holder: string; moved: boolean; live: Live }
  | { kind: "place"; id: string; ref: Ref; before: Feature; moved: boolean; live: Live }
  | { kind: "box"; from: Place; to: Place };

export class Tools extends Editing implements Hand {
  /** Places fixed so far of what is being drawn. */
  drawn = $state.raw<Place[]>([]);
  typed = $state("");
  /** What is wrong with what was typed. */
  wrong = $state("");
  /** The crosshair of the keyboard. */
  cross = $state.raw<Place | null>(null);
  /** What is known of the thing under the pointer. */
  tip = $state("");
  box = $state.raw<[Place, Place] | null>(null);

  #index = new SnapIndex();
  #indexed = new Map<string, Feature>();
  #drag: Drag | null = null;
  #pointer: Place | null = null;
  /** Whether the pointer is over the plan; a finger that was lifted is not. */
  #over = false;
  #touch = false;
  #shift = false;
  #lastHits = "";
  #clicks: [Gesture["pixel"] | null, Gesture["pixel"] | null] = [null, null];

  /** Whether something is being dragged. */
  get isDragging(): boolean {
    return this.#drag !== null;
  }

  /** Takes what has changed in the job into what can be snapped to. */
  sync(scene: Scene): void {
    for (const one of scene.byId.values()) {
      if (this.#indexed.get(one.id) === one.feature) continue;
      this.#indexed.set(one.id, one.feature);
      this.#index.set(one.id, one.chains);
    }
    if (this.#indexed.size > scene.byId.size) {
      for (const id of [...this.#indexed.keys()]) {
        if (scene.byId.has(id)) continue;
        this.#indexed.delete(id);
        this.#index.remove(id);
      }
    }
  }

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

  hint(): string {
    return hintOf(this);
  }

  /** After another tool has been taken in hand. */
  taken(): void {
    this.flush();
    this.drawn = [];
    this.typed = "";
    this.wrong = "";
    this.next = null;
    this.ref = null;
    this.#drag = null;
    this.preview.clear();
    this.around.cursor(this.isDrawing ? "crosshair" : "default");
    this.around.changed("features");
  }

  // ---- pointer ----

  down(gesture: Gesture): boolean {
    this.flush();
    this.#touch = gesture.touch;
    this.#shift = gesture.shift;
    if (this.isDrawing) return false;
    if (gesture.shift || drawing.several) {
      this.#drag = { kind: "box", from: gesture.at, to: gesture.at };
      return true;
    }
    const near = this.#near();
    const handle = this.handles().map((one) => ({ one, far: distance(one.at, gesture.at) })).filter(({ far }) => far <= near).sort((a, b) => a.far - b.far)[0]?.one;
    const single = this.chosen.length === 1 ? this.chosen[0]! : null;
    if (handle !== undefined && single !== null && handle.kind !== "middle") {
      const before = single;
      const started = handle.kind === "edge" ? withNewPlace(single, handle.ref, handle.at) : single;
      const ref = handle.kind === "edge" ? { ...handle.ref, at: handle.ref.at + 1 } : handle.ref;
      this.ref = ref;
      const word = handle.kind === "edge" ? "Added a corner to" : "Reshaped";
      this.#drag = { kind: "place", id: single.id, ref, before, moved: false, live: new Live(`${word} ${nameOf(before)}`, this.steps) };
      if (handle.kind === "edge") this.preview.set(single.id, started);
      this.around.changed("features");
      return true;
    }
    const hit = this.#hits(gesture.at)[0];
    const grabbed = handle?.kind === "middle" ? single?.id : hit?.shown && this.#mayDrag(hit) ? hit.name : undefined;
    if (grabbed === undefined) return false;
    const ids = session.selected.includes(grabbed) ? this.chosen.map((feature) => feature.id) : [grabbed];
    const holder = session.feature(grabbed);
    const hold = holder?.geometry ? refs(holder.geometry).map(({ at }) => at).sort((a, b) => distance(a, gesture.at) - distance(b, gesture.at))[0] : undefined;
    if (hold === undefined) return false;
    const before = ids.flatMap((id) => session.feature(id) ?? []);
    this.#drag = { kind: "features", before, from: gesture.at, hold, holder: grabbed, moved: false, live: new Live(this.label("Moved", ids), this.steps) };
    return true;
  }

  /**
   * What is chosen is dragged by its points, lines and outlines. A point that is not chosen is dragged at once by a mouse
   * where points lie well apart; a finger, and anybody who looks from afar, would else move heads while panning.
   */
  #mayDrag(hit: Hit): boolean {
    if (hit.where === "inside") return false;
    if (session.selected.includes(hit.name)) return true;
    const perMetre = 1 / (this.around.resolution() * (this.around.scene()?.metre ?? 1));
    return hit.where === "point" && !this.#touch && perMetre >= DRAG_FROM;
  }

  drag(gesture: Gesture): void {
    const drag = this.#drag;
    if (drag === null) return;
    if (gesture.pointers > 1) return this.#dropDrag();
    this.#shift = gesture.shift;
    if (drag.kind === "box") {
      drag.to = gesture.at;
      this.box = [drag.from, drag.to];
    } else if (drag.kind === "place") {
      drag.moved = true;
      this.#dragPlace(drag, gesture.at);
    } else {
      drag.moved = true;
      if (!session.selected.includes(drag.holder)) drawing.select([drag.holder]);
      const wished: Place = [drag.hold[0] + gesture.at[0] - drag.from[0], drag.hold[1] + gesture.at[1] - drag.from[1]];
      this.next = this.#snap(wished, { from: gesture.shift ? drag.hold : null, but: new Set(drag.before.map((feature) => feature.id)) });
      const to = this.#exact(this.next);
      this.tip = this.#told(drag.hold, to);
      // From where they were, as the job has them under way already.
      for (const feature of drag.before) this.preview.set(feature.id, feature.id === drag.holder ? movedTo(feature, drag.hold, to) : moved(feature, minus(to, drag.hold)));
      drag.live.moved();
      this.around.changed("features");
      return;
    }
    this.around.changed("overlay");
  }

  #dragPlace(drag: Drag & { kind: "place" }, at: Place): void {
    const feature = this.preview.get(drag.id) ?? session.feature(drag.id);
    const geometry = feature?.geometry;
    if (!feature || !geometry) return;
    const chain = geometry.type === "Polygon" ? geometry.coordinates[drag.ref.chain]!.slice(0, -1) : geometry.type === "Point" ? [geometry.coordinates] : geometry.coordinates;
    const ring = geometry.type === "Polygon";
    const beside = (by: number) => (ring ? chain.at((drag.ref.at + by + chain.length) % chain.length) : chain[drag.ref.at + by]);
    const isLine = geometry.type !== "MultiPoint" && geometry.type !== "Point";
    const from = isLine ? (beside(-1) ?? beside(1) ?? null) : null;
    this.next = this.#snap(at, { from, before: isLine ? (beside(-2) ?? null) : null, but: new Set([drag.id]), also: chain.filter((_, i) => i !== drag.ref.at) });
    const to = this.#exact(this.next);
    this.tip = this.#told(null, to);
    this.preview.set(drag.id, withPlace(feature, drag.ref, to));
    drag.live.moved();
    this.around.changed("features");
  }

  /** Where something has come to while it is dragged. */
  #told(from: Place | null, to: Place): string {
    const unit = this.unit();
    const way = from === null ? "" : `; ${writeLength(distance(from, to), unit, session.job?.units ?? "us")} from where it was`;
    return `x ${to[0].toFixed(2)}, y ${to[1].toFixed(2)} ${unit}${way}`;
  }

  up(gesture: Gesture): void {
    const drag = this.#drag;
    this.#drag = null;
    if (drag === null) return;
    this.tip = "";
    if (drag.kind === "box") {
      this.box = null;
      if (distance(drag.from, gesture.at) > 4 * this.around.resolution()) {
        const [a, b] = [drag.from, gesture.at];
        const scene = this.around.scene();
        if (scene) drawing.select(inBox(scene, [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[0], b[0]), Math.max(a[1], b[1])]));
        drawing.several = false;
        drawing.said = `${session.selected.length} chosen`;
      }
      this.around.changed("overlay");
      return;
    }
    if (!drag.moved) {
      this.preview.clear();
      this.around.changed("features");
      return;
    }
    void this.commit(drag.live.label, drag.live);
  }

  #dropDrag(): void {
    if (this.#drag !== null && this.#drag.kind !== "box") void this.#drag.live.cancel();
    this.#drag = null;
    this.box = null;
    this.next = null;
    this.tip = "";
    this.preview.clear();
    this.around.changed("features");
  }

  move(gesture: Gesture): void {
    this.#touch = gesture.touch;
    this.#shift = gesture.shift;
    this.#pointer = gesture.at;
    this.#over = !gesture.touch;
    if (this.cross !== null && !gesture.touch) this.cross = null;
    this.#look(gesture.at);
  }

  /** Looks at a place: what would be snapped to, or what lies there. */
  #look(at: Place): void {
    if (this.isDrawing) {
      this.#aim(at);
    } else {
      const hit = this.#hits(at)[0];
      const name = hit?.name ?? null;
      const scene = this.around.scene();
      this.tip = scene === null ? "" : tipOf(scene, at, this.#near(), hit);
      if (drawing.hovered !== name) drawing.hovered = name;
      const handle = this.handles().some((one) => distance(one.at, at) <= this.#near());
      this.around.cursor(handle || (hit !== undefined && this.#mayDrag(hit) && hit.shown !== null) ? "move" : hit !== undefined && hit.where !== "inside" ? "pointer" : "default");
    }
    this.around.changed("overlay");
  }

  #aim(at: Place): void {
    this.next = this.#snap(at, {});
    if (this.typed.trim() === "") return;
    const read = readEntry(this.typed, this.unit());
    if (!read.ok) return;
    const place = placeOf(read.value, this.drawn.at(-1) ?? null, this.drawn.at(-2) ?? null, this.next.at);
    if (place !== null) this.next = { at: tidy(place), kind: "none", words: "as typed", guides: [], owner: null };
  }

  click(gesture: Gesture): void {
    this.#clicks = [this.#clicks[1], gesture.pixel];
    this.#touch = gesture.touch;
    this.#shift = gesture.shift;
    this.#pointer = gesture.at;
    this.cross = null;
    if (this.isDrawing) {
      this.#aim(gesture.at);
      if (this.next !== null) this.place(this.#exact(this.next));
      return;
    }
    this.pick(gesture.at, gesture.shift || gesture.ctrl || drawing.several);
  }

  /** Two quick clicks at one place end a line; two at different places are just quick. */
  again(gesture: Gesture): void {
    const [a, b] = this.#clicks;
    if (this.isChain && a && b && Math.hypot(a[0] - b[0], a[1] - b[1]) <= (gesture.touch ? 20 : 6)) this.finish();
  }

  /** Chooses what lies at a place; once more at the same place chooses what lies under it. */
  pick(at: Place, more: boolean): void {
    const found = this.#hits(at);
    const names = found.map((hit) => hit.name);
    const key = names.join();
    const current = names.indexOf(session.selected[0] ?? "");
    const name = session.selected.length === 1 && key === this.#lastHits && current >= 0 ? names[(current + 1) % names.length] : names[0];
    this.#lastHits = key;
    this.ref = null;
    const scene = this.around.scene();
    // Signs of the plan cannot be chosen, but a finger asks for their words as well.
    if (scene !== null && found[0]?.shown?.chains.length !== 1) this.tip = tipOf(scene, at, this.#near(), found[0]);
    else if (this.#touch) this.tip = "";
    if (name === undefined) {
      if (!more) drawing.select([]);
    } else if (more) {
      drawing.select(session.selected.includes(name) ? session.selected.filter((one) => one !== name) : [...session.selected, name]);
    } else {
      drawing.select([name]);
    }
    if (name !== undefined) drawing.picked = { at, time: performance.now() };
    const stretch = name === undefined ? null : stretchOf(name);
    drawing.said = name === undefined ? "Nothing here" : stretch === null ? `${name} chosen` : `Stretch ${stretch} chosen`;
    this.around.changed("overlay");
  }

  /** A new plan has come: what was said of a stretch of the one before is said anew, or no more. */
  replanned(): void {
    if (this.isDrawing || this.#drag !== null) return;
    const at = this.cross ?? this.#pointer;
    if (at === null || !this.#over) {
      this.tip = "";
      drawing.hovered = null;
    } else this.#look(at);
  }

  /** The pointer has left the plan. */
  leave(): void {
    this.flush();
    this.#over = false;
    drawing.hovered = null;
    this.tip = "";
  }

  /** Lays copies where the pointer or crosshair is. */
  paste = (): Promise<void> => this.pasteAt(this.cross ?? this.#pointer);

  // ---- drawing ----

  /** Fixes a place. */
  place(at: Place): void {
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
    if (last && distance(last, at) <= 2 * this.around.resolution()) return;
    this.drawn = [...this.drawn, at];
    if (drawing.tool === "draw" && drawing.kind !== null && TWO.has(drawing.kind) && this.drawn.length === 2) this.finish();
    this.around.changed("overlay");
  }

  undoPoint(): void {
    this.drawn = this.drawn.slice(0, -1);
    if (this.#pointer) this.#aim(this.cross ?? this.#pointer);
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

  cancel(): void {
    if (this.#drag !== null) return this.#dropDrag();
    if (this.isResting) {
      this.dropMove();
    } else if (this.typed !== "" || this.wrong !== "") {
      this.typed = "";
      this.wrong = "";
    } else if (this.drawn.length > 0) {
      this.drawn = [];
    } else if (this.isDrawing) {
      drawing.use("select");
    } else if (this.ref !== null) {
      this.ref = null;
    } else if (session.selected.length > 0) {
      drawing.select([]);
    } else {
      this.cross = null;
    }
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

  /** Fixes what was typed; without anything typed it finishes or places at the crosshair. */
  enter(): void {
    const aim = this.cross ?? this.#pointer;
    if (this.typed.trim() === "") {
      if (this.cross !== null && this.isDrawing) {
        this.#aim(this.cross);
        const at = this.next === null ? this.cross : this.#exact(this.next);
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
    const toward = this.next?.words === "as typed" ? (aim ?? [0, 0]) : (this.next?.at ?? aim ?? [0, 0]);
    const place = placeOf(read.value, this.drawn.at(-1) ?? null, this.drawn.at(-2) ?? null, toward as Place);
    if (place === null) {
      this.wrong = "a length needs a place to start from: click one, or write x, y";
      return;
    }
    const at = tidy(place);
    this.place(at);
    if (this.cross !== null) this.cross = at;
    this.around.show(at);
    this.around.changed("overlay");
  }

  type(text: string): void {
    this.typed = text;
    this.wrong = "";
    const at = this.cross ?? this.#pointer;
    if (at) this.#aim(at);
    this.around.changed("overlay");
  }

  // ---- keys ----

  /** An arrow key: the chosen place or features, else the crosshair. */
  arrow(x: number, y: number, wide: boolean): void {
    const step = STEP[this.unit()] * (wide ? 10 : 1);
    const by: Place = [x * step, y * step];
    if (!this.isDrawing && this.moveChosen(by)) return;
    const at = this.cross ?? this.next?.at ?? this.#pointer ?? null;
    this.cross = at === null ? this.#middle() : tidy([at[0] + by[0], at[1] + by[1]]);
    this.#touch = false;
    this.around.show(this.cross);
    this.#look(this.cross);
  }

  #middle(): Place {
    const scene = this.around.scene();
    const box = scene?.byKind.get("boundary")?.[0]?.box;
    return box ? [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2] : [0, 0];
  }

  #hits(at: Place): Hit[] {
    const scene = this.around.scene();
    return scene === null ? [] : hits(scene, at, this.#near() * 0.9, drawing.showPlan);
  }

  #near(): number {
    return (this.#touch ? NEAR.touch : NEAR.mouse) * this.around.resolution();
  }

  #snap(at: Place, more: { from?: Place | null; before?: Place | null; but?: ReadonlySet<string>; also?: readonly Place[] }): Snapped {
    const kept = readLength(drawing.offset, this.unit());
    return snap(this.#index, {
      at, near: this.#near(), from: this.drawn.at(-1) ?? null, before: this.drawn.at(-2) ?? null, also: this.drawn, straight: this.#shift,
      // The distance stands in a field that is shown only while drawing.
      offset: this.isDrawing && drawing.offset.trim() !== "" && kept.ok ? kept.value : 0, ...more,
    });
  }

  /** A place that was snapped to stays as it is written there; a free one loses what no tape shows. */
  #exact(snapped: Snapped): Place {
    return snapped.kind === "point" || snapped.kind === "crossing" || snapped.kind === "edge" || snapped.kind === "middle" ? snapped.at : tidy(snapped.at);
  }
}

function size(feature: Feature): number {
  const { geometry } = feature;
  if (geometry?.type === "Polygon") return Math.abs(area(geometry.coordinates[0] ?? []));
  return geometry?.type === "LineString" ? lengthOf(geometry.coordinates) * 1e-3 : 0;
}
