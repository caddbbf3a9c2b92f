import { describe, expect, it } from "vitest";
import type { Finding, PlanView, Total } from "../../src/api/contract";
import { about, count, difference, gathered, matches, moment, plain, sense, several, share, spoken, titled } from "../../src/lib/format";

const total = (value: number, text: string, better: Total["better"] = "less"): Total => ({ id: "x", what: "X", fig: { text, id: null }, value, better });
const finding = (severity: Finding["severity"], subject: string, what: string): Finding => ({ severity, rule: "r", subject, what, mend: "", at: null });

describe("differences", () => {
  it("says more or less beside the sign, whatever sign the text had", () => {
    expect(difference(total(120, "+120.00 USD"))).toEqual({ arrow: "▲", text: "+120.00 USD", word: "more", sense: "worse" });
    expect(difference(total(-3, "−3.0 ft"))).toEqual({ arrow: "▼", text: "−3.0 ft", word: "less", sense: "better" });
    expect(difference(total(-3, "-3.0 ft")).text).toBe("−3.0 ft");
    expect(difference(total(-3, "3.0 ft")).text).toBe("−3.0 ft");
  });

  it("says nothing of a figure that stayed", () => {
    expect(difference(total(0, "0.0 ft"))).toEqual({ arrow: "=", text: "", word: "as before", sense: "same" });
  });

  it("knows what is better by the figure, not by the sign", () => {
    expect(sense(1, "more")).toBe("better");
    expect(sense(-1, "more")).toBe("worse");
  });

  it("compares with now as a share", () => {
    expect(share(84, 100)).toBe("16.0 % below now");
    expect(share(101, 100)).toBe("1.0 % above now");
    expect(share(100.01, 100)).toBe("as now");
    expect(share(5, 0)).toBe("");
    expect(share(Number.NaN, 4)).toBe("");
    expect(share(-90, -100)).toBe("10.0 % above now");
  });
});

describe("words", () => {
  it("counts", () => {
    expect(count(1, "error")).toBe("1 error");
    expect(count(0, "error")).toBe("0 errors");
    expect(count(2, "person", "people")).toBe("2 people");
  });

  it("speaks a plan by price, trench and days, else by its weightiest figures", () => {
    const totals = [total(1, "$12,340"), total(1, "$9,000"), total(1, "214 m"), total(4, "4 days")];
    for (const [index, id] of ["price", "cost", "trench", "days"].entries()) Object.assign(totals[index]!, { what: id, id });
    expect(spoken({ totals } as unknown as PlanView)).toBe("New plan: $12,340, 214 m of trench, 4 days.");
    expect(spoken({ totals: totals.slice(0, 2) } as unknown as PlanView)).toBe("New plan: price $12,340, cost $9,000.");
  });

  it("tells the hour today and the day before", () => {
    const now = new Date(2026, 4, 5, 18, 0);
    expect(moment(new Date(2026, 4, 5, 9, 7).toISOString(), now)).toBe("09:07");
    expect(moment(new Date(2026, 4, 4, 9, 7).toISOString(), now)).toBe("4 May 09:07");
    expect(moment("once", now)).toBe("once");
  });

  it("finds all words of a search anywhere", () => {
    expect(matches("H12 head C4, 1.8 gpm", "c4 HEAD")).toBe(true);
    expect(matches("H12 head C4", "C5 head")).toBe(false);
    expect(matches("anything", " ")).toBe(true);
  });
});

describe("findings", () => {
  it("are sentences, with names of properties as words and quoted values as they are", () => {
    expect(plain('`service_size` is "X", and `copper_k` has no such size')).toBe('Service size is "X", and copper k has no such size.');
    expect(plain("see `H1-a`.")).toBe("See H1-a.");
    expect(plain('add "static_pressure": "12 psi"')).toBe("Put in static pressure, such as 12 psi.");
    expect(plain('add "service_size": "…"')).toBe("Put in service size.");
    expect(plain('add a Point of kind "source"')).toBe('Add a Point of kind "source".');
  });

  it("tells each once, errors first, and keeps their order otherwise", () => {
    const warning = finding("warning", "K1", "not marked");
    const list = gathered([warning, finding("caution", "A", "a")], [warning, finding("error", "H1", "no flow")]);
    expect(list.map((one) => one.severity)).toEqual(["error", "warning", "caution"]);
  });

  it("belongs to the property that it names between backticks", () => {
    const list = [finding("error", "H1", '`flow` is "0 gpm"'), finding("error", "H1", "`flow_rate` is unknown"), finding("error", "H2", "`flow` is missing")];
    expect(about(list, "H1", "flow")).toEqual([list[0]]);
  });
});

describe("names of things", () => {
  it("says a name once where it is only the id", () => {
    expect(titled("C1", "Circuit C1", "circuit")).toBe("C1");
    expect(titled("C1", "c1", "circuit")).toBe("C1");
    expect(titled("C1", " ", "circuit")).toBe("C1");
    expect(titled("C1", "Front lawn", "circuit")).toBe("C1 Front lawn");
    expect(titled("C1", "Circuit C12", "circuit", " – ")).toBe("C1 – Circuit C12");
  });

  it("speaks of several of a kind", () => {
    const labels = ["Head", "Backflow assembly", "Access", "Sleeve in place", "Cable to share trenches", "Fixed trench", "Keep out"];
    expect(labels.map(several)).toEqual(["Heads", "Backflow assemblies", "Accesses", "Sleeves in place", "Cables to share trenches", "Fixed trenches", "Keep outs"]);
  });
});
