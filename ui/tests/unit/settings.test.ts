import { describe, expect, it } from "vitest";
import type { Finding, SettingView } from "../../src/api/contract";
import { against, nameOf, settingOf } from "../../src/panels/settings";

const setting = (path: string, standard: string, type: SettingView["type"] = "text"): SettingView => ({
  path, part: path.split("/")[1] ?? "", section: "", label: "", value: standard, default: standard, changed: false, source: "", type,
});
const wage = setting("/prices/labour/wage", "36.0", "number");
const quiet = setting("/practice/cover/quiet_from/3~14 in", "18 in");

describe("what is typed for a rule or a price", () => {
  it("is a number where a number stands", () => {
    expect(settingOf(wage, " $42 ")).toEqual({ value: 42 });
    expect(settingOf(wage, "1,250.5")).toEqual({ value: 1250.5 });
    for (const typed of ["forty", "42 an hour", "4,5", "", "Infinity", "NaN"]) expect(settingOf(wage, typed), typed).toHaveProperty("wrong");
    expect(settingOf(wage, "forty")).toEqual({ wrong: "“forty” is not a number. Write one like 36.0." });
  });

  it("is a size where a size stands, with its unit where none is typed", () => {
    expect(settingOf(quiet, "20")).toEqual({ value: "20 in" });
    expect(settingOf(quiet, "50 cm")).toEqual({ value: "50 cm" });
    expect(settingOf(quiet, "deep")).toEqual({ wrong: "“deep” does not begin with a number. Write a value like 18 in." });
    expect(settingOf(setting("/practice/expansion/pe", "150e-6 /C"), "140e-6 /C")).toEqual({ value: "140e-6 /C" });
  });

  it("is left to the program where only that knows", () => {
    expect(settingOf(setting("/prices/tax/material/on", "purchase"), "price")).toEqual({ value: "price" });
    expect(settingOf(setting("/practice/x/sizes", "1 in, 2 in"), "none")).toEqual({ value: "none" });
    expect(settingOf(setting("/practice/x/on", "true"), "false")).toEqual({ value: false });
    expect(settingOf(setting("/practice/x/on", "true"), "perhaps")).toHaveProperty("wrong");
  });

  it("is found again in what the program says against it", () => {
    const finding = (subject: string, severity: Finding["severity"] = "error"): Finding => ({ severity, rule: "bad-override", subject, what: "", mend: "", at: null });
    expect(nameOf(quiet)).toBe("Rule cover › quiet from › 3/4 in");
    expect(against(wage, [finding("Price labour › wage"), finding("Price labour › wage", "warning"), finding("Price labour › wages"), finding("H1")])).toHaveLength(1);
  });
});
