import { audit, expect, fits, test } from "./lab";

test("the line screen shows what the API says, from the keyboard", async ({ page, request }) => {
  await page.goto("/line");
  await expect(page.getByRole("heading", { name: "Reflection magnitude over frequency" })).toBeVisible();
  const gap = page.getByRole("slider", { name: "Gap", exact: true });
  await gap.focus();
  await page.keyboard.press("ArrowRight");
  await expect(page.getByRole("spinbutton", { name: "Gap in µm", exact: true })).toHaveValue("61");
  await page.getByRole("spinbutton", { name: "Frequency in GHz" }).fill("26");
  const asked = { interface: "3.5mm", gap: "61um", at: "26GHz" };
  const answer = (await (await request.get("/api/v1/line/gap", { params: asked })).json()) as { return_loss_db: number };
  await expect(page.getByText(`${answer.return_loss_db.toFixed(1)} dB`, { exact: true })).toBeVisible();
  await expect(page.getByRole("img", { name: "End view of the line, to scale" })).toBeVisible();
});

test("an uncertain gap widens the answer, and every interface of the sheets can be chosen", async ({ page, request }) => {
  await page.goto("/line");
  await page.getByRole("spinbutton", { name: "Standard uncertainty of the gap in µm" }).fill("3");
  const asked = { interface: "3.5mm", gap: "60um", u_gap: "3um", at: "18GHz" };
  const answer = (await (await request.get("/api/v1/line/gap", { params: asked })).json()) as { reflection_magnitude_high_95: number };
  await expect(page.getByText(`to ${answer.reflection_magnitude_high_95.toPrecision(3).slice(0, 5)}`).first()).toBeVisible();
  const list = (await (await request.get("/api/v1/interfaces")).json()) as { interfaces: unknown[] };
  await expect(page.getByLabel("Interface").locator("option")).toHaveCount(list.interfaces.length);
});

test("a frequency above the cut-off is refused at its field and comes down with a larger line", async ({ page }) => {
  await page.goto("/line");
  const field = page.getByRole("spinbutton", { name: "Frequency in GHz" });
  await expect(page.getByRole("heading", { name: "Cross-section" })).toBeVisible();
  await field.fill("50");
  await expect(field).toHaveAttribute("aria-invalid", "true");
  await expect(page.getByText("Expected 0.1 to 38.8 GHz, found 50.")).toBeVisible();
  await audit(page, "a frequency above the cut-off");
  await field.fill("38");
  await page.getByLabel("Interface").selectOption("n50");
  await expect(field).toHaveValue("19.4");
});

test("a line without a known pin says so, and an offset where conductors touch is refused", async ({ page }) => {
  await page.setViewportSize({ width: 320, height: 900 });
  await page.goto("/line");
  await page.getByLabel("Interface").selectOption("7mm");
  await expect(page.getByText("No number")).toBeVisible();
  await expect(page.getByText("the pin diameter is not known").first()).toBeVisible();
  await expect(page.getByRole("img", { name: "End view of the line, to scale" })).toBeVisible();
  await audit(page, "no pin");
  await page.getByLabel("Interface").selectOption("1.0mm");
  await page.getByRole("spinbutton", { name: "Off centre by in µm" }).fill("300");
  await expect(page.locator("#line-offset-error")).toContainText("where the conductors touch");
  await audit(page, "an offset too far");
  await fits(page);
});
