import { describe, expect, it } from "vitest";
import type { Feature, Geometry, KindView, Place } from "../../src/api/contract";
import { copies, defaults, edgeRefs, freshId, holds, moved, movedTo, refs, shapeOf, spent, split, withNewPlace, withoutPlace, withPlace } from "../../src/drawing/edits";
import { area, lengthOf } from "../../src/lib/geometry";
import { seeded } from "./seeded";

const feature = (geometry: Geometry | null, properties: Record<string, unknown> = { kind: "surface" }, id = "U1"): Feature => ({ type: "Feature", id, geometry, properties });
const square: Place[] = [[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]];
const areaOf = (geometry: Geometry) => geometry.type === "Polygon" ? Math.abs(area(geometry.coordinates[0]!)) - geometry.coordinates.slice(1).reduce((sum, hole) => sum + Math.abs(area(hole)), 0) : 0;

describe("moving and reshaping", () => {
  it("moves by a distance and to a place", () => {
    expect(moved(feature({ type: "Point", coordinates: [0.1, 0.2] }), [0.2, 0.1]).geometry).toEqual({ type: "Point", coordinates: [0.3, 0.3] });
    const odd: Place = [1.23456789, 2.3456789];
    const line = movedTo(feature({ type: "LineString", coordinates: [[0, 0], [5, 0]] }), [0, 0], odd);
    expect(line.geometry).toEqual({ type: "LineString", coordinates: [odd, [6.23457, 2.34568]] });
    expect(moved(feature(null), [1, 1]).geometry).toBeNull();
  });

  it("keeps rings closed", () => {
    const area = feature({ type: "Polygon", coordinates: [square] });
    for (const { ref } of refs(area.geometry!)) {
      const ring = (withPlace(area, ref, [3, 3]).geometry as { coordinates: Place[][] }).coordinates[0]!;
      expect(ring[0]).toEqual(ring.at(-1));
      expect(ring).toHaveLength(5);
      const less = (withoutPlace(area, ref)!.geometry as { coordinates: Place[][] }).coordinates[0]!;
      expect(less[0]).toEqual(less.at(-1));
      expect(less).toHaveLength(4);
    }
    for (const { ref, at } of edgeRefs(area.geometry!)) {
      const ring = (withNewPlace(area, ref, at).geometry as { coordinates: Place[][] }).coordinates[0]!;
      expect(ring).toHaveLength(6);
      expect(ring[0]).toEqual(ring.at(-1));
    }
  });

  it("leaves enough corners", () => {
    expect(withoutPlace(feature({ type: "Polygon", coordinates: [[[0, 0], [1, 0], [0, 1], [0, 0]]] }), { chain: 0, at: 1 })).toBeNull();
    expect(withoutPlace(feature({ type: "LineString", coordinates: [[0, 0], [1, 0]] }), { chain: 0, at: 0 })).toBeNull();
    expect(withoutPlace(feature({ type: "MultiPoint", coordinates: [[0, 0], [1, 0], [2, 0]] }), { chain: 0, at: 0 })?.geometry).toEqual({ type: "MultiPoint", coordinates: [[1, 0], [2, 0]] });
  });

  it("makes shapes of what was drawn, and none of too little", () => {
    expect(shapeOf("Polygon", [[0, 0], [1, 0]])).toBeNull();
    expect(shapeOf("Polygon", [[0, 0], [1, 0], [2, 0]])).toBeNull();
    expect(shapeOf("Polygon", [[0, 0], [1, 0], [1, 1], [0, 0]])).toEqual({ type: "Polygon", coordinates: [[[0, 0], [1, 0], [1, 1], [0, 0]]] });
    expect(shapeOf("LineString", [[0, 0], [0, 0]])).toBeNull();
    expect(shapeOf("Point", [])).toBeNull();
  });
});

