import { describe, expect, it } from "vitest";
import type { Place } from "../../src/api/contract";
import { distance } from "../../src/lib/geometry";
import { snap, SnapIndex } from "../../src/lib/snap";
import { seeded } from "./seeded";

const house: Place[] = [[0, 0], [10, 0], [10, 8], [0, 8], [0, 0]];
function yard(): SnapIndex {
  const index = new SnapIndex();
  index.set("B1", [house]);
  index.set("F1", [[[5, -5], [5, 20]]]);
  index.set("H1", [[[20, 3]]]);
  return index;
}

describe("what is meant by a place near something", () => {
  it("takes a corner exactly, before anything else", () => {
    const corner = snap(yard(), { at: [10.2, 7.9], near: 0.5 });
    expect(corner).toMatchObject({ at: [10, 8], kind: "point", owner: "B1" });
    expect(snap(yard(), { at: [20.3, 3.1], near: 0.5 })).toMatchObject({ at: [20, 3], kind: "point", owner: "H1", words: "point of H1" });
  });

  it("takes the exact coordinate, however odd", () => {
    const random = seeded(9);
    for (let i = 0; i < 300; i += 1) {
      const index = new SnapIndex();
      const odd: Place = [random() * 1e4, random() * 1e4];
      index.set("X", [[odd]]);
      const found = snap(index, { at: [odd[0] + 0.1 * random(), odd[1] - 0.1 * random()], near: 0.2 });
      expect(found.at[0]).toBe(odd[0]);
      expect(found.at[1]).toBe(odd[1]);
    }
  });

  it("finds crossings, middles and edges", () => {
    expect(snap(yard(), { at: [5.1, 0.1], near: 0.5 })).toMatchObject({ at: [5, 0], kind: "crossing" });
    expect(snap(yard(), { at: [9.9, 4.1], near: 0.5 })).toMatchObject({ at: [10, 4], kind: "middle", owner: "B1" });
    expect(snap(yard(), { at: [9.8, 2], near: 0.5 })).toMatchObject({ at: [10, 2], kind: "edge", owner: "B1" });
    expect(snap(yard(), { at: [14, 14], near: 0.5 })).toMatchObject({ at: [14, 14], kind: "none", words: "" });
  });

  it("goes on in line with an edge", () => {
    const found = snap(yard(), { at: [12, 0.1], near: 0.5 });
    expect(found).toMatchObject({ at: [12, 0], kind: "extension", owner: "B1" });
    expect(found.guides.length).toBeGreaterThan(0);
  });

  it("closes an area square to its first side, or upright and level with its first corner", () => {
    const empty = new SnapIndex();
    const ring: [Place, Place] = [[0, 0], [10, 5]];
    // Square to the first side, through the first corner.
    const squared = snap(empty, { at: [-3.9, 8.1], near: 0.5, from: [3, 20], before: [10, 5], ring });
    expect(squared.kind).toBe("right angle");
    expect(squared.at[0] * 10 + squared.at[1] * 5).toBeCloseTo(0, 9);
    expect(squared.guides).toContainEqual([[0, 0], squared.at]);
    expect(snap(empty, { at: [0.1, 17], near: 0.5, from: [9, 23], before: [10, 5], ring })).toMatchObject({ at: [0, 17], words: "upright with the first corner" });
    expect(snap(empty, { at: [17, 0.1], near: 0.5, from: [23, 9], before: [10, 5], ring })).toMatchObject({ at: [17, 0], words: "level with the first corner" });
    expect(snap(empty, { at: [-8.1, -4], near: 0.5, from: [-20, 9], before: [10, 5], ring })).toMatchObject({ kind: "extension", words: "closes in line with the first side" });
    // Both at once: the fourth corner of a rectangle.
    const fourth = snap(empty, { at: [-5.3, 10.2], near: 0.5, from: [5, 15], before: [10, 5], ring });
    expect(distance(fourth.at, [-5, 10])).toBeLessThan(1e-9);
    // The foot of the first corner on the way that is held, where no side stands square.
    const foot = snap(empty, { at: [0.3, 8.2], near: 0.5, from: [9, 8], before: [8, 2], ring: [[0, 0], [8, 2]] });
    expect(foot).toMatchObject({ at: [0, 8] });
    const held = snap(empty, { at: [0.4, 9], near: 0.5, from: [9, 8], before: [8, 2], ring: [[0, 0], [8, 2]], straight: true });
    expect(held.at[0]).toBeCloseTo(0, 9);
    expect(held.at[1]).toBeCloseTo(8, 9);
    // Without an area nothing closes.
    expect(snap(empty, { at: [-3.9, 8.1], near: 0.5, from: [3, 20], before: [10, 5] }).kind).toBe("none");
  });

  it("keeps a right angle and goes straight on", () => {
    const empty = new SnapIndex();
    const turned = snap(empty, { at: [14.05, 20], near: 0.5, from: [14, 14], before: [18, 14] });
    expect(turned.at).toEqual([14, 20]);
    const index = yard();
    const slant = snap(index, { at: [30.1, 36], near: 0.5, from: [24, 30], before: [20, 26] });
    expect(slant.kind).toBe("parallel");
    expect(slant.at[0] - slant.at[1]).toBeCloseTo(-6, 9);
  });

  it("keeps a distance from edges, and from two in a corner", () => {
    const along = snap(yard(), { at: [12.1, 3], near: 0.5, offset: 2 });
    expect(along).toMatchObject({ kind: "offset", at: [12, 3] });
    const inner = snap(yard(), { at: [8.9, 1.1], near: 0.5, offset: 1 });
    expect(inner.kind).toBe("offset");
    expect(inner.at[0]).toBeCloseTo(9, 9);
    expect(inner.at[1]).toBeCloseTo(1, 9);
  });

  it("holds the direction to steps of 15°", () => {
    const random = seeded(4);
    for (let i = 0; i < 200; i += 1) {
      const from: Place = [random() * 50 + 100, random() * 50 + 100];
      const at: Place = [from[0] + random() * 40 - 20, from[1] + random() * 40 - 20];
      if (distance(from, at) < 1) continue;
      const found = snap(yard(), { at, near: 0.5, from, straight: true });
      const turn = (Math.atan2(found.at[1] - from[1], found.at[0] - from[0]) * 180) / Math.PI / 15;
      expect(Math.abs(turn - Math.round(turn))).toBeLessThan(1e-6);
    }
    expect(snap(yard(), { at: [9.9, 3.1], near: 0.5, from: [2, 3], straight: true }).at).toEqual([10, 3]);
  });

  it("leaves out what is dragged, and forgets what is removed", () => {
    const index = yard();
    expect(snap(index, { at: [20.1, 3], near: 0.5, but: new Set(["H1"]) }).kind).not.toBe("point");
    index.set("H1", [[[30, 3]]]);
    expect(snap(index, { at: [20.1, 3], near: 0.5 }).kind).not.toBe("point");
    expect(snap(index, { at: [30.1, 3], near: 0.5 }).at).toEqual([30, 3]);
    index.remove("H1");
    expect(index.has("H1")).toBe(false);
    expect(snap(index, { at: [30.1, 3], near: 0.5 }).kind).not.toBe("point");
  });

  it("never goes further than what counts as near", () => {
    const random = seeded(21);
    const index = new SnapIndex();
    for (let i = 0; i < 200; i += 1) {
      const at: Place = [random() * 100, random() * 100];
      index.set(`L${i}`, [[at, [at[0] + random() * 20 - 10, at[1] + random() * 20 - 10]]]);
    }
    for (let i = 0; i < 500; i += 1) {
      const at: Place = [random() * 100, random() * 100];
      const found = snap(index, { at, near: 0.6, from: [random() * 100, random() * 100], before: [0, 0], offset: random() < 0.5 ? 2 : 0 });
      expect(distance(at, found.at)).toBeLessThanOrEqual(0.6 + 1e-9);
      expect(found.at.every(Number.isFinite)).toBe(true);
    }
  });

  it("gives the same each time", () => {
    const index = yard();
    const wish = { at: [7.3, 7.8] as Place, near: 0.5, from: [3, 3] as Place };
    expect(snap(index, wish)).toEqual(snap(index, wish));
  });

  it("looks at a few edges only among a thousand heads", () => {
    const index = new SnapIndex();
    for (let i = 0; i < 1000; i += 1) index.set(`H${i}`, [[[(i % 40) * 10, Math.floor(i / 40) * 10]]]);
    expect(index.spots([95, 95, 105, 105]).length).toBe(1);
    expect(snap(index, { at: [100.2, 100.1], near: 0.5 }).at).toEqual([100, 100]);
  });
});
