/** What the drawing shows and which tool is in hand; panels read and set it. */
import type { Place } from "../api/contract";
import { session } from "../lib/session.svelte";

export type Tool = "select" | "draw" | "split" | "measure";

/** What the canvas offers to the rest of the page. */
export interface Viewer {
  zoomToPlaces(places: readonly Place[]): void;
  zoomToIds(ids: readonly string[]): void;
  zoomToAll(): void;
  focus(): void;
  /** The whole property on light paper without choice and handles, for printing; pictures underneath are left out. */
  picture(width: number, height: number, ratio: number): HTMLCanvasElement | null;
  toPixel(place: Place): [number, number];
  toPlace(pixel: [number, number]): Place;
}

class Drawing {
  tool = $state<Tool>("select");
  /** The kind that is being drawn. */
  kind = $state<string | null>(null);
  /** The shape in which it is drawn, where a kind has several. */
  shape = $state<"Point" | "MultiPoint" | "LineString" | "Polygon" | "null">("Point");
  /** Properties that the next shape gets beside the defaults of its kind. */
  preset: Record<string, unknown> = {};
  /** What is under the pointer or the crosshair: a stretch as `stretch:S12`, a feature by its id. */
  hovered = $state<string | null>(null);
  /** Where something on the plan was last picked by itself, not through a list: what is known of it is wanted now. */
  picked = $state.raw<{ at: Place; time: number } | null>(null);
  /** Stretches that lie open on the evening of this working day stand out; null shows all alike. */
  openOnDay = $state<number | null>(null);
  /** What the tool wants next. */
  hint = $state("");
  /** Words for the live region. */
  said = $state("");
  /** Whether picks add to what is chosen and drags take all in a box, as with Shift held. */
  several = $state(false);
  grid = $state(false);
  legend = $state(false);
  labels = $state(true);
  showPlan = $state(true);
  /** Distance to keep from edges while drawing, as it was typed. */
  offset = $state("");
  viewer: Viewer | null = null;

  use(tool: Tool, kind: string | null = null, preset: Record<string, unknown> = {}): void {
    this.tool = tool;
    this.several = false;
    this.kind = kind;
    this.preset = preset;
    if (tool === "draw" && kind !== null) {
      session.selected = [];
      const shapes = session.kinds.find((known) => known.name === kind)?.geometry ?? [];
      if (!shapes.includes(this.shape) || shapes.length === 1) this.shape = shapes.find((shape) => shape !== "null") ?? "null";
    }
  }

  select(ids: readonly string[]): void {
    session.selected = [...ids];
  }

  zoomTo(what: readonly string[] | readonly Place[]): void {
    if (typeof what[0] === "string") this.viewer?.zoomToIds(what as readonly string[]);
    else this.viewer?.zoomToPlaces(what as readonly Place[]);
  }

  /** Shows what is spoken of in a list, in the middle of the view: it is looked at, so nothing is drawn any more. */
  point(ids: readonly string[], at: Place | null = null): void {
    if (this.tool !== "select") this.use("select");
    if (ids.length > 0) this.select(ids);
    if (at !== null && ids.length < 2) this.zoomTo([at]);
    else this.zoomTo(ids);
  }

  zoomToAll(): void {
    this.viewer?.zoomToAll();
  }

  focus(): void {
    this.viewer?.focus();
  }
}

/** How a stretch is named among selected things; features go by their bare ids, and the two may be alike. */
export const stretchName = (id: string): string => `stretch:${id}`;
export const stretchOf = (name: string): string | null => (name.startsWith("stretch:") ? name.slice(8) : null);

export const drawing = new Drawing();
