/** What is done to features that are chosen: moved by keys, reshaped, copied, removed. */
import type { Feature, Op, Place } from "../api/contract";
import { distance, minus, tidy } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import type { Snapped } from "../lib/snap";
import { copies, edgeRefs, moved, refs, withNewPlace, withoutPlace, withPlace, type Ref } from "./edits";
import { nameOf } from "./hints";
import type { Live } from "./live";
import type { Scene } from "./paint/scene";
import { drawing, stretchOf } from "./state.svelte";

/** Kinds of which a job has one: drawing another gives that one its new place. */
export const ONE = new Set(["boundary", "source", "backflow", "controller", "baseline"]);
/** Lines of two places. */
export const TWO = new Set(["gate", "sleeve", "baseline"]);
/** Steps of the arrow keys in the job's unit. */
export const STEP = { ft: 0.5, m: 0.1 };
/** Waiting for the next arrow key before a move is put into the file. */
const REST_MS = 500;

export interface Surroundings {
  scene(): Scene | null;
  resolution(): number;
  /** Something to be painted has changed. */
  changed(what: "overlay" | "features"): void;
  show(place: Place): void;
  cursor(name: string): void;
}

export class Editing {
  /** Where the next place would come. */
  next = $state.raw<Snapped | null>(null);
  /** The place of the chosen feature that keys move. */
  ref = $state.raw<Ref | null>(null);
  /** Features as they would be after the gesture that is going on. */
  preview = new Map<string, Feature>();

  #clipboard: Feature[] = [];
  #nudge: { label: string; timer: ReturnType<typeof setTimeout> } | null = null;

  constructor(protected readonly around: Surroundings) {}

  get isDrawing(): boolean {
    return drawing.tool !== "select";
  }

  /** Whether a move by keys waits to be put into the file. */
  get isResting(): boolean {
    return this.#nudge !== null;
  }

  /** Selected features; stretches are looked at, not edited. */
  get chosen(): Feature[] {
    return session.selected.filter((name) => stretchOf(name) === null).flatMap((id) => session.feature(id) ?? []);
  }

  /** Moves the place that is held, else what is chosen; false where there is nothing to move. */
  protected moveChosen(by: Place): boolean {
    const chosen = this.chosen.filter((feature) => feature.geometry !== null);
    const single = chosen[0];
    if (single === undefined) return false;
    if (this.ref !== null && chosen.length === 1) {
      const { ref } = this;
      const now = this.preview.get(single.id) ?? single;
      const at = now.geometry ? refs(now.geometry).find((one) => one.ref.chain === ref.chain && one.ref.at === ref.at)?.at : undefined;
      if (at) this.preview.set(single.id, withPlace(now, ref, tidy([at[0] + by[0], at[1] + by[1]])));
      this.#rest(`Reshaped ${nameOf(single)}`);
    } else {
      for (const feature of chosen) this.preview.set(feature.id, moved(this.preview.get(feature.id) ?? feature, by));
      this.#rest(this.label("Moved", chosen.map((feature) => feature.id)));
    }
    this.around.changed("features");
    return true;
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
    this.around.show(chosen.at);
    this.around.changed("overlay");
  }

  /** A new place in the middle of the edge after the one that is held. */
  addRef(): void {
    const feature = this.chosen[0];
    if (this.chosen.length !== 1 || !feature?.geometry || this.ref === null) return;
    const edge = edgeRefs(feature.geometry).find(({ ref }) => ref.chain === this.ref!.chain && ref.at === this.ref!.at);
    if (edge === undefined) return;
    this.preview.set(feature.id, withNewPlace(feature, edge.ref, tidy(edge.at)));
    this.ref = { ...edge.ref, at: edge.ref.at + 1 };
    void this.commit(`Added a corner to ${nameOf(feature)}`);
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
    drawing.said = this.label("Removed", chosen.map((feature) => feature.id));
    await session.edit(drawing.said, chosen.map((feature) => ({ op: "remove", id: feature.id })));
  }

  copy(): void {
    this.#clipboard = this.chosen;
    if (this.#clipboard.length > 0) drawing.said = `${this.#clipboard.length} copied`;
  }

  /** Lays copies where the pointer or crosshair is. */
  async pasteAt(at: Place | null): Promise<void> {
    const first = this.#clipboard[0];
    const hold = first?.geometry ? refs(first.geometry)[0]?.at : undefined;
    await this.#lay(this.#clipboard, at && hold ? minus(at, hold) : null, "Pasted");
  }

  duplicate = (): Promise<void> => this.#lay(this.chosen, null, "Copied");

  async #lay(features: readonly Feature[], by: Place | null, word: string): Promise<void> {
    if (features.length === 0 || session.job === null) return;
    const step = STEP[this.unit()] * 6;
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
    void this.commit(label);
  }

  /** What the gesture has come to, as a change. */
  protected steps = (): Op[] => [...this.preview.values()].map((feature) => ({ op: "put", feature }));

  protected async commit(label: string, live: Live | null = null): Promise<void> {
    const ops = this.steps();
    this.preview.clear();
    this.next = null;
    drawing.said = label;
    // The job shows the change at once, so nothing jumps back meanwhile.
    const sent = live === null ? session.edit(label, ops) : live.end(ops);
    this.around.changed("features");
    await sent;
  }

  protected label(word: string, ids: readonly string[]): string {
    const feature = ids.length === 1 ? session.feature(ids[0]!) : undefined;
    return feature ? `${word} ${nameOf(feature)}` : ids.length === 1 ? `${word} ${ids[0]}` : `${word} ${ids.length} features`;
  }

  /** Forgets a move by keys that is not in the file yet. */
  protected dropMove(): void {
    if (this.#nudge !== null) clearTimeout(this.#nudge.timer);
    this.#nudge = null;
    this.preview.clear();
    this.around.changed("features");
  }

  /** Where the chosen shape can be taken hold of. */
  handles(): { kind: "place" | "edge" | "middle"; at: Place; ref: Ref; held: boolean }[] {
    const single = this.chosen.length === 1 && !this.isDrawing ? this.chosen[0]! : null;
    const feature = single === null ? null : (this.preview.get(single.id) ?? single);
    const geometry = feature?.geometry;
    if (!feature || !geometry || geometry.type === "Point") return [];
    const places = refs(geometry).map(({ ref, at }) => ({ kind: "place" as const, at, ref, held: this.ref?.chain === ref.chain && this.ref.at === ref.at }));
    const room = 26 * this.around.resolution();
    const edges = TWO.has(String(feature.properties.kind)) ? [] : edgeRefs(geometry)
      .filter(({ from, to }) => distance(from, to) > room)
      .map(({ ref, at }) => ({ kind: "edge" as const, at, ref, held: false }));
    const anchor = this.around.scene()?.byId.get(feature.id)?.anchor;
    const middle = geometry.type === "Polygon" && anchor ? [{ kind: "middle" as const, at: anchor, ref: { chain: 0, at: 0 }, held: false }] : [];
    return [...places, ...edges, ...middle];
  }

  protected unit(): "ft" | "m" {
    return session.job?.length_unit ?? "ft";
  }
}
