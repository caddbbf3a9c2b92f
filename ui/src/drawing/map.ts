/** The map under the drawing: a flat plane in the job's unit, panned, pinched and zoomed by OpenLayers. */
import Map from "ol/Map";
import View from "ol/View";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import DragPan from "ol/interaction/DragPan";
import MouseWheelZoom from "ol/interaction/MouseWheelZoom";
import PinchZoom from "ol/interaction/PinchZoom";
import PointerInteraction from "ol/interaction/Pointer";
import Kinetic from "ol/Kinetic";
import Layer from "ol/layer/Layer";
import ImageLayer from "ol/layer/Image";
import ImageStatic from "ol/source/ImageStatic";
import Projection from "ol/proj/Projection";
import type { FrameState } from "ol/Map";
import type { PictureView, Place } from "../api/contract";
import type { Box } from "../lib/geometry";

export interface Gesture { at: Place; pixel: [number, number]; touch: boolean; shift: boolean; ctrl: boolean; pointers: number }

export interface Hand {
  /** Whether the gesture is taken; else the map pans. */
  down(gesture: Gesture): boolean;
  drag(gesture: Gesture): void;
  up(gesture: Gesture): void;
  move(gesture: Gesture): void;
  click(gesture: Gesture): void;
  again(gesture: Gesture): void;
}

/** Above, to the right, below, to the left, in pixels. */
export type Margins = [number, number, number, number];

export interface View2 { size: [number, number]; centre: Place; resolution: number; ratio: number }

/** While the view is panned more is painted than is seen, on each side, so that most steps only shift the picture. */
const BESIDE = 160;

/** A canvas of ours in the map; painted anew when its content has changed or the view has moved too far. */
class Sheet extends Layer {
  #canvas = document.createElement("canvas");
  #painted: (View2 & { beside: number }) | null = null;
  #stale = true;
  constructor(readonly paint: (ctx: CanvasRenderingContext2D, view: View2) => void) {
    super({});
    this.#canvas.style.position = "absolute";
    this.#canvas.style.pointerEvents = "none";
  }

  repaint(): void {
    this.#stale = true;
    this.changed();
  }

  /** Once the view rests, what was only shifted with it is laid out anew: names, for the edges they now have. */
  settle(): void {
    if (this.#painted !== null && (this.#painted.beside > 0 || this.#canvas.style.transform !== "")) this.repaint();
  }

  override render(frame: FrameState | null): HTMLElement | null {
    if (frame === null) return null;
    const size = frame.size as [number, number];
    const { center, resolution } = frame.viewState;
    const ratio = frame.pixelRatio;
    const old = this.#painted;
    const alike = old !== null && old.resolution === resolution && old.ratio === ratio && old.size[0] === size[0] && old.size[1] === size[1];
    const shift = (axis: 0 | 1) => (old === null ? 0 : ((center[axis]! - old.centre[axis]) / resolution) * (axis === 0 ? -1 : 1));
    const [x, y] = [shift(0), shift(1)];
    if (!this.#stale && alike && Math.abs(x) <= old.beside && Math.abs(y) <= old.beside) {
      // Whole pixels of the screen, or the shifted picture would blur.
      this.#lay(Math.round(x * ratio) / ratio, Math.round(y * ratio) / ratio);
      return this.#canvas;
    }
    const beside = alike && !this.#stale ? BESIDE : 0;
    this.#stale = false;
    this.#painted = { size, centre: center as Place, resolution, ratio, beside };
    this.#repaint(this.#painted);
    return this.#canvas;
  }

  #repaint(view: View2 & { beside: number }): void {
    const canvas = this.#canvas;
    const [w, h] = [view.size[0] + 2 * view.beside, view.size[1] + 2 * view.beside];
    const [pw, ph] = [Math.round(w * view.ratio), Math.round(h * view.ratio)];
    if (canvas.width !== pw || canvas.height !== ph) {
      canvas.width = pw;
      canvas.height = ph;
      canvas.style.width = `${w}px`;
      canvas.style.height = `${h}px`;
      canvas.style.left = canvas.style.top = `${-view.beside}px`;
    }
    this.#lay(0, 0);
    const ctx = canvas.getContext("2d");
    if (ctx === null) return;
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, pw, ph);
    ctx.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
    this.paint(ctx, { ...view, size: [w, h] });
  }

  #lay(x: number, y: number): void {
    this.#canvas.style.transform = x === 0 && y === 0 ? "" : `translate(${x}px, ${y}px)`;
  }
}

export class PlanMap {
  readonly map: Map;
  readonly view: View;
  readonly ground: Sheet;
  readonly system: Sheet;
  readonly overlay: Sheet;
  #pictures: ImageLayer<ImageStatic>[] = [];
  #projection: Projection;
  /** What the view was last fitted to, and how it stood then: as long as it stands so, nobody has moved it. */
  #fitted: { box: () => Box | null; most: number; centre: Place; resolution: number } | null = null;

