/** The map under the drawing: a flat plane in the job's unit, panned, pinched and zoomed by OpenLayers. */
import Map from "ol/Map";
import View from "ol/View";
import type MapBrowserEvent from "ol/MapBrowserEvent";
import DragPan from "ol/interaction/DragPan";
import MouseWheelZoom from "ol/interaction/MouseWheelZoom";
import PinchZoom from "ol/interaction/PinchZoom";
import PointerInteraction from "ol/interaction/Pointer";
import Kinetic from "ol/Kinetic";
import ImageLayer from "ol/layer/Image";
import { noModifierKeys } from "ol/events/condition";
import ImageStatic from "ol/source/ImageStatic";
import Projection from "ol/proj/Projection";
import type { PictureView, Place } from "../api/contract";
import type { Box } from "../lib/geometry";
import { Sheet } from "./sheet";

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

/** How long a view that is drawn along stands still before it counts as looked at. */
const PAUSE_MS = 150;

export class PlanMap {
  readonly map: Map;
  readonly view: View;
  readonly ground: Sheet;
  readonly system: Sheet;
  readonly overlay: Sheet;
  #pictures: ImageLayer<ImageStatic>[] = [];
  #projection: Projection;
  #pause: ReturnType<typeof setTimeout> | undefined;
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
    this.ground = new Sheet(paint.ground, "as painted", 0);
    this.system = new Sheet(paint.system, "laid out", 1);
    this.overlay = new Sheet(paint.overlay, "as painted", 2);
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.map = new Map({
      target, view: this.view, controls: [], layers: [this.ground, this.system, this.overlay], moveTolerance: 3,
      interactions: [new DragPan({ condition: pans, ...(calm ? {} : { kinetic: new Kinetic(-0.005, 0.05, 100) }) }), new PinchZoom({ duration: 0 }), new MouseWheelZoom({ duration: calm ? 0 : 120, maxDelta: 2 }), new HandInteraction(hand)],
    });
    // Also where the hand only pauses: then names are wanted for what has come into view.
    this.map.on("postrender", () => {
      clearTimeout(this.#pause);
      this.#pause = setTimeout(() => this.system.settle(), PAUSE_MS);
    });
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
    clearTimeout(this.#pause);
    this.map.setTarget(undefined);
    this.map.dispose();
  }
}

/** A finger and the left button pan where no tool takes the gesture, the middle button anywhere. */
function pans(event: MapBrowserEvent): boolean {
  const { originalEvent } = event;
  return noModifierKeys(event) && originalEvent instanceof PointerEvent && originalEvent.isPrimary && originalEvent.button <= 1;
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
    // What passes under the pointer while the view is drawn along is not aimed at.
    if (!event.dragging) this.hand.move(this.#gesture(event));
  }

  #gesture(event: MapBrowserEvent<PointerEvent>): Gesture {
    const original = event.originalEvent;
    return {
      at: [event.coordinate[0]!, event.coordinate[1]!], pixel: [event.pixel[0]!, event.pixel[1]!], touch: original.pointerType === "touch",
      shift: original.shiftKey, ctrl: original.ctrlKey || original.metaKey, pointers: this.targetPointers.length,
    };
  }
}
