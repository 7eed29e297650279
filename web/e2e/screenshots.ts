// Pictures of the real page: those of the README into docs/pictures, and every
// kind of screen for an eye into MATEWELL_SCREENSHOTS_TO, or test-results/pictures.
import { join } from "node:path";
import { expect, LIKE, pair, ready, scan, test } from "./lab";

const to = process.env.MATEWELL_SCREENSHOTS_TO ?? "test-results/pictures";

test("the README's", async ({ page, request }) => {
  const folder = join(import.meta.dirname, "../../docs/pictures");
  await page.emulateMedia({ colorScheme: "light", reducedMotion: "reduce" });
  await page.setViewportSize({ width: 1180, height: 800 });
  const shoot = (name: string, from: number, height: number) => page.screenshot({ path: join(folder, `${name}.png`), fullPage: true, clip: { x: 0, y: from, width: 1180, height } });
  const top = (selector: string) => page.locator(selector).first().evaluate((found) => found.getBoundingClientRect().top + scrollY);

  // An SMA pin on a precision socket: go, with care, and what is at risk.
  const [pin, socket] = await pair(request, "go-with-care", [["sma", "3.5mm"], ["sma", "2.92mm"]]);
  await ready(page);
  await scan(page, pin);
  await expect(page.getByRole("region", { name: `First end: ${pin}` })).toBeVisible();
  await scan(page, socket);
  await expect(page.getByRole("heading", { name: "Why" })).toBeVisible();
  await shoot("mate-check", 0, 900);

  await page.goto("/end/CB-009A");
  await expect(page.getByRole("heading", { name: "Pin over contacts" })).toBeVisible();
  await page.evaluate(() => document.querySelector<HTMLElement>(":focus")?.blur());
  await shoot("end", 0, 800);

  await page.goto("/trace?ends=CB-009A");
  await page.getByRole("option", { name: /^CB-014B: / }).click();
  await page.evaluate(() => document.querySelector<HTMLElement>(":focus")?.blur());
  await shoot("trace", (await top(".trace-text")) - 12, 800);
});

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
