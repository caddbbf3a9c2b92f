/** The tools: what gestures and keys do to the job. The page sends whole changes; the server plans. */
import type { Place } from "../api/contract";
import { distance, tidy } from "../lib/geometry";
import { session } from "../lib/session.svelte";
import { Dragging } from "./dragging.svelte";
import { STEP } from "./editing.svelte";
import { hintOf, tipOf } from "./hints";
import type { Gesture, Hand } from "./map";
import { drawing, stretchOf } from "./state.svelte";

export class Tools extends Dragging implements Hand {
  #lastHits = "";
  #clicks: [Gesture["pixel"] | null, Gesture["pixel"] | null] = [null, null];

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
    this.forget();
    this.preview.clear();
    this.around.cursor(this.isDrawing ? "crosshair" : "default");
    this.around.changed("features");
  }

  move(gesture: Gesture): void {
    this.touch = gesture.touch;
    this.shift = gesture.shift;
    this.pointer = gesture.at;
    this.over = !gesture.touch;
    if (this.cross !== null && !gesture.touch) this.cross = null;
    this.look(gesture.at);
  }

  /** Looks at a place: what would be snapped to, or what lies there. */
  protected look(at: Place): void {
    if (this.isDrawing) {
      this.aim(at);
      this.around.changed("overlay");
    } else {
      const hit = this.hitsAt(at)[0];
      const name = hit?.name ?? null;
      const scene = this.around.scene();
      this.tip = scene === null ? "" : tipOf(scene, at, this.near(), hit);
      if (drawing.hovered !== name) drawing.hovered = name;
      const handle = this.handles().some((one) => distance(one.at, at) <= this.near());
      this.around.cursor(handle || (hit !== undefined && this.mayDrag(hit) && hit.shown !== null) ? "move" : hit !== undefined && hit.where !== "inside" ? "pointer" : "default");
    }
  }

  click(gesture: Gesture): void {
    this.#clicks = [this.#clicks[1], gesture.pixel];
    this.touch = gesture.touch;
    this.shift = gesture.shift;
    this.pointer = gesture.at;
    this.cross = null;
    if (this.isDrawing) {
      this.aim(gesture.at);
      if (this.next !== null) this.place(this.exact(this.next));
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
    const found = this.hitsAt(at);
    const names = found.map((hit) => hit.name);
    const key = names.join();
    const current = names.indexOf(session.selected[0] ?? "");
    const name = session.selected.length === 1 && key === this.#lastHits && current >= 0 ? names[(current + 1) % names.length] : names[0];
    this.#lastHits = key;
    this.ref = null;
    const scene = this.around.scene();
    // Signs of the plan cannot be chosen, but a finger asks for their words as well.
    if (scene !== null && found[0]?.shown?.chains.length !== 1) this.tip = tipOf(scene, at, this.near(), found[0]);
    else if (this.touch) this.tip = "";
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
    if (this.isDrawing || this.isDragging) return;
    const at = this.cross ?? this.pointer;
    if (at === null || !this.over) {
      this.tip = "";
      drawing.hovered = null;
    } else this.look(at);
  }

  /** The pointer has left the plan. */
  leave(): void {
    this.flush();
    this.over = false;
    drawing.hovered = null;
    this.tip = "";
  }

  /** Lays copies where the pointer or crosshair is. */
  paste = (): Promise<void> => this.pasteAt(this.cross ?? this.pointer);

  cancel(): void {
    if (this.isDragging) return this.dropDrag();
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

  /** An arrow key: the chosen place or features, else the crosshair. */
  arrow(x: number, y: number, wide: boolean): void {
    const step = STEP[this.unit()] * (wide ? 10 : 1);
    const by: Place = [x * step, y * step];
    if (!this.isDrawing && this.moveChosen(by)) return;
    const at = this.cross ?? this.next?.at ?? this.drawn.at(-1) ?? this.pointer ?? null;
    this.cross = at === null ? this.#middle() : tidy([at[0] + by[0], at[1] + by[1]]);
    this.touch = false;
    this.around.show(this.cross);
    this.look(this.cross);
  }

  #middle(): Place {
    const scene = this.around.scene();
    const box = scene?.byKind.get("boundary")?.[0]?.box;
    return box ? [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2] : [0, 0];
  }
}
