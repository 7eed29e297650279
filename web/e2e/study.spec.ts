import { readFileSync } from "node:fs";
import { audit, expect, fits, test } from "./lab";

const table = readFileSync(new URL("../../docs/examples/studies/gauge-study.csv", import.meta.url), "utf8");

for (const scheme of ["light", "dark"] as const) {
  for (const width of [1280, 768]) {
    test(`a gauge study has no violation, ${scheme}, ${width} px`, async ({ page, request }) => {
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      await page.setViewportSize({ width, height: 900 });
      await page.goto("/study");
      await page.getByLabel("Table", { exact: true }).fill(table);
      await page.getByRole("button", { name: "Compute" }).click();
      // Nothing is preset where works differ: the service asks.
      await expect(page.locator("#study-pool-error")).toContainText("expected keep, always");
      await audit(page, `asked, ${scheme} ${width}`);
      await page.getByLabel("Pool the interaction").fill("0.25");
      await page.getByLabel("Ratios over").selectOption("repeatability");
      await page.getByRole("button", { name: "Compute" }).click();
      const answer = (await (
        await request.post("/api/v1/study/gauge?pool=0.25&f_over=repeatability", { data: table, headers: { "content-type": "text/csv" } })
      ).json()) as { summary: string };
      await expect(page.getByText(answer.summary)).toBeVisible();
      const picture = page.getByRole("img", { name: /Gauge study/ });
      await expect(picture).toBeVisible();
      expect(await picture.evaluate((img: HTMLImageElement) => img.naturalWidth)).toBeGreaterThan(0);
      for (const fold of await page.locator("main summary").all()) await fold.click();
      await audit(page, `answered, ${scheme} ${width}`);
      await fits(page);
    });
  }
}

test("a study of facts and the windows, from the keyboard only", async ({ page }) => {
  await page.goto("/study");
  const tabTo = async (id: string) => {
    for (let i = 0; i < 40; i++) {
      await page.keyboard.press("Tab");
      if ((await page.evaluate(() => document.activeElement?.id)) === id) return;
    }
    throw new Error(`expected to reach ${id} by Tab`);
  };
  await tabTo("study-question");
  await page.keyboard.type("Charts");
  await page.keyboard.press("Tab");
  await page.keyboard.press("ArrowDown");
  await tabTo("study-tool");
  await page.keyboard.type("GA-002");
  for (let i = 0; i < 20; i++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement?.textContent?.trim() === "Compute")) break;
  }
  await page.keyboard.press("Enter");
  await expect(page.getByText(/values signal; first/)).toBeVisible();
  await audit(page, "charts of a gauge");
  await fits(page, "charts of a gauge");
  await page.getByLabel("Study", { exact: true }).selectOption("window");
  await page.getByRole("button", { name: "Compute" }).click();
  await expect(page.getByRole("cell", { name: "TW-003" })).toBeVisible();
  await audit(page, "windows");
  await fits(page, "windows");
});

test("a table that is not understood is refused at the table, with row and column", async ({ page }) => {
  await page.goto("/study");
  await page.getByLabel("Study", { exact: true }).selectOption("compare");
  await page.getByLabel("Table", { exact: true }).fill("lab,result (um),expanded uncertainty (um)\nA,x,1\n");
  await page.getByRole("button", { name: "Compute" }).click();
  await expect(page.locator("#study-table-error")).toContainText("row 2, column B");
  await page.getByLabel("Table", { exact: true }).fill("lab,result,expanded uncertainty\nA,1,1\nB,2,1\n");
  await page.getByRole("button", { name: "Compute" }).click();
  await expect(page.locator("#study-unit-error")).toContainText("a unit in the header");
  await audit(page, "asked for the unit");
});

test("the end leads to its drift, which says why there is no forecast", async ({ page, request }) => {
  await page.goto("/end/CB-014A");
  await page.getByRole("link", { name: "Drift over its mates" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Drift of CB-014A" })).toBeVisible();
  const drift = (await (await request.get("/api/v1/ends/CB-014A/drift?cleaning=breaks")).json()) as { summary: string; forecasts: { refused_because: { text: string }[] }[] };
  await expect(page.getByText(drift.summary)).toBeVisible();
  const why = drift.forecasts[0]?.refused_because[0]?.text ?? "";
  expect(why).toContain("at least 5 gaugings");
  await expect(page.getByRole("cell", { name: why }).first()).toBeVisible();
  const picture = page.getByRole("img", { name: /Pin position/ });
  await expect(picture).toBeVisible();
  expect(await picture.evaluate((img: HTMLImageElement) => img.naturalWidth)).toBeGreaterThan(0);
  await page.getByLabel("Limit").fill("3um");
  await page.getByRole("button", { name: "Compute" }).click();
  await expect(page.locator("#drift-limit-error")).toContainText("recessed 3um");
  await audit(page, "a limit without its word");
  await page.getByLabel("Limit").fill("recessed 3um");
  await page.getByLabel("does not: the end is cleaned").check();
  await page.getByRole("button", { name: "Compute" }).click();
  await expect(page.getByText("the limit asked for").first()).toBeVisible();
  await audit(page, "a limit asked");
  await fits(page);
});
