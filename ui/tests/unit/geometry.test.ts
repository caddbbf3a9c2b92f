import { describe, expect, it } from "vitest";
import type { Place } from "../../src/api/contract";
import { along, anchorOf, area, boxOf, direction, distance, insidePolygon, lengthOf, meet, nearest, nearestOfChain, polar } from "../../src/lib/geometry";
import { seeded } from "./seeded";

const random = seeded(5);
const place = (): Place => [random() * 200 - 100, random() * 200 - 100];

describe("plane geometry", () => {
  it("goes out and comes back", () => {
    for (let i = 0; i < 300; i += 1) {
      const from = place();
      const degrees = random() * 360;
      const to = polar(from, 7, degrees);
      expect(distance(from, to)).toBeCloseTo(7, 9);
      expect(direction(from, to)).toBeCloseTo(degrees, 6);
    }
    expect(polar([1, 2], 5, 90)).toEqual([1, 7]);
    expect(polar([1, 2], 5, -90)).toEqual([1, -3]);
  });

  it("finds nothing nearer than the nearest place", () => {
    for (let i = 0; i < 200; i += 1) {
      const [p, a, b] = [place(), place(), place()];
      const far = distance(p, nearest(p, a, b));
      for (let t = 0; t <= 1; t += 0.05) expect(far).toBeLessThanOrEqual(distance(p, [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]) + 1e-9);
    }
    const a: Place = [0.1, 0.2];
    expect(nearest([-5, -5], a, [3, 3])).toBe(a);
  });

  it("meets on both lines", () => {
    for (let i = 0; i < 300; i += 1) {
      const [a, b, c, d] = [place(), place(), place(), place()];
      const hit = meet(a, b, c, d);
      if (hit === null || Math.abs(hit.t) > 50 || Math.abs(hit.u) > 50) continue;
      expect(hit.at[0]).toBeCloseTo(c[0] + (d[0] - c[0]) * hit.u, 5);
      expect(hit.at[1]).toBeCloseTo(c[1] + (d[1] - c[1]) * hit.u, 5);
    }
    expect(meet([0, 0], [1, 0], [0, 1], [5, 1])).toBeNull();
    expect(meet([0, 0], [0, 0], [0, 1], [5, 1])).toBeNull();
  });

  it("measures areas and lengths", () => {
    const square: Place[] = [[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]];
    expect(area(square)).toBe(16);
    expect(area(square.toReversed())).toBe(-16);
    expect(area(square.slice(0, -1))).toBe(16);
    expect(lengthOf(square)).toBe(16);
    expect(boxOf(square)).toEqual([0, 0, 4, 4]);
    expect(along(square, 6)?.at).toEqual([4, 2]);
    expect(nearestOfChain([2, -1], square)).toEqual({ at: [2, 0], far: 1, edge: 0 });
  });

  it("names an area inside of it", () => {
    const yard: Place[] = [[0, 0], [10, 0], [10, 2], [2, 2], [2, 10], [0, 10], [0, 0]];
    const hole: Place[] = [[0.5, 0.5], [9, 0.5], [9, 1.5], [0.5, 1.5], [0.5, 0.5]];
    expect(insidePolygon(anchorOf({ type: "Polygon", coordinates: [yard] })!, [yard])).toBe(true);
    expect(insidePolygon(anchorOf({ type: "Polygon", coordinates: [yard, hole] })!, [yard, hole])).toBe(true);
    expect(insidePolygon([5, 1], [yard, hole])).toBe(false);
    expect(anchorOf(null)).toBeNull();
    expect(anchorOf({ type: "LineString", coordinates: [[0, 0], [10, 0]] })).toEqual([5, 0]);
  });
});
