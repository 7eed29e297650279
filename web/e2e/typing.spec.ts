import { audit, expect, fits, scan, test } from "./lab";

test("a gauge that types: unit and sign said once, comma understood, 1,250 asked about, nothing sent by Enter", async ({ page, request }) => {
  const before = (await (await request.get("/api/v1/ends/CB-001A")).json()).history.length as number;
  await page.goto("/gauge/CB-001A");
  await page.getByRole("textbox", { name: "Gauge", exact: true }).fill("GA-001");
  await page.getByText("When GA-001 types").click();
  await page.getByLabel("Numbers without a unit are in").selectOption("um");
  await page.getByLabel("A minus means").selectOption("recessed");
  await audit(page, "how a gauge types");

  const first = page.locator("#reading-0");
  await first.focus();
  await scan(page, "-12,5");
  await expect(first).toHaveValue("12.5um");
  await expect(page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Recessed" })).toHaveAttribute("aria-pressed", "true");
  // The next burst lands in the next reading by itself.
  const second = page.locator("#reading-1");
  await expect(second).toBeFocused();
  await scan(page, "-1,250");
  await expect(page.getByText("1,250: is the comma a decimal sign?")).toBeVisible();
  await audit(page, "a comma is asked about");
  await fits(page, "a comma is asked about");
  await page.getByRole("button", { name: "1.250um", exact: true }).click();
  await expect(second).toHaveValue("1.250um");
  // Another unit than was said is not taken over in silence.
  await second.fill("0.5mil");
  await page.keyboard.press("Enter");
  await expect(page.getByText("This gauge types in um, found mil. Which is right?")).toBeVisible();
  await page.reload();
  await page.getByRole("textbox", { name: "Gauge", exact: true }).fill("GA-001");
  await expect(page.getByText("When GA-001 types: in µm, minus is recessed")).toBeVisible();
  expect((await (await request.get("/api/v1/ends/CB-001A")).json()).history.length).toBe(before);
});