describe("splitting", () => {
  it("cuts a line where it is crossed", () => {
    const parts = split({ type: "LineString", coordinates: [[0, 0], [10, 0], [10, 10]] }, [[4, -1], [4, 1]]);
    expect(parts).toEqual([{ type: "LineString", coordinates: [[0, 0], [4, 0]] }, { type: "LineString", coordinates: [[4, 0], [10, 0], [10, 10]] }]);
    expect(split({ type: "LineString", coordinates: [[0, 0], [10, 0]] }, [[0, -1], [0, 1]])).toBeNull();
    expect(split({ type: "Point", coordinates: [0, 0] }, [[0, -1], [0, 1]])).toBeNull();
  });

  it("cuts an area from edge to edge, through corners, and along a bent line", () => {
    const half = split({ type: "Polygon", coordinates: [square] }, [[5, -1], [5, 11]])!;
    expect(half.map(areaOf)).toEqual([50, 50]);
    const corner = split({ type: "Polygon", coordinates: [square] }, [[-1, -1], [11, 11]])!;
    expect(corner.map(areaOf)).toEqual([50, 50]);
    const bent = split({ type: "Polygon", coordinates: [square] }, [[5, -1], [5, 5], [11, 5]])!;
    expect(bent.map(areaOf).sort((a, b) => a - b)).toEqual([25, 75]);
    expect(split({ type: "Polygon", coordinates: [square] }, [[5, -1], [5, 5]])).toBeNull();
    expect(split({ type: "Polygon", coordinates: [square] }, [[-1, -1], [-1, 11]])).toBeNull();
  });

  it("keeps holes with their part and cuts none", () => {
    const hole: Place[] = [[1, 1], [2, 1], [2, 2], [1, 2], [1, 1]];
    const parts = split({ type: "Polygon", coordinates: [square, hole] }, [[5, -1], [5, 11]])!;
    expect(parts.map((part) => (part as { coordinates: Place[][] }).coordinates.length).sort()).toEqual([1, 2]);
    expect(split({ type: "Polygon", coordinates: [square, hole] }, [[1.5, -1], [1.5, 11]])).toBeNull();
  });

  it("loses neither area nor length, however it cuts", () => {
    const random = seeded(13);
    let cut = 0;
    for (let i = 0; i < 400; i += 1) {
      const count = 3 + Math.floor(random() * 8);
      // Corners in order around a middle: a star-shaped area never crosses itself.
      const ring: Place[] = Array.from({ length: count }, (_, k) => {
        const turn = ((k + random() * 0.8) / count) * 2 * Math.PI;
        const reach = 5 + random() * 10;
        return [Math.cos(turn) * reach, Math.sin(turn) * reach];
      });
      const whole: Geometry = { type: "Polygon", coordinates: [[...ring, ring[0]!]] };
      const cutter: Place[] = [[random() * 60 - 30, -40], [random() * 60 - 30, 40]];
      const parts = split(whole, cutter);
      if (parts === null) continue;
      cut += 1;
      expect(parts.reduce((sum, part) => sum + areaOf(part), 0)).toBeCloseTo(areaOf(whole), 2);
      for (const part of parts) expect(areaOf(part)).toBeGreaterThan(0);
      const line: Geometry = { type: "LineString", coordinates: ring };
      const lines = split(line, cutter);
      if (lines !== null) expect(lines.reduce((sum, part) => sum + lengthOf((part as { coordinates: Place[] }).coordinates), 0)).toBeCloseTo(lengthOf(ring), 3);
    }
    expect(cut).toBeGreaterThan(100);
  });
});

