import { describe, expect, it } from "vitest";
import { Room, touch, type Taken } from "../../src/drawing/paint/room";
import { seeded } from "./seeded";

const box = (x: number, y: number, w: number, h: number, turn = 0): Taken => ({ x, y, w, h, turn });

/** Whether two boxes share a place, by looking at many places of one of them. */
function share(a: Taken, b: Taken): boolean {
  for (let i = 1; i < 60; i += 1) {
    for (let j = 1; j < 60; j += 1) {
      const [u, v] = [(i / 60 - 0.5) * a.w, (j / 60 - 0.5) * a.h];
      const [dx, dy] = [a.x + Math.cos(a.turn) * u - Math.sin(a.turn) * v - b.x, a.y + Math.sin(a.turn) * u + Math.cos(a.turn) * v - b.y];
      const [p, q] = [Math.cos(b.turn) * dx + Math.sin(b.turn) * dy, Math.cos(b.turn) * dy - Math.sin(b.turn) * dx];
      if (Math.abs(p) < b.w / 2 && Math.abs(q) < b.h / 2) return true;
    }
  }
  return false;
}

describe("room for names", () => {
  it("knows of turned boxes what a close look tells", () => {
    const random = seeded(7);
    const any = () => box(random() * 90, random() * 90, 4 + random() * 60, 4 + random() * 20, (random() - 0.5) * Math.PI);
    let met = 0;
    for (let n = 0; n < 400; n += 1) {
      const [a, b] = [any(), any()];
      if (share(a, b)) {
        met += 1;
        expect(touch(a, b)).toBe(true);
      } else if (!touch(a, b)) {
        expect(share(b, a)).toBe(false);
      }
    }
    expect(met).toBeGreaterThan(50);
  });

  it("holds many names, none over another and none over the edge", () => {
    const random = seeded(3);
    const room = new Room(400, 300);
    const taken: Taken[] = [];
    for (let n = 0; n < 900; n += 1) {
      const one = box(random() * 440 - 20, random() * 340 - 20, 20 + random() * 60, 14, random() < 0.5 ? 0 : (random() - 0.5) * Math.PI);
      if (room.take(one)) taken.push(one);
    }
    expect(taken.length).toBeGreaterThan(40);
    for (const [i, a] of taken.entries()) {
      const reach = [Math.abs(Math.cos(a.turn)) * a.w + Math.abs(Math.sin(a.turn)) * a.h, Math.abs(Math.sin(a.turn)) * a.w + Math.abs(Math.cos(a.turn)) * a.h];
      expect(Math.min(a.x - reach[0]! / 2, 400 - a.x - reach[0]! / 2, a.y - reach[1]! / 2, 300 - a.y - reach[1]! / 2)).toBeGreaterThanOrEqual(-1e-9);
      for (const b of taken.slice(i + 1)) expect(share(a, b)).toBe(false);
    }
  });

  it("leaves out what lies under a bar", () => {
    const room = new Room(400, 300);
    room.block(0, 0, 400, 48);
    expect(room.take(box(200, 44, 60, 14))).toBe(false);
    expect(room.take(box(200, 56, 60, 14))).toBe(true);
    expect(room.take(box(201, 57, 60, 14))).toBe(false);
    // Side by side is no collision.
    expect(room.take(box(260, 56, 60, 14))).toBe(true);
  });
});
