/** What is seen of the plan beside the panel, under the bars and in the lists around it. */
import type { Page } from "@playwright/test";
import { letters, meet, watchLetters, type Letter } from "./letters";
import { expect, type Place, type Planner, test } from "./planner";

/** Boxes of what lies over the plan. */
const bars = (page: Page): Promise<Letter[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll("[data-bar]")].map((bar) => {
      const { left, top, right, bottom } = bar.getBoundingClientRect();
      return { text: bar.className, corners: [[left, top], [right, top], [right, bottom], [left, bottom]] as [number, number][] };
    }),
  );

async function inSight(planner: Planner, page: Page): Promise<void> {
  const [boundary] = await planner.kind("boundary");
  const corners = (boundary?.geometry?.coordinates as Place[][])[0] ?? [];
  await expect
    .poll(async () => {
      const box = await page.locator(".stage").boundingBox();
      if (box === null) return "no plan";
      const seen = await Promise.all(corners.map((corner) => planner.pixel(corner)));
      const out = seen.filter(([x, y]) => x < box.x || y < box.y || x > box.x + box.width || y > box.y + box.height);
      return out.length;
    })
    .toBe(0);
}

for (const [width, height] of [[1366, 768], [820, 1180], [390, 844]] as const) {
  test(`the whole plan stays in sight beside the panel, ${width} × ${height}`, async ({ planner, page }) => {
    await page.setViewportSize({ width, height });
    await planner.open("demo-courtyard.json");
    await planner.planned();
    await inSight(planner, page);
    for (let turns = 0; turns < 3; turns += 1) {
      await page.getByRole("button", { name: /fold the panel$/i }).click();
      await inSight(planner, page);
    }
  });

  test(`no name lies on another, over the edge or under a bar, ${width} × ${height}`, async ({ planner, page }) => {
    await watchLetters(page);
    await page.setViewportSize({ width, height });
    await planner.open("demo.json");
    await planner.planned();
    await expect(page.getByLabel(/^State of the plan: planned/)).toBeVisible();
    const stage = page.locator(".stage");
    for (const nearer of [0, 1, 2, 3]) {
      if (nearer > 0) await page.getByRole("button", { name: "Zoom in" }).click();
      await page.waitForTimeout(400);
      const box = await stage.boundingBox();
      if (box === null) throw new Error("there is no plan");
      const names = (await letters(page, "system")).filter((one) => one.text.length > 1);
      const over = await bars(page);
      const wrong: string[] = [];
      for (const [i, one] of names.entries()) {
        if (one.corners.some(([x, y]) => x < box.x || y < box.y || x > box.x + box.width || y > box.y + box.height)) wrong.push(`${one.text} over the edge`);
        for (const bar of over) if (meet(one, bar)) wrong.push(`${one.text} under ${bar.text}`);
        for (const other of names.slice(i + 1)) if (meet(one, other)) wrong.push(`${one.text} on ${other.text}`);
      }
      expect(wrong).toEqual([]);
      expect(names.length).toBeGreaterThan(nearer === 0 ? 0 : 3);
    }
  });
}

