/** Prints what was measured. It asserts nothing: a busy machine is no fault of the page. */
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { expect, type Feature, type Place, type Planner, test } from "../tests/e2e/planner";

interface Lent {
  spadework: {
    session: {
      plan: { version: number } | null;
      job: { version: number };
      unplanned: unknown[];
      edit(label: string, ops: unknown[]): Promise<boolean>;
    };
    toPlace(at: Place): Place;
  };
}

const rank = (values: number[], share: number): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
};

const told = (what: string, values: number[]) =>
  console.log(`| ${what} | ${rank(values, 0.5).toFixed(0)} | ${rank(values, 0.95).toFixed(0)} | ${values.length} |`);

/** From the call of a change to the frame after the one that shows its plan, ms. */
async function changes(planner: Planner, count: number): Promise<number[]> {
  const heads = await planner.kind("head");
  const step = (await planner.job()).header["length_unit"] === "m" ? 0.3 : 1;
  const times: number[] = [];
  for (let n = 0; n < count; n += 1) {
    const head = heads[(n * 7) % heads.length] as Feature;
    const [x, y] = head.geometry?.coordinates as Place;
    const turn = n * 2.4;
    const moved = { ...head, geometry: { type: "Point", coordinates: [x + step * Math.cos(turn), y + step * Math.sin(turn)] } };
    times.push(
      await planner.page.evaluate(async (feature): Promise<number> => {
        const { session } = (window as unknown as Lent).spadework;
        const begun = performance.now();
        await session.edit("Moved a head", [{ op: "put", feature }]);
        const wanted = session.job.version;
        while (session.plan === null || session.plan.version < wanted) {
          // A place that no trench reaches has no plan; it tells nothing of the pace.
          if (session.unplanned.length > 0) return Number.NaN;
          await new Promise(requestAnimationFrame);
        }
        await new Promise(requestAnimationFrame);
        return performance.now() - begun;
      }, moved),
    );
    // Whoever drags sets down, looks, and drags again.
    await planner.page.waitForTimeout(200);
  }
  return times.filter((time) => !Number.isNaN(time));
}

/** Frames while the pointer goes round over the plan, with the view in its hand or without. */
async function frames(planner: Planner, held: boolean): Promise<number[]> {
  const box = await planner.page.locator(".plan").boundingBox();
  if (box === null) return [];
  const corner = () => planner.page.evaluate(() => (window as unknown as Lent).spadework.toPlace([300, 300]));
  const before = await corner();
  const times = planner.page.evaluate(
    () =>
      new Promise<number[]>((done) => {
        const frames: number[] = [];
        let last = performance.now();
        const next = (now: number) => {
          frames.push(now - last);
          last = now;
          if (frames.length < 180) requestAnimationFrame(next);
          else done(frames.slice(5));
        };
        requestAnimationFrame(next);
      }),
  );
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await planner.page.mouse.move(x, y);
  if (held) await planner.page.mouse.down({ button: "middle" });
  for (let n = 0; n < 160; n += 1) await planner.page.mouse.move(x + 200 * Math.sin(n / 12), y + 120 * (1 - Math.cos(n / 12)));
  if (held) expect(await corner()).not.toEqual(before);
  else expect(await corner()).toEqual(before);
  await planner.page.mouse.up({ button: "middle" });
  return times;
}

test("pace of the page", async ({ planner, page }) => {
  const weights = new Map<string, number>();
  page.on("response", (response) => {
    if (/\.(js|css|svg)$|\/$/.test(new URL(response.url()).pathname)) {
      // The page is loaded once for each job; it weighs the same each time.
      const path = new URL(response.url()).pathname;
      void response.body().then((bytes) => weights.set(path, gzipSync(bytes).length));
    }
  });
  console.log("| what | median, ms | 95 % below, ms | times |\n| --- | ---: | ---: | ---: |");
  for (const demo of ["demo.json", "demo-courtyard.json", "demo-hillside.json", "demo-park.json", "demo-garden.json"]) {
    await planner.open(demo);
    if (demo === "demo.json") {
      await page.reload();
      await expect(page.getByLabel("Name of the job")).toBeEnabled();
      const paint = await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? Number.NaN);
      told("first paint of the page", [paint]);
    }
    await planner.planned();
    // The first change after opening lays out the ground; it is measured by itself.
    told(`${demo}: the first change to its plan on the screen`, await changes(planner, 1));
    told(`${demo}: every change after it`, await changes(planner, 30));
    await planner.kill();
    execFileSync(process.execPath, ["-e", `require("fs").rmSync(${JSON.stringify(join(planner.folder, "job.gpkg"))})`]);
  }
  execFileSync(process.env["SPADEWORK_PROGRAM"] ?? "spadework", ["sample", "--heads", "1000", "--out", join(planner.folder, "large.json")]);
  await planner.start(["large.json"]);
  await page.goto(planner.address);
  await expect(page.getByLabel("Name of the job")).toBeEnabled();
  await expect.poll(async () => page.evaluate(async () => (await fetch("api/plan")).status), { intervals: [1000] }).toBe(200);
  await page.waitForTimeout(3000);
  await page.keyboard.press("0");
  told("1,000 heads: a frame while the pointer moves over the plan", await frames(planner, false));
  told("1,000 heads: a frame while panning", await frames(planner, true));
  told("1,000 heads: the first change to its plan on the screen", await changes(planner, 1));
  told("1,000 heads: every change after it", await changes(planner, 20));
  console.log(`\nThe page weighs ${([...weights.values()].reduce((sum, one) => sum + one, 0) / 1000).toFixed(0)} kB, compressed.`);
});
