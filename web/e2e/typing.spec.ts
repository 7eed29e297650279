import { audit, expect, fits, LIKE, pair, ready, scan, test } from "./lab";

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

test("a burst outside every field: a number lands in the next open reading, a tool is taken, nothing typed is lost", async ({ page, request }) => {
  const before = (await (await request.get("/api/v1/ends/CB-015B")).json()).history.length as number;
  await page.goto("/gauge/CB-015B");
  await page.getByRole("textbox", { name: "Gauge", exact: true }).fill("GA-001");
  await page.getByText("When GA-001 types").click();
  await page.getByLabel("Numbers without a unit are in").selectOption("um");
  await page.getByLabel("A minus means").selectOption("recessed");
  await page.locator("#reading-0").fill("-12um");

  // A button has the focus: neither the number nor its Enter may press it.
  await page.getByRole("button", { name: "Record the gauging of CB-015B" }).focus();
  await scan(page, "-12,5");
  await expect(page.locator("#reading-1")).toHaveValue("12.5um");
  await expect(page.getByText("-12,5 is reading 2.")).toBeVisible();
  await expect(page.getByRole("group", { name: "Side of reading 2" }).getByRole("button", { name: "Recessed" })).toHaveAttribute("aria-pressed", "true");
  await audit(page, "a number landed");

  // A space of a label presses no button, a wrench goes to the bench.
  const side = page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Protruding" });
  await side.focus();
  await scan(page, "NO SUCH END");
  await expect(side).toHaveAttribute("aria-pressed", "false");
  const asked = page.getByRole("region", { name: "Scanned: NO SUCH END" });
  await expect(asked).toContainText("What is typed here is kept in this browser.");
  await audit(page, "a scan is asked about");
  await fits(page, "a scan is asked about");
  await asked.getByRole("button", { name: "Stay here" }).click();
  await page.getByRole("button", { name: "Add the dielectric" }).focus();
  await scan(page, "GM-001");
  await expect(page.getByLabel("Gauge master")).toHaveValue("GM-001");
  await expect(page.getByRole("button", { name: "Add the dielectric" })).toBeVisible();
  await page.getByRole("button", { name: "Add the dielectric" }).focus();
  await scan(page, "TW-003");
  await expect(page.getByText("Wrench in hand at this bench: TW-003.")).toBeVisible();

  // Another end is opened when asked, and the session is there again afterwards.
  await page.getByRole("button", { name: "Add the dielectric" }).focus();
  await scan(page, "CB-001A");
  await page.getByRole("button", { name: "Open CB-001A" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "CB-001A" })).toBeFocused();
  await page.goBack();
  await expect(page.getByText(/What was typed here before is back/)).toBeVisible();
  await expect(page.locator("#reading-0")).toHaveValue("12um");
  await expect(page.locator("#reading-1")).toHaveValue("12.5um");
  await page.reload();
  await expect(page.locator("#reading-1")).toHaveValue("12.5um");
  await audit(page, "a session that is back");
  await page.getByRole("button", { name: "Start anew" }).click();
  await expect(page.locator("#reading-0")).toHaveValue("");
  await page.reload();
  await expect(page.getByText(/What was typed here before is back/)).toHaveCount(0);
  expect((await (await request.get("/api/v1/ends/CB-015B")).json()).history.length).toBe(before);
});

test("a scan over a form that is not recorded yet is asked about; Enter in any of its fields sends nothing", async ({ page, request }) => {
  const before = (await (await request.get("/api/v1/ends/CB-002A")).json()).history.length as number;
  await page.goto("/end/CB-002A");
  await page.getByRole("button", { name: "Look", exact: true }).click();
  await page.getByLabel("Who did it").fill("bench-person");
  await page.getByLabel("In words").fill("dust on the rim");
  const good = page.getByLabel("Good");
  await good.check();
  // Enter on a choice would send the form in a browser.
  await page.keyboard.press("Enter");
  await page.waitForTimeout(700);
  await scan(page, "CB-001A");
  await expect(page.getByRole("region", { name: "Scanned: CB-001A" })).toContainText("would be lost");
  await expect(page).toHaveURL(/CB-002A$/);
  await expect(page.getByLabel("In words")).toHaveValue("dust on the rim");
  await audit(page, "a scan over a form");
  await page.getByRole("button", { name: "Stay here" }).click();
  expect((await (await request.get("/api/v1/ends/CB-002A")).json()).history.length).toBe(before);
});

test("a scanner that ends with two Enters presses nothing with the second", async ({ page, request }) => {
  const before = (await (await request.get("/api/v1/ends/CB-002B")).json()).history.length as number;
  await page.goto("/end/CB-002B");
  await page.getByRole("button", { name: "Clean", exact: true }).click();
  await page.getByLabel("Who did it").fill("bench-person");
  await page.getByLabel("Note").focus();
  await page.keyboard.type("CB-001A", { delay: 2 });
  await page.keyboard.press("Enter");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("button", { name: "Record the cleaning of CB-002B" })).toBeFocused();
  await page.waitForTimeout(500);
  expect((await (await request.get("/api/v1/ends/CB-002B")).json()).history.length).toBe(before);
});

test("a scanned list choice keeps its value", async ({ page }) => {
  await page.goto("/gauge/CB-001A");
  const method = page.getByLabel("How it meets the end");
  await method.selectOption("caliper");
  await method.focus();
  await scan(page, "GA-001");
  await expect(page.getByRole("textbox", { name: "Gauge", exact: true })).toHaveValue("GA-001");
  await expect(method).toHaveValue("caliper");
});

test("a wrench and a gauge scanned at the bench are taken in hand, the pair stays", async ({ page, request }) => {
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  await ready(page);
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, "GA-001");
  await expect(page.getByText(/^Gauge in hand: GA-001\./)).toBeVisible();
  await scan(page, b);
  await expect(page.getByRole("heading", { name: /^Go/ })).toBeVisible();
  await scan(page, "TW-003");
  await expect(page.getByText(/^Wrench in hand: TW-003\./)).toBeVisible();
  await expect(page.getByLabel("Wrench in hand")).toHaveValue("TW-003");
  // The same pair, judged anew with this wrench.
  await expect(page.getByText(/TW-003/).first()).toBeVisible();
  await expect(page.getByRole("region", { name: `Other end: ${b}` })).toBeVisible();
  await audit(page, "a gauge in hand");
  await page.goto(`/gauge/${a}`);
  await expect(page.getByRole("textbox", { name: "Gauge", exact: true })).toHaveValue("GA-001");
});
