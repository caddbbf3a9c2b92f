/** What the page weighs. */
import { gzipSync } from "node:zlib";
import { expect, test } from "./planner";

test("the page is at most 400 kB, compressed", async ({ planner, page }) => {
  const weights: number[] = [];
  page.on("response", (response) => {
    if (/\.(js|css|svg)$|\/$/.test(new URL(response.url()).pathname)) {
      void response.body().then((bytes) => weights.push(gzipSync(bytes).length));
    }
  });
  const asked: string[] = [];
  page.on("request", (request) => asked.push(new URL(request.url()).origin));
  await planner.open(null);
  await expect.poll(() => weights.length).toBeGreaterThan(2);
  expect(weights.reduce((sum, one) => sum + one, 0)).toBeLessThan(400_000);
  // It asks nobody but the program.
  const own = new URL(planner.address).origin;
  expect(asked.filter((origin) => origin !== own && origin !== "null")).toEqual([]);
});