test("a plan that is drawn along looks as one that is painted whole", async ({ planner, page }) => {
  await planner.open("demo.json");
  await planner.planned();
  // Names are laid out anew for every view; all else has to be alike.
  await page.evaluate(() => ((window as unknown as { spadework: { drawing: { labels: boolean } } }).spadework.drawing.labels = false));
  const stage = await page.locator(".stage").boundingBox();
  if (stage === null) throw new Error("there is no plan");
  const [x, y] = [stage.x + stage.width / 2, stage.y + stage.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down({ button: "middle" });
  for (let n = 1; n <= 30; n += 1) await page.mouse.move(x + 9 * n, y + 5 * n);
  const seen = await page.evaluate(async () => {
    const stage = document.querySelector(".stage")!.getBoundingClientRect();
    const sheets = [...document.querySelectorAll(".stage .ol-layers > div")];
    const canvas = (sheet: Element) => sheet.querySelector("canvas")!;
    const crop = (sheet: Element) => {
      const { left, top } = canvas(sheet).getBoundingClientRect();
      const shown = document.createElement("canvas");
      [shown.width, shown.height] = [stage.width, stage.height];
      const ctx = shown.getContext("2d")!;
      ctx.drawImage(canvas(sheet), left - stage.left, top - stage.top);
      return ctx.getImageData(0, 0, shown.width, shown.height).data;
    };
    const frame = () => new Promise(requestAnimationFrame);
    // The system is painted whole as soon as the hand pauses: its last look before that is kept.
    const system = sheets[1]!;
    let along = crop(system);
    while (canvas(system).width > stage.width) {
      along = crop(system);
      await frame();
    }
    const before = [crop(sheets[0]!), along, crop(sheets[2]!)];
    const wide = [canvas(sheets[0]!).width > stage.width, canvas(sheets[2]!).width > stage.width];
    (window as unknown as { spadework: { repaint(): void } }).spadework.repaint();
    await frame();
    await frame();
    // Where a line is cut its edge may come out a little paler or darker.
    const counts = sheets.map(crop).map((one, i) => {
      const [painted, other] = [new Set<number>(), new Set<number>()];
      for (const [at, value] of one.entries()) {
        if (value > 0) painted.add(at >> 2);
        if (Math.abs(value - before[i]![at]!) > 24) other.add(at >> 2);
      }
      return [painted.size, other.size] as const;
    });
    return { wide, counts };
  });
  await page.mouse.up({ button: "middle" });
  expect(seen.counts.length).toBe(3);
  expect(seen.wide).toEqual([true, true]);
  for (const [painted] of seen.counts.slice(0, 2)) expect(painted).toBeGreaterThan(5000);
  for (const [painted, other] of seen.counts) expect(other).toBeLessThanOrEqual(50 + painted / 2000);
});

test("a pointer that moves over the plan has neither ground nor system painted anew", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const plan = await planner.planned();
  await page.waitForTimeout(500);
  await page.evaluate(() => {
    const painted: Element[] = [];
    Object.assign(window, { painted });
    const { clearRect } = CanvasRenderingContext2D.prototype;
    CanvasRenderingContext2D.prototype.clearRect = function (...at) {
      if (this.canvas.isConnected) painted.push(this.canvas);
      clearRect.apply(this, at);
    };
  });
  const hints = new Set<string>();
  for (const stretch of plan.stretches.slice(0, 12)) {
    const [from, to] = [await planner.pixel(stretch.path[0]!), await planner.pixel(stretch.path.at(-1)!)];
    await page.mouse.move(from[0], from[1]);
    await page.mouse.move((from[0] + to[0]) / 2, (from[1] + to[1]) / 2, { steps: 5 });
    hints.add((await planner.hand()).hint);
  }
  await page.waitForTimeout(200);
  const counts = await page.evaluate(() => {
    const { painted } = window as unknown as { painted: Element[] };
    return [...document.querySelectorAll(".stage .ol-layers > div")].map((sheet) => painted.filter((one) => sheet.contains(one)).length);
  });
  expect(hints.size).toBeGreaterThan(5);
  expect(counts.slice(0, 2)).toEqual([0, 0]);
  expect(counts[2]).toBeGreaterThan(5);
});

test("a view that was moved keeps its middle when the panel folds", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await page.getByRole("button", { name: "Zoom in" }).click();
  const middle = async (): Promise<Place> => {
    const box = await page.locator(".stage").boundingBox();
    return page.evaluate(([x, y]) => (window as unknown as { spadework: { toPlace(at: Place): Place } }).spadework.toPlace([x ?? 0, y ?? 0]), [(box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + (box?.height ?? 0) / 2]);
  };
  const before = await middle();
  await page.getByRole("button", { name: "Fold the panel" }).click();
  await expect(page.getByRole("tabpanel")).toBeHidden();
  const after = await middle();
  expect(after[0]).toBeCloseTo(before[0], 1);
  expect(after[1]).toBeCloseTo(before[1], 1);
});

test("what is picked on the plan brings its properties to the front", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  await planner.planned();
  const [head, other] = await planner.kind("head");
  await planner.show("Money");
  await planner.click(head?.geometry?.coordinates as Place);
  await expect(page.getByRole("tab", { name: "Properties" })).toHaveAttribute("aria-selected", "true");
  await expect(page.getByLabel("Id", { exact: true })).toHaveValue(head?.id ?? "");
  await page.getByRole("button", { name: "Fold the panel" }).click();
  await planner.click(other?.geometry?.coordinates as Place);
  await expect(page.getByLabel("Id", { exact: true })).toHaveValue(other?.id ?? "");
});

test("every tool is left off with Escape, wherever on the page one is", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const kinds = page.locator(".palette .kind:not([data-name=select])");
  const box = await page.locator(".stage").boundingBox();
  if (box === null) throw new Error("there is no plan");
  for (const kind of await kinds.all()) {
    const name = await kind.getAttribute("data-name");
    await kind.click();
    await expect(kind).toHaveAttribute("aria-pressed", "true");
    const shape = await page.evaluate(() => (window as unknown as { spadework: { drawing: { shape: string } } }).spadework.drawing.shape);
    // A place alone would be drawn at once; a line or an area is only begun.
    if (shape !== "Point" && shape !== "null") await page.mouse.click(box.x + box.width * 0.4, box.y + box.height * 0.45);
    const choice = page.locator(".bars select").first();
    if (await choice.isVisible()) await choice.focus();
    else await kind.focus();
    for (let presses = 0; presses < 2; presses += 1) await page.keyboard.press("Escape");
    expect(await page.evaluate(() => (window as unknown as { spadework: { drawing: { tool: string } } }).spadework.drawing.tool), `after ${name}`).toBe("select");
  }
  for (const tool of ["Measure", "Split a line or area"]) {
    await page.getByRole("button", { name: tool }).click();
    await page.keyboard.press("Escape");
    await expect(page.getByRole("button", { name: "Choose and move" })).toHaveAttribute("aria-pressed", "true");
  }
});

