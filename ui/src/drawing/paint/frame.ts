/** One repaint: a canvas, the view on the job, the scheme. */
import type { Place } from "../../api/contract";
import { overlap, type Box } from "../../lib/geometry";
import { PATTERNS, type Scheme } from "../palette";
import { SYMBOLS, type Paint, type Part } from "../symbols";

export class Frame {
  /** Pixels of a millimetre of the printed plan; symbols shrink where the plan is far away. */
  readonly mm: number;
  readonly box: Box;
  // What was looked up in this repaint already, by its name alone.
  #patterns = new Map<string, CanvasPattern>();
  #sprites = new Map<string, HTMLCanvasElement>();
  constructor(
    readonly ctx: CanvasRenderingContext2D,
    readonly scheme: Scheme,
    readonly size: [number, number],
    readonly centre: Place,
    /** Pixels of one unit of the job. */
    readonly scale: number,
    readonly ratio: number,
    metre: number,
  ) {
    this.mm = symbolScale(scale / metre);
    const [w, h] = [size[0] / 2 / scale, size[1] / 2 / scale];
    this.box = [centre[0] - w, centre[1] - h, centre[0] + w, centre[1] + h];
  }

  x(place: Place): number {
    return this.size[0] / 2 + (place[0] - this.centre[0]) * this.scale;
  }
  y(place: Place): number {
    return this.size[1] / 2 - (place[1] - this.centre[1]) * this.scale;
  }

  /** Whether anything of a box may be seen, with a margin in pixels. */
  sees(box: Box, margin = 24): boolean {
    const m = margin / this.scale;
    return overlap(box, [this.box[0] - m, this.box[1] - m, this.box[2] + m, this.box[3] + m]);
  }

  colour(paint: Paint): string {
    if (paint === "ink") return this.scheme.ink;
    if (paint === "paper") return this.scheme.paper;
    if (paint === "keepOut") return this.scheme.keepOut;
    if (paint === "decision") return this.scheme.decision;
    return paint;
  }

  trace(chain: readonly Place[], close = false): void {
    for (let i = 0; i < chain.length; i += 1) {
      const place = chain[i]!;
      if (i === 0) this.ctx.moveTo(this.x(place), this.y(place));
      else this.ctx.lineTo(this.x(place), this.y(place));
    }
    if (close) this.ctx.closePath();
  }

  stroke(chain: readonly Place[], colour: string, width: number, dashes: readonly number[] = [], close = false): void {
    const { ctx } = this;
    ctx.beginPath();
    this.trace(chain, close);
    this.strokeHere(colour, width, dashes);
  }

  /** Strokes the current path; widths and dashes in pixels. */
  strokeHere(colour: string, width: number, dashes: readonly number[] = []): void {
    const { ctx } = this;
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    if (dashes.length > 0) ctx.setLineDash(dashes as number[]);
    ctx.stroke();
    if (dashes.length > 0) ctx.setLineDash([]);
  }

  /** The canvas pattern of that name, moving with the ground. */
  pattern(name: string): CanvasPattern | string {
    const ready = this.#patterns.get(name);
    if (ready !== undefined) return ready;
    const key = `${name} ${this.scheme.dark} ${this.mm.toFixed(2)} ${this.ratio}`;
    let tile = tiles.get(key);
    if (tile === undefined) {
      tile = makeTile(this, name);
      tiles.set(key, tile);
    }
    if (tile === null) return "transparent";
    this.#patterns.set(name, tile);
    tile.setTransform(new DOMMatrix([1 / this.ratio, 0, 0, 1 / this.ratio, this.x([0, 0]), this.y([0, 0])]));
    return tile;
  }

  symbol(name: string, x: number, y: number, enlarge = 1): void {
    const sprite = this.sprite(name, enlarge);
    const half = sprite.width / 2 / this.ratio;
    this.ctx.drawImage(sprite, x - half, y - half, half * 2, half * 2);
  }

  sprite(name: string, enlarge: number): HTMLCanvasElement {
    const ready = this.#sprites.get(name);
    if (ready !== undefined && enlarge === 1) return ready;
    const key = `${name} ${this.scheme.dark} ${(this.mm * enlarge).toFixed(2)} ${this.ratio}`;
    let sprite = sprites.get(key);
    if (sprite === undefined) {
      sprite = makeSprite(this, name, this.mm * enlarge);
      sprites.set(key, sprite);
    }
    if (enlarge === 1) this.#sprites.set(name, sprite);
    return sprite;
  }
}

/** From the scale of the plan in pixels per metre: in steps, so that few pictures have to be kept. */
function symbolScale(pixelsPerMetre: number): number {
  const wanted = Math.min(4.4, Math.max(1.5, 1.15 + pixelsPerMetre * 0.13));
  return Math.round(wanted * 10) / 10;
}

const tiles = new Map<string, CanvasPattern | null>();
const sprites = new Map<string, HTMLCanvasElement>();

function makeTile(frame: Frame, name: string): CanvasPattern | null {
  const pattern = PATTERNS[name] ?? PATTERNS.other!;
  const shade = frame.scheme.dark ? 1 : 0;
  const canvas = document.createElement("canvas");
  const scale = Math.max(frame.mm, 2.4) * frame.ratio;
  canvas.width = Math.max(1, Math.round(pattern.width * scale));
  canvas.height = Math.max(1, Math.round(pattern.height * scale));
  const ctx = canvas.getContext("2d");
  if (ctx === null) return null;
  if (pattern.ground !== null) {
    ctx.fillStyle = pattern.ground[shade];
    ctx.fillRect(0, 0, canvas.width, canvas.height);
  }
  ctx.scale(canvas.width / pattern.width, canvas.height / pattern.height);
  ctx.strokeStyle = pattern.mark[shade];
  ctx.lineWidth = pattern.weight * 1.25;
  ctx.stroke(new Path2D(pattern.d));
  return frame.ctx.createPattern(canvas, "repeat");
}

function makeSprite(frame: Frame, name: string, mm: number): HTMLCanvasElement {
  const symbol = SYMBOLS[name] ?? SYMBOLS.mark!;
  const canvas = document.createElement("canvas");
  const half = Math.ceil((symbol.radius + 0.6) * mm * frame.ratio);
  canvas.width = canvas.height = half * 2;
  const ctx = canvas.getContext("2d");
  if (ctx !== null) {
    ctx.translate(half, half);
    ctx.scale(mm * frame.ratio, mm * frame.ratio);
    for (const part of symbol.parts) paintPart(ctx, part, (paint) => frame.colour(paint));
  }
  return canvas;
}

export function paintPart(ctx: CanvasRenderingContext2D, part: Part, colour: (paint: Paint) => string): void {
  const path = new Path2D(part.d);
  ctx.globalAlpha = part.alpha ?? 1;
  if (part.fill !== undefined) {
    ctx.fillStyle = colour(part.fill);
    ctx.fill(path);
  }
  if (part.stroke !== undefined) {
    ctx.strokeStyle = colour(part.stroke);
    ctx.lineWidth = part.width ?? 0.4;
    ctx.setLineDash(part.dashes ?? []);
    ctx.stroke(path);
    ctx.setLineDash([]);
  }
  ctx.globalAlpha = 1;
}
