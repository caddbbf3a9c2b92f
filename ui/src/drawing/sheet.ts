/** A canvas of ours in the map: painted whole where the view rests, patch by patch where it is drawn along. */
import type { FrameState } from "ol/Map";
import ViewHint from "ol/ViewHint";
import Layer from "ol/layer/Layer";
import type { Place } from "../api/contract";
import { afterShift, meet, nearest, type Rect } from "./patches";

export interface View2 {
  size: [number, number];
  centre: Place;
  resolution: number;
  ratio: number;
  /** Whether it is a patch: words that are laid out for a whole view have no place on it. */
  part: boolean;
}

/** How far a canvas that is drawn along reaches beyond the view, and the side of a patch, in pixels of the page. */
const BESIDE = 256;
const PATCH = 256;
/** No patch is begun in a frame once painting has taken so long; drawing it then takes the browser longer still. */
const TURN_MS = 1.5;

/** In pixels of the screen. */
type Pair = [number, number];

export class Sheet extends Layer {
  #holder = document.createElement("div");
  #canvas = document.createElement("canvas");
  #spare: HTMLCanvasElement | null = null;
  /** What the middle of the canvas shows, how far it reaches beyond the view, and what is still bare of it. */
  #painted: { view: View2; beside: number; bare: Rect[] } | null = null;
  #stale = true;
  constructor(
    readonly paint: (ctx: CanvasRenderingContext2D, view: View2) => void,
    /** Whether words are laid out for the edges of the view, so that a view that has moved wants them anew. */
    readonly words: "laid out" | "as painted",
    /** Of three frames the one in which it may work: no frame has to bear the work of all sheets. */
    readonly turn: 0 | 1 | 2,
  ) {
    super({});
    this.#holder.style.position = this.#canvas.style.position = "absolute";
    this.#holder.style.pointerEvents = "none";
    this.#holder.append(this.#canvas);
  }

  repaint(): void {
    this.#stale = true;
    this.changed();
  }

