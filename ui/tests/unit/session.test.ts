import { beforeEach, describe, expect, it, vi } from "vitest";
import type { Changed, Feature, JobView, Op } from "../../src/api/contract";

// A server that is told when to answer and when to send news.
const feature = (id: string, x: number): Feature => ({ type: "Feature", id, geometry: { type: "Point", coordinates: [x, 0] }, properties: { kind: "head" } });
let file: JobView;
let waiting: { path: string; body: unknown; answer: (status: number, body: unknown) => void }[] = [];
let hear: Map<string, (event: MessageEvent<string>) => void>;

const settle = async () => {
  for (let i = 0; i < 12; i += 1) await Promise.resolve();
  await new Promise((done) => setTimeout(done, 0));
};

beforeEach(() => {
  file = { version: 1, file: "job.json", header: {}, length_unit: "ft", units: "us", features: [feature("H1", 0), feature("H2", 5)], findings: [], undo: null, redo: null, pictures: [] };
  waiting = [];
  hear = new Map();
  vi.stubGlobal("document", { querySelector: () => null });
  vi.stubGlobal("EventSource", class {
    addEventListener(name: string, then: (event: MessageEvent<string>) => void) {
      hear.set(name, then);
    }
    close() {}
  });
  vi.stubGlobal("fetch", (url: string, options?: { body?: string }) => {
    const path = url.replace("api/", "");
    if (path === "job") return Promise.resolve(new Response(JSON.stringify(file)));
    if (path === "kinds") return Promise.resolve(new Response("[]"));
    if (options?.body === undefined) return Promise.resolve(new Response(null, { status: 204 }));
    return new Promise((done) => waiting.push({ path, body: JSON.parse(options?.body ?? "null"), answer: (status, body) => done(new Response(JSON.stringify(body), { status })) }));
  });
});

async function opened() {
  vi.resetModules();
  const { session } = await import("../../src/lib/session.svelte");
  await session.open();
  return session;
}

/** The file takes a change; its news is sent by hand. */
function take(ops: Op[], tab = ""): Changed {
  for (const op of ops) {
    if (op.op === "put") file.features = [...file.features.filter((one) => one.id !== op.feature.id), op.feature];
    if (op.op === "remove") file.features = file.features.filter((one) => one.id !== op.id);
  }
  file = { ...file, version: file.version + 1 };
  return { version: file.version, label: "", tab, kind: "edit", ops, findings: [], undo: null, redo: null };
}
const tell = (event: Changed) => hear.get("changed")!({ data: JSON.stringify(event) } as MessageEvent<string>);
const ids = (session: { job: JobView | null }) => session.job?.features.map((one) => one.id).sort().join();

describe("the job as a tab sees it", () => {
  it("does not bring back what was removed when the news of earlier changes comes late", async () => {
    const session = await opened();
    const put: Op[] = [{ op: "put", feature: feature("H3", 9) }];
    const remove: Op[] = [{ op: "remove", id: "H3" }];
    const first = session.edit("Drew H3", put);
    const second = session.edit("Removed H3", remove);
    expect(ids(session)).toBe("H1,H2");
    await settle();
    // One after the other: the second is not sent before the first is answered.
    expect(waiting.map((one) => one.path)).toEqual(["edits"]);
    const news = take(put);
    waiting[0]!.answer(200, { version: 2 });
    await settle();
    tell(news);
    expect(ids(session)).toBe("H1,H2");
    expect(waiting).toHaveLength(2);
    const later = take(remove);
    waiting[1]!.answer(200, { version: 3 });
    await Promise.all([first, second]);
    tell(later);
    expect(ids(session)).toBe("H1,H2");
    expect(session.job?.version).toBe(3);
    session.close();
  });

  it("takes back what the file refuses and keeps what others did", async () => {
    const session = await opened();
    const sent = session.edit("Moved H1", [{ op: "put", feature: feature("H1", 77) }]);
    tell(take([{ op: "put", feature: feature("H9", 1) }], "another"));
    expect(ids(session)).toBe("H1,H2,H9");
    expect(session.feature("H1")?.geometry).toEqual({ type: "Point", coordinates: [77, 0] });
    await settle();
    waiting[0]!.answer(422, { what: "no", mend: "try again", findings: [] });
    expect(await sent).toBe(false);
    expect(session.feature("H1")?.geometry).toEqual({ type: "Point", coordinates: [0, 0] });
    expect(ids(session)).toBe("H1,H2,H9");
    expect(session.problem?.what).toBe("no");
    session.close();
  });

  it("asks for the whole job when it has missed something", async () => {
    const session = await opened();
    take([{ op: "put", feature: feature("H5", 1) }]);
    tell(take([{ op: "put", feature: feature("H6", 1) }]));
    await settle();
    expect(ids(session)).toBe("H1,H2,H5,H6");
    expect(session.job?.version).toBe(3);
    session.close();
  });

  it("keeps what is as it was, so that nobody shows it anew", async () => {
    const session = await opened();
    const still = session.feature("H2");
    const put: Op[] = [{ op: "put", feature: feature("H1", 77) }];
    const sent = session.edit("Moved H1", put);
    const { features, findings } = session.job!;
    expect(session.feature("H2")).toBe(still);
    await settle();
    const before = session.job;
    waiting[0]!.answer(200, { version: 2 });
    await sent;
    expect(session.job).toBe(before);
    file.features = file.features.map((one) => (one.id === "H1" ? feature("H1", 77) : one));
    file = { ...file, version: 2 };
    tell({ version: 2, label: "Moved H1", tab: session.tab, kind: "edit", ops: JSON.parse(JSON.stringify(put)) as Op[], findings: [], undo: "Moved H1", redo: null });
    expect(session.job?.version).toBe(2);
    expect(session.job?.undo).toBe("Moved H1");
    expect(session.job?.features).toBe(features);
    expect(session.job?.findings).toBe(findings);
    session.close();
  });
});
