/** A job is opened, changed, planned, closed and opened again. */
import { expect, type Feature, type Place, test } from "./planner";

const place = (feature: Feature | undefined): Place => feature?.geometry?.coordinates as Place;

test("a head is dragged, the plan follows, and undo brings both back", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const first = await planner.planned();
  const [head] = await planner.kind("head");
  const from = place(head);
  const to: Place = [from[0] + 0.5, from[1]];
  await planner.drag(from, to);
  await expect(page.getByRole("button", { name: /^Undo: / })).toBeEnabled();
  const after = await planner.planned();
  const now = place(await planner.feature(head?.id ?? ""));
  expect(now).not.toEqual(from);
  expect(after.outlets.find((outlet) => outlet.id === head?.id)?.at[0]).toBeCloseTo(now[0], 3);
  await page.keyboard.press("Control+z");
  await expect.poll(async () => place(await planner.feature(head?.id ?? ""))).toEqual(from);
  // The same job has the same plan.
  const again = await planner.planned();
  expect(again.money.total.text).toBe(first.money.total.text);
  expect(again.stretches).toEqual(first.stretches);
  await page.keyboard.press("Control+Shift+z");
  await expect.poll(async () => place(await planner.feature(head?.id ?? ""))).toEqual(now);
});

test("a figure shows how it came about, and what is behind it", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const plan = await planner.planned();
  await planner.show("Money");
  await page.getByRole("button", { name: plan.money.total.text }).first().click();
  const dialog = page.getByRole("dialog");
  await expect(dialog).toContainText("cost + overhead + profit");
  await dialog.getByRole("button", { name: /^worked out ?: cost/ }).click();
  await expect(dialog.getByRole("button", { name: "Back to the figure before" })).toBeVisible();
  await page.keyboard.press("Escape");
  await expect(dialog).toBeHidden();
});

test("a stretch is put in by the method that the user decides on", async ({ planner, page }) => {
  await planner.open("demo.json");
  const plan = await planner.planned();
  // The longest straight piece that a machine puts in: nothing else lies near its middle.
  const pieces = plan.stretches
    .filter((stretch) => stretch.method !== "spade" && stretch.method !== "sleeve")
    .flatMap((stretch) => stretch.path.slice(1).map((end, index): [Place, Place] => [stretch.path[index] as Place, end]));
  const long = ([from, to]: [Place, Place]) => Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [a, b] = pieces.sort((one, other) => long(other) - long(one))[0] as [Place, Place];
  await planner.click([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
  await planner.show("Properties");
  await page.getByLabel("Method", { exact: true }).selectOption("spade");
  await page.getByRole("button", { name: /Dig this here always/ }).click();
  await expect.poll(async () => (await planner.kind("fixed_trench")).length).toBeGreaterThan(0);
  const fixed = (await planner.kind("fixed_trench"))[0];
  expect(fixed?.properties["method"]).toBe("spade");
  const after = await planner.planned();
  const line = fixed?.geometry?.coordinates as Place[];
  const near = (at: Place) =>
    line.some((end, index) => {
      const begin = line[index - 1];
      if (begin === undefined) return false;
      const [dx, dy] = [end[0] - begin[0], end[1] - begin[1]];
      const along = Math.min(1, Math.max(0, ((at[0] - begin[0]) * dx + (at[1] - begin[1]) * dy) / (dx * dx + dy * dy)));
      return Math.hypot(at[0] - begin[0] - along * dx, at[1] - begin[1] - along * dy) < 0.02;
    });
  const on = after.stretches.filter((stretch) => stretch.path.every(near));
  expect(on.length).toBeGreaterThan(0);
  expect(on.map((stretch) => stretch.method)).toEqual(on.map(() => "spade"));
});

test("a killed program loses nothing that it acknowledged", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const name = page.getByLabel("Name of the job");
  await name.fill("Courtyard, second thoughts (invented)");
  await name.press("Enter");
  await expect(page.getByText("in the file")).toBeVisible();
  await expect.poll(async () => (await planner.job()).header["name"]).toBe("Courtyard, second thoughts (invented)");
  await planner.kill();
  await planner.start(["job.gpkg"]);
  await page.goto(planner.address);
  await expect(name).toHaveValue("Courtyard, second thoughts (invented)");
  await page.getByRole("button", { name: /^Undo: / }).click();
  await expect(name).not.toHaveValue("Courtyard, second thoughts (invented)");
});

test("two pages on one job see each other's changes", async ({ planner, page, context }) => {
  await planner.open("demo-courtyard.json");
  const other = await context.newPage();
  await other.goto(planner.address);
  await expect(other.getByLabel("Name of the job")).toBeEnabled();
  await page.getByLabel("Name of the job").fill("Seen by both");
  await page.getByLabel("Name of the job").press("Enter");
  await expect(other.getByLabel("Name of the job")).toHaveValue("Seen by both");
  await other.getByRole("button", { name: /^Undo: / }).click();
  await expect(page.getByLabel("Name of the job")).not.toHaveValue("Seen by both");
});

test("a variant is kept, and a dearer rule is held against it", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await planner.show("Variants");
  await page.getByLabel("Name of the variant").fill("As drawn");
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await expect(page.getByRole("button", { name: "Open As drawn" })).toBeVisible();
  await planner.show("Rules");
  await page.getByLabel("Search rules and prices").fill("wage");
  const wage = page.getByRole("textbox", { name: /wage/i }).first();
  await wage.fill("90");
  await wage.press("Enter");
  await expect.poll(async () => JSON.stringify((await planner.job()).header["prices"] ?? {})).toContain("90");
  await planner.planned();
  await expect(page.locator("#tabpanel")).toContainText(/\+[\d,.]+ /);
});

