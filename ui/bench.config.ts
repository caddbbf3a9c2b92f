import { defineConfig } from "@playwright/test";
import tests from "./playwright.config";

/** How soon the page shows a plan; run by `cargo xtask bench-page`. Nothing else should be busy meanwhile. */
export default defineConfig({
  ...tests,
  testDir: "bench",
  testMatch: "*.bench.ts",
  workers: 1,
  fullyParallel: false,
  timeout: 1_800_000,
  expect: { timeout: 1_200_000 },
  use: { ...tests.use, trace: "off" },
});
