import { audit, expect, fits, scan, test } from "./lab";

test("a kit is looked through by scanning its pieces, and says what is missing", async ({ page, request }) => {
  await page.goto("/due");
  await page.getByRole("link", { name: "Storage" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Storage" })).toBeFocused();
  await expect(page.getByRole("row", { name: /KIT-001/ }).first()).toContainText("CS-004 missing");
  await expect(page.getByRole("table", { name: "Planned work, soonest first" })).toContainText("receiver LRW-12");
  await audit(page, "storage");
  await page.getByRole("link", { name: "KIT-001" }).first().click();
  await expect(page.getByRole("heading", { level: 1, name: "KIT-001" })).toBeFocused();
  await expect(page.getByRole("heading", { name: "Not whole" })).toBeVisible();
  // Three labels of pieces, one of an end, none pressed into a field.
  for (const label of ["CS-001", "cs-002A", "CS-003"]) await scan(page, label);
  await expect(page.getByText("3 of 4 pieces looked for.")).toBeVisible();
  await scan(page, "CB-001A");
  await expect(page.getByText("CB-001A is no piece of KIT-001.")).toBeVisible();
  await page.getByRole("group", { name: "Where CS-004 is" }).getByText("Swapped").click();
  await page.getByRole("group", { name: "Clean caps of CS-004" }).getByText("Without caps").click();
  await audit(page, "a kit half looked through");
  await page.getByLabel("Who (needed)", { exact: true }).fill("technician-1");
  await page.getByRole("button", { name: "Record what was found" }).press("Enter");
  await expect(page.getByText("Recorded: 4 of 4 pieces.")).toBeVisible();
  await expect(page.getByText(/CS-004 in the place of another. 1 without caps/)).toBeVisible();
  await fits(page);
  await audit(page, "a kit looked through");
  const kit = (await (await request.get("/api/v1/kits/KIT-001")).json()) as { kit: { state: string }; pieces: { tag: string; capped: boolean | null }[] };
  expect(kit.kit.state).toBe("not-whole");
  expect(kit.pieces.find((piece) => piece.tag === "CS-002")?.capped).toBe(true);
});

test("something is put away by a scan, and a plan is recorded and refused in words", async ({ page }) => {
  await page.goto("/storage");
  await expect(page.getByRole("heading", { name: "Put away last" })).toBeVisible();
  await scan(page, "CB-005");
  await expect(page.getByLabel("Where (needed)")).toBeFocused();
  await page.keyboard.type("cable wall, hook 7");
  const away = page.getByRole("form", { name: "Put something away" });
  await away.getByText("On every end", { exact: true }).click();
  await away.getByLabel("Who (needed)").fill("technician-2");
  await away.getByRole("button", { name: "Record it" }).press("Enter");
  await expect(page.getByText("Recorded: CB-005 is in cable wall, hook 7.")).toBeVisible();
  await page.getByLabel("Find a label or a place").fill("hook 7");
  await expect(page.getByRole("table", { name: "Items put away, latest first" }).getByRole("row")).toHaveCount(2);
  const plan = page.getByRole("form", { name: "Plan work" });
  await plan.getByLabel("Item or kit (needed)").fill("CB-005");
  await plan.getByLabel("What for (needed)").fill("noise survey");
  await plan.getByLabel("From (needed)").fill("2031-05-02");
  await plan.getByLabel("Until (needed)").fill("2031-05-01");
  await plan.getByRole("button", { name: "Record the plan" }).press("Enter");
  await expect(plan.getByText(/expected an end after 2031-05-02/)).toBeVisible();
  await audit(page, "a plan refused");
  await plan.getByLabel("Until (needed)").fill("2031-05-04");
  await plan.getByRole("button", { name: "Record the plan" }).press("Enter");
  await expect(page.getByText("Recorded: CB-005 is wanted for noise survey.")).toBeVisible();
  await expect(page.getByRole("table", { name: "Planned work, soonest first" })).toContainText("noise survey");
  await audit(page, "a plan recorded");
});
