import type { components } from "../src/api/schema";
import { audit, expect, fits, test } from "./lab";

type Trace = components["schemas"]["TraceJson"];

test("from an end to what it touched, with the keyboard, picture and table alike", async ({ page, request }) => {
  await page.goto("/end/CB-009A");
  await page.getByRole("link", { name: "What did it touch?" }).focus();
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "Trace" })).toBeFocused();
  const trace = (await (await request.get("/api/v1/trace?ends=CB-009A")).json()) as Trace;
  await expect(page.getByText(trace.text)).toBeVisible();
  const lanes = page.getByRole("listbox", { name: "Exposed ends, one lane each" });
  await expect(lanes.getByRole("option")).toHaveCount(trace.exposed.length);
  await expect(page.locator(".trace-rows tbody tr")).toHaveCount(Math.min(60, trace.exposed.length));
  // Picture and table name the same ends in the same order.
  const drawn = await lanes.locator(".name").allTextContents();
  const listed = await page.locator(".trace-rows tbody th").allTextContents();
  expect(listed.map((t) => t.trim())).toEqual(drawn.slice(0, listed.length));

  await lanes.focus();
  for (const key of ["ArrowDown", "ArrowDown", "ArrowDown"]) await page.keyboard.press(key);
  const third = trace.exposed[2];
  if (!third) throw new Error("expected three exposed ends");
  await expect(lanes).toHaveAttribute("aria-activedescendant", `lane-${third.end.id}`);
  await expect(lanes.getByRole("option", { selected: true })).toHaveAccessibleName(new RegExp(`^${third.end.tag}: exposed since`));
  await expect(page.locator(".trace-chosen")).toContainText(third.end.tag);
  await expect(page.locator(".trace-steps li")).toHaveCount(third.via.length);
  // Plus zooms, the arrows move, 0 shows all again.
  const width = () => lanes.locator(".span").first().evaluate((r) => Number(r.getAttribute("width")));
  const before = await width();
  await page.getByRole("button", { name: "Zoom in" }).click();
  await expect(page.getByRole("button", { name: "Zoom out" })).toBeEnabled();
  await lanes.focus();
  for (const key of ["ArrowLeft", "ArrowLeft", "-", "+"]) await page.keyboard.press(key);
  await audit(page, "zoomed");
  await page.keyboard.press("0");
  await expect(page.getByRole("button", { name: "Zoom out" })).toBeDisabled();
  expect(await width()).toBeCloseTo(before, 6);
  await page.keyboard.press("End");
  await expect(lanes.getByRole("option", { selected: true })).toBeInViewport();
});

test("what if an end had been taken for harmless", async ({ page }) => {
  await page.goto("/trace?ends=CB-009A");
  await page.getByRole("option", { name: /^CS-002A: / }).click();
  await page.getByLabel("What if CS-002A had been").selectOption("waived");
  await page.getByRole("form", { name: "What if" }).getByRole("button", { name: "Ask" }).click();
  await expect(page.getByRole("heading", { name: "Had it been otherwise" })).toBeVisible();
  await expect(page.getByText(/^Spared: .*CS-002A/)).toBeVisible();
  await audit(page, "what if");
});

test("a slip says what was expected, and an item with two ends asks which", async ({ page }) => {
  await page.goto("/trace?ends=CB-009A&since=yesterday");
  await expect(page.getByRole("alert")).toContainText("expected a time such as");
  await audit(page, "a slip");
  await page.goto("/trace?ends=CB-009");
  await page.getByRole("link", { name: "CB-009A" }).click();
  await expect(page.getByRole("listbox")).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`five hundred ends, ${scheme}`, async ({ page, request }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await page.setViewportSize({ width: 768, height: 900 });
    const trace = (await (await request.get("/api/v1/trace?ends=CB-009A")).json()) as Trace;
    const some = trace.exposed.filter((x) => x.hops > 0);
    for (let n = trace.exposed.length; n < 500; n++) {
      const like = some[n % some.length];
      if (like) trace.exposed.push({ ...like, end: { ...like.end, id: `more-${n}`, tag: `X-${n}` } });
    }
    await page.route("**/api/v1/trace?*", (route) => route.fulfill({ json: trace }));
    await page.goto("/trace?ends=CB-009A");
    const lanes = page.getByRole("listbox");
    await expect(lanes.getByRole("option")).toHaveCount(500);
    await lanes.focus();
    await page.keyboard.press("End");
    await expect(lanes.getByRole("option", { name: /^X-499: / })).toBeInViewport();
    await page.keyboard.press("+");
    await page.getByLabel("Only what is exposed still").check();
    expect(await lanes.getByRole("option").count()).toBeLessThan(500);
    await page.getByRole("button", { name: /^Show all/ }).click();
    await audit(page, `500 ends ${scheme}`);
    await fits(page);
  });
}
