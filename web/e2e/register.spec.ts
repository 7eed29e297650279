import { audit, expect, fits, test } from "./lab";
import { workbook } from "./workbook";

const HEADER = "Item,Kind,End tag,Interface,Sex,Hook\n";

test("a spreadsheet is brought in: mapping shown and changed, problems listed, written whole", async ({ page, request }) => {
  await page.goto("/register");
  await page.getByRole("link", { name: "Bring in a spreadsheet" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Bring in a spreadsheet" })).toBeFocused();
  await audit(page, "before a file is chosen");
  const bad = `${HEADER}QX-901,cable,QX-901A,SMA,male,left drawer\nQX-901,cable,QX-901B,SMA,female,left drawer\nQX-902,adapter,QX-902A,banana,male,\n`;
  const choose = page.getByLabel("Spreadsheet");
  await choose.setInputFiles({ name: "new cables.csv", mimeType: "text/csv", buffer: Buffer.from(bad) });
  await expect(page.getByText(/Nothing can be written yet: 1 problem/)).toBeVisible();
  await expect(page.getByText("banana").last()).toBeVisible();
  await expect(page.getByRole("button", { name: "Write all" })).toBeDisabled();
  await audit(page, "a file with a problem");
  expect((await request.get("/api/v1/ends/QX-901A")).status(), "nothing is written").toBe(404);

  await choose.setInputFiles({ name: "new cables.csv", mimeType: "text/csv", buffer: Buffer.from(bad.replace("banana", "SMA")) });
  await expect(page.getByText(/2 facts are ready/)).toBeVisible();
  await page.getByLabel("Hook").selectOption("location");
  await expect(page.getByRole("row", { name: /Hook/ })).toContainText("you said so");
  await fits(page);
  await audit(page, "ready to be written");
  await page.getByRole("button", { name: "Write all" }).press("Enter");
  await expect(page.getByText(/person|expected a name/).last()).toBeVisible();
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByRole("button", { name: "Write all" }).press("Enter");
  await expect(page.getByText(/Written: 2 facts/)).toBeVisible();
  const item = (await (await request.get("/api/v1/items/QX-901")).json()) as { registered: { location: string } };
  expect(item.registered.location).toBe("left drawer");
});

test("one item is written down, set right, and put away", async ({ page }) => {
  await page.goto("/register/new");
  await page.getByLabel("Label (needed)").fill("QX-910");
  const end = page.getByRole("group", { name: "End 1" });
  await end.getByLabel("Label").fill("QX-910A");
  await end.getByLabel("Interface").fill("banana");
  await end.getByLabel("Half").selectOption("pin");
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByRole("button", { name: "Write it down" }).press("Enter");
  await expect(page.getByRole("alert").filter({ hasText: /found "banana"/ })).toBeVisible();
  await expect(end.getByLabel("Label"), "what was typed stays").toHaveValue("QX-910A");
  await audit(page, "an item with a problem");
  await end.getByLabel("Interface").fill("sma");
  await page.getByRole("button", { name: "Write it down" }).press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "QX-910" })).toBeFocused();
  await expect(page.getByText("Nobody has put it away on record.")).toBeVisible();

  await page.getByLabel("Where (needed)").fill("drawer 3");
  await page.getByLabel("On every end", { exact: true }).check();
  await page.getByRole("button", { name: "Record it" }).press("Enter");
  await expect(page.getByText("Recorded: QX-910 is in drawer 3.")).toBeVisible();
  await expect(page.getByText(/^Capped\./)).toBeVisible();
  await page.getByRole("button", { name: "Set it right" }).press("Enter");
  await page.getByLabel("Serial number").fill("S-77");
  await page.getByLabel("Why is it changed (needed)").fill("read it on the body");
  await page.getByRole("form", { name: /registration of QX-910/ }).getByRole("button", { name: "Record the correction" }).press("Enter");
  await expect(page.getByText("S-77")).toBeVisible();
  await expect(page.getByText(/Corrected an earlier fact/)).toBeVisible();
  await fits(page);
  await audit(page, "an item");
});

test("the policy says of every value where it is from and what is the lab's own", async ({ page, request }) => {
  const policy = (await (await request.get("/api/v1/policy")).json()) as { rows: { own: boolean }[]; own_file: { sha256: string } };
  await page.goto("/policy");
  await expect(page.getByRole("heading", { level: 1, name: "Policy" })).toBeVisible();
  await expect(page.getByText(`${policy.rows.length} values`)).toBeVisible();
  await expect(page.getByText(policy.own_file.sha256)).toBeVisible();
  await page.getByLabel("Find by name").fill("protrusion");
  await expect(page.locator("table.policy tbody tr")).toHaveCount(1);
  await expect(page.locator("table.policy tbody tr")).toContainText("0.025");
  await fits(page);
  await expect(page.getByRole("region", { name: "What was in force when" })).toContainText("The first on record.");
  await audit(page, "the policy");
});

test("an end shows the case that holds it, its sweeps and its item", async ({ page, request }) => {
  const because = "finger bent, for a test of the page";
  await request.post("/api/v1/inspections", { data: { end: "CB-020A", outcome: "damaged", seen: ["bent-finger"], person: "technician-1" } });
  const opened = await request.post("/api/v1/cases", { data: { ends: ["CB-020A"], because, person: "lead-1" } });
  expect(opened.status()).toBe(201);
  await page.goto("/end/CB-020A");
  const cases = page.getByRole("region", { name: "Cases" });
  await expect(cases).toContainText(because);
  await expect(cases).toContainText("it was found bad");
  await audit(page, "an end with a case");
  await page.getByRole("region", { name: "About" }).getByRole("link", { name: "CB-020", exact: true }).click();
  await expect(page.getByRole("heading", { level: 1, name: "CB-020" })).toBeFocused();
  await audit(page, "an item of the demo lab");
});

test("a workbook whose signs nobody explained is asked about, and the answer is used", async ({ page, request }) => {
  const rows = [["Date", "End", "Pin depth (um) 1", "Pin depth (um) 2", "Pin depth (um) 3", "Person"], ["2026-11-20", "CB-024A", "-12", "-11", "-13", "technician-2"]];
  const before = (await (await request.get("/api/v1/ends/CB-024A")).json()).history.length as number;
  await page.goto("/register/bring-in");
  await page.getByLabel("Spreadsheet").setInputFiles({ name: "gaugings.xlsx", mimeType: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", buffer: workbook("Gaugings", rows) });
  await expect(page.getByText(/Nothing can be written yet: 0 problems, 1 open question\./)).toBeVisible();
  await expect(page.getByRole("button", { name: "Write all" })).toBeDisabled();
  const question = page.getByRole("region", { name: "3. What the file does not say" });
  await audit(page, "an open question");
  await fits(page, "an open question");
  await question.getByRole("radio", { name: "Protruding" }).check();
  await expect(page.getByText(/1 facts? (is|are) ready|1 fact/).first()).toBeVisible();
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByRole("button", { name: "Write all" }).press("Enter");
  await expect(page.getByText(/Written: 1 fact/)).toBeVisible();
  const { history } = (await (await request.get("/api/v1/ends/CB-024A")).json()) as { history: { text: string; kind: string; person: string }[] };
  expect(history.length).toBe(before + 1);
  expect(history.find((event) => event.person === "technician-2" && event.kind === "gauged")?.text).toContain("recessed by 12 µm");
  await audit(page, "a question answered");
});
