import { audit, expect, fits, test } from "./lab";

test("units and decimal sign follow the person, in reading and in showing", async ({ page, request }) => {
  await page.goto("/your-numbers");
  await page.getByLabel(/Thousandths of an inch/).check();
  await page.getByLabel(/Comma/).check();
  // 12.5 um are 0.492 mil, 1.3 um are 0.051 mil.
  await expect(page.getByText("0,492\u202fmil, u\u202f=\u202f0,051\u202fmil recessed")).toBeVisible();
  await audit(page, "your numbers");
  await fits(page, "your numbers");

  const end = (await (await request.get("/api/v1/ends/CB-014A")).json()) as { standing: { pin: { distance_um: number; u_distance_um: number } } };
  const { distance_um: um, u_distance_um: u } = end.standing.pin;
  await page.goto("/end/CB-014A");
  const shown = (await page.getByRole("region", { name: "Pin", exact: true }).locator(".figure").textContent()) ?? "";
  const [mil, umil] = [...shown.matchAll(/(\d+,\d+)\u202fmil/g)].map((found) => Number((found[1] ?? "").replace(",", ".")));
  expect(Math.abs((mil ?? 0) * 25.4 - um), shown).toBeLessThan(u / 5);
  expect(Math.abs((umil ?? 0) * 25.4 - u), shown).toBeLessThan(u / 10);
  await audit(page, "an end in mil");

  await page.goto("/gauge/CB-014A");
  const first = page.locator("#reading-0");
  await first.fill("0,5");
  await page.keyboard.press("Enter");
  await expect(first).toHaveValue("0.5mil");
  // With a decimal comma a point before three digits can be read two ways.
  await page.locator("#reading-1").fill("1.250");
  await page.keyboard.press("Enter");
  await expect(page.getByText("1.250: is the point a decimal sign?")).toBeVisible();
  await audit(page, "a point is asked about");
});
