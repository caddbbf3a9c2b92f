/** What is printed: the program's own sheets, and the page. */
import AxeBuilder from "@axe-core/playwright";
import { expect, test } from "./planner";

test("sheets are chosen and opened beside the page", async ({ planner, page, context }) => {
  const asked: string[] = [];
  await context.route(/\/api\/(sheets|offer)/, (route) => {
    asked.push(new URL(route.request().url()).pathname + new URL(route.request().url()).search);
    return route.fulfill({ status: 200, contentType: "text/plain", body: "paper" });
  });
  await planner.open("demo-courtyard.json");
  await planner.planned();
  await page.getByRole("button", { name: "Print sheets" }).click();
  const dialog = page.getByRole("dialog", { name: "Print sheets" });
  await expect(dialog.getByRole("checkbox")).toHaveCount(11);
  for (const box of await dialog.getByRole("checkbox").all()) await expect(box).toBeChecked();
  expect((await new AxeBuilder({ page }).include("dialog[open]").analyze()).violations).toEqual([]);
  const opened = async (click: () => Promise<void>) => {
    const [sheet] = await Promise.all([context.waitForEvent("page"), click()]);
    await sheet.waitForLoadState();
    await sheet.close();
  };
  await opened(() => dialog.getByRole("link", { name: "Open all sheets" }).click());
  await expect(dialog).toBeHidden();
  await page.getByRole("button", { name: "Print sheets" }).click();
  await dialog.getByRole("button", { name: "None" }).click();
  await expect(dialog.getByRole("link")).toHaveCount(0);
  await expect(dialog.getByRole("button", { name: "Tick a sheet" })).toBeDisabled();
  // With the keyboard alone.
  for (const name of ["Staking list", "Cut list"]) {
    await dialog.getByRole("checkbox", { name }).focus();
    await page.keyboard.press("Space");
  }
  await opened(async () => {
    await dialog.getByRole("link", { name: "Open 2 sheets" }).focus();
    await page.keyboard.press("Enter");
  });
  await opened(() => page.getByRole("link", { name: "Offer" }).click());
  expect(asked).toEqual(["/api/sheets", "/api/sheets?only=staking,cut-list", "/api/offer"]);
});

test("without a plan there is nothing to print, and the page says why", async ({ planner, page }) => {
  await planner.open(null);
  for (const name of ["Print sheets", "Offer"]) {
    const button = page.getByRole("button", { name });
    await expect(button).toHaveAttribute("aria-disabled", "true");
    await expect(button).toHaveAccessibleDescription(/no plan yet/);
    // A button that says it is disabled is still there for whoever asks why.
    await button.click({ force: true });
    await expect(page.getByText("There is no plan yet")).toBeVisible();
    await expect(page.getByRole("dialog", { name: "Print sheets" })).toBeHidden();
  }
});

test("the page prints on one sheet, whatever is open", async ({ planner, page }) => {
  await planner.open("demo.json");
  await planner.planned();
  await planner.show("Days");
  const count = async () => (await page.pdf({ preferCSSPageSize: true })).toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g)?.length;
  expect(await count()).toBe(1);
  await page.getByRole("button", { name: "Print sheets" }).click();
  expect(await count()).toBe(1);
  await page.keyboard.press("Escape");
  await page.emulateMedia({ media: "print" });
  await page.screenshot({ path: "test-results/printed.png" });
  await expect(page.locator(".print-only")).toBeVisible();
  await expect(page.locator("header.top")).toBeHidden();
});
