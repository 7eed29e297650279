import { audit, expect, LIKE, pair, ready, scan, test } from "./lab";

test("go: two scans and one key log a mate, and it can be taken back", async ({ page, request }) => {
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  await ready(page);
  await page.getByLabel("Who works here").fill("bench-person");
  await page.keyboard.press("Enter");
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, b);
  await expect(page.getByRole("heading", { name: /^Go/ })).toBeVisible();
  await expect(page.getByRole("heading", { name: "How tight" })).toBeVisible();
  await audit(page, "a go");
  await page.keyboard.press("Control+Enter");
  await expect(page.getByText(`Logged: ${a} on ${b}.`)).toBeVisible();
  const after = await (await request.get(`/api/v1/ends/${a}`)).json();
  expect(after.mated_with.tag).toBe(b);
  await audit(page, "a logged mate");
  await page.getByRole("button", { name: "Take back" }).click();
  await expect(page.getByText("Taken back. The record keeps both.")).toBeVisible();
  const later = await (await request.get(`/api/v1/ends/${a}`)).json();
  expect(later.mated_with).toBeNull();
  await expect(page.getByRole("textbox", { name: /^Scan/ })).toBeFocused();
});

test("stop: a 75 ohm cable on a 50 ohm jack, refused, then overridden with a reason", async ({ page, request }) => {
  const [a, b] = await pair(request, "stop", [["n75", "n50"], ["n50", "n75"]]);
  await ready(page);
  await page.getByLabel("Who works here").fill("bench-person");
  await page.keyboard.press("Enter");
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, b);
  await expect(page.getByRole("heading", { name: "Stop" })).toBeVisible();
  await expect(page.getByRole("button", { name: "Log this mate" })).toHaveCount(0);
  await page.keyboard.press("Control+Enter");
  await expect(page.getByText("Logged")).toHaveCount(0);
  await audit(page, "a stop");

  await page.getByRole("button", { name: "Leave them apart" }).click();
  await expect(page.getByText(`The refusal is on record: ${a} on ${b}.`)).toBeVisible();

  await page.getByRole("button", { name: "Override, with a reason" }).click();
  const send = page.getByRole("button", { name: `Override and log ${a} on ${b}` });
  await send.click();
  await expect(page.getByText("Write the reason in words.")).toBeVisible();
  await page.getByLabel("Reason").fill("Scrap pair, kept for training");
  await audit(page, "an override");
  await send.click();
  await expect(page.getByText(`Logged: ${a} on ${b}, under an override.`)).toBeVisible();
  const end = await (await request.get(`/api/v1/ends/${a}`)).json();
  expect(end.mated_with.tag).toBe(b);
  await page.getByRole("button", { name: "Take back" }).click();
  await expect(page.getByText("Taken back. The record keeps both.")).toBeVisible();
});

test("nobody is logged for: the name is asked at its field", async ({ page, request }) => {
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  await ready(page);
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, b);
  await page.getByRole("button", { name: "Log this mate" }).click();
  await expect(page.getByLabel("Who works here")).toBeFocused();
  await expect(page.getByLabel("Who works here")).toHaveAttribute("aria-invalid", "true");
  await audit(page, "a name is asked for");
});

test("a label that fits two ends asks which; one that fits none says so", async ({ page, request }) => {
  const list = (await (await request.get("/api/v1/ends/CB-001")).json()) as { candidates: string[] };
  await ready(page);
  await scan(page, "CB-001");
  const choice = page.getByRole("button", { name: list.candidates[0] ?? "", exact: true });
  await expect(choice).toBeVisible();
  await audit(page, "which end");
  await choice.click();
  await expect(page.getByRole("region", { name: `First end: ${list.candidates[0]}` })).toBeVisible();
  await scan(page, "NO-SUCH-LABEL");
  await expect(page.getByRole("alert")).toContainText("NO-SUCH-LABEL");
  await expect(page.getByRole("textbox", { name: /^Scan/ })).toHaveValue("");
});

for (const delay of [2, 80]) {
  test(`a scan at ${delay} ms a key lands in the scan field wherever the focus is`, async ({ page }) => {
    await ready(page);
    await page.getByRole("link", { name: "Due" }).focus();
    await scan(page, "CB-001A", delay);
    await expect(page.getByRole("region", { name: "First end: CB-001A" })).toBeVisible();
    await expect(page).toHaveURL(/\/$/);
    // A button has the focus: the scan's Enter must not press it.
    await page.getByRole("button", { name: "Clear the bench" }).focus();
    await scan(page, "CB-001B", delay);
    await expect(page.getByRole("region", { name: "Other end: CB-001B" })).toBeVisible();
  });

  test(`a scan at ${delay} ms a key on another screen opens the end`, async ({ page }) => {
    await page.goto("/due");
    await expect(page.getByRole("heading", { name: "Due" })).toBeVisible();
    await page.getByRole("link", { name: "Register" }).focus();
    await scan(page, "CB-001A", delay);
    await expect(page).toHaveURL(/\/end\/CB-001A$/);
    await expect(page.getByRole("heading", { level: 1, name: "CB-001A" })).toBeFocused();
  });
}

test("a scanner that ends with Tab works; a scan into a field of a form sends nothing", async ({ page, request }) => {
  await ready(page);
  await page.keyboard.type("CB-001A", { delay: 2 });
  await page.keyboard.press("Tab");
  await expect(page.getByRole("region", { name: "First end: CB-001A" })).toBeVisible();

  await page.goto("/end/CB-001A");
  const before = (await (await request.get("/api/v1/ends/CB-001A")).json()).history.length;
  await page.getByRole("button", { name: "Hold", exact: true }).click();
  await page.getByLabel("Who did it").fill("bench-person");
  await page.getByLabel("Note").focus();
  await scan(page, "CB-002A");
  await expect(page.getByRole("button", { name: "Hold CB-001A" })).toBeFocused();
  expect((await (await request.get("/api/v1/ends/CB-001A")).json()).history.length).toBe(before);
});

test("an unreadable frequency is said at its field", async ({ page }) => {
  await ready(page);
  await page.getByLabel("Wanted at").fill("18 furlongs");
  await page.keyboard.press("Enter");
  await scan(page, "CB-001A");
  await expect(page.getByRole("region", { name: "First end: CB-001A" })).toBeVisible();
  await scan(page, "CB-001B");
  await expect(page.getByLabel("Wanted at")).toHaveAttribute("aria-invalid", "true");
  await audit(page, "a bad frequency");
});
