/** WCAG 2.2 AA on every tab, in both themes, at three widths; and nothing that lies beyond the window. */
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "@playwright/test";
import { expect, test } from "./planner";

const TABS = ["Properties", "Plan", "Days", "Money", "Rules", "Variants", "Findings"];
const WIDTHS = [
  { name: "laptop", width: 1440, height: 900 },
  { name: "tablet", width: 820, height: 1180 },
  { name: "phone", width: 390, height: 844 },
] as const;

async function check(page: Page, where: string): Promise<void> {
  const found = await new AxeBuilder({ page }).withTags(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]).analyze();
  const told = found.violations.map((one) => `${where}: ${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join("; ")}`);
  expect(told).toEqual([]);
}

for (const { name, width, height } of WIDTHS) {
  // What is dark is dark at every width.
  for (const scheme of name === "laptop" ? (["light", "dark"] as const) : (["light"] as const)) {
    test(`${name}, ${scheme}`, async ({ planner, page }) => {
      await page.setViewportSize({ width, height });
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      await planner.open("demo-courtyard.json");
      await planner.planned();
      const unfold = page.getByRole("button", { name: "Unfold the panel" });
      if (await unfold.isVisible()) await unfold.click();
      for (const tab of TABS) {
        await planner.show(tab);
        await check(page, tab);
        await page.screenshot({ path: `test-results/${name}-${scheme}-${tab.toLowerCase()}.png` });
      }
      const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      expect(wider).toBeLessThanOrEqual(0);
    });
  }
}
