import { describe, expect, it } from "vitest";
import type { Finding, PlanView } from "../../src/api/contract";
import { SHEETS, sheetsAt, unprintable, unready, type SheetName } from "../../src/panels/sheets";

const plan = { version: 3, quality: "full" } as PlanView;
const error: Finding = { severity: "error", rule: "no-source", subject: "", what: "no water", mend: "", at: null };

describe("sheets to print", () => {
  it("are asked for by name, in the order of the book, and all of them without names", () => {
    expect(sheetsAt(new Set(SHEETS.map((sheet) => sheet.name)))).toBe("api/sheets");
    expect(sheetsAt(new Set<SheetName>(["staking", "cut-list"]))).toBe("api/sheets?only=staking,cut-list");
    expect(sheetsAt(new Set<SheetName>(["as-built", "job"]))).toBe("api/sheets?only=job,as-built");
  });

  it("wait for a plan, and say why", () => {
    expect(unprintable({ plan: null, unplanned: [] })).toContain("no plan yet");
    expect(unprintable({ plan: null, unplanned: [error] })).toContain("no plan yet");
    expect(unprintable({ plan, unplanned: [error] })).toContain("cannot be planned");
    expect(unprintable({ plan, unplanned: [] })).toBe("");
  });

  it("say when the plan is a draft or of an older job", () => {
    expect(unready({ plan, stale: false })).toBe("");
    expect(unready({ plan, stale: true })).toContain("new plan");
    expect(unready({ plan: { ...plan, quality: "draft" }, stale: false })).toContain("draft");
  });
});
