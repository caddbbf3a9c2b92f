/** The job as this tab sees it, kept in step with the file through the server. */
import { get, listen, post, Refused } from "../api/client";
import type * as C from "../api/contract";

export type Feature = C.Feature;

/** Applies the steps of a change to features and header. */
export function applied(job: C.JobView, ops: C.Op[]): C.JobView {
  let features = job.features;
  let header = job.header;
  for (const op of ops) {
    if (op.op === "put") {
      const at = features.findIndex((feature) => feature.id === op.feature.id);
      // Of two surfaces the later one counts, so what comes back comes back to its place.
      features = at < 0 ? features.toSpliced(op.at ?? features.length, 0, op.feature) : features.with(at, op.feature);
    } else if (op.op === "remove") {
      features = features.filter((feature) => feature.id !== op.id);
    } else {
      header = withValue(header, op.path, op.value);
    }
  }
  return { ...job, features, header };
}

function withValue(header: Record<string, unknown>, path: string, value: unknown): Record<string, unknown> {
  const [first, ...rest] = path.slice(1).split("/").map((part) => part.replaceAll("~1", "/").replaceAll("~0", "~"));
  if (first === undefined) return header;
  const copy = { ...header };
  if (rest.length > 0) {
    const inner = copy[first];
    const object = typeof inner === "object" && inner !== null ? (inner as Record<string, unknown>) : {};
    copy[first] = withValue(object, `/${rest.map((part) => part.replaceAll("~", "~0").replaceAll("/", "~1")).join("/")}`, value);
  } else if (value === null) {
    delete copy[first];
  } else {
    copy[first] = value;
  }
  return copy;
}

const alike = (a: unknown, b: unknown) => a === b || JSON.stringify(a) === JSON.stringify(b);

/** The job with whatever is as it was before taken from there: who shows it need not show it anew. */
export function kept(before: C.JobView, now: C.JobView): C.JobView {
  const features = now.features.map((feature, i) => {
    const old = before.features[i];
    return old !== undefined && alike(old, feature) ? old : feature;
  });
  const same = features.length === before.features.length && features.every((feature, i) => feature === before.features[i]);
  const job = { ...now, features: same ? before.features : features };
  const keys = Object.keys(now) as (keyof C.JobView)[];
  for (const key of keys) if (key !== "features" && alike(before[key], now[key])) Object.assign(job, { [key]: before[key] });
  return keys.every((key) => job[key] === before[key]) ? before : job;
}

class Session {
  job = $state.raw<C.JobView | null>(null);
  plan = $state.raw<C.PlanView | null>(null);
  kinds = $state.raw<C.KindView[]>([]);
  /** What the program is doing about the plan; empty when it is at rest. */
  planning = $state("");
  /** Why there is no plan of the job as it is. */
  unplanned = $state.raw<C.Finding[]>([]);
  /** Changes that are not in the file yet. */
  pending = $state(0);
  connected = $state(false);
  /** Counts how often variants or pictures have changed. */
  looked = $state(0);
  /** What the last refused request said. */
  problem = $state.raw<C.Problem | null>(null);
  /** Ids of the chosen features or stretches. */
  selected = $state.raw<string[]>([]);
  /** The figure whose working is shown. */
  figure = $state<string | null>(null);
  readonly tab = [...crypto.getRandomValues(new Uint32Array(3))].map((n) => n.toString(36)).join("");
  /** Changes of this tab that the file is not known to have, in order; the job shows them on top of it. */
  #mine: { ops: C.Op[]; version: number | null }[] = $state.raw([]);
  /** Whether the plan on screen is older than the job. */
  stale = $derived(this.plan !== null && this.job !== null && (this.plan.version !== this.job.version || this.#mine.length > 0));

  /** The job as the file has it. */
  #base: C.JobView | null = null;
  /** The newest version that the server has spoken of. */
  #heard = 0;
  /** One change is sent at a time, or a later one could overtake it. */
  #queue: Promise<unknown> = Promise.resolve();
  #stop: (() => void) | null = null;
  #plans = 0;

  async open(): Promise<void> {
    this.kinds = await get<C.KindView[]>("kinds");
    await this.reload();
    this.#stop = listen({
      changed: (event) => this.#changed(event),
      planning: (event) => {
        this.planning = event.words;
        // What stood in the way may be mended; if it is not, the program says so again.
        if (event.words !== "") this.#stands([]);
      },
      planned: (plan) => {
        this.#stands([]);
        this.#plans += 1;
        this.#lay(plan);
      },
      unplanned: (event) => {
        this.planning = "";
        this.#stands(event.findings);
      },
      opened: () => {
        const again = !this.connected;
        this.connected = true;
        if (again) void this.reload();
      },
      looked: () => {
        this.looked += 1;
        void this.reload();
      },
      lost: () => (this.connected = false),
    });
  }

