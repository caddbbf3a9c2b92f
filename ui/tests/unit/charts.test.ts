import { describe, expect, it } from "vitest";
import type { SectionView, TaskView } from "../../src/api/contract";
import { named, quantilePath, worked, schedule, section, shareBelow, stacked, ticks } from "../../src/lib/charts";

const task = (id: string, start: number, end: number, crew = "crew", machine: string | null = null): TaskView => ({
  id, what: id, kind: "dig", crew, people: 1, start, end, from: "", to: "", stretches: [], machine,
});

describe("axes and bars", () => {
  it("puts round values between the ends", () => {
    expect(ticks(0, 10)).toEqual([0, 2.5, 5, 7.5, 10]);
    expect(ticks(1_143_000, 1_630_000)).toEqual([1_200_000, 1_400_000, 1_600_000]);
    expect(ticks(5, 5)).toEqual([5]);
    expect(ticks(0, Number.NaN)).toEqual([0]);
  });

  it("fills a bar to its end with what is above 0", () => {
    expect(stacked([1, 3])).toEqual([{ from: 0, size: 0.25 }, { from: 0.25, size: 0.75 }]);
    expect(stacked([-2, 4])).toEqual([{ from: 0, size: 0 }, { from: 0, size: 1 }]);
    expect(stacked([0, 0]).every((part) => part.size === 0)).toBe(true);
  });
});

describe("the days", () => {
  it("gives tasks at one time lanes of their own, and reuses a lane that is free again", () => {
    const { rows, bars } = schedule([task("A", 0, 1), task("B", 0.5, 1.5), task("C", 1, 2)]);
    expect(rows).toEqual([{ name: "crew", lanes: 2, kind: "crew" }]);
    expect(bars.map((bar) => [bar.task.id, bar.lane])).toEqual([["A", 0], ["B", 1], ["C", 0]]);
  });

  it("shows a machine again in a row of its own", () => {
    const { rows, bars } = schedule([task("A", 0, 1, "crew", "plow"), task("B", 1, 2)]);
    expect(rows.map((row) => `${row.kind} ${row.name}`)).toEqual(["crew crew", "machine plow"]);
    expect(bars.filter((bar) => bar.row === 1).map((bar) => bar.task.id)).toEqual(["A"]);
  });

  it("never lays two tasks of a row over each other", () => {
    const tasks = Array.from({ length: 60 }, (_, i) => task(`T${i}`, ((i * 37) % 50) / 10, ((i * 37) % 50) / 10 + 0.1 + ((i * 13) % 20) / 10, `crew ${i % 3}`));
    const { bars } = schedule(tasks);
    for (const a of bars) {
      for (const b of bars) {
        if (a === b || a.row !== b.row || a.lane !== b.lane) continue;
        expect(a.task.end <= b.task.start + 1e-9 || b.task.end <= a.task.start + 1e-9).toBe(true);
      }
    }
  });

  it("gives bars with their names lanes in which neither lies over another", () => {
    const measure = (text: string) => text.length * 6;
    const tasks = Array.from({ length: 50 }, (_, i) => ({ ...task(`T${i}`, ((i * 37) % 50) / 10, ((i * 37) % 50) / 10 + 0.05 + ((i * 13) % 12) / 10), what: ["dig S1, S2 by walk-behind trencher", "test", "backfill all stretches of circuit C3"][i % 3]! }));
    const room = new Map(tasks.map((one) => [one.id, named(one.what, one.start * 60, Math.max((one.end - one.start) * 60, 3), 340, measure)]));
    const { bars } = schedule(tasks, (one) => ({ from: room.get(one.id)!.left, to: room.get(one.id)!.right }));
    for (const a of bars) {
      const one = room.get(a.task.id)!;
      expect(one.lines.join(" ")).toBe(a.task.what);
      expect(one.left).toBeGreaterThanOrEqual(0);
      for (const b of bars) {
        if (a === b || a.lane !== b.lane) continue;
        const other = room.get(b.task.id)!;
        expect(one.right <= other.left + 1e-9 || other.right <= one.left + 1e-9).toBe(true);
      }
    }
  });

  it("holds nothing where there is nothing", () => {
    expect(schedule([])).toEqual({ rows: [], bars: [] });
  });
});

