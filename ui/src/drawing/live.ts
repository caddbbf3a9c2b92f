/** Sends what a gesture has come to while it goes on, so that the plan answers: one at a time, not too often, the newest only. */
import type { Op } from "../api/contract";
import { session } from "../lib/session.svelte";

/** Between one change of a gesture and the next. */
const APART_MS = 120;
/** So long a change waits for the plan of the one before: else each would break off the planning that the last began. */
const PLAN_MS = 1500;
const LOOK_MS = 30;

let gestures = 0;

export class Live {
  // The file takes back changes of one gesture together.
  readonly #gesture = `gesture-${(gestures += 1)}`;
  #timer: ReturnType<typeof setTimeout> | null = null;
  #under = false;
  #again = false;
  #over = false;
  #refused = false;
  #last = "";

  constructor(readonly label: string, readonly ops: () => Op[]) {}

  /** The gesture has come to something new. */
  moved(): void {
    if (this.#over || this.#refused) return;
    if (this.#under) this.#again = true;
    else this.#timer ??= setTimeout(() => void this.#send(), APART_MS);
  }

  async #send(): Promise<void> {
    this.#timer = null;
    if (this.#over) return;
    this.#under = true;
    this.#again = false;
    this.#refused = !(await this.#put(this.ops()));
    for (let waited = 0; session.stale && waited < PLAN_MS && !this.#over; waited += LOOK_MS) await new Promise((done) => setTimeout(done, LOOK_MS));
    this.#under = false;
    if (this.#again) this.moved();
  }

  #put(ops: Op[]): Promise<boolean> {
    this.#last = JSON.stringify(ops);
    return session.edit(this.label, ops, this.#gesture);
  }

  #stop(): void {
    this.#over = true;
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
  }

  /** The gesture is over; what it came to goes into the file unless it is there already. */
  end(ops: Op[]): Promise<boolean> {
    this.#stop();
    return JSON.stringify(ops) === this.#last && !this.#refused ? Promise.resolve(true) : this.#put(ops);
  }

  /** The gesture is given up; what was sent of it is taken back. */
  async cancel(): Promise<void> {
    this.#stop();
    if (this.#last !== "" && !this.#refused) await session.undo();
  }
}
