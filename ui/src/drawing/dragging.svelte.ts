/** What is dragged over the plan: features, single places of one, and a box around several. */
import type { Feature, Place } from "../api/contract";
import { distance, minus } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import { writeLength } from "../lib/units";
import { Drafting } from "./drafting.svelte";
import { moved, movedTo, refs, withNewPlace, withPlace, type Ref } from "./edits";
import { inBox, type Hit } from "./hit";
import { nameOf } from "./hints";
import { Live } from "./live";
import type { Gesture } from "./map";
import { drawing } from "./state.svelte";

/** Pixels of a metre from which on points are dragged without being chosen first. */
const DRAG_FROM = 6;

type Drag =
  | { kind: "features"; before: Feature[]; from: Place; hold: Place; holder: string; moved: boolean; live: Live }
  | { kind: "place"; id: string; ref: Ref; before: Feature; moved: boolean; live: Live }
  | { kind: "box"; from: Place; to: Place };

export class Dragging extends Drafting {
  /** What is known of the thing under the pointer. */
  tip = $state("");
  box = $state.raw<[Place, Place] | null>(null);
  #drag: Drag | null = null;

  /** Whether something is being dragged. */
  get isDragging(): boolean {
    return this.#drag !== null;
  }

  down(gesture: Gesture): boolean {
    this.flush();
    this.touch = gesture.touch;
    this.shift = gesture.shift;
    if (this.isDrawing) return false;
    if (gesture.shift || drawing.several) {
      this.#drag = { kind: "box", from: gesture.at, to: gesture.at };
      return true;
    }
    const near = this.near();
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
    const hit = this.hitsAt(gesture.at)[0];
    const grabbed = handle?.kind === "middle" ? single?.id : hit?.shown && this.mayDrag(hit) ? hit.name : undefined;
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
  protected mayDrag(hit: Hit): boolean {
    if (hit.where === "inside") return false;
    if (session.selected.includes(hit.name)) return true;
    const perMetre = 1 / (this.around.resolution() * (this.around.scene()?.metre ?? 1));
    return hit.where === "point" && !this.touch && perMetre >= DRAG_FROM;
  }

  drag(gesture: Gesture): void {
    const drag = this.#drag;
    if (drag === null) return;
    if (gesture.pointers > 1) return this.dropDrag();
    this.shift = gesture.shift;
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
      this.next = this.snapped(wished, { from: gesture.shift ? drag.hold : null, but: new Set(drag.before.map((feature) => feature.id)) });
      const to = this.exact(this.next);
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
    this.next = this.snapped(at, { from, before: isLine ? (beside(-2) ?? null) : null, but: new Set([drag.id]), also: chain.filter((_, i) => i !== drag.ref.at) });
    const to = this.exact(this.next);
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

  /** Another tool is in hand: the drag is over where it has come to. */
  protected forget(): void {
    this.#drag = null;
  }

  protected dropDrag(): void {
    if (this.#drag !== null && this.#drag.kind !== "box") void this.#drag.live.cancel();
    this.#drag = null;
    this.box = null;
    this.next = null;
    this.tip = "";
    this.preview.clear();
    this.around.changed("features");
  }
}
