import { audit, expect, fits, test } from "./lab";

type Budget = { u_um: number; lines: unknown[]; pin: { decision: string } };

test("a session grows its budget from the keyboard and is recorded as shown", async ({ page, request }) => {
  await page.goto("/end/CB-015A");
  await page.getByRole("link", { name: "Gauge with its budget" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Gauge CB-015A" })).toBeFocused();
  await expect(page.getByText("The budget appears with the first reading.")).toBeVisible();
  await page.getByLabel("Gauge", { exact: true }).focus();
  await page.keyboard.type("GA-001");
  await page.keyboard.press("Enter");
  await page.keyboard.type("GM-001");
  await page.getByLabel("1. zero before, distance with unit").focus();
  await page.keyboard.type("0um");
  for (const [i, distance] of ["12um", "11um", "13um"].entries()) {
    const field = page.getByLabel(`${i + 1}. reading, distance with unit`);
    await field.focus();
    await page.keyboard.type(distance);
    if (i === 0) {
      await page.keyboard.press("Tab");
      await page.keyboard.press("Space");
      await field.focus();
    }
    if (i < 2) await page.keyboard.press("Enter");
  }
  await page.getByLabel("1. zero after, distance with unit").focus();
  await page.keyboard.type("0um");
  await expect(page.getByRole("heading", { name: "Shown safe" })).toBeVisible();
  const body = {
    end: "CB-015A",
    gauge: "GA-001",
    master: "GM-001",
    readings: ["12um", "11um", "13um"].map((distance) => ({ word: "recessed", distance })),
    zero_before: [{ word: "", distance: "0um" }],
    zero_after: [{ word: "", distance: "0um" }],
  };
  const budget = (await (await request.post("/api/v1/gaugings/budget", { data: body })).json()) as Budget;
  await expect(page.locator("table.budget tbody tr")).toHaveCount(budget.lines.length);
  await expect(page.getByText(`Combined u = ${Number(budget.u_um.toPrecision(3))} µm`)).toBeVisible();
  await expect(page.getByRole("img", { name: "Where the pin may be, with the plane and the guard band" })).toBeVisible();
  await audit(page, "a whole session");
  await page.getByLabel("Who gauged").fill("metrologist-1");
  await page.getByRole("button", { name: "Record the gauging of CB-015A" }).press("Enter");
  await expect(page.getByText(/^Recorded: a gauging of CB-015A/)).toBeVisible();
  const end = (await (await request.get("/api/v1/ends/CB-015A")).json()) as { standing: Budget };
  expect(end.standing.pin.decision).toBe(budget.pin.decision);
  await expect(page.getByRole("img", { name: "Pin position over contacts, with twice the standard uncertainty" })).toBeVisible();
});

test("a likely slip is asked about, and nothing typed is lost", async ({ page }) => {
  await page.goto("/gauge/CB-015A");
  await page.getByLabel("Gauge", { exact: true }).fill("GA-001");
  await page.getByLabel("Gauge master").fill("GM-002");
  await page.getByLabel("1. reading, distance with unit").fill("12um");
  await page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Recessed" }).click();
  await page.getByLabel("1. zero before, distance with unit").fill("0um");
  const asked = page.getByRole("group", { name: "Is it so?" });
  await expect(asked.getByText(/the pair is matched, was it really this one\?/)).toBeVisible();
  await expect(asked.getByText(/are there no more\?/)).toBeVisible();
  await page.getByLabel("Who gauged").fill("metrologist-1");
  await page.getByRole("button", { name: "Record the gauging of CB-015A" }).click();
  await expect(page.locator("#session-master-error, #readings-error").first()).toBeVisible();
  await audit(page, "questions");
  await expect(page.getByLabel("1. reading, distance with unit")).toHaveValue("12um");
  await page.getByLabel("1. reading, distance with unit").fill("-12um");
  await expect(page.getByText(/makers and tables disagree/)).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`the session has no barrier in ${scheme}, on a tablet and on a narrow screen`, async ({ page }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await page.setViewportSize({ width: 768, height: 1024 });
    await page.goto("/gauge/CB-004A");
    await page.getByLabel("Gauge", { exact: true }).fill("GA-002");
    await page.getByLabel("1. reading, distance with unit").fill("5um");
    await page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Recessed" }).click();
    await expect(page.getByRole("heading", { name: "This gauge cannot decide" })).toBeVisible();
    await expect(page.getByText("No number of readings with this gauge would decide.")).toBeVisible();
    await audit(page, `a session in ${scheme}`);
    await fits(page);
    await page.setViewportSize({ width: 320, height: 900 });
    await fits(page, "a narrow screen");
  });
}
