/** A program of its own for each test, with a job file in a folder of its own. */
import { type ChildProcess, spawn } from "node:child_process";
import { copyFileSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { test as base, expect, type Page } from "@playwright/test";

export type Place = [number, number];

/** What the page lends to tests and scripts. */
interface Lent {
  spadework: { toPixel(place: Place): Place; zoomTo(ids: string[]): void; session: { selected: string[] }; drawing: { tool: string; hint: string } };
}

const DEMOS = resolve("../crates/job/data");

export class Planner {
  #program: ChildProcess | null = null;
  address = "";

  constructor(
    readonly page: Page,
    readonly folder: string,
  ) {}

  /** A job of this project, or a new one. */
  async open(demo: string | null): Promise<void> {
    if (demo !== null) copyFileSync(join(DEMOS, demo), join(this.folder, "job.json"));
    await this.start(demo === null ? ["job.gpkg"] : ["job.json"]);
    await this.page.goto(this.address);
    await expect(this.page.getByLabel("Name of the job")).toBeEnabled();
  }

  async start(job: string[]): Promise<void> {
    const program = spawn(process.env["SPADEWORK_PROGRAM"] ?? "spadework", ["open", ...job, "--no-browser"], { cwd: this.folder });
    this.#program = program;
    this.address = await new Promise<string>((found, failed) => {
      let said = "";
      program.stdout.on("data", (bytes: Buffer) => {
        said += bytes.toString();
        const address = /http:\/\/[\d.:]+\//.exec(said);
        if (address) found(address[0]);
      });
      program.stderr.on("data", (bytes: Buffer) => (said += bytes.toString()));
      program.on("exit", () => failed(new Error(`the program ended: ${said}`)));
    });
  }

  /** As if the machine had lost its power. */
  async kill(): Promise<void> {
    const program = this.#program;
    if (program === null || program.exitCode !== null || program.signalCode !== null) return;
    const gone = new Promise((done) => program.once("exit", done));
    program.kill("SIGKILL");
    await gone;
  }

  /** Where a place of the job is in the window. */
  pixel(place: Place): Promise<Place> {
    return this.page.evaluate((at) => (window as unknown as Lent).spadework.toPixel(at), place);
  }

  /** What is chosen, which tool is in hand, and what the line at the foot says. */
  hand(): Promise<{ selected: string[]; tool: string; hint: string }> {
    return this.page.evaluate(() => {
      const { session, drawing } = (window as unknown as Lent).spadework;
      return { selected: [...session.selected], tool: drawing.tool, hint: drawing.hint };
    });
  }

  async click(place: Place): Promise<void> {
    await this.page.mouse.click(...(await this.pixel(place)));
  }

  async drag(from: Place, to: Place): Promise<void> {
    const [begin, end] = [await this.pixel(from), await this.pixel(to)];
    await this.page.mouse.move(...begin);
    await this.page.mouse.down();
    await this.page.mouse.move((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2, { steps: 4 });
    await this.page.mouse.move(...end, { steps: 4 });
    await this.page.mouse.up();
  }

  /** The job as it is in the file. */
  job(): Promise<{ version: number; header: Record<string, unknown>; features: Feature[]; findings: { severity: string }[] }> {
    return this.ask("job");
  }

  async feature(id: string): Promise<Feature | undefined> {
    return (await this.job()).features.find((feature) => feature.id === id);
  }

  async kind(kind: string): Promise<Feature[]> {
    return (await this.job()).features.filter((feature) => feature.properties["kind"] === kind);
  }

  ask<T>(path: string): Promise<T> {
    return this.page.evaluate(async (path) => (await (await fetch(`api/${path}`)).json()) as T, path);
  }

  /** The whole plan of the job as it is. */
  async planned(): Promise<Plan> {
    let plan: Plan | null = null;
    await expect
      .poll(async () => {
        const job = await this.job();
        plan = await this.page.evaluate(async () => {
          const answer = await fetch("api/plan");
          return answer.status === 200 ? ((await answer.json()) as Plan) : null;
        });
        return plan !== null && plan.version === job.version && plan.quality === "full";
      })
      .toBe(true);
    if (plan === null) throw new Error("no plan");
    return plan;
  }

  /** Shows a tab of the panel. */
  async show(name: string): Promise<void> {
    await this.page.getByRole("tab", { name }).click();
    await expect(this.page.getByRole("tabpanel")).toBeVisible();
  }
}

export interface Feature {
  id: string;
  geometry: { type: string; coordinates: unknown } | null;
  properties: Record<string, unknown>;
}

export interface Plan {
  version: number;
  quality: string;
  stretches: { id: string; path: Place[]; method: string; depth: { text: string } }[];
  outlets: { id: string; at: Place; circuit: string; worst: boolean; margin: { text: string } }[];
  findings: { severity: string; subject: string; what: string; at: Place | null }[];
  money: { total: { text: string; id: string | null } };
  days: { day: number; stretches_open: string[] }[];
  methods: { id: string; label: string; used: boolean }[];
}

export const test = base.extend<{ planner: Planner }>({
  planner: async ({ page }, use) => {
    const folder = mkdtempSync(join(tmpdir(), "spadework-"));
    const planner = new Planner(page, folder);
    const wrong: string[] = [];
    page.on("pageerror", (error) => wrong.push(error.message));
    page.on("console", (message) => {
      if (message.type() === "error" && /Content Security Policy|Uncaught/.test(message.text())) wrong.push(message.text());
    });
    await use(planner);
    await planner.kill();
    // Another program may still hold the file for a moment.
    rmSync(folder, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 });
    expect(wrong).toEqual([]);
  },
});

export { expect };