  /** The view rests: words are laid out for the edges that it has now. */
  settle(): void {
    if (this.#painted !== null && (this.#painted.beside > 0 || this.#holder.style.transform !== "")) this.repaint();
  }

  override render(frame: FrameState | null): HTMLElement | null {
    if (frame === null) return null;
    const { center, resolution } = frame.viewState;
    const view: View2 = { size: frame.size as Pair, centre: center as Place, resolution, ratio: frame.pixelRatio, part: false };
    if (this.#stale || !this.#follow(view, frame)) this.#paintWhole(view);
    return this.#holder;
  }

  /** Shows another part of what is painted, and paints a patch of what lacks; false where all has to be painted anew. */
  #follow(view: View2, frame: FrameState): boolean {
    if (this.#painted === null) return false;
    const { ratio, resolution } = view;
    const old = this.#painted.view;
    if (old.resolution !== resolution || old.ratio !== ratio || old.size[0] !== view.size[0] || old.size[1] !== view.size[1]) return false;
    // Whole pixels of the screen, or the shifted picture would blur.
    let x = Math.round(((old.centre[0] - view.centre[0]) / resolution) * ratio);
    let y = Math.round(((view.centre[1] - old.centre[1]) / resolution) * ratio);
    const [w, h] = pixels(view);
    if (Math.abs(x) >= w || Math.abs(y) >= h) return false;
    const moving = frame.viewHints[ViewHint.ANIMATING]! > 0 || frame.viewHints[ViewHint.INTERACTING]! > 0;
    if (!moving && (x !== 0 || y !== 0) && (this.words === "laid out" || !this.#shows(x, y, w, h))) return false;
    const beside = Math.round(BESIDE * ratio);
    const mine = frame.index % 3 === this.turn;
    const beyond = (reach: number) => Math.abs(x) > reach || Math.abs(y) > reach;
    if (moving && mine && beyond(this.#painted.beside / 2)) {
      this.#recentre(x, y, beside);
      [x, y] = [0, 0];
    }
    this.#holder.style.transform = x === 0 && y === 0 ? "" : `translate(${x / ratio}px, ${y / ratio}px)`;
    if (!moving) return true;
    const { bare } = this.#painted;
    if (bare.length === 0) return true;
    frame.animate = true;
    const begun = performance.now();
    do {
      const next = mine ? nearest(bare, { x: beside - x, y: beside - y, w, h }) : null;
      if (next === null) break;
      bare.splice(bare.indexOf(next), 1);
      this.#paintPatch(next);
    } while (performance.now() - begun < TURN_MS);
    return true;
  }

  /** Whether all of the view is painted. */
  #shows(x: number, y: number, w: number, h: number): boolean {
    const { beside, bare } = this.#painted!;
    if (Math.abs(x) > beside || Math.abs(y) > beside) return false;
    const seen: Rect = { x: beside - x, y: beside - y, w, h };
    return !bare.some((one) => meet(one, seen));
  }

  /** Lays what is painted on a canvas around the view as it is now; what that lacks is painted later. */
  #recentre(x: number, y: number, beside: number): void {
    const { view, beside: before, bare } = this.#painted!;
    const [w, h] = pixels(view);
    const [old, canvas] = [this.#canvas, this.#spare ?? document.createElement("canvas")];
    canvas.style.position = "absolute";
    sized(canvas, w + 2 * beside, h + 2 * beside, beside, view.ratio);
    const ctx = canvas.getContext("2d");
    if (ctx === null) return;
    const [dx, dy] = [x + beside - before, y + beside - before];
    ctx.resetTransform();
    ctx.globalCompositeOperation = "copy";
    ctx.drawImage(old, dx, dy);
    ctx.globalCompositeOperation = "source-over";
    this.#painted = {
      view: { ...view, centre: moved(view, x, y) }, beside,
      bare: afterShift({ x: 0, y: 0, w: canvas.width, h: canvas.height }, { x: dx, y: dy, w: old.width, h: old.height }, bare, Math.round(PATCH * view.ratio)),
    };
    old.replaceWith(canvas);
    [this.#canvas, this.#spare] = [canvas, old];
  }

  #paintWhole(view: View2): void {
    this.#stale = false;
    this.#painted = { view, beside: 0, bare: [] };
    this.#spare = null;
    this.#holder.style.transform = "";
    const [w, h] = pixels(view);
    sized(this.#canvas, w, h, 0, view.ratio);
    const ctx = this.#canvas.getContext("2d");
    if (ctx === null) return;
    ctx.resetTransform();
    ctx.clearRect(0, 0, w, h);
    ctx.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
    this.paint(ctx, view);
  }

  #paintPatch(patch: Rect): void {
    const { view, beside } = this.#painted!;
    const ctx = this.#canvas.getContext("2d");
    if (ctx === null) return;
    const [w, h] = pixels(view);
    const middle = [beside + w / 2 - patch.x - patch.w / 2, beside + h / 2 - patch.y - patch.h / 2] as const;
    ctx.save();
    ctx.resetTransform();
    ctx.beginPath();
    ctx.rect(patch.x, patch.y, patch.w, patch.h);
    ctx.clip();
    ctx.clearRect(patch.x, patch.y, patch.w, patch.h);
    ctx.setTransform(view.ratio, 0, 0, view.ratio, patch.x, patch.y);
    this.paint(ctx, { ...view, size: [patch.w / view.ratio, patch.h / view.ratio], centre: moved(view, ...middle), part: true });
    ctx.restore();
  }
}

const pixels = (view: View2): Pair => [Math.round(view.size[0] * view.ratio), Math.round(view.size[1] * view.ratio)];

/** The middle of the view once what it shows was shifted by so many pixels of the screen, to the right and down. */
const moved = ({ centre, resolution, ratio }: View2, x: number, y: number): Place =>
  [centre[0] - (x / ratio) * resolution, centre[1] + (y / ratio) * resolution];

function sized(canvas: HTMLCanvasElement, w: number, h: number, beside: number, ratio: number): void {
  canvas.style.left = canvas.style.top = `${-beside / ratio}px`;
  if (canvas.width === w && canvas.height === h) return;
  canvas.width = w;
  canvas.height = h;
  canvas.style.width = `${w / ratio}px`;
  canvas.style.height = `${h / ratio}px`;
}
