import { describe, expect, it } from "vitest";
import type { Place } from "../../src/api/contract";
import type { Frame } from "../../src/drawing/paint/frame";
import { Room, touch } from "../../src/drawing/paint/room";
import type { Scene } from "../../src/drawing/paint/scene";
import { outlineSoFar, sidesOf } from "../../src/drawing/paint/sides";

/** A canvas of 600 by 600 pixels, ten to the unit, with letters six pixels wide. */
const frame = { ctx: { font: "", measureText: (text: string) => ({ width: text.length * 6 }) }, scale: 10, size: [600, 600], x: ([x]: Place) => x * 10, y: ([, y]: Place) => 600 - y * 10 } as unknown as Frame;
const scene = { unit: "ft", job: { units: "us" } } as unknown as Scene;

function onOutline(corners: Place[], written: ReturnType<typeof sidesOf>): string[] {
  const ring = [...corners, corners[0]!];
  return written.filter((box) =>
    ring.slice(1).some((to, i) => {
      const [x0, y0, x1, y1] = [frame.x(ring[i]!), frame.y(ring[i]!), frame.x(to), frame.y(to)];
      return touch(box, { x: (x0 + x1) / 2, y: (y0 + y1) / 2, w: Math.hypot(x1 - x0, y1 - y0), h: 2, turn: Math.atan2(y1 - y0, x1 - x0) });
    }),
  ).map((box) => box.text);
}

describe("lengths of sides", () => {
  it("are not struck through by the outline, however narrow it is", () => {
    for (const [wide, tall] of [[3, 24], [24, 2], [1.5, 20], [20, 16], [5, 5]] as [number, number][]) {
      for (const slant of [0, 3]) {
        const corners: Place[] = [[20, 20], [20 + wide, 20], [20 + wide + slant, 20 + tall], [20 + slant, 20 + tall]];
        const written = sidesOf(frame, scene, outlineSoFar(corners), new Room(600, 600));
        expect(onOutline(corners, written), `${wide} by ${tall}, ${slant} askew`).toEqual([]);
        // The area and the two long sides find their room all the same.
        expect(written.filter((one) => one.text.endsWith("sq ft"))).toHaveLength(1);
        expect(written.length).toBeGreaterThanOrEqual(3);
      }
    }
  });
});