for (const [width, height] of [[1366, 700], [1366, 768], [1440, 900], [820, 760], [390, 844]] as const) {
  test(`all kinds can be reached in the palette, ${width} × ${height}`, async ({ planner, page }) => {
    await page.setViewportSize({ width, height });
    await planner.open(null);
    // On a phone the guide of an empty job has the room at first.
    const fold = page.getByRole("button", { name: "Fold the panel" });
    if (width < 640) await fold.click();
    const palette = page.locator(".palette");
    const rests = await palette.evaluate((nav) => nav.scrollHeight > nav.clientHeight + 1 || nav.scrollWidth > nav.clientWidth + 1);
    // Where it goes on, it says so.
    await expect(page.locator(".hold")).toHaveClass(rests ? /after/ : /^(?!.*after)/);
    const last = palette.locator(".kind").last();
    await last.click();
    await expect(last).toHaveAttribute("aria-pressed", "true");
    if (rests) await expect(page.locator(".hold")).toHaveClass(/before/);
  });
}

test("sides and area are told while one draws and of what is chosen", async ({ planner, page }) => {
  await watchLetters(page);
  await planner.open(null);
  await page.getByRole("button", { name: "Keep out" }).click();
  for (const typed of ["10, 10", "40 < 0", "20 < 90", "40 < 90"]) {
    await page.keyboard.type(typed);
    await page.keyboard.press("Enter");
  }
  const said = async (sheet: "system" | "overlay") => (await letters(page, sheet)).map((one) => one.text);
  await expect.poll(() => said("overlay")).toEqual(expect.arrayContaining(["40'", "20'", "800 sq ft"]));
  await page.getByRole("button", { name: /^Done/ }).click();
  await expect.poll(() => said("system")).toEqual(expect.arrayContaining(["40'", "20'", "800 sq ft"]));
  await expect(page.getByText("120' around, 800 sq ft")).toBeVisible();
  await page.keyboard.press("Escape");
  await page.keyboard.press("Escape");
  await expect.poll(() => said("system")).not.toContain("800 sq ft");
});

test("what is said of a head under the pointer keeps up with the plan, also after undo", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const first = await planner.planned();
  const worst = first.outlets.find((outlet) => outlet.worst);
  if (worst === undefined) throw new Error("no circuit has a worst head");
  await page.mouse.move(...(await planner.pixel(worst.at)));
  const hint = page.locator("#drawing-hint");
  await expect(hint).toContainText("least of its circuit");
  const told = await hint.textContent();
  // It needs less now, so that another has the least to spare; the pointer rests meanwhile.
  await page.evaluate(async (id) => {
    const { session } = (window as unknown as { spadework: { session: { feature(id: string): { properties: object }; edit(label: string, ops: unknown[]): Promise<boolean> } } }).spadework;
    const head = session.feature(id);
    await session.edit("Less", [{ op: "put", feature: { ...head, properties: { ...head.properties, pressure: "10 kPa" } } }]);
  }, worst.id);
  const second = await planner.planned();
  expect(second.outlets.find((outlet) => outlet.id === worst.id)?.worst).toBe(false);
  await expect(hint).not.toContainText("Before the last change");
  await expect(hint).not.toContainText("least of its circuit");
  await page.getByRole("button", { name: /^Undo: / }).evaluate((button: HTMLElement) => button.click());
  await planner.planned();
  await expect(hint).toHaveText(told ?? "");
});

