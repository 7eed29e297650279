// Pictures of the real page, for the README and for an eye. Written to
// MATEWELL_SCREENSHOTS_TO, or test-results/pictures.
import { join } from "node:path";
import { expect, LIKE, pair, ready, scan, test } from "./lab";

const to = process.env.MATEWELL_SCREENSHOTS_TO ?? "test-results/pictures";

for (const scheme of ["light", "dark"] as const) {
  for (const width of [1280, 768, 320]) {
    test(`${scheme} ${width}`, async ({ page, request }) => {
      test.setTimeout(120_000);
      await page.emulateMedia({ colorScheme: scheme });
      await page.setViewportSize({ width, height: 900 });
      const shoot = (name: string) => page.screenshot({ path: join(to, `${name}-${scheme}-${width}.png`), fullPage: true });
      const go = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
      const stop = await pair(request, "stop", [["n75", "n50"], ["n50", "n75"]]);
      for (const [name, ends] of [["go", go], ["stop", stop]] as const) {
        await ready(page);
        await page.getByLabel("Wanted at").fill("6GHz");
        await page.keyboard.press("Enter");
        await scan(page, ends[0]);
        await expect(page.getByRole("region", { name: `First end: ${ends[0]}` })).toBeVisible();
        await scan(page, ends[1]);
        await expect(page.getByRole("heading", { name: "Why" })).toBeVisible();
        await shoot(`bench-${name}`);
      }
      await page.goto("/end/CB-009A");
      await expect(page.getByRole("heading", { name: "History" })).toBeVisible();
      await page.getByRole("button", { name: "Gauge", exact: true }).click();
      await shoot("end");
      await page.goto("/due");
      await expect(page.locator(".due li").first()).toBeVisible();
      await shoot("due");
      await page.goto("/trace?ends=CB-009A");
      await page.getByRole("option", { name: /^CB-014B: / }).click();
      await shoot("trace");
      await page.goto("/register");
      await expect(page.locator(".rows tbody tr").first()).toBeVisible();
      await shoot("register");
      await page.goto("/sweeps");
      await expect(page.locator("canvas").nth(1)).toBeVisible();
      await shoot("sweeps");
    });
  }
}
