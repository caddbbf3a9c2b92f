/** What the pointer or the crosshair aims at: what lies there, and what a place snaps to. */
import type { Feature, Place } from "../api/contract";
import { tidy } from "../lib/geometry";
import { snap, SnapIndex, type Snapped } from "../lib/snap";
import { readLength } from "../lib/units";
import { Editing } from "./editing.svelte";
import { hits, type Hit } from "./hit";
import type { Scene } from "./paint/scene";
import { drawing } from "./state.svelte";

/** Pixels that count as near, for a mouse and for a finger. */
const NEAR = { mouse: 10, touch: 22 };

export class Aiming extends Editing {
  /** The crosshair of the keyboard. */
  cross = $state.raw<Place | null>(null);
  /** Places fixed so far of what is being drawn. */
  drawn = $state.raw<Place[]>([]);

  protected pointer: Place | null = null;
  /** Whether the pointer is over the plan; a finger that was lifted is not. */
  protected over = false;
  protected touch = false;
  protected shift = false;
  #index = new SnapIndex();
  #indexed = new Map<string, Feature>();

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

  protected hitsAt(at: Place): Hit[] {
    const scene = this.around.scene();
    return scene === null ? [] : hits(scene, at, this.near() * 0.9, drawing.showPlan);
  }

  protected near(): number {
    return (this.touch ? NEAR.touch : NEAR.mouse) * this.around.resolution();
  }

  protected snapped(at: Place, more: { from?: Place | null; before?: Place | null; but?: ReadonlySet<string>; also?: readonly Place[] }): Snapped {
    const kept = readLength(drawing.offset, this.unit());
    return snap(this.#index, {
      at, near: this.near(), from: this.drawn.at(-1) ?? null, before: this.drawn.at(-2) ?? null, also: this.drawn, straight: this.shift, ring: this.ring(),
      // The distance stands in a field that is shown only while drawing.
      offset: this.isDrawing && drawing.offset.trim() !== "" && kept.ok ? kept.value : 0, ...more,
    });
  }

  /** The first side of an area that is being drawn. */
  protected ring(): [Place, Place] | null {
    const [first, second] = this.drawn;
    return drawing.tool === "draw" && drawing.shape === "Polygon" && first && second ? [first, second] : null;
  }

  /** A place that was snapped to stays as it is written there; a free one loses what no tape shows. */
  protected exact(snapped: Snapped): Place {
    return snapped.kind === "point" || snapped.kind === "crossing" || snapped.kind === "edge" || snapped.kind === "middle" ? snapped.at : tidy(snapped.at);
  }
}
