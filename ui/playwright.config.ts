import { defineConfig } from "@playwright/test";

/** The whole program in a browser. `cargo xtask page` says where both are. */
export default defineConfig({
  testDir: "tests/e2e",
  // A plan is made beside each page; two pages at once keep two cores busy.
  workers: 2,
  fullyParallel: true,
  // Patience with a machine that is busy with other things; no claim about speed.
  timeout: 240_000,
  expect: { timeout: 90_000 },
  reporter: "list",
  forbidOnly: true,
  use: {
    viewport: { width: 1440, height: 900 },
    trace: "retain-on-failure",
    launchOptions: {
      executablePath: process.env["CHROMIUM"] ?? "",
      // Tests may run as root, where the browser's own sandbox cannot start; it opens nothing but the program's page.
      args: ["--no-sandbox", "--disable-background-networking"],
    },
  },
});