describe("new features", () => {
  it("get ids that nobody has", () => {
    const taken = new Set(["H01", "H02", "T1"]);
    expect(freshId("H", taken)).toBe("H03");
    expect(freshId("H", taken)).toBe("H04");
    expect(freshId("T", taken)).toBe("T2");
    expect(freshId("X", new Set())).toBe("X1");
  });

  it("are copied with their references among each other", () => {
    const taken = new Set(["C1", "V1"]);
    const made = copies([feature(null, { kind: "circuit", name: "front" }, "C1"), feature({ type: "Point", coordinates: [1, 1] }, { kind: "valve", circuit: "C1" }, "V1")], taken, [1, 0]);
    expect(made.map((one) => one.id)).toEqual(["C2", "V2"]);
    expect(made[1]!.properties.circuit).toBe("C2");
    expect(made[1]!.geometry).toEqual({ type: "Point", coordinates: [2, 1] });
  });

  it("take over what the last of their kind has, else the first choice", () => {
    const property = { label: "", about: "", choices: [], unit: "", start: "", of: "", within: "", required: true };
    const head: KindView = {
      name: "head", label: "head", group: "system", geometry: ["Point"], about: "",
      properties: [{ ...property, name: "circuit", type: "feature", of: "circuit", required: false }, { ...property, name: "flow", type: "quantity", unit: "1.8 gpm", start: "1.8 gpm" }],
    };
    expect(defaults(head, "H2", [], {})).toEqual({ kind: "head", flow: "1.8 gpm" });
    const before = feature({ type: "Point", coordinates: [0, 0] }, { kind: "head", circuit: "C4", flow: "0.9 gpm", note: "by the gate" }, "H1");
    expect(defaults(head, "H2", [before], {})).toEqual({ kind: "head", circuit: "C4", flow: "0.9 gpm" });
    const valve: KindView = { name: "valve", label: "valve", group: "system", geometry: ["Point"], about: "", properties: [{ ...property, name: "circuit", type: "feature", of: "circuit" }] };
    const circuits = ["C1", "C2"].map((id) => feature(null, { kind: "circuit" }, id));
    expect(defaults(valve, "V2", [...circuits, feature(null, { kind: "valve", circuit: "C1" }, "V1")], {})).toEqual({ kind: "valve", circuit: "C2" });
    const surface: KindView = { name: "surface", label: "", group: "ground", geometry: ["Polygon"], about: "", properties: [{ ...property, name: "surface", type: "choice", choices: [{ value: "lawn_kept", label: "", with: [] }] }] };
    expect(defaults(surface, "U1", [], { surface: "bed" })).toEqual({ kind: "surface", surface: "bed" });
  });

  it("take over what was corrected in the last, once what was answered beforehand has been drawn", () => {
    const property = { label: "", about: "", choices: [], unit: "", start: "", of: "", within: "", required: true };
    const head: KindView = {
      name: "head", label: "head", group: "system", geometry: ["Point"], about: "",
      properties: [{ ...property, name: "flow", type: "quantity" }, { ...property, name: "sort", type: "choice" }, { ...property, name: "name", type: "text" }],
    };
    const answered = { flow: "1.8 gpm", sort: "spray", name: "Front" };
    const first = feature(null, defaults(head, "H1", [], answered), "H1");
    const corrected = { ...first, properties: { ...first.properties, flow: "0.9 gpm" } };
    expect(first.properties.flow).toBe("1.8 gpm");
    expect(spent(head, answered)).toEqual({ sort: "spray", name: "Front" });
    expect(defaults(head, "H2", [corrected], spent(head, answered))).toEqual({ kind: "head", flow: "0.9 gpm", sort: "spray", name: "Front" });
    // Of the ground nothing is taken over, so what was answered stays.
    const tree: KindView = { ...head, name: "tree", group: "ground", properties: [{ ...property, name: "trunk", type: "quantity" }] };
    expect(spent(tree, { trunk: "9 in" })).toEqual({ trunk: "9 in" });
  });

  it("are in a box wholly or not at all", () => {
    expect(holds([0, 0, 10, 10], { type: "LineString", coordinates: [[1, 1], [9, 9]] })).toBe(true);
    expect(holds([0, 0, 10, 10], { type: "LineString", coordinates: [[1, 1], [11, 9]] })).toBe(false);
    expect(holds([0, 0, 10, 10], null)).toBe(false);
  });
});
