import { describe, expect, it } from "vitest";
import type { Feature, KindView, PropertyView, StretchView } from "../../src/api/contract";
import { applied } from "../../src/lib/session.svelte";
import { agreed, asList, carried, common, duplicates, fixedTrench, followed, fromList, goodId, rename, stretchIn, stretchRef, usual, withProperty, present } from "../../src/panels/edits";
import { stages } from "../../src/panels/guide";
import { knownByDistance, knownByPlaces } from "../../src/lib/format-scale";

const property = (name: string, type: PropertyView["type"] = "text", of = ""): PropertyView => ({ name, label: name, about: "", type, choices: [], unit: "", start: "", of, within: "", required: false });
const kind = (name: string, ...properties: PropertyView[]): KindView => ({ name, label: name, group: "system", geometry: ["Point"], about: "", properties });
const kinds = [
  kind("head", property("circuit", "feature", "circuit"), property("flow", "quantity")),
  kind("drip", property("flow", "quantity"), property("circuit", "feature", "circuit")),
  kind("circuit", property("name"), property("runs_with", "feature", "circuit")),
  kind("fixed_trench", property("carries")),
  kind("surface", property("surface", "choice")),
];
const point = (id: string, properties: Record<string, unknown>): Feature => ({ type: "Feature", id, geometry: { type: "Point", coordinates: [1, 2] }, properties });
const area = (id: string, surface: string): Feature => ({
  type: "Feature", id, geometry: { type: "Polygon", coordinates: [[[0, 0], [1, 0], [1, 1], [0, 0]]] }, properties: { kind: "surface", surface },
});
const features: Feature[] = [
  { type: "Feature", id: "C1", geometry: null, properties: { kind: "circuit", name: "front" } },
  { type: "Feature", id: "C2", geometry: null, properties: { kind: "circuit", name: "back", runs_with: "C1" } },
  point("H1", { kind: "head", circuit: "C1", flow: "1 gpm" }),
  point("H2", { kind: "head", circuit: "C2", flow: "1 gpm" }),
  point("F1", { kind: "fixed_trench", carries: "main, C1, wire" }),
];
const after = (list: Feature[], ops: Parameters<typeof applied>[1]) => applied({ features: list, header: {} } as unknown as Parameters<typeof applied>[0], ops).features;

describe("a new id", () => {
  it("is written in everything that refers to the feature, and nowhere else", () => {
    const next = after(features, rename(features, kinds, "C1", "FRONT"));
    expect(next.map((feature) => feature.id).sort()).toEqual(["C2", "F1", "FRONT", "H1", "H2"]);
    const by = (id: string) => next.find((feature) => feature.id === id)?.properties;
    expect(by("H1")?.circuit).toBe("FRONT");
    expect(by("H2")?.circuit).toBe("C2");
    expect(by("C2")?.runs_with).toBe("FRONT");
    expect(by("F1")?.carries).toBe("main, FRONT, wire");
  });

  it("leaves which of two areas counts as it was", () => {
    const list = [area("A", "lawn_kept"), area("B", "bed"), area("C", "gravel")];
    const next = after(list, rename(list, kinds, "A", "Z"));
    expect(next.map((feature) => feature.id)).toEqual(["Z", "B", "C"]);
  });

  it("is 1 to 64 letters, digits, - or _", () => {
    expect(["H1", "bed_2", "Ä-1"].every(goodId)).toBe(true);
    expect(["", "a b", "a.b", "x".repeat(65)].some(goodId)).toBe(false);
  });
});

describe("several at once", () => {
  it("share what all their kinds have", () => {
    expect(common([features[2]!, point("D", { kind: "drip" })], kinds).map((one) => one.name)).toEqual(["circuit", "flow"]);
    expect(common([features[2]!, features[0]!], kinds)).toEqual([]);
    expect(common([], kinds)).toEqual([]);
  });

  it("say where they differ", () => {
    expect(agreed([features[2]!, features[3]!], "flow")).toEqual({ value: "1 gpm", differs: false });
    expect(agreed([features[2]!, features[3]!], "circuit").differs).toBe(true);
  });

  it("are copied with ids of their own", () => {
    const copies = duplicates([features[2]!, features[3]!], features, [3, -3]);
    expect(copies.map((feature) => feature.id)).toEqual(["H3", "H4"]);
    expect(copies[0]!.geometry).toEqual({ type: "Point", coordinates: [4, -1] });
  });
});

