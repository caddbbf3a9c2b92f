/** What is written on the canvases of the plan, with its place in the window. */
import type { Page } from "@playwright/test";

export interface Letter {
  text: string;
  /** Corners in pixels of the window. */
  corners: [number, number][];
}

/** Before the page is opened: every canvas keeps what was written on it since it was last cleared. */
export async function watchLetters(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const written = new WeakMap<HTMLCanvasElement, { text: string; corners: [number, number][] }[]>();
    Object.assign(window, { written });
    const pen = CanvasRenderingContext2D.prototype;
    const [fill, clear] = [pen.fillText, pen.clearRect];
    pen.clearRect = function (...box) {
      written.set(this.canvas, []);
      clear.apply(this, box);
    };
    pen.fillText = function (text, x, y, ...more) {
      const size = this.measureText(text);
      const left = this.textAlign === "center" ? x - size.width / 2 : this.textAlign === "right" ? x - size.width : x;
      const [top, low] = [y - size.actualBoundingBoxAscent, y + size.actualBoundingBoxDescent];
      const turn = this.getTransform();
      const corners = [[left, top], [left + size.width, top], [left + size.width, low], [left, low]].map(([px, py]): [number, number] => {
        const at = turn.transformPoint({ x: px ?? 0, y: py ?? 0 });
        return [at.x, at.y];
      });
      written.get(this.canvas)?.push({ text, corners });
      fill.call(this, text, x, y, ...more);
    };
  });
}

/** Of the canvas of the plan's system, where the names stand, or of that above it, where one draws. */
export function letters(page: Page, sheet: "system" | "overlay"): Promise<Letter[]> {
  return page.evaluate((sheet) => {
    const { written } = window as unknown as { written: WeakMap<HTMLCanvasElement, Letter[]> };
    const canvases = [...document.querySelectorAll<HTMLCanvasElement>(".stage canvas")].filter((canvas) => written.has(canvas));
    const canvas = canvases.at(sheet === "overlay" ? -1 : -2);
    if (canvas === undefined) return [];
    const { left, top, width } = canvas.getBoundingClientRect();
    const scale = width / canvas.width;
    return (written.get(canvas) ?? []).map((one) => ({ text: one.text, corners: one.corners.map(([x, y]): [number, number] => [left + x * scale, top + y * scale]) }));
  }, sheet);
}

/** Whether two boxes of four corners share a place: no side of either has all of the other beyond it. */
export function meet(a: Letter, b: Letter): boolean {
  for (const [one, other] of [[a, b], [b, a]] as const) {
    for (const [i, [x, y]] of one.corners.entries()) {
      const [nx, ny] = one.corners[(i + 1) % 4] ?? [x, y];
      const side = ([px, py]: [number, number]) => (nx - x) * (py - y) - (ny - y) * (px - x);
      const within = one.corners.reduce((sum, corner) => sum + side(corner), 0);
      if (other.corners.every((corner) => side(corner) * Math.sign(within) <= 0.5 * Math.hypot(nx - x, ny - y))) return false;
    }
  }
  return true;
}
