import { beforeEach, describe, expect, it, vi } from "vitest";
import type { Feature, Geometry, JobView, KindView, Op, Place, PlanView } from "../../src/api/contract";
import type { Gesture } from "../../src/drawing/map";
import { sceneOf, type Scene } from "../../src/drawing/paint/scene";
import { drawing } from "../../src/drawing/state.svelte";
import { Tools } from "../../src/drawing/tools.svelte";
import { applied, session } from "../../src/lib/session.svelte";

vi.stubGlobal("matchMedia", () => ({ matches: false }));

const feature = (id: string, kind: string, geometry: Geometry | null): Feature => ({ type: "Feature", id, geometry, properties: { kind } });
const square = (x: number, y: number, size: number): Geometry => ({ type: "Polygon", coordinates: [[[x, y], [x + size, y], [x + size, y + size], [x, y + size], [x, y]]] });
const kind = (name: string, geometry: KindView["geometry"], group: KindView["group"] = "ground"): KindView => ({ name, label: name, group, geometry, about: "", properties: [] });

let sent: { label: string; ops: Op[] }[];
let scene: Scene;
let tools: Tools;

beforeEach(() => {
  sent = [];
  const job = {
    version: 1, file: "", header: {}, length_unit: "ft", units: "us", findings: [], undo: null, redo: null, pictures: [],
    features: [feature("P1", "boundary", square(0, 0, 200)), feature("U1", "surface", square(50, 50, 40)), feature("H1", "head", { type: "Point", coordinates: [20, 20] }), feature("G1", "gate", { type: "LineString", coordinates: [[100, 0], [104, 0]] })],
  } as unknown as JobView;
  session.job = job;
  session.plan = null;
  session.selected = [];
  session.kinds = [kind("boundary", ["Polygon"]), kind("surface", ["Polygon", "null"]), kind("head", ["Point"], "system"), kind("gate", ["LineString"]), kind("keep_out", ["Polygon"], "decisions"), kind("circuit", ["null"], "system"), kind("cable", ["MultiPoint"], "system")];
  vi.spyOn(session, "edit").mockImplementation(async (label, ops) => {
    sent.push({ label, ops });
    session.job = applied(session.job!, ops);
    look();
    return true;
  });
  tools = new Tools({ scene: () => scene, resolution: () => 0.1, changed: (what) => what === "features" && look(), show: () => {}, cursor: () => {} });
  drawing.use("select");
  drawing.offset = "";
  look();
});