  constructor(
    target: HTMLElement, metre: number, hand: Hand, paint: { [sheet in "ground" | "system" | "overlay"]: Sheet["paint"] },
    /** How wide the bars at the four sides are that lie over the plan. */
    readonly bars: () => Margins,
  ) {
    this.#projection = new Projection({ code: "job", units: "m", metersPerUnit: metre, extent: [-1e7, -1e7, 1e7, 1e7] });
    this.view = new View({
      projection: this.#projection, center: [0, 0], resolution: 0.2, minResolution: 0.0005 / metre, maxResolution: 40 / metre, enableRotation: false,
      constrainOnlyCenter: true, smoothResolutionConstraint: false, showFullExtent: true,
    });
    this.ground = new Sheet(paint.ground);
    this.system = new Sheet(paint.system);
    this.overlay = new Sheet(paint.overlay);
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.map = new Map({
      target, view: this.view, controls: [], layers: [this.ground, this.system, this.overlay], moveTolerance: 3,
      interactions: [new DragPan(calm ? {} : { kinetic: new Kinetic(-0.005, 0.05, 100) }), new PinchZoom({ duration: 0 }), new MouseWheelZoom({ duration: calm ? 0 : 120, maxDelta: 2 }), new HandInteraction(hand)],
    });
    this.map.on("moveend", () => this.system.settle());
  }

  setPictures(pictures: readonly PictureView[]): void {
    for (const layer of this.#pictures) this.map.removeLayer(layer);
    this.#pictures = pictures.map((picture) => new ImageLayer({
      source: new ImageStatic({ url: `api/picture?${new URLSearchParams({ name: picture.name })}`, imageExtent: picture.bounds, projection: this.#projection }),
      opacity: 0.85,
    }));
    for (const [i, layer] of this.#pictures.entries()) this.map.getLayers().insertAt(i, layer);
  }

  /** Shows all of a box beside the bars; what gives the box is asked again when the room for the plan changes. */
  fit(box: () => Box | null, most = 0): void {
    const size = this.map.getSize();
    const wanted = box();
    if (wanted === null || !Number.isFinite(wanted[0]) || size === undefined || size[0] === 0 || size[1] === 0) return;
    const beside = Math.min(24, size[0]! / 16);
    const padding = this.bars().map((bar) => bar + beside);
    // Bars that leave no room are drawn over.
    const roomy = padding[0]! + padding[2]! < size[1]! * 0.8;
    this.view.fit(wanted, { padding: roomy ? padding : [beside, beside, beside, beside], size, minResolution: most });
    this.#fitted = { box, most, centre: this.view.getCenter() as Place, resolution: this.resolution };
  }

  /** Whether the view stands as it was fitted. */
  get isFitted(): boolean {
    const [x, y] = this.view.getCenter() as Place;
    return this.#fitted !== null && this.#fitted.resolution === this.resolution && this.#fitted.centre[0] === x && this.#fitted.centre[1] === y;
  }

  /** The room for the plan has changed: a view that was fitted is fitted again, another keeps its centre. */
  resized(): void {
    const again = this.isFitted ? this.#fitted : null;
    this.map.updateSize();
    if (again !== null) this.fit(again.box, again.most);
  }

  zoom(by: number): void {
    const resolution = this.view.getResolution();
    if (resolution !== undefined) this.view.setResolution(this.view.getConstrainedResolution(resolution / by) ?? resolution / by);
  }

  pan(x: number, y: number): void {
    const [cx, cy] = this.view.getCenter() as Place;
    this.view.setCenter([cx + x, cy + y]);
  }

  get resolution(): number {
    return this.view.getResolution() ?? 1;
  }

  toPixel(place: Place): [number, number] {
    // Pixels exist only once the map has been painted.
    this.map.renderSync();
    const pixel = this.map.getPixelFromCoordinate(place);
    return [pixel[0]!, pixel[1]!];
  }

  toPlace(pixel: [number, number]): Place {
    this.map.renderSync();
    return this.map.getCoordinateFromPixel(pixel) as Place;
  }

  /** Moves the view so that a place can be seen. */
  show(place: Place): void {
    const extent = this.view.calculateExtent(this.map.getSize() ?? [0, 0]) as Box;
    const margin = 30 * this.resolution;
    const [x, y] = this.view.getCenter() as Place;
    const dx = Math.max(0, place[0] - (extent[2] - margin)) - Math.max(0, extent[0] + margin - place[0]);
    const dy = Math.max(0, place[1] - (extent[3] - margin)) - Math.max(0, extent[1] + margin - place[1]);
    if (dx !== 0 || dy !== 0) this.view.setCenter([x + dx, y + dy]);
  }

  close(): void {
    this.map.setTarget(undefined);
    this.map.dispose();
  }
}

class HandInteraction extends PointerInteraction {
  constructor(readonly hand: Hand) {
    super();
  }

  override handleEvent(event: MapBrowserEvent<PointerEvent>): boolean {
    if (event.type === "click") {
      this.hand.click(this.#gesture(event));
      return true;
    }
    if (event.type === "dblclick") {
      this.hand.again(this.#gesture(event));
      return false;
    }
    return super.handleEvent(event) ?? true;
  }

  override handleDownEvent(event: MapBrowserEvent<PointerEvent>): boolean {
    return event.originalEvent.button === 0 && this.hand.down(this.#gesture(event));
  }
  override handleDragEvent(event: MapBrowserEvent<PointerEvent>): void {
    this.hand.drag(this.#gesture(event));
  }
  override handleUpEvent(event: MapBrowserEvent<PointerEvent>): boolean {
    this.hand.up(this.#gesture(event));
    return false;
  }
  override handleMoveEvent(event: MapBrowserEvent<PointerEvent>): void {
    this.hand.move(this.#gesture(event));
  }

  #gesture(event: MapBrowserEvent<PointerEvent>): Gesture {
    const original = event.originalEvent;
    return {
      at: [event.coordinate[0]!, event.coordinate[1]!], pixel: [event.pixel[0]!, event.pixel[1]!], touch: original.pointerType === "touch",
      shift: original.shiftKey, ctrl: original.ctrlKey || original.metaKey, pointers: this.targetPointers.length,
    };
  }
}