describe("properties", () => {
  it("go away when they are emptied", () => {
    expect("flow" in withProperty(features[2]!, "flow", "").properties).toBe(false);
    expect(withProperty(features[2]!, "located", false).properties.located).toBe(false);
    expect(features[2]!.properties.flow).toBe("1 gpm");
  });

  it("are a usual beginning only in the system, and only while they are as they began", () => {
    const flow = { ...property("flow", "quantity"), unit: "1.8 gpm", start: "1 gpm" };
    expect(usual([features[2]!], kinds, flow)).toBe(true);
    expect(usual([withProperty(features[2]!, "flow", "1.8 gpm")], kinds, flow)).toBe(false);
    expect(usual([features[2]!], kinds, { ...flow, unit: "1 gpm", start: "" })).toBe(false);
    expect(usual([features[2]!], kinds.map((one) => ({ ...one, group: "ground" as const })), flow)).toBe(false);
  });

  it("keep the form in which a list was written", () => {
    expect(asList("2 psi at 5 gpm, 5 psi at 10 gpm")).toEqual(["2 psi at 5 gpm", "5 psi at 10 gpm"]);
    expect(fromList(["a", " ", "b"], "x")).toBe("a, b");
    expect(fromList(["a", "b"], ["x"])).toEqual(["a", "b"]);
    expect(asList(undefined)).toEqual([]);
  });
});

describe("a stretch", () => {
  const stretch = { id: "S3", path: [[0, 0], [4, 0]], contents: "main 1-1/4 in, 4 wires" } as unknown as StretchView;

  it("becomes a fixed trench for what lies in it", () => {
    const carries = carried(stretch, [{ stretch: "S3", kind: "main", circuit: null }, { stretch: "S3", kind: "lateral", circuit: "C1" }, { stretch: "S4", kind: "service", circuit: null }], features);
    expect(carries).toEqual(["main", "C1", "wire"]);
    expect(fixedTrench("FT1", stretch, carries, "").properties).toEqual({ kind: "fixed_trench", carries: "main, C1, wire" });
    expect(fixedTrench("FT1", stretch, carries, "spade").properties.method).toBe("spade");
  });

  it("stays chosen in the next plan, where it lay, under its new number", () => {
    const before = [{ id: "S1", path: [[0, 0], [10, 0]] as [number, number][] }, { id: "S2", path: [[0, 5], [10, 5]] as [number, number][] }];
    const after = [{ id: "S1", path: [[0, 5], [10, 5]] as [number, number][] }, { id: "S2", path: [[0, 1], [4, 1], [10, 1]] as [number, number][] }];
    expect(followed(["stretch:S2"], before, after)).toEqual(["stretch:S1"]);
    expect(followed(["stretch:S1"], before, after)).toEqual(["stretch:S2"]);
    expect(followed(["stretch:S1", "S1", "stretch:S2"], before, after)).toEqual(["stretch:S2", "S1", "stretch:S1"]);
    expect(followed(["stretch:S1"], before, [{ id: "S9", path: [[0, 80], [10, 80]] }])).toEqual([]);
    expect(followed(["stretch:S7"], before, after)).toEqual([]);
    expect(followed(["stretch:S1"], before, [])).toEqual([]);
  });

  it("is chosen no more once the plan has none of its name and nothing near it, as is a feature that was taken out", () => {
    expect(present(["stretch:S1", "S1", "stretch:S9", "H7"], [{ id: "S1" }], [{ id: "S1" }])).toEqual(["stretch:S1", "S1"]);
    expect(present(["stretch:S1"], [], [])).toEqual([]);
  });

  it("is told from a feature of the same id", () => {
    expect(stretchIn(stretchRef("S1"))).toBe("S1");
    expect(stretchIn("S1")).toBeNull();
  });
});

describe("the steps to a plan", () => {
  it("tick themselves as things are drawn", () => {
    const open = (list: Feature[]) => stages(list).flatMap((stage) => stage.steps).filter((step) => !step.done && !step.optional).map((step) => step.id);
    expect(open([])).toEqual(["boundary", "surface", "soil", "house", "access", "source", "backflow", "controller", "valves", "heads"]);
    const cover: Feature = { type: "Feature", id: "U", geometry: null, properties: { kind: "surface", surface: "bed" } };
    expect(open([cover, point("D", { kind: "drip" })])).not.toContain("heads");
    expect(open([cover])).not.toContain("surface");
    expect(open([area("A", "bed")])).toContain("surface");
  });
});

describe("a picture's scale", () => {
  it("follows from a distance, upright, with pixels counting down", () => {
    expect(knownByDistance([[0, 0], [100, 50]], Math.hypot(100, 50) / 10, [5, 7])).toBe("0,0,5,7;100,50,15,2");
  });

  it("is refused without two different places", () => {
    expect(knownByDistance([[1, 1], [1, 1]], 5, [0, 0])).toBeNull();
    expect(knownByDistance([[0, 0], [9, 9]], 0, [0, 0])).toBeNull();
    expect(knownByPlaces([[0, 0], [9, 9]], [[1, 1], [1, 1]])).toBeNull();
    expect(knownByPlaces([[0, 0], [9, 9]], [[1, 1], [Number.NaN, 1]])).toBeNull();
  });
});
