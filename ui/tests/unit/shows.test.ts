import { describe, expect, it } from "vitest";
import type { Feature, JobView, PlanView } from "../../src/api/contract";
import { alike, showsOf } from "../../src/drawing/paint/shows";

const feature = (id: string, kind: string, x = 0): Feature => ({ type: "Feature", id, geometry: { type: "Point", coordinates: [x, 0] }, properties: { kind } });
const job: JobView = {
  version: 1, file: "", header: {}, length_unit: "ft", units: "us", undo: null, redo: null, pictures: [], findings: [],
  features: [feature("T1", "tree"), feature("H1", "head"), feature("H2", "head")],
};
const plan = { version: 1, roots: [{ tree: "T1", radius: 3 }] } as unknown as PlanView;
const none = new Map<string, Feature>();
const at = showsOf(job, plan, none);
/** Which canvases have to be painted again. */
const again = (now: JobView, next: PlanView | null = plan, preview: ReadonlyMap<string, Feature> = none) => {
  const shows = showsOf(now, next, preview);
  return [!alike(at.ground, shows.ground) && "ground", !alike(at.system, shows.system) && "system"].filter(Boolean).join();
};
const moved = (id: string, kind: string) => ({ ...job, features: job.features.map((one) => (one.id === id ? feature(id, kind, 9) : one)) });

describe("what is painted again", () => {
  it("is nothing for a change that shows nothing", () => {
    expect(again({ ...job, version: 2, undo: "Moved head H1", features: [...job.features] })).toBe("");
  });
  it("is the canvas on which something has changed", () => {
    expect(again(moved("H1", "head"))).toBe("system");
    // Names of what stands on the ground are written over the plan.
    expect(again(moved("T1", "tree"))).toBe("ground,system");
    expect(again({ ...job, findings: [{ severity: "error", rule: "", subject: "H1", what: "", mend: "", at: null }] })).toBe("system");
    expect(again({ ...job, units: "si" })).toBe("ground,system");
  });
  it("is the ground only for a plan that knows other roots", () => {
    expect(again(job, { ...plan, version: 2 })).toBe("system");
    expect(again(job, { ...plan, roots: [{ tree: "T1", radius: 4 }] } as unknown as PlanView)).toBe("ground,system");
    expect(again(job, null)).toBe("ground,system");
  });
  it("is what is dragged only when it is taken up", () => {
    const drag = (x: number) => showsOf(job, plan, new Map([["H1", feature("H1", "head", x)]]));
    expect([...drag(1).lifted]).toEqual(["H1"]);
    expect(alike(drag(1).system, at.system)).toBe(false);
    expect(alike(drag(1).system, drag(2).system)).toBe(true);
    expect(alike(drag(1).ground, at.ground)).toBe(true);
    const tree = (x: number) => showsOf(job, plan, new Map([["T1", feature("T1", "tree", x)]]));
    expect(alike(tree(1).ground, tree(2).ground)).toBe(false);
  });
});