test("a price that is none is refused at its field, and the last good one stays", async ({ planner, page }) => {
  await planner.open("demo-courtyard.json");
  const first = await planner.planned();
  await planner.show("Rules");
  await page.getByLabel("Search rules and prices").fill("labour wage");
  const wage = page.getByRole("textbox", { name: /^wage/i });
  const { y } = (await wage.boundingBox()) ?? { y: 0 };
  await wage.fill("forty");
  await wage.press("Enter");
  const item = page.locator("li", { has: wage });
  await expect(item.getByRole("alert")).toContainText("“forty” is not a number");
  await expect(wage).toHaveAttribute("aria-invalid", "true");
  expect((await wage.boundingBox())?.y).toBe(y);
  expect(JSON.stringify((await planner.job()).header["prices"])).not.toContain("forty");
  expect((await planner.planned()).version).toBe(first.version);
  await wage.fill("52");
  await wage.press("Enter");
  await expect(item.getByRole("alert")).toHaveCount(0);
  await expect.poll(async () => JSON.stringify((await planner.job()).header["prices"])).toContain('"wage":52');
  await planner.planned();
  expect((await wage.boundingBox())?.y).toBe(y);
  // What only the program knows to be wrong is taken back, as one change with what was taken.
  const before = JSON.stringify((await planner.job()).header["prices"]);
  await page.getByLabel("Search rules and prices").fill("tax labour on");
  const on = page.getByRole("textbox").nth(1);
  await on.fill("the moon");
  await on.press("Enter");
  await expect(page.locator("#tabpanel").getByRole("alert")).toContainText(/moon/);
  await expect.poll(async () => JSON.stringify((await planner.job()).header["prices"])).toBe(before);
  await expect.poll(async () => (await planner.job()).findings.filter((finding) => finding.severity === "error")).toEqual([]);
});

test("a file that is none is refused in words, and a survey is taken", async ({ planner, page }) => {
  await planner.open(null);
  const drop = (name: string, text: string) =>
    page.evaluate(
      ([name, text]) => {
        const files = new DataTransfer();
        files.items.add(new File([text ?? ""], name ?? ""));
        for (const type of ["dragenter", "dragover", "drop"]) document.body.dispatchEvent(new DragEvent(type, { dataTransfer: files, bubbles: true, cancelable: true }));
      },
      [name, text],
    );
  await drop("noise.dxf", "this is no drawing");
  await expect(page.getByRole("alert")).toContainText("noise.dxf");
  expect((await planner.job()).features).toEqual([]);
  await drop("points.csv", "point,easting,northing,code\nA,0,0,mark\nB,30,0,mark\n");
  await expect.poll(async () => (await planner.job()).features.length).toBeGreaterThan(0);
});