  close(): void {
    this.#stop?.();
  }

  async reload(): Promise<void> {
    // An answer from before an event that has been heard meanwhile is too old. After a few of them it is not the
    // answers that are old: another file is open, and its versions count anew.
    let job = await get<C.JobView>("job");
    for (let tries = 0; job.version < this.#heard && tries < 3; tries += 1) job = await get<C.JobView>("job");
    this.#heard = job.version;
    this.#base = job;
    this.#show();
    const [unplanned] = await Promise.all([get<C.Unplanned | null>("unplanned"), this.loadPlan()]);
    this.#stands(unplanned?.findings ?? []);
  }

  /** What stands against a plan of the job as it is; nothing after nothing is no change, for which all would be painted anew. */
  #stands(findings: C.Finding[]): void {
    if (findings.length > 0 || this.unplanned.length > 0) this.unplanned = findings;
  }

  #show(): void {
    const base = this.#base;
    if (base === null) return;
    const open = this.#mine.filter((one) => one.version === null || one.version > base.version);
    if (open.length < this.#mine.length) this.#mine = open;
    const job = open.reduce((job, one) => applied(job, one.ops), base);
    this.job = this.job === null ? job : kept(this.job, job);
    if (open.length === 0) this.#base = this.job;
  }

  async loadPlan(): Promise<void> {
    const asked = ++this.#plans;
    const plan = await get<C.PlanView | null>("plan");
    // A later answer may have overtaken this one.
    if (asked === this.#plans && plan !== null) this.#lay(plan);
  }

  #lay(plan: C.PlanView): void {
    this.plan = plan;
    if (plan.quality === "full" && plan.version === this.job?.version) this.planning = "";
  }

  /**
   * Puts a change into the file. It shows at once and is taken back if the file refuses it. Changes of one gesture that
   * follow each other are undone together.
   */
  async edit(label: string, ops: C.Op[], gesture?: string): Promise<boolean> {
    if (this.job === null || ops.length === 0) return true;
    const mine: { ops: C.Op[]; version: number | null } = { ops, version: null };
    this.#mine = [...this.#mine, mine];
    this.#show();
    const edited = await this.#ask("edits", { label, tab: this.tab, ops, ...(gesture === undefined ? {} : { gesture }) });
    if (edited === null) this.#mine = this.#mine.filter((one) => one !== mine);
    else mine.version = edited.version;
    this.#show();
    return edited !== null;
  }

  undo = async () => (await this.#ask("undo", { tab: this.tab })) !== null;
  redo = async () => (await this.#ask("redo", { tab: this.tab })) !== null;
  returnTo = async (version: number) => (await this.#ask("return", { tab: this.tab, version })) !== null;

  #ask(path: string, body: unknown): Promise<C.Edited | null> {
    this.pending += 1;
    const sent = this.#queue.then(() => this.#send(path, body));
    this.#queue = sent;
    return sent;
  }

  async #send(path: string, body: unknown): Promise<C.Edited | null> {
    try {
      return await post<C.Edited>(path, body);
    } catch (error) {
      this.problem =
        error instanceof Refused
          ? error.problem
          : { what: "The program does not answer; the last change is not in the file.", mend: "start it again with `spadework open`", findings: [] };
      if (error instanceof Refused) await this.reload().catch(() => undefined);
      return null;
    } finally {
      this.pending -= 1;
    }
  }

  #changed(event: C.Changed): void {
    this.#heard = Math.max(this.#heard, event.version);
    const base = this.#base;
    if (base === null || event.version <= base.version) return;
    if (event.version !== base.version + 1) {
      void this.reload().catch(() => undefined);
      return;
    }
    this.#base = { ...applied(base, event.ops), version: event.version, findings: event.findings, undo: event.undo, redo: event.redo };
    this.#show();
  }

  feature(id: string): C.Feature | undefined {
    return this.job?.features.find((feature) => feature.id === id);
  }

  /** An id that no feature has: the prefix and the next number. */
  freshId(prefix: string): string {
    const taken = new Set(this.job?.features.map((feature) => feature.id));
    let number = 1;
    while (taken.has(`${prefix}${number}`)) number += 1;
    return `${prefix}${number}`;
  }
}

export const session = new Session();
