/** What is still bare of a canvas that is drawn along, in patches small enough to be painted within a frame. */

/** In pixels, from the upper left corner of the canvas. */
export interface Rect { x: number; y: number; w: number; h: number }

/** The rectangle, cut into pieces of at most that side. */
export function patches({ x, y, w, h }: Rect, side: number): Rect[] {
  const cut: Rect[] = [];
  for (let j = 0; j < h; j += side) for (let i = 0; i < w; i += side) cut.push({ x: x + i, y: y + j, w: Math.min(side, w - i), h: Math.min(side, h - j) });
  return cut;
}

/** What is bare of a canvas on which an older one was laid, of which something was bare already. */
export function afterShift(canvas: Rect, laid: Rect, bare: readonly Rect[], side: number): Rect[] {
  const [right, below] = [Math.min(canvas.w, laid.x + laid.w), Math.min(canvas.h, laid.y + laid.h)];
  const [left, above] = [Math.max(0, laid.x), Math.max(0, laid.y)];
  const around = [
    { x: 0, y: 0, w: canvas.w, h: above },
    { x: 0, y: below, w: canvas.w, h: canvas.h - below },
    { x: 0, y: above, w: left, h: below - above },
    { x: right, y: above, w: canvas.w - right, h: below - above },
  ];
  const kept = bare.map(({ x, y, w, h }) => common({ x: x + laid.x, y: y + laid.y, w, h }, canvas)).filter(isSome);
  return [...kept, ...around.flatMap((one) => patches(one, side))];
}

export const meet = (a: Rect, b: Rect): boolean => isSome(common(a, b));

const isSome = ({ w, h }: Rect): boolean => w > 0 && h > 0;

function common(a: Rect, b: Rect): Rect {
  const [x, y] = [Math.max(a.x, b.x), Math.max(a.y, b.y)];
  return { x, y, w: Math.min(a.x + a.w, b.x + b.w) - x, h: Math.min(a.y + a.h, b.y + b.h) - y };
}

/** The one that is nearest to being seen, or is seen the most. */
export function nearest(bare: readonly Rect[], seen: Rect): Rect | null {
  let best: { rect: Rect; far: number } | null = null;
  for (const rect of bare) {
    const far = Math.max(Math.abs(rect.x + rect.w / 2 - seen.x - seen.w / 2) - seen.w / 2, Math.abs(rect.y + rect.h / 2 - seen.y - seen.h / 2) - seen.h / 2);
    if (best === null || far < best.far) best = { rect, far };
  }
  return best?.rect ?? null;
}
