import { describe, expect, it } from "vitest";
import type { Feature, PlanView } from "../../src/api/contract";
import { pointedAt } from "../../src/panels/pointed";

const feature = (id: string, kind: string, more: Record<string, unknown> = {}): Feature => ({
  type: "Feature", id, geometry: kind === "circuit" ? null : { type: "Point", coordinates: [0, 0] }, properties: { kind, ...more },
});
const features = [feature("C1", "circuit"), feature("H1", "head", { circuit: "C1" }), feature("H2", "head"), feature("V1", "valve", { circuit: "C1" }), feature("E1", "utility"), feature("house", "obstacle")];
const plan = {
  circuits: [{ id: "C1" }, { id: "C2" }], stretches: [{ id: "S11" }],
  outlets: [{ id: "H1", circuit: "C1" }, { id: "H2", circuit: "C2" }],
} as unknown as PlanView;
const at = (subject: string, what = "") => pointedAt({ subject, what }, features, plan);

describe("what a finding speaks of", () => {
  it("is a feature or a stretch", () => {
    expect(at("E1")).toEqual(["E1"]);
    expect(at("house", "stands on the house")).toEqual(["house"]);
    expect(at("S11")).toEqual(["stretch:S11"]);
    expect(at("whole job", "local codes come before this plan")).toEqual([]);
  });

  it("is all that hangs on a circuit, drawn or proposed", () => {
    expect(at("C1")).toEqual(["H1", "V1"]);
    expect(at("C2")).toEqual(["H2"]);
    expect(pointedAt({ subject: "C1", what: "" }, [feature("C1", "circuit")], null)).toEqual(["C1"]);
  });

  it("is all that it names", () => {
    expect(at("H1, H2")).toEqual(["H1", "H2"]);
    expect(at("H1 and V1")).toEqual(["H1", "V1"]);
    expect(at("E1", "S11: within 610 mm of electric line E1 one digs by hand")).toEqual(["E1", "stretch:S11"]);
  });
});