describe("the name of a bar", () => {
  const measure = (text: string) => text.length * 6;

  it("stands in it where it fits, in two lines if need be", () => {
    expect(named("dig S1 by spade", 0, 120, 340, measure)).toMatchObject({ lines: ["dig S1 by spade"], where: "in", left: 0, right: 120 });
    expect(named("dig S1 by spade", 0, 70, 340, measure)).toMatchObject({ lines: ["dig S1", "by spade"], where: "in" });
  });

  it("else stands whole beside it, before it where the chart ends", () => {
    const after = named("dig S1 by spade", 10, 4, 340, measure);
    expect(after).toMatchObject({ lines: ["dig S1", "by spade"], where: "after", left: 10 });
    expect(after.right).toBeGreaterThanOrEqual(14 + 48);
    const before = named("dig S1 by spade", 320, 4, 340, measure);
    expect(before).toMatchObject({ where: "before", right: 324 });
    expect(before.left).toBeLessThanOrEqual(320 - 48);
  });

  it("is never cut, also where it has a single long word", () => {
    const long = named("Pressuretestofeverything", 0, 10, 340, measure);
    expect(long.lines).toEqual(["Pressuretestofeverything"]);
    expect(long.right).toBeGreaterThanOrEqual(10 + 24 * 6);
  });
});

describe("working hours", () => {
  it("leaves out the nights, whatever hours are worked", () => {
    const tasks = [task("A", 7 / 24, 11 / 24), task("B", 11 / 24, 15 / 24), task("C", 1 + 7 / 24, 1 + 9 / 24)];
    const times = worked(tasks).map((one) => [one.start, one.end]);
    expect(times[0]).toEqual([expect.closeTo(0), expect.closeTo(0.5)]);
    expect(times[1]).toEqual([expect.closeTo(0.5), expect.closeTo(1)]);
    expect(times[2]).toEqual([expect.closeTo(1), expect.closeTo(1.25)]);
  });

  it("changes nothing where whole days are worked", () => {
    const tasks = [task("A", 0, 0.5), task("B", 0.5, 2)];
    expect(worked(tasks).map((one) => [one.start, one.end])).toEqual([[0, 0.5], [0.5, 2]]);
    expect(worked([])).toEqual([]);
  });
});

describe("the range of the cost", () => {
  it("runs from none to all", () => {
    expect(quantilePath([1, 2, 4], (amount) => amount * 10, (share) => 100 - share * 100)).toBe("M10.0 100.0L20.0 50.0L40.0 0.0");
    expect(quantilePath([1], (amount) => amount, (share) => share)).toBe("");
  });

  it("finds the share at which the plan lies", () => {
    expect(shareBelow([0, 10, 20], 15)).toBeCloseTo(0.75);
    expect(shareBelow([0, 10, 20], -1)).toBe(0);
    expect(shareBelow([0, 10, 20], 99)).toBe(1);
    expect(shareBelow([5, 5, 5], 5)).toBe(0);
  });
});

const cut: SectionView = {
  pulled: false, sleeve: false, depth: 0.5, width: 0.2, top_width: 0.2, bedding: 0.05, crown: 0.03, lifts: 3,
  contents: [
    { what: "main 1-1/4 in", outside: 0.042, count: 1, middle: 0.046, cover: { text: "18 in", id: null } },
    { what: "4 wires", outside: 0.005, count: 4, middle: 0.123, cover: { text: "19 in", id: null } },
  ],
  markers: [{ what: "tape", cover: 0.15 }],
};

describe("a cross-section", () => {
  it("has one scale for widths and depths and keeps within its frame", () => {
    const drawn = section(cut, 340, 210);
    expect((drawn.bottom - drawn.surface) / 0.5).toBeCloseTo(drawn.scale);
    expect((drawn.right - drawn.left) / 0.2).toBeCloseTo(drawn.scale);
    expect(drawn.bottom).toBeLessThan(210);
    expect(drawn.surface).toBeGreaterThan(0);
  });

  it("lays what it holds on the bedding, one circle for each", () => {
    const drawn = section(cut, 340, 210);
    expect(drawn.circles).toHaveLength(5);
    const floor = drawn.bottom - 0.05 * drawn.scale;
    const main = drawn.circles[0]!;
    expect(main.y + main.r).toBeCloseTo(floor);
    expect(main.r).toBeCloseTo(0.021 * drawn.scale);
    for (const circle of drawn.circles) {
      expect(circle.x - circle.r).toBeGreaterThan(drawn.left);
      expect(circle.x + circle.r).toBeLessThan(drawn.right);
      expect(circle.y + circle.r).toBeLessThanOrEqual(floor + 1e-9);
    }
  });

  it("marks where the tape lies", () => {
    const drawn = section(cut, 340, 210);
    expect((drawn.markers[0]!.y - drawn.surface) / drawn.scale).toBeCloseTo(0.15);
  });

  it("stays within its frame when the cut is wide or nothing at all", () => {
    const wide = section({ ...cut, depth: 1.6, width: 0.4, top_width: 3.4 }, 340, 210);
    expect(wide.left).toBeGreaterThan(0);
    expect(wide.right).toBeLessThan(340);
    const none = section({ ...cut, depth: 0, width: 0, top_width: 0, crown: 0, bedding: 0, contents: [], markers: [] }, 340, 210);
    expect([none.surface, none.bottom, none.left, none.right].every(Number.isFinite)).toBe(true);
    expect(none.crown).toBe("");
  });
});
