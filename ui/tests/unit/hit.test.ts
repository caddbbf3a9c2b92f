import { describe, expect, it } from "vitest";
import type { Feature, Geometry, JobView, PlanView, StretchView } from "../../src/api/contract";
import { hits, inBox } from "../../src/drawing/hit";
import { roundLength } from "../../src/drawing/paint/overlay";
import { graveOf, openOn, sceneOf } from "../../src/drawing/paint/scene";
import { cutsOf, standOf } from "../../src/drawing/paint/system";

const feature = (id: string, kind: string, geometry: Geometry | null): Feature => ({ type: "Feature", id, geometry, properties: { kind } });
const box = (x: number, y: number, size: number): Geometry => ({ type: "Polygon", coordinates: [[[x, y], [x + size, y], [x + size, y + size], [x, y + size], [x, y]]] });
const job: JobView = {
  version: 1, file: "", header: {}, length_unit: "ft", units: "us", undo: null, redo: null, pictures: [],
  findings: [{ severity: "warning", rule: "", subject: "S1", what: "", mend: "", at: null }, { severity: "error", rule: "", subject: "H1", what: "", mend: "", at: null }, { severity: "caution", rule: "", subject: "H1", what: "", mend: "", at: null }],
  features: [
    feature("P1", "boundary", box(0, 0, 100)), feature("U1", "surface", box(10, 10, 40)), feature("B1", "obstacle", box(20, 20, 10)), feature("S1", "soil", box(0, 0, 30)),
    feature("H1", "head", { type: "Point", coordinates: [25, 25] }), feature("C1", "circuit", null),
  ],
};
const stretch = (id: string) => ({ id, path: [[25, 25], [60, 25]] }) as unknown as StretchView;
const plan = {
  version: 1, stretches: [stretch("S1")], crossings: [], narrows: [], pipes: [], outlets: [], valves: [],
  findings: [{ severity: "error", rule: "", subject: "S1", what: "", mend: "", at: null }],
} as unknown as PlanView;
const scene = sceneOf(job, new Map(), plan);
const names = (x: number, y: number) => hits(scene, [x, y], 1).map((hit) => hit.name);

describe("what lies under the pointer", () => {
  it("takes points before lines, lines before areas, small areas before large ones", () => {
    expect(names(25.2, 25)).toEqual(["H1", "stretch:S1", "B1", "U1", "S1", "P1"]);
    expect(names(55, 25.5)[0]).toBe("stretch:S1");
    expect(names(28, 22)).toEqual(["B1", "U1", "S1", "P1"]);
    expect(names(45, 45)).toEqual(["U1", "P1"]);
    expect(names(0.2, 60)).toEqual(["P1"]);
    expect(names(-5, -5)).toEqual([]);
  });

  it("leaves out the plan where it is not shown", () => {
    expect(hits(scene, [55, 25.5], 1, false).map((hit) => hit.name)).toEqual(["P1"]);
  });

  it("takes into a box what is wholly in it", () => {
    expect(inBox(scene, [19, 19, 31, 31])).toEqual(["B1", "H1"]);
  });
});

describe("signs", () => {
  it("go to features by the job's findings and to stretches by the plan's, though their ids are alike", () => {
    const { features, stretches } = graveOf(job, plan, []);
    expect(Object.fromEntries(features)).toEqual({ S1: "warning", H1: "error" });
    expect(Object.fromEntries(stretches)).toEqual({ S1: "error" });
    // A plan that is older than the job is shown with what stands against it.
    expect(graveOf({ ...job, version: 2 }, plan, []).stretches.size).toBe(1);
    expect(Object.fromEntries(graveOf({ ...job, findings: [] }, null, [{ severity: "error", rule: "", subject: "C1", what: "", mend: "", at: null }]).features)).toEqual({ C1: "error" });
  });

  it("show what lies open on an evening", () => {
    const days = { ...plan, days: [{ day: 1, stretches_open: ["S1"] }, { day: 2, stretches_open: [] }] } as unknown as PlanView;
    expect([null, 1, 2, 3].map((day) => openOn(days, day)?.has("S1"))).toEqual([undefined, true, false, false]);
  });

  it("part outlets into quarters, with those that lack apart", () => {
    const some = { outlets: [0.1, 0.2, 0.3, 0.4, -0.1].map((spare) => ({ spare })) } as unknown as PlanView;
    const cuts = cutsOf(some);
    expect(cuts).toEqual([0.2, 0.3, 0.4]);
    expect([-0.1, 0, 0.1, 0.2, 0.35, 0.9].map((spare) => standOf(spare, cuts))).toEqual(["lacks", 0, 0, 1, 2, 3]);
    expect(cutsOf({ outlets: [] } as unknown as PlanView)).toBeNull();
  });

  it("are measured by round lengths", () => {
    expect([0.03, 1, 1.1, 3, 7, 60].map(roundLength)).toEqual([0.05, 1, 2, 5, 10, 100]);
  });
});
