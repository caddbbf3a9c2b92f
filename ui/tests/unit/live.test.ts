import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Op } from "../../src/api/contract";
import { Live } from "../../src/drawing/live";
import { session } from "../../src/lib/session.svelte";

let sent: { ops: Op[]; gesture: string | undefined }[];
let answer: (well: boolean) => void;
let undone: number;
let x: number;
const ops = (): Op[] => [{ op: "put", feature: { type: "Feature", id: "H1", geometry: { type: "Point", coordinates: [x, 0] }, properties: {} } }];
const places = () => sent.map(({ ops: [op] }) => (op?.op === "put" && op.feature.geometry?.type === "Point" ? op.feature.geometry.coordinates[0] : null));

beforeEach(() => {
  vi.useFakeTimers();
  [sent, undone, x] = [[], 0, 0];
  vi.spyOn(session, "edit").mockImplementation((_label, steps, gesture) => {
    sent.push({ ops: steps, gesture });
    return new Promise((done) => (answer = done));
  });
  session.undo = async () => (undone += 1) > 0;
});
afterEach(() => vi.useRealTimers());

const move = (live: Live, to: number) => {
  x = to;
  live.moved();
};

describe("a gesture that the plan answers", () => {
  it("sends the newest only, one at a time, as one gesture", async () => {
    const live = new Live("Moved head H1", ops);
    for (let i = 1; i <= 5; i += 1) move(live, i);
    expect(sent).toHaveLength(0);
    await vi.advanceTimersByTimeAsync(200);
    expect(places()).toEqual([5]);
    for (let i = 6; i <= 9; i += 1) move(live, i);
    await vi.advanceTimersByTimeAsync(1000);
    // Nothing more until the first is answered.
    expect(places()).toEqual([5]);
    answer(true);
    await vi.advanceTimersByTimeAsync(200);
    expect(places()).toEqual([5, 9]);
    x = 12;
    void live.end(ops());
    expect(places()).toEqual([5, 9, 12]);
    expect(new Set(sent.map((one) => one.gesture)).size).toBe(1);
    answer(true);
    move(live, 13);
    await vi.advanceTimersByTimeAsync(1000);
    expect(sent).toHaveLength(3);
  });

  it("does not send at its end what is there already, and another gesture has another name", async () => {
    const one = new Live("", ops);
    move(one, 1);
    await vi.advanceTimersByTimeAsync(200);
    answer(true);
    expect(await one.end(ops())).toBe(true);
    expect(sent).toHaveLength(1);
    const other = new Live("", ops);
    void other.end(ops());
    expect(sent[1]!.gesture).not.toBe(sent[0]!.gesture);
  });

  it("takes back what was sent when it is given up, and nothing else", async () => {
    const quick = new Live("", ops);
    move(quick, 1);
    await quick.cancel();
    await vi.advanceTimersByTimeAsync(1000);
    expect(sent).toHaveLength(0);
    expect(undone).toBe(0);
    const slow = new Live("", ops);
    move(slow, 1);
    await vi.advanceTimersByTimeAsync(200);
    await slow.cancel();
    expect(undone).toBe(1);
  });

  it("stops asking once it is refused, and tries once more at its end", async () => {
    const live = new Live("", ops);
    move(live, 1);
    await vi.advanceTimersByTimeAsync(200);
    answer(false);
    await vi.advanceTimersByTimeAsync(0);
    move(live, 2);
    await vi.advanceTimersByTimeAsync(1000);
    expect(sent).toHaveLength(1);
    void live.end(ops());
    expect(places()).toEqual([1, 2]);
  });
});