function look(): void {
  scene = sceneOf(session.job!, tools?.preview ?? new Map(), null);
  if (tools && tools.preview.size === 0) tools.sync(scene);
}
const at = (place: Place, more: Partial<Gesture> = {}): Gesture => ({ at: place, pixel: [place[0] * 10, -place[1] * 10], touch: false, shift: false, ctrl: false, pointers: 1, ...more });
const click = (place: Place, more: Partial<Gesture> = {}) => {
  tools.move(at(place, more));
  const taken = tools.down(at(place, more));
  if (taken) tools.up(at(place, more));
  tools.click(at(place, more));
};
const drag = (from: Place, to: Place, more: Partial<Gesture> = {}) => {
  if (!tools.down(at(from, more))) return false;
  tools.drag(at([(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], more));
  tools.drag(at(to, more));
  tools.up(at(to, more));
  return true;
};
const take = (tool: "draw" | "split" | "measure" | "select", name: string | null = null) => {
  drawing.use(tool, name);
  tools.taken();
};
const put = (i = sent.length - 1) => sent[i]!.ops.map((op) => (op.op === "put" ? op.feature : null)).filter((one) => one !== null);

describe("drawing", () => {
  it("places points one after the other, snapped to what is there", () => {
    take("draw", "head");
    click([30.3, 141.7]);
    click([50.4, 50.3]);
    expect(put(0)[0]).toMatchObject({ id: "H2", geometry: { type: "Point", coordinates: [30.3, 141.7] } });
    expect(put(1)[0]).toMatchObject({ id: "H3", geometry: { type: "Point", coordinates: [50, 50] } });
    expect(drawing.tool).toBe("draw");
    expect(session.selected).toEqual(["H3"]);
  });

  it("takes what was answered beforehand once, and then what was corrected in the last", async () => {
    session.kinds = session.kinds.map((one) => (one.name === "head" ? { ...one, properties: [{ name: "flow", label: "flow", about: "", type: "quantity", choices: [], unit: "1.8 gpm", start: "1.8 gpm", of: "", within: "", required: true }] } : one));
    drawing.use("draw", "head", { flow: "3 gpm" });
    tools.taken();
    click([30.3, 141.7]);
    await Promise.resolve();
    click([40.3, 141.7]);
    await Promise.resolve();
    const last = put(1)[0]!;
    expect([put(0)[0]!.properties.flow, last.properties.flow]).toEqual(["3 gpm", "3 gpm"]);
    session.job = applied(session.job!, [{ op: "put", feature: { ...last, properties: { ...last.properties, flow: "2 gpm" } } }]);
    click([50.3, 141.7]);
    expect(put(2)[0]!.properties.flow).toBe("2 gpm");
  });

  it("closes an area on its first corner, on Done and on two quick clicks", () => {
    for (const end of [() => click([120, 150.2]), () => tools.finish(), () => { click([131, 163]); tools.again(at([131, 163])); }]) {
      take("draw", "keep_out");
      for (const place of [[120, 150], [140, 150], [131, 163]] as Place[]) click(place);
      end();
      const ring = (put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]!;
      expect(ring).toHaveLength(4);
      expect(ring[0]).toEqual(ring[3]);
    }
    expect(sent.map((one) => one.label)).toEqual(["Drew keep_out KE1", "Drew keep_out KE2", "Drew keep_out KE3"].map((label) => label.replaceAll("KE", "KO")));
  });

  it("does not end a line on two quick clicks at different places", () => {
    take("draw", "keep_out");
    click([120, 150]);
    click([140, 150]);
    click([131, 163]);
    tools.again(at([131, 163]));
    expect(sent).toHaveLength(0);
    expect(tools.drawn).toHaveLength(3);
  });

  it("takes typed lengths, turns and places exactly", () => {
    take("draw", "keep_out");
    for (const text of ["110, 110", `15'6" at 0`, "10 < 90", `15'6" < 90`]) {
      tools.type(text);
      tools.enter();
      expect(tools.wrong).toBe("");
    }
    tools.enter();
    expect(put()[0]!.geometry).toEqual({ type: "Polygon", coordinates: [[[110, 110], [125.5, 110], [125.5, 120], [110, 120], [110, 110]]] });
  });

  it("places a typed length where the preview shows it, snapped as that is", () => {
    take("draw", "keep_out");
    tools.type("110, 110");
    tools.enter();
    // A little off level, as a hand is: the snap makes it level.
    tools.move(at([140, 110.3]));
    for (const text of ["30", "3"]) {
      tools.type(text);
      const shown = tools.next;
      expect(shown?.words).toBe("as typed, level");
      tools.enter();
      expect(tools.drawn.at(-1)).toEqual(shown?.at);
      expect(tools.drawn.at(-1)?.[1]).toBe(110);
      tools.move(at([170, 110.3]));
    }
    expect(tools.drawn).toEqual([[110, 110], [140, 110], [143, 110]]);
    // Free of any snap it goes the way of the pointer itself.
    tools.move(at([173, 150]));
    tools.type("50");
    const free = tools.next?.at;
    tools.enter();
    expect(tools.drawn.at(-1)).toEqual(free);
    expect(free).toEqual([173, 150]);
  });

  it("places a typed length that is short on the screen", () => {
    take("draw", "keep_out");
    for (const text of ["110, 110", "0.1 @ 90", "5 @ 0"]) {
      tools.type(text);
      tools.enter();
    }
    expect(tools.drawn).toEqual([[110, 110], [110, 110.1], [115, 110.1]]);
  });

  it("closes a rectangle with the snap to its first corner", () => {
    take("draw", "keep_out");
    for (const place of [[120, 150], [140, 160], [134, 172]] as Place[]) click(place);
    click([114.2, 161.7]);
    const [a, b, c, d] = tools.drawn as [Place, Place, Place, Place];
    const square = (one: Place, corner: Place, other: Place) => (one[0] - corner[0]) * (other[0] - corner[0]) + (one[1] - corner[1]) * (other[1] - corner[1]);
    for (const [one, corner, other] of [[a, b, c], [b, c, d], [c, d, a], [d, a, b]] as [Place, Place, Place][]) expect(square(one, corner, other)).toBeCloseTo(0, 2);
  });

  it("says what is wrong with what was typed, and keeps it", () => {
    take("draw", "keep_out");
    tools.type("5 furlongs");
    tools.enter();
    expect(tools.wrong).toContain("furlongs");
    expect(tools.typed).toBe("5 furlongs");
    tools.type("12");
    tools.enter();
    expect(tools.wrong).toContain("place to start from");
    tools.finish();
    expect(tools.wrong).toContain("three corners");
    expect(sent).toHaveLength(0);
  });

  it("ends a gate after its two posts and takes its width from them", () => {
    take("draw", "gate");
    click([150, 120]);
    click([154, 120.01]);
    expect(put()[0]).toMatchObject({ id: "GT1", properties: { kind: "gate", clear_width: "4 ft" } });
    expect(tools.drawn).toHaveLength(0);
  });

  it("gives what there is only once a new place", () => {
    take("draw", "boundary");
    for (const place of [[0, 0], [210, 0], [210, 210]] as Place[]) click(place);
    tools.finish();
    expect(put()[0]!.id).toBe("P1");
    expect(drawing.tool).toBe("select");
  });

  it("adds what has no place", async () => {
    take("draw", "circuit");
    expect(drawing.shape).toBe("null");
    await tools.create([]);
    expect(put()[0]).toMatchObject({ id: "C1", geometry: null });
  });

  it("goes back place by place and leaves off step by step", () => {
    take("draw", "keep_out");
    click([120, 150]);
    click([140, 150]);
    tools.undoPoint();
    expect(tools.drawn).toEqual([[120, 150]]);
    tools.cancel();
    expect(tools.drawn).toEqual([]);
    expect(drawing.tool).toBe("draw");
    tools.cancel();
    expect(drawing.tool).toBe("select");
  });
});

describe("choosing and moving", () => {
  it("chooses what is nearest, then what lies beneath", () => {
    click([20, 20.4]);
    expect(session.selected).toEqual(["H1"]);
    click([20, 20.4]);
    expect(session.selected).toEqual(["P1"]);
    click([70, 70]);
    expect(session.selected).toEqual(["U1"]);
    click([20, 20], { shift: true });
    expect(session.selected).toEqual(["U1", "H1"]);
  });

  it("drags a head at once, by what it was grabbed at, as one change", () => {
    expect(drag([20.3, 20.2], [33.3, 141.2])).toBe(true);
    expect(sent).toHaveLength(1);
    expect(sent[0]!.label).toBe("Moved head H1");
    expect(put()[0]!.geometry).toEqual({ type: "Point", coordinates: [33, 141] });
    expect(tools.preview.size).toBe(0);
  });

  it("leaves areas alone until they are chosen, and then moves them by their outline", () => {
    expect(drag([70, 70], [90, 90])).toBe(false);
    expect(drag([57, 50], [60, 60])).toBe(false);
    drawing.select(["U1"]);
    expect(drag([63, 50], [64.1, 23.7])).toBe(true);
    const ring = (put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]!;
    expect(ring[2]![0] - ring[0]![0]).toBeCloseTo(40, 6);
  });

  it("drags corners, and new ones out of edges", () => {
    drawing.select(["U1"]);
    drag([50, 50], [41.3, 33.2]);
    expect((put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]).toEqual([[41.3, 33.2], [90, 50], [90, 90], [50, 90], [41.3, 33.2]]);
    drag([90, 70], [111.3, 77.7]);
    expect(sent[1]!.label).toBe("Added a corner to surface U1");
    expect((put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]).toHaveLength(6);
  });

  it("gives up a drag when a second finger comes down, and on Escape", () => {
    expect(tools.down(at([20, 20], { touch: true }))).toBe(false);
    drawing.select(["H1"]);
    expect(tools.down(at([20, 20], { touch: true }))).toBe(true);
    tools.drag(at([30, 30], { touch: true }));
    tools.drag(at([30, 30], { touch: true, pointers: 2 }));
    tools.up(at([30, 30], { touch: true }));
    tools.down(at([20, 20]));
    tools.drag(at([30, 30]));
    tools.cancel();
    tools.up(at([30, 30]));
    expect(sent).toHaveLength(0);
    expect(tools.preview.size).toBe(0);
  });

  it("lets go of what it said of a stretch that the next plan does not have", () => {
    const stretch = { id: "S12", path: [[100, 100], [140, 100]], method: "spade", length: { text: "40'" }, depth: { text: "18 in" }, contents: "main" };
    const plan = { version: 1, methods: [], crossings: [], narrows: [], pipes: [], outlets: [], valves: [], findings: [], stretches: [stretch] } as unknown as PlanView;
    session.plan = plan;
    scene = sceneOf(session.job!, new Map(), plan);
    tools.move(at([120, 100.2]));
    expect(drawing.hovered).toBe("stretch:S12");
    expect(tools.hint()).toContain("S12");
    const next = { ...plan, stretches: [{ ...stretch, id: "S3", path: [[100, 150], [140, 150]] }] } as unknown as PlanView;
    session.plan = next;
    scene = sceneOf(session.job!, new Map(), next);
    tools.replanned();
    expect(drawing.hovered).not.toBe("stretch:S12");
    expect(tools.hint()).not.toContain("S12");
    // A finger that was lifted points at nothing.
    tools.move(at([120, 150], { touch: true }));
    expect(drawing.hovered).toBe("stretch:S3");
    tools.replanned();
    expect(drawing.hovered).toBeNull();
    expect(tools.hint()).not.toContain("S3");
  });

  it("says where something was picked, so that it can be told", () => {
    drawing.picked = null;
    click([150, 150]);
    click([20, 20.4]);
    expect(drawing.picked).toMatchObject({ at: [20, 20.4] });
  });

  it("takes all in a box", () => {
    drag([10, 10], [95, 95], { shift: true });
    expect([...session.selected].sort()).toEqual(["H1", "U1"]);
  });

  it("moves by keys, and puts a run of them into the file as one change", () => {
    drawing.select(["H1"]);
    for (let i = 0; i < 3; i += 1) tools.arrow(1, 0, false);
    tools.arrow(0, 1, true);
    expect(sent).toHaveLength(0);
    tools.flush();
    expect(put()[0]!.geometry).toEqual({ type: "Point", coordinates: [21.5, 25] });
    tools.arrow(1, 0, false);
    tools.cancel();
    tools.flush();
    expect(sent).toHaveLength(1);
  });

  it("works by the crosshair alone", () => {
    take("draw", "keep_out");
    tools.arrow(0, 0, false);
    expect(tools.cross).toEqual([100, 100]);
    tools.enter();
    for (let i = 0; i < 4; i += 1) tools.arrow(1, 0, true);
    tools.enter();
    for (let i = 0; i < 4; i += 1) tools.arrow(0, 1, true);
    tools.enter();
    tools.enter();
    expect(put()[0]!.geometry).toEqual({ type: "Polygon", coordinates: [[[100, 100], [120, 100], [120, 120], [100, 100]]] });
  });

  it("walks through corners, adds and removes them", async () => {
    drawing.select(["U1"]);
    tools.nextRef(1);
    tools.addRef();
    expect((put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]![1]).toEqual([70, 50]);
    await tools.remove();
    expect((put()[0]!.geometry as { coordinates: Place[][] }).coordinates[0]).toHaveLength(5);
    await tools.remove();
    expect(sent.at(-1)).toMatchObject({ label: "Removed surface U1", ops: [{ op: "remove", id: "U1" }] });
  });
});

describe("copies and cuts", () => {
  it("lays copies beside and at the pointer, never of what there is only once", async () => {
    drawing.select(["H1", "P1"]);
    await tools.duplicate();
    expect(put().map((one) => one.id)).toEqual(["H2"]);
    drawing.select(["H1"]);
    tools.copy();
    tools.move(at([33, 44]));
    await tools.paste();
    expect(put()[0]).toMatchObject({ id: "H3", geometry: { coordinates: [33, 44] } });
    drawing.select(["P1"]);
    await tools.duplicate();
    expect(sent).toHaveLength(2);
  });

  it("splits the area that is meant, as one change", async () => {
    take("split");
    click([62, 40]);
    click([62.2, 100]);
    tools.finish();
    await Promise.resolve();
    expect(sent[0]!.label).toBe("Split surface U1");
    expect(put().map((one) => one.id)).toEqual(["U1", "U2"]);
    drawing.select([]);
    take("split");
    click([150, 150]);
    click([160, 150]);
    tools.finish();
    expect(tools.wrong).toContain("cuts nothing");
  });

  it("measures without changing anything", () => {
    take("measure");
    for (const place of [[120, 150], [130, 150], [130, 160]] as Place[]) click(place);
    expect(tools.measured(tools.drawn)).toBe("20', area inside 50 sq ft");
    tools.finish();
    expect(sent).toHaveLength(0);
  });
});
