/** What room on the canvas is taken: boxes that may be turned, none of which lies on another or over the edge. */

/** A box by its middle, in pixels; `turn` in radians, clockwise as the canvas turns. */
export interface Taken { x: number; y: number; w: number; h: number; turn: number }

/** Side of the squares by which boxes are found again, in pixels. */
const SQUARE = 64;

export class Room {
  #squares = new Map<number, Taken[]>();

  constructor(readonly width: number, readonly height: number) {}

  /** Takes room without asking: a bar over the plan, a symbol. */
  block(x: number, y: number, w: number, h: number): void {
    this.#put({ x: x + w / 2, y: y + h / 2, w, h, turn: 0 });
  }

  /** Takes a box if it lies wholly on the canvas and on nothing else. */
  take(box: Taken): boolean {
    if (!this.free(box)) return false;
    this.#put(box);
    return true;
  }

  free(box: Taken): boolean {
    const corners = cornersOf(box);
    if (corners.some(([x, y]) => x < 0 || y < 0 || x > this.width || y > this.height)) return false;
    for (const square of squaresOf(box)) for (const other of this.#squares.get(square) ?? []) if (touch(box, other)) return false;
    return true;
  }

  #put(box: Taken): void {
    for (const square of squaresOf(box)) {
      const there = this.#squares.get(square);
      if (there === undefined) this.#squares.set(square, [box]);
      else there.push(box);
    }
  }
}

function cornersOf({ x, y, w, h, turn }: Taken): [number, number][] {
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const [ax, ay, bx, by] = [(cos * w) / 2, (sin * w) / 2, (-sin * h) / 2, (cos * h) / 2];
  return [[x - ax - bx, y - ay - by], [x + ax - bx, y + ay - by], [x + ax + bx, y + ay + by], [x - ax + bx, y - ay + by]];
}

/** How far a box reaches to the sides and up and down. */
function reachOf({ w, h, turn }: Taken): [number, number] {
  const [cos, sin] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
  return [(cos * w + sin * h) / 2, (sin * w + cos * h) / 2];
}

function* squaresOf(box: Taken): Generator<number> {
  const [rx, ry] = reachOf(box);
  const [first, last] = [Math.floor((box.x - rx) / SQUARE), Math.floor((box.x + rx) / SQUARE)];
  const [top, low] = [Math.floor((box.y - ry) / SQUARE), Math.floor((box.y + ry) / SQUARE)];
  for (let i = first; i <= last; i += 1) for (let j = top; j <= low; j += 1) yield i * 65536 + j;
}

/** Two boxes lie apart if one of their sides' directions shows a gap between them. */
export function touch(a: Taken, b: Taken): boolean {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  for (const turn of a.turn === b.turn ? [a.turn, a.turn + Math.PI / 2] : [a.turn, a.turn + Math.PI / 2, b.turn, b.turn + Math.PI / 2]) {
    const apart = Math.abs(dx * Math.cos(turn) + dy * Math.sin(turn));
    const reach = (box: Taken) => (Math.abs(Math.cos(turn - box.turn)) * box.w + Math.abs(Math.sin(turn - box.turn)) * box.h) / 2;
    if (apart >= reach(a) + reach(b) - 1e-9) return false;
  }
  return true;
}
