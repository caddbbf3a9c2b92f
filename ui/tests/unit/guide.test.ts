import { describe, expect, it } from "vitest";
import type { Feature } from "../../src/api/contract";
import { isPassed, nextOf, stages } from "../../src/panels/guide";

const feature = (kind: string, properties: Record<string, unknown> = {}, placed = true): Feature => ({
  type: "Feature", id: `${kind}${JSON.stringify(properties)}`, geometry: placed ? { type: "Point", coordinates: [0, 0] } : null, properties: { kind, ...properties },
});
const steps = (features: Feature[]) => stages(features).flatMap((stage) => stage.steps);
const begun = [feature("boundary"), feature("surface", {}, false), feature("soil", {}, false), feature("obstacle", { obstacle: "building" }), feature("access")];

describe("the steps to a plan", () => {
  it("asks for what may lie in the way before the water source", () => {
    expect(nextOf(steps(begun), [])?.id).toBe("utility");
    const passed: string[] = [];
    const asked: string[] = [];
    for (let next = nextOf(steps(begun), passed); next?.optional; next = nextOf(steps(begun), passed)) {
      asked.push(next.id);
      passed.push(next.id);
    }
    expect(asked).toEqual(["utility", "paving", "trees", "fences"]);
    expect(nextOf(steps(begun), passed)?.id).toBe("source");
  });

  it("takes each as done by one that is drawn, also where it was passed over", () => {
    const drawn = steps([...begun, feature("tree"), feature("utility"), feature("surface"), feature("obstacle", { obstacle: "fence" })]);
    expect(nextOf(drawn, [])?.id).toBe("source");
    expect(drawn.filter((step) => isPassed(step, ["trees", "source"]))).toEqual([]);
    expect(steps(begun).filter((step) => isPassed(step, ["trees", "source"])).map((step) => step.id)).toEqual(["trees"]);
  });

  it("asks no more once nothing is lacking for a plan", () => {
    const whole = steps([]).filter((step) => !step.optional).map((step) => feature(step.kind, step.preset, step.id !== "surface" && step.id !== "soil"));
    expect(nextOf(steps(whole), [])).toBeUndefined();
    expect(nextOf(steps([]), [])?.id).toBe("boundary");
  });
});
