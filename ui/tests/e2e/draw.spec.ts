/** From nothing to a plan: with the mouse, by touch, and with keys alone. */
import type { Page } from "@playwright/test";
import { expect, type Place, type Planner, test } from "./planner";

/** Takes the next step of the guide, with answers to what it asks. */
async function step(page: Page, answers: Record<string, string> = {}): Promise<void> {
  const all = page.getByRole("button", { name: "All steps" });
  if (await all.isVisible()) await all.click();
  for (const [label, value] of Object.entries(answers)) {
    const field = page.locator(".asked").getByLabel(label, { exact: false }).first();
    if ((await field.evaluate((element) => element.tagName)) === "SELECT") await field.selectOption(value);
    else await field.fill(value);
    await field.blur();
  }
  await page.locator("li.next .button.main").click();
}

/** Where on the empty plan a place is taken: shares of its width and height. */
async function spot(page: Page, [x, y]: Place): Promise<Place> {
  const box = await page.locator(".plan").boundingBox();
  if (box === null) throw new Error("there is no plan to draw on");
  // The lower edge is kept for the bar into which lengths are typed.
  return [box.x + box.width * x, box.y + box.height * y * 0.9];
}

async function property(planner: Planner, page: Page, tap: (at: Place) => Promise<void>): Promise<void> {
  const at = async (place: Place) => tap(await spot(page, place));
  const done = async (kind: string, count = 1) => {
    await expect.poll(async () => (await planner.kind(kind)).length).toBeGreaterThanOrEqual(count);
  };
  const finish = async () => page.getByRole("button", { name: /^Done/ }).click();
  await step(page);
  for (const corner of [[0.15, 0.2], [0.85, 0.2], [0.85, 0.78], [0.15, 0.78]] as Place[]) await at(corner);
  await finish();
  await done("boundary");
  await step(page);
  await done("surface");
  await step(page);
  await done("soil");
  await step(page);
  for (const corner of [[0.4, 0.35], [0.65, 0.35], [0.65, 0.6], [0.4, 0.6]] as Place[]) await at(corner);
  await finish();
  await done("obstacle");
  await step(page);
  await at([0.8, 0.76]);
  await done("access");
  // What may lie in the way is asked for, and there is none of it: by click and by key.
  for (const [index, what] of ["Buried services", "Paving and beds", "Trees", "Fences, walls"].entries()) {
    const none = page.getByRole("button", { name: new RegExp(`^None here ?: ${what}`) });
    await expect(none).toBeVisible();
    if (index === 1) await page.keyboard.press("n");
    else await none.click();
  }
  await step(page, { "Static pressure": "62 psi", "Test flow": "14 gpm", "Residual pressure": "52 psi", "Service size": "1 in", "Main pipe": "pvc_sch40" });
  await at([0.2, 0.74]);
  await done("source");
  await step(page);
  await at([0.22, 0.68]);
  await done("backflow");
  await step(page);
  await at([0.385, 0.56]);
  await done("controller");
  await step(page);
  await at([0.27, 0.64]);
  await expect.poll(async () => (await planner.kind("manifold")).length + (await planner.kind("valve")).length).toBeGreaterThan(0);
  await step(page, { Flow: "1.8 gpm", Pressure: "30 psi" });
  const heads: Place[] = [];
  for (const x of [0.2, 0.32, 0.44, 0.56, 0.68, 0.8]) heads.push([x, 0.25], [x, 0.66]);
  for (const y of [0.34, 0.44, 0.54]) heads.push([0.2, y], [0.8, y]);
  heads.push([0.3, 0.45], [0.72, 0.45]);
  for (const head of heads) await at(head);
  await done("head", heads.length);
  const plan = await planner.planned();
  expect(plan.outlets.length).toBe(heads.length);
  expect(plan.stretches.length).toBeGreaterThan(10);
}

