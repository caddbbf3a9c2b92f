/** What room on the canvas is taken: boxes that may be turned, none of which lies on another or over the edge. */

/** A box by its middle, in pixels; `turn` in radians, clockwise as the canvas turns. */
export interface Taken { x: number; y: number; w: number; h: number; turn: number }

/** Side of the squares by which boxes are found again, in pixels. */
const SQUARE = 64;

export class Room {
  #squares = new Map<number, Taken[]>();
  /** What words stand beside rather than on: lines, as boxes without a height, and words of less weight. */
  #beside = new Map<number, Taken[]>();

  constructor(readonly width: number, readonly height: number) {}

  /** Takes room without asking: a bar over the plan, a symbol. */
  block(x: number, y: number, w: number, h: number): void {
    put(this.#squares, { x: x + w / 2, y: y + h / 2, w, h, turn: 0 });
  }

  /** A line that is better seen whole; what finds no other room may lie on it. */
  avoid(x0: number, y0: number, x1: number, y1: number): void {
    const [w, turn] = [Math.hypot(x1 - x0, y1 - y0), Math.atan2(y1 - y0, x1 - x0)];
    // Long ones in pieces, since a slanting box is looked up by all the squares around it.
    const pieces = Math.max(1, Math.ceil(w / SQUARE));
    for (let i = 0; i < pieces; i += 1) {
      const at = (i + 0.5) / pieces;
      put(this.#beside, { x: x0 + (x1 - x0) * at, y: y0 + (y1 - y0) * at, w: w / pieces, h: 0, turn });
    }
  }

  /** Words that are better seen whole, likewise. */
  spare(box: Taken): void {
    put(this.#beside, box);
  }

  /** Of some boxes the first that is free and on nothing of that kind, else the first that is free; that one is taken. */
  best(boxes: readonly Taken[]): Taken | null {
    let found: Taken | null = null;
    for (const box of boxes) {
      if (!this.free(box)) continue;
      found ??= box;
      if (meets(this.#beside, box)) continue;
      found = box;
      break;
    }
    if (found !== null) put(this.#squares, found);
    return found;
  }

  /** Takes a box if it lies wholly on the canvas and on nothing else. */
  take(box: Taken): boolean {
    if (!this.free(box)) return false;
    put(this.#squares, box);
    return true;
  }

  free(box: Taken): boolean {
    const [rx, ry] = reachOf(box);
    if (box.x < rx || box.y < ry || box.x + rx > this.width || box.y + ry > this.height) return false;
    return !meets(this.#squares, box);
  }
}

function put(squares: Map<number, Taken[]>, box: Taken): void {
  inSquares(box, (square) => {
    const there = squares.get(square);
    if (there === undefined) squares.set(square, [box]);
    else there.push(box);
    return false;
  });
}

function meets(squares: ReadonlyMap<number, Taken[]>, box: Taken): boolean {
  return inSquares(box, (square) => squares.get(square)?.some((other) => touch(box, other)) ?? false);
}

/** How far a box reaches to the sides and up and down. */
function reachOf({ w, h, turn }: Taken): [number, number] {
  if (turn === 0) return [w / 2, h / 2];
  const [cos, sin] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
  return [(cos * w + sin * h) / 2, (sin * w + cos * h) / 2];
}

/** Goes through the squares that a box may lie in until one of them will do. */
function inSquares(box: Taken, look: (square: number) => boolean): boolean {
  const [rx, ry] = reachOf(box);
  const [first, last] = [Math.floor((box.x - rx) / SQUARE), Math.floor((box.x + rx) / SQUARE)];
  const [top, low] = [Math.floor((box.y - ry) / SQUARE), Math.floor((box.y + ry) / SQUARE)];
  for (let i = first; i <= last; i += 1) for (let j = top; j <= low; j += 1) if (look(i * 65536 + j)) return true;
  return false;
}

/** Two boxes lie apart if one of their sides' directions shows a gap between them. */
export function touch(a: Taken, b: Taken): boolean {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  // Nearly all words are level.
  if (a.turn === 0 && b.turn === 0) return Math.abs(dx) < (a.w + b.w) / 2 - 1e-9 && Math.abs(dy) < (a.h + b.h) / 2 - 1e-9;
  // Too far apart whatever their turns.
  const [far, wide] = [dx * dx + dy * dy, Math.hypot(a.w, a.h) + Math.hypot(b.w, b.h)];
  if (4 * far >= wide * wide) return false;
  for (const turn of a.turn === b.turn ? [a.turn, a.turn + Math.PI / 2] : [a.turn, a.turn + Math.PI / 2, b.turn, b.turn + Math.PI / 2]) {
    const apart = Math.abs(dx * Math.cos(turn) + dy * Math.sin(turn));
    const reach = (box: Taken) => (Math.abs(Math.cos(turn - box.turn)) * box.w + Math.abs(Math.sin(turn - box.turn)) * box.h) / 2;
    if (apart >= reach(a) + reach(b) - 1e-9) return false;
  }
  return true;
}
