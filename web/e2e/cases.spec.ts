import { audit, expect, fits, test } from "./lab";
import type { APIRequestContext } from "@playwright/test";
import type { components } from "../src/api/schema";

type Case = components["schemas"]["CaseWrittenJson"];

/** A case of its own for each test: names are given out once. */
async function opened(request: APIRequestContext, name: string, end = "CB-009A"): Promise<Case> {
  const answer = await request.post("/api/v1/cases", { data: { ends: [end], name, because: "pin protrudes by 62 µm", person: "technician-1" } });
  expect(answer.status(), await answer.text()).toBe(201);
  return (await answer.json()) as Case;
}

test("the list and a case have no violation, light and dark, wide and narrow", async ({ page, request }) => {
  test.setTimeout(240_000);
  const { case: made } = await opened(request, "For the audit");
  for (const scheme of ["light", "dark"] as const) {
    for (const width of [1280, 768, 320]) {
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      await page.setViewportSize({ width, height: 900 });
      await page.goto("/cases");
      await expect(page.getByRole("link", { name: "For the audit" })).toBeVisible();
      await page.getByRole("button", { name: "Open a case", exact: true }).click();
      await audit(page, `the list, ${scheme} ${width}`);
      await fits(page, `the list, ${width}`);
      await page.goto(`/case/${made.case.id}`);
      await expect(page.getByRole("heading", { level: 1, name: "For the audit" })).toBeVisible();
      await page.getByLabel("Choose CB-009A").check();
      await page.getByRole("radio", { name: "Waived until a date" }).check();
      for (const fold of await page.locator("summary").all()) await fold.click();
      await audit(page, `a case, ${scheme} ${width}`);
      await fits(page, `a case, ${width}`);
    }
  }
});

test("a case is opened on the page, decided about, and says what keeps it from being closed", async ({ page }) => {
  await page.goto("/end/CB-010B");
  await page.getByRole("link", { name: "Open a case" }).click();
  await expect(page.getByRole("textbox", { name: "Ends found bad" })).toHaveValue("CB-010B");
  const form = page.getByRole("form", { name: "Open a case" });
  await form.getByLabel("Because").fill("metal flakes were seen");
  await form.getByLabel("Who decides").fill("page-person");
  await form.getByLabel("Ends found bad").fill("NO-SUCH-END");
  await form.getByRole("button", { name: "Open the case" }).click();
  await expect(form.getByText(/NO-SUCH-END/)).toBeVisible();
  await form.getByLabel("Ends found bad").fill("CB-010B");
  await form.getByRole("button", { name: "Open the case" }).click();
  await expect(page.getByRole("heading", { level: 1, name: /^CB-010B/ })).toBeVisible();
  await expect(page.getByText("Exposed is not damaged.")).toBeVisible();

  // Closing lists everything that is missing.
  const close = page.getByRole("form", { name: "Close the case" });
  await close.getByLabel("Because").fill("all looked at");
  await close.getByRole("button", { name: "Close: work may go on" }).click();
  await expect(close.getByText("It cannot be closed yet:")).toBeVisible();
  await expect(close.getByText(/CB-010B: cleared, damaged or waived until a date\?/)).toBeVisible();

  // Ends and results get their decisions.
  const boxes = page.getByRole("table").first().getByRole("checkbox");
  await boxes.evaluateAll((all) => all.forEach((box) => (box as HTMLInputElement).click()));
  await page.getByRole("radio", { name: "Waived until a date" }).check();
  const decide = page.getByRole("form", { name: "Decide about the ends chosen" });
  await decide.getByRole("textbox", { name: "Until" }).fill("soon");
  await decide.getByLabel("Because").fill("the microscope is back tomorrow");
  await decide.getByRole("button", { name: "Waive until then" }).click();
  await expect(decide.getByText(/expected/)).toBeVisible();
  await decide.getByRole("textbox", { name: "Until" }).fill("");
  await decide.getByRole("button", { name: "Waive until then" }).click();
  await expect(page.getByText(/^Recorded\./)).toBeVisible();
  await expect(page.getByText("Waived", { exact: true }).first()).toBeVisible();
  const none = page.getByRole("button", { name: /without a decision$/ });
  if (await none.isVisible()) {
    await none.click();
    const results = page.getByRole("form", { name: "Decide about the results chosen" });
    await results.getByRole("radio", { name: "Measure again" }).check();
    await results.getByLabel("Because").fill("gain fell by 1.6 dB");
    await results.getByRole("button", { name: "Record the decision" }).click();
    await expect(page.getByText("None yet")).toHaveCount(0);
  }
  await expect(page.getByRole("heading", { name: "Ready to close" })).toBeVisible();
  await close.getByLabel("Because").fill("looked at; receivers are capped from now on");
  await close.getByRole("button", { name: "Close: work may go on" }).click();
  await expect(page.getByRole("heading", { name: "Closed", exact: true })).toBeVisible();
  await expect(page.getByRole("form")).toHaveCount(0);
});

test("a late mate is offered, and taken in by the keyboard", async ({ page, request }) => {
  const { case: made } = await opened(request, "For the late mate");
  const inside = new Set(made.work.map((line) => line.tag));
  const late = inside.has("CB-015A") ? "CB-012B" : "CB-015A";
  const touched = made.work.find((line) => line.tag === "CS-002A");
  expect(touched?.arrived_at).toBeTruthy();
  const at = new Date(Date.parse(touched?.arrived_at ?? "") + 3_600_000).toISOString();
  const answer = await request.post("/api/v1/mates/bulk", { data: { person: "rig-1", source: "program", mates: [{ a: "CB-009A", b: late, happened_at: at }] } });
  const written = (await answer.json()) as components["schemas"]["WrittenJson"];
  expect(written.cases.some((c) => c.name === "For the late mate" && c.also_reached.includes(late))).toBe(true);
  await page.goto(`/case/${made.case.id}`);
  await expect(page.getByRole("heading", { name: "What changed since" })).toBeVisible();
  await expect(page.getByRole("region", { name: "What changed since" }).getByText(new RegExp(`^${late} was reached on .*take it in`))).toBeVisible();
  await page.getByRole("form", { name: "Take it into the case" }).getByLabel("Because").focus();
  await page.keyboard.type("paper log of that week");
  await page.keyboard.press("Tab");
  await page.keyboard.press("ControlOrMeta+A");
  await page.keyboard.type("keyboard-person");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("button", { name: /^Take (it|all)/ })).toBeFocused();
  // A person's second Enter, not the second one of a scanner.
  await page.waitForTimeout(250);
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { name: "What changed since" })).toHaveCount(0);
  await expect(page.getByLabel(`Choose ${late}`)).toBeVisible();
});

test("on paper there is the record and no form", async ({ page, request }) => {
  const { case: made } = await opened(request, "For paper");
  await page.emulateMedia({ media: "print" });
  await page.goto(`/case/${made.case.id}`);
  await expect(page.getByRole("heading", { name: "Record" })).toBeVisible();
  await expect(page.getByText("7.10.1").first()).toBeVisible();
  await expect(page.getByRole("checkbox").first()).toBeHidden();
  await expect(page.getByRole("button", { name: "Close: work may go on" })).toBeHidden();
});
