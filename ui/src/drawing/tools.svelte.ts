/** The tools: what gestures and keys do to the job. The page sends whole changes; the server plans. */
import type { Feature, KindView, Place } from "../api/contract";
import { area, distance, lengthOf, minus, same, tidy, type Box } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import { snap, SnapIndex, type Snapped } from "../lib/snap";
import { placeOf, readEntry, readLength, writeArea, writeLength } from "../lib/units";
import { copies, defaults, edgeRefs, freshId, moved, movedTo, prefixOf, refs, shapeOf, split, withNewPlace, withoutPlace, withPlace, type Ref } from "./edits";
import { hits, inBox, type Hit } from "./hit";
import type { Gesture, Hand } from "./map";
import type { Scene } from "./paint/scene";
import { hintOf, nameOf } from "./hints";
import { drawing, stretchOf } from "./state.svelte";

/** Kinds of which a job has one: drawing another gives that one its new place. */
const ONE = new Set(["boundary", "source", "backflow", "controller", "baseline"]);
/** Lines of two places. */
const TWO = new Set(["gate", "sleeve", "baseline"]);
/** Pixels that count as near, for a mouse and for a finger. */
const NEAR = { mouse: 10, touch: 22 };
/** Steps of the arrow keys in the job's unit. */
const STEP = { ft: 0.5, m: 0.1 };
/** Waiting for the next arrow key before a move is put into the file. */
const REST_MS = 500;

type Drag =
  | { kind: "features"; ids: string[]; from: Place; hold: Place; holder: string | null; moved: boolean }
  | { kind: "place"; id: string; ref: Ref; isNew: boolean; before: Feature; moved: boolean }
  | { kind: "box"; from: Place; to: Place };

export interface Surroundings {
  scene(): Scene | null;
  resolution(): number;
  /** Something to be painted has changed. */
  changed(what: "overlay" | "features"): void;
  show(place: Place): void;
  fit(box: Box): void;
  cursor(name: string): void;
}

export class Tools implements Hand {
  /** Places fixed so far of what is being drawn. */
  drawn = $state.raw<Place[]>([]);
  /** Where the next place would come. */
  next = $state.raw<Snapped | null>(null);
  typed = $state("");
  /** What is wrong with what was typed. */
  wrong = $state("");
  /** The crosshair of the keyboard. */
  cross = $state.raw<Place | null>(null);
  /** The place of the chosen feature that keys move. */
  ref = $state.raw<Ref | null>(null);
  box = $state.raw<[Place, Place] | null>(null);
  /** Features as they would be after the gesture that is going on. */
  preview = new Map<string, Feature>();

  #index = new SnapIndex();
  #indexed = new Map<string, Feature>();
  #around: Surroundings;
  #drag: Drag | null = null;
  #pointer: Place | null = null;
  #touch = false;
  #shift = false;
  #clipboard: Feature[] = [];
  #nudge: { label: string; timer: ReturnType<typeof setTimeout> } | null = null;
  #lastHits = "";
  #clicks: [Gesture["pixel"] | null, Gesture["pixel"] | null] = [null, null];

