import { describe, expect, it } from "vitest";
import { afterShift, nearest, patches, type Rect } from "../../src/drawing/patches";
import { seeded } from "./seeded";

const holds = ({ x, y, w, h }: Rect, px: number, py: number) => px >= x && px < x + w && py >= y && py < y + h;

describe("patches", () => {
  it("cut a rectangle without a gap and without laying one on another", () => {
    const cut = patches({ x: -5, y: 3, w: 23, h: 10 }, 8);
    expect(cut.every(({ w, h }) => w <= 8 && h <= 8 && w > 0 && h > 0)).toBe(true);
    for (let x = -6; x < 20; x += 1) for (let y = 2; y < 15; y += 1) expect(cut.filter((one) => holds(one, x, y)).length).toBe(x >= -5 && x < 18 && y >= 3 && y < 13 ? 1 : 0);
  });

  it("are bare just where neither the older canvas nor a patch has painted", () => {
    const next = seeded(7);
    const any = (most: number) => Math.floor(next() * most);
    for (let round = 0; round < 40; round += 1) {
      const canvas: Rect = { x: 0, y: 0, w: 30 + any(20), h: 20 + any(20) };
      const painted = Array.from({ length: canvas.h }, () => Array.from({ length: canvas.w }, () => true));
      let bare: Rect[] = [];
      let before: Rect = canvas;
      for (let step = 0; step < 8; step += 1) {
        const by = [any(41) - 20, any(41) - 20] as const;
        const older = painted.map((row) => [...row]);
        for (let y = 0; y < canvas.h; y += 1) for (let x = 0; x < canvas.w; x += 1) painted[y]![x] = older[y - by[1]]?.[x - by[0]] ?? false;
        bare = afterShift(canvas, { ...before, x: by[0], y: by[1] }, bare, 9);
        before = canvas;
        const seen: Rect = { x: 5, y: 5, w: 10, h: 10 };
        const one = nearest(bare, seen);
        if (one !== null) {
          bare.splice(bare.indexOf(one), 1);
          for (let y = one.y; y < one.y + one.h; y += 1) for (let x = one.x; x < one.x + one.w; x += 1) painted[y]![x] = true;
        }
        let wrong = 0;
        for (let y = 0; y < canvas.h; y += 1) for (let x = 0; x < canvas.w; x += 1) if (bare.filter((other) => holds(other, x, y)).length !== (painted[y]![x] ? 0 : 1)) wrong += 1;
        expect(wrong).toBe(0);
      }
    }
  });

  it("are painted first where they are seen", () => {
    const seen: Rect = { x: 10, y: 0, w: 100, h: 60 };
    const cut = patches({ x: 0, y: 0, w: 200, h: 60 }, 20);
    const first = nearest(cut, seen);
    expect(first !== null && first.x >= 10 && first.x + first.w <= 110).toBe(true);
    expect(nearest([], seen)).toBeNull();
  });
});