test("a property is drawn from nothing to a plan with the mouse", async ({ planner, page }) => {
  await planner.open(null);
  await property(planner, page, (at) => page.mouse.click(...at));
  await page.screenshot({ path: "test-results/drawn.png" });
});

test.describe("on a tablet", () => {
  test.use({ viewport: { width: 1180, height: 820 }, hasTouch: true });

  test("the same by touch", async ({ planner, page }) => {
    await planner.open(null);
    await property(planner, page, (at) => page.touchscreen.tap(...at));
  });
});

test("a head is drawn, moved and taken out with keys alone", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const before = (await planner.kind("head")).length;
  // From the top of the page to the palette, to the head, to the plan.
  const head = page.locator(".palette").getByRole("button", { name: /^Head/ });
  for (let presses = 0; presses < 80 && !(await head.evaluate((element) => element === document.activeElement)); presses += 1) {
    await page.keyboard.press("Tab");
    if (await page.locator(".palette").evaluate((nav) => nav.contains(document.activeElement))) {
      for (let arrows = 0; arrows < 40 && !(await head.evaluate((element) => element === document.activeElement)); arrows += 1) await page.keyboard.press("ArrowDown");
      break;
    }
  }
  await expect(head).toBeFocused();
  await page.keyboard.press("Enter");
  await page.keyboard.type("3, 3");
  await page.keyboard.press("Enter");
  await expect.poll(async () => (await planner.kind("head")).length).toBe(before + 1);
  const drawn = (await planner.kind("head")).at(-1);
  expect(drawn?.geometry?.coordinates).toEqual([3, 3]);
  await page.keyboard.press("Escape");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Enter");
  await expect.poll(async () => ((await planner.feature(drawn?.id ?? ""))?.geometry?.coordinates as Place | undefined)?.[0]).toBeGreaterThan(3);
  await page.keyboard.press("Delete");
  await expect.poll(async () => planner.feature(drawn?.id ?? "")).toBeUndefined();
});

test("what the preview shows is what is placed, and the bar speaks as the field does", async ({ planner, page }) => {
  await planner.open(null);
  await page.getByRole("button", { name: "Keep out" }).click();
  await page.keyboard.type("10, 10");
  await page.keyboard.press("Enter");
  const bar = page.locator(".entry");
  await expect(bar).toContainText("length @ direction");
  await expect(bar).not.toContainText("length < turn");
  // Near level, but not on it, as a hand is.
  const [x, y] = await planner.pixel([40, 10]);
  await page.mouse.move(x, y - 3);
  await expect(bar.locator(".live")).toContainText("@ 0°");
  await page.keyboard.type("30");
  await expect(bar.locator(".live")).toContainText("30' @ 0°");
  await page.keyboard.press("Enter");
  // The plan has the keyboard back without a frame around it; whoever walks with keys gets one.
  const frame = () => page.locator(".stage").evaluate((stage) => (document.activeElement === stage ? getComputedStyle(stage).outlineStyle : "elsewhere"));
  expect(await frame()).toBe("none");
  await expect(bar).toContainText("length < turn");
  const [, above] = await planner.pixel([40, 25]);
  await page.mouse.move(x + 3, above);
  await expect(bar.locator(".live")).toContainText("@ 90° or < 90°");
  await page.keyboard.type("20 @ 90");
  await page.keyboard.press("Enter");
  // The fourth corner, near where it closes squarely.
  const [left, top] = await planner.pixel([10, 30]);
  await page.mouse.move(left + 4, top + 3);
  await page.mouse.click(left + 4, top + 3);
  await page.getByRole("button", { name: /^Done/ }).click();
  await expect.poll(async () => (await planner.kind("keep_out")).map((one) => one.geometry?.coordinates)).toEqual([[[[10, 10], [40, 10], [40, 30], [10, 30], [10, 10]]]]);
  await page.keyboard.press("ArrowRight");
  expect(await frame()).toBe("solid");
});