test("a finding shows all that it is about, and nothing is drawn any more", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const plan = await planner.planned();
  const about = plan.findings.find((finding) => finding.severity === "warning" && plan.outlets.some((outlet) => outlet.circuit === finding.subject));
  if (about === undefined) throw new Error("no circuit is warned of");
  await page.locator(".palette").getByRole("button", { name: /^Head/ }).click();
  expect((await planner.hand()).tool).toBe("draw");
  await planner.show("Findings");
  await page.locator("#tabpanel").getByRole("button", { name: about.what.slice(0, 40) }).first().click();
  const hand = await planner.hand();
  expect(hand.tool).toBe("select");
  const heads = plan.outlets.filter((outlet) => outlet.circuit === about.subject);
  expect(heads.length).toBeGreaterThan(1);
  expect(hand.selected).toEqual(expect.arrayContaining(heads.map((head) => head.id)));
  expect(hand.hint).not.toContain("in the panel");
  await expect(page.getByRole("tab", { name: "Findings" })).toHaveAttribute("aria-selected", "true");
  // Their middle is the middle of what is free of the plan.
  const box = await page.locator(".stage").boundingBox();
  const seen = await Promise.all(heads.map((head) => planner.pixel(head.at)));
  for (const [x, y] of seen) {
    expect(x).toBeGreaterThan(box?.x ?? 0);
    expect(x).toBeLessThan((box?.x ?? 0) + (box?.width ?? 0));
    expect(y).toBeGreaterThan(box?.y ?? 0);
    expect(y).toBeLessThan((box?.y ?? 0) + (box?.height ?? 0));
  }
});

test("of a mixed choice one kind alone is kept, and a tab pressed again stays open", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  await planner.planned();
  const heads = await planner.kind("head");
  const valves = await planner.kind("valve");
  await page.evaluate((ids) => {
    (window as unknown as { spadework: { drawing: { select(ids: string[]): void } } }).spadework.drawing.select(ids);
  }, [...heads, ...valves].map((feature) => feature.id));
  await planner.show("Properties");
  await planner.show("Properties");
  await expect(page.getByLabel("Flow", { exact: false })).toHaveCount(0);
  await page.getByRole("button", { name: `Heads only (${heads.length})` }).click();
  expect((await planner.hand()).selected).toEqual(heads.map((head) => head.id));
  await expect(page.locator("#tabpanel").getByLabel("Flow", { exact: false }).first()).toBeVisible();
});

test("a tablet held upright shows the plan over the panel, with all its switches", async ({ planner, page }) => {
  await page.setViewportSize({ width: 820, height: 1180 });
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await planner.show("Rules");
  const stage = (await page.locator(".stage").boundingBox()) ?? { width: 0, height: 0 };
  expect(stage.width).toBeGreaterThan(700);
  expect(stage.height).toBeGreaterThan(500);
  for (const name of ["Trenches", "Names", "Grid", "Legend"]) await expect(page.locator(".looks").getByRole("button", { name })).toBeVisible();
  // No picture in the palette reaches out of its button.
  const cut = await page.locator(".palette .kind").evaluateAll((buttons) =>
    buttons.filter((button) => {
      const box = button.getBoundingClientRect();
      return [...button.children].some((part) => part.getBoundingClientRect().top < box.top || part.getBoundingClientRect().bottom > box.bottom);
    }).map((button) => button.textContent),
  );
  expect(cut).toEqual([]);
});

test("a phone shows all tabs, what is wrong, and what can be drawn beside the open panel", async ({ planner, page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await planner.show("Findings");
  for (const tab of await page.getByRole("tab").all()) {
    const box = (await tab.boundingBox()) ?? { x: -1, width: 0 };
    expect(box.x, (await tab.textContent()) ?? "").toBeGreaterThanOrEqual(0);
    expect(box.x + box.width).toBeLessThanOrEqual(390);
    expect(await tab.evaluate((element) => element.scrollWidth - element.clientWidth)).toBeLessThanOrEqual(0);
  }
  await expect(page.getByRole("tab", { name: "Findings" }).locator(".badge")).toBeInViewport();
  await expect(page.locator(".palette").getByRole("button", { name: "Choose" })).toBeInViewport();
  await page.locator(".palette").getByRole("button", { name: "Surface" }).click();
  expect((await planner.hand()).tool).toBe("draw");
});

test("no name lies on the curve of the cost, nor on the line under the job's name", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await planner.show("Money");
  const name = (await page.locator(".plan-name").boundingBox()) ?? { x: 0, y: 0, width: 0, height: 0 };
  const curve = (await page.locator(".curve").boundingBox()) ?? { y: 0 };
  expect(name.y + name.height).toBeLessThanOrEqual(curve.y + 1);
  const svg = (await page.locator("svg", { has: page.locator(".curve") }).boundingBox()) ?? { x: 0, width: 0 };
  expect(name.x).toBeGreaterThanOrEqual(svg.x);
  expect(name.x + name.width).toBeLessThanOrEqual(svg.x + svg.width);
  const field = page.getByLabel("Name of the job");
  await field.focus();
  const reach = await field.evaluate((input) => {
    const style = getComputedStyle(input);
    return input.getBoundingClientRect().bottom + Math.max(0, parseFloat(style.outlineOffset) + parseFloat(style.outlineWidth));
  });
  const below = (await page.locator("header .file").boundingBox()) ?? { y: 0 };
  expect(reach).toBeLessThanOrEqual(below.y + 0.5);
});
