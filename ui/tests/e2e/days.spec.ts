/** The chart of the days: every name whole, none on another. */
import { expect, test } from "./planner";

for (const [width, height] of [[1440, 900], [820, 1180], [390, 844]] as const) {
  test(`names of tasks are whole, ${width} × ${height}`, async ({ planner, page }) => {
    await page.setViewportSize({ width, height });
    await planner.open("demo.json");
    await planner.planned();
    await planner.show("Days");
    const chart = page.locator(".chart");
    for (const whole of ["true", "false"]) {
      const button = page.getByRole("button", { name: "Whole job" });
      if ((await button.getAttribute("aria-pressed")) !== whole) await button.click();
      const told = await chart.evaluate((chart) => {
        const inside = chart.querySelector("svg")?.getBoundingClientRect();
        const names = [...chart.querySelectorAll<SVGTextElement>(".bar-name")].map((text) => ({ text: text.textContent ?? "", box: text.getBoundingClientRect() }));
        const wrong = names.flatMap((one, i) => {
          const out = inside === undefined || one.box.left < inside.left - 0.5 || one.box.right > inside.right + 0.5 || one.box.bottom > inside.bottom + 0.5;
          const over = names.slice(i + 1).filter(({ box }) => one.box.left < box.right - 1 && box.left < one.box.right - 1 && one.box.top < box.bottom - 4 && box.top < one.box.bottom - 4);
          return [...(out ? [`${one.text} is cut`] : []), ...over.map((other) => `${one.text} on ${other.text}`)];
        });
        // The lines of a bar together are its whole name, which its title says as well.
        const cut = [...chart.querySelectorAll(".bar")].filter((bar) => {
          const lines = [...bar.querySelectorAll(".bar-name")].map((line) => line.textContent).join(" ");
          return lines !== "" && !(bar.querySelector("title")?.textContent ?? "").startsWith(`${lines},`);
        });
        return { wrong, cut: cut.length, names: names.length };
      });
      expect(told.wrong).toEqual([]);
      expect(told.cut).toBe(0);
      expect(told.names).toBeGreaterThan(0);
      await chart.screenshot({ path: `test-results/days-${width}-${whole}.png` });
    }
  });
}