  constructor(around: Surroundings) {
    this.#around = around;
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

  get isDrawing(): boolean {
    return drawing.tool !== "select";
  }

  /** Whether a move by keys waits to be put into the file. */
  get isResting(): boolean {
    return this.#nudge !== null;
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

  /** Selected features; stretches are looked at, not edited. */
  get chosen(): Feature[] {
    return session.selected.filter((name) => stretchOf(name) === null).flatMap((id) => session.feature(id) ?? []);
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
    this.#around.cursor(this.isDrawing ? "crosshair" : "default");
    this.#around.changed("features");
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
      this.#drag = { kind: "place", id: single.id, ref, isNew: handle.kind === "edge", before, moved: false };
      if (handle.kind === "edge") this.preview.set(single.id, started);
      this.#around.changed("features");
      return true;
    }
    const hit = this.#hits(gesture.at)[0];
    const grabbed = handle?.kind === "middle" ? single?.id : hit?.shown && this.#mayDrag(hit) ? hit.name : undefined;
    if (grabbed === undefined) return false;
    const ids = session.selected.includes(grabbed) ? this.chosen.map((feature) => feature.id) : [grabbed];
    const holder = session.feature(grabbed);
    const hold = holder?.geometry ? refs(holder.geometry).map(({ at }) => at).sort((a, b) => distance(a, gesture.at) - distance(b, gesture.at))[0] : undefined;
    if (hold === undefined) return false;
    this.#drag = { kind: "features", ids, from: gesture.at, hold, holder: grabbed, moved: false };
    return true;
  }

  /** Points are dragged at once; lines and outlines only once they are chosen, so that nothing large slips by accident. */
  #mayDrag(hit: Hit): boolean {
    if (hit.where === "inside") return false;
    return hit.where === "point" ? !this.#touch || session.selected.includes(hit.name) || session.selected.length === 0 : session.selected.includes(hit.name);
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
      if (drag.holder !== null && !session.selected.includes(drag.holder)) drawing.select([drag.holder]);
      const wished: Place = [drag.hold[0] + gesture.at[0] - drag.from[0], drag.hold[1] + gesture.at[1] - drag.from[1]];
      this.next = this.#snap(wished, { from: gesture.shift ? drag.hold : null, but: new Set(drag.ids) });
      const to = this.#exact(this.next);
      for (const id of drag.ids) {
        const feature = session.feature(id);
        if (feature) this.preview.set(id, id === drag.holder ? movedTo(feature, drag.hold, to) : moved(feature, minus(to, drag.hold)));
      }
      this.#around.changed("features");
      return;
    }
    this.#around.changed("overlay");
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
    this.preview.set(drag.id, withPlace(feature, drag.ref, this.#exact(this.next)));
    this.#around.changed("features");
  }

  up(gesture: Gesture): void {
    const drag = this.#drag;
    this.#drag = null;
    if (drag === null) return;
    if (drag.kind === "box") {
      this.box = null;
      if (distance(drag.from, gesture.at) > 4 * this.#around.resolution()) {
        const [a, b] = [drag.from, gesture.at];
        const scene = this.#around.scene();
        if (scene) drawing.select(inBox(scene, [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[0], b[0]), Math.max(a[1], b[1])]));
        drawing.several = false;
        drawing.said = `${session.selected.length} chosen`;
      }
      this.#around.changed("overlay");
      return;
    }
    if (!drag.moved) {
      this.preview.clear();
      this.#around.changed("features");
      return;
    }
    const label = drag.kind === "place" ? `${drag.isNew ? "Added a corner to" : "Reshaped"} ${nameOf(drag.before)}` : this.#label("Moved", drag.ids);
    void this.#commit(label);
  }

