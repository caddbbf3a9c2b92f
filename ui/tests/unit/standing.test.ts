import { describe, expect, it } from "vitest";
import type { Feature, Finding, PlanView } from "../../src/api/contract";
import { stages } from "../../src/panels/guide";
import { standing, type Known } from "../../src/panels/standing";

const error: Finding = { severity: "error", rule: "no-source", subject: "", what: "no water", mend: "", at: null };
/** A feature for each step that a first plan needs. */
const whole: Feature[] = stages([])
  .flatMap((stage) => stage.steps)
  .filter((step) => !step.optional)
  .map((step) => ({ type: "Feature", id: step.id, geometry: null, properties: { kind: step.kind, ...step.preset } }));
const plan = { version: 3, quality: "full" } as PlanView;
const known = (more: Partial<Known>): Known => ({ features: whole, findings: [], unplanned: [], planning: "", plan, stale: false, ...more });

describe("how it stands with the plan", () => {
  it("is planned when nothing is left to do", () => {
    expect(standing(known({}))).toMatchObject({ words: "planned", tone: "good" });
  });

  it("counts the steps of a job that is only begun, and calls it no error", () => {
    expect(standing(known({ features: [], plan: null, unplanned: [error] }))).toMatchObject({ words: "10 steps to a plan", tone: "calm", tab: "properties" });
  });

  it("counts errors once, also those that the file tells before the planner does", () => {
    expect(standing(known({ findings: [error], unplanned: [error] })).words).toBe("cannot be planned: 1 error");
    expect(standing(known({ findings: [error] }))).toMatchObject({ tone: "bad", tab: "findings" });
  });

  it("says what the program is doing, and that a plan is a draft or old", () => {
    expect(standing(known({ planning: "routing trenches", stale: true })).words).toBe("routing trenches");
    expect(standing(known({ stale: true })).words).toBe("planning");
    expect(standing(known({ plan: { ...plan, quality: "draft" } })).words).toBe("draft");
    expect(standing(known({ plan: null })).words).toBe("no plan yet");
  });
});