  #dropDrag(): void {
    this.#drag = null;
    this.box = null;
    this.next = null;
    this.preview.clear();
    this.#around.changed("features");
  }

  move(gesture: Gesture): void {
    this.#touch = gesture.touch;
    this.#shift = gesture.shift;
    this.#pointer = gesture.at;
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
      if (drawing.hovered !== name) drawing.hovered = name;
      const handle = this.handles().some((one) => distance(one.at, at) <= this.#near());
      this.#around.cursor(handle || (hit !== undefined && this.#mayDrag(hit) && hit.shown !== null) ? "move" : hit !== undefined && hit.where !== "inside" ? "pointer" : "default");
    }
    this.#around.changed("overlay");
  }

  #aim(at: Place): void {
    this.next = this.#snap(at, {});
    if (this.typed.trim() === "") return;
    const read = readEntry(this.typed, this.#unit());
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
    if (name === undefined) {
      if (!more) drawing.select([]);
    } else if (more) {
      drawing.select(session.selected.includes(name) ? session.selected.filter((one) => one !== name) : [...session.selected, name]);
    } else {
      drawing.select([name]);
    }
    const stretch = name === undefined ? null : stretchOf(name);
    drawing.said = name === undefined ? "Nothing here" : stretch === null ? `${name} chosen` : `Stretch ${stretch} chosen`;
    this.#around.changed("overlay");
  }

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
    if (last && distance(last, at) <= 2 * this.#around.resolution()) return;
    this.drawn = [...this.drawn, at];
    if (drawing.tool === "draw" && drawing.kind !== null && TWO.has(drawing.kind) && this.drawn.length === 2) this.finish();
    this.#around.changed("overlay");
  }

  undoPoint(): void {
    this.drawn = this.drawn.slice(0, -1);
    if (this.#pointer) this.#aim(this.cross ?? this.#pointer);
    this.#around.changed("overlay");
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
    this.#around.changed("overlay");
  }

  cancel(): void {
    if (this.#drag !== null) return this.#dropDrag();
    if (this.#nudge !== null) {
      clearTimeout(this.#nudge.timer);
      this.#nudge = null;
      this.preview.clear();
      this.#around.changed("features");
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
    this.#around.changed("overlay");
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
    const examples = kind.properties.some((property) => property.required && property.type === "quantity" && properties[property.name] === property.unit);
    drawing.said = `${kind.label} ${id} drawn${examples ? "; its values are examples, put in what you measured" : ""}`;
    if (kind.name === "boundary" || ONE.has(kind.name) || drawing.shape === "null") drawing.use("select");
    if (await session.edit(`Drew ${nameOf(feature)}`, [{ op: "put", feature }])) {
      if (kind.name === "boundary") drawing.zoomToAll();
    }
  }

  async split(cutter: readonly Place[]): Promise<void> {
    const scene = this.#around.scene();
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
    await session.edit(this.#label("Split", chosen.map(({ feature }) => feature.id)), ops);
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
    const read = readEntry(this.typed, this.#unit());
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
    this.#around.show(at);
    this.#around.changed("overlay");
  }

  type(text: string): void {
    this.typed = text;
    this.wrong = "";
    const at = this.cross ?? this.#pointer;
    if (at) this.#aim(at);
    this.#around.changed("overlay");
  }

  // ---- keys ----

  /** An arrow key: the chosen place or features, else the crosshair. */
  arrow(x: number, y: number, wide: boolean): void {
    const step = STEP[this.#unit()] * (wide ? 10 : 1);
    const by: Place = [x * step, y * step];
    const chosen = this.chosen.filter((feature) => feature.geometry !== null);
    if (!this.isDrawing && chosen.length > 0) {
      const single = chosen[0]!;
      if (this.ref !== null && chosen.length === 1) {
        const now = this.preview.get(single.id) ?? single;
        const at = now.geometry ? refs(now.geometry).find((one) => one.ref.chain === this.ref!.chain && one.ref.at === this.ref!.at)?.at : undefined;
        if (at) this.preview.set(single.id, withPlace(now, this.ref, tidy([at[0] + by[0], at[1] + by[1]])));
        this.#rest(`Reshaped ${nameOf(single)}`);
      } else {
        for (const feature of chosen) this.preview.set(feature.id, moved(this.preview.get(feature.id) ?? feature, by));
        this.#rest(this.#label("Moved", chosen.map((feature) => feature.id)));
      }
      this.#around.changed("features");
      return;
    }
    const at = this.cross ?? this.next?.at ?? this.#pointer ?? null;
    this.cross = at === null ? this.#middle() : tidy([at[0] + by[0], at[1] + by[1]]);
    this.#touch = false;
    this.#around.show(this.cross);
    this.#look(this.cross);
  }

  #middle(): Place {
    const scene = this.#around.scene();
    const box = scene?.byKind.get("boundary")?.[0]?.box;
    return box ? [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2] : [0, 0];
  }

  /** Takes hold of the next place of the chosen shape. */
  nextRef(by: number): void {
    const feature = this.chosen[0];
    if (this.chosen.length !== 1 || !feature?.geometry) return;
    const all = refs(feature.geometry);
    const now = all.findIndex(({ ref }) => ref.chain === this.ref?.chain && ref.at === this.ref?.at);
    const chosen = all[(now + by + all.length) % all.length];
    if (chosen === undefined) return;
    this.ref = chosen.ref;
    drawing.said = `Place ${all.indexOf(chosen) + 1} of ${all.length}`;
    this.#around.show(chosen.at);
    this.#around.changed("overlay");
  }

  /** A new place in the middle of the edge after the one that is held. */
  addRef(): void {
    const feature = this.chosen[0];
    if (this.chosen.length !== 1 || !feature?.geometry || this.ref === null) return;
    const edge = edgeRefs(feature.geometry).find(({ ref }) => ref.chain === this.ref!.chain && ref.at === this.ref!.at);
    if (edge === undefined) return;
    this.preview.set(feature.id, withNewPlace(feature, edge.ref, tidy(edge.at)));
    this.ref = { ...edge.ref, at: edge.ref.at + 1 };
    void this.#commit(`Added a corner to ${nameOf(feature)}`);
  }

  /** Removes the place that is held, else what is chosen. */
  async remove(): Promise<void> {
    this.flush();
    const chosen = this.chosen;
    if (chosen.length === 0) return;
    if (this.ref !== null && chosen.length === 1) {
      const without = withoutPlace(chosen[0]!, this.ref);
      this.ref = null;
      if (without === null) {
        drawing.said = "Too few corners would be left; press Delete once more to remove all of it";
        return;
      }
      await session.edit(`Removed a corner of ${nameOf(chosen[0]!)}`, [{ op: "put", feature: without }]);
      return;
    }
    drawing.select([]);
    drawing.said = this.#label("Removed", chosen.map((feature) => feature.id));
    await session.edit(drawing.said, chosen.map((feature) => ({ op: "remove", id: feature.id })));
  }

  copy(): void {
    this.#clipboard = this.chosen;
    if (this.#clipboard.length > 0) drawing.said = `${this.#clipboard.length} copied`;
  }

  /** Lays copies where the pointer or crosshair is. */
  async paste(): Promise<void> {
    const first = this.#clipboard[0];
    const at = this.cross ?? this.#pointer;
    const hold = first?.geometry ? refs(first.geometry)[0]?.at : undefined;
    await this.#lay(this.#clipboard, at && hold ? minus(at, hold) : null, "Pasted");
  }

  duplicate = (): Promise<void> => this.#lay(this.chosen, null, "Copied");

  async #lay(features: readonly Feature[], by: Place | null, word: string): Promise<void> {
    if (features.length === 0 || session.job === null) return;
    const step = STEP[this.#unit()] * 6;
    const taken = new Set(session.job.features.map((feature) => feature.id));
    const made = copies(features.filter((feature) => !ONE.has(String(feature.properties.kind))), taken, tidy(by ?? [step, -step]));
    if (made.length === 0) {
      drawing.said = "A job has only one of these";
      return;
    }
    drawing.select(made.map((feature) => feature.id));
    const label = made.length === 1 ? `${word} ${nameOf(made[0]!)}` : `${word} ${made.length} features`;
    await session.edit(label, made.map((feature) => ({ op: "put", feature })));
  }

  #rest(label: string): void {
    if (this.#nudge !== null) clearTimeout(this.#nudge.timer);
    this.#nudge = { label, timer: setTimeout(() => this.flush(), REST_MS) };
  }

  /** Puts a move by keys into the file that still waits. */
  flush(): void {
    if (this.#nudge === null) return;
    clearTimeout(this.#nudge.timer);
    const { label } = this.#nudge;
    this.#nudge = null;
    void this.#commit(label);
  }

  async #commit(label: string): Promise<void> {
    const ops = [...this.preview.values()].map((feature) => ({ op: "put" as const, feature }));
    this.preview.clear();
    this.next = null;
    drawing.said = label;
    // The job shows the change at once, so nothing jumps back meanwhile.
    const sent = session.edit(label, ops);
    this.#around.changed("features");
    await sent;
  }

  #label(word: string, ids: readonly string[]): string {
    const feature = ids.length === 1 ? session.feature(ids[0]!) : undefined;
    return feature ? `${word} ${nameOf(feature)}` : ids.length === 1 ? `${word} ${ids[0]}` : `${word} ${ids.length} features`;
  }

  // ---- what is shown ----

  /** Where the chosen shape can be taken hold of. */
  handles(): { kind: "place" | "edge" | "middle"; at: Place; ref: Ref; held: boolean }[] {
    const single = this.chosen.length === 1 && !this.isDrawing ? this.chosen[0]! : null;
    const feature = single === null ? null : (this.preview.get(single.id) ?? single);
    const geometry = feature?.geometry;
    if (!feature || !geometry || geometry.type === "Point") return [];
    const places = refs(geometry).map(({ ref, at }) => ({ kind: "place" as const, at, ref, held: this.ref?.chain === ref.chain && this.ref.at === ref.at }));
    const room = 26 * this.#around.resolution();
    const edges = TWO.has(String(feature.properties.kind)) ? [] : edgeRefs(geometry)
      .filter(({ from, to }) => distance(from, to) > room)
      .map(({ ref, at }) => ({ kind: "edge" as const, at, ref, held: false }));
    const anchor = this.#around.scene()?.byId.get(feature.id)?.anchor;
    const middle = geometry.type === "Polygon" && anchor ? [{ kind: "middle" as const, at: anchor, ref: { chain: 0, at: 0 }, held: false }] : [];
    return [...places, ...edges, ...middle];
  }

  #hits(at: Place): Hit[] {
    const scene = this.#around.scene();
    return scene === null ? [] : hits(scene, at, this.#near() * 0.9, drawing.showPlan);
  }

  #near(): number {
    return (this.#touch ? NEAR.touch : NEAR.mouse) * this.#around.resolution();
  }

  #snap(at: Place, more: { from?: Place | null; before?: Place | null; but?: ReadonlySet<string>; also?: readonly Place[] }): Snapped {
    const kept = readLength(drawing.offset, this.#unit());
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

  #unit(): "ft" | "m" {
    return session.job?.length_unit ?? "ft";
  }
}

function size(feature: Feature): number {
  const { geometry } = feature;
  if (geometry?.type === "Polygon") return Math.abs(area(geometry.coordinates[0] ?? []));
  return geometry?.type === "LineString" ? lengthOf(geometry.coordinates) * 1e-3 : 0;
}
