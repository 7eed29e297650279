import { audit, expect, fits, ready, scan, test } from "./lab";
import { AUDITED } from "./screens";

for (const scheme of ["light", "dark"] as const) {
  for (const width of [1280, 768, 320]) {
    test(`no violation on any screen, ${scheme}, ${width} px`, async ({ page }) => {
      test.setTimeout(240_000);
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      await page.setViewportSize({ width, height: 900 });
      for (const screen of AUDITED) {
        await page.goto(screen.path);
        await expect(page.getByRole("heading", { level: 1, name: screen.heading })).toBeVisible();
        await expect(page.getByText("Asking…")).toHaveCount(0);
        for (const fold of await page.locator("summary").all()) await fold.click();
        await audit(page, `${screen.path} ${scheme} ${width}`);
        await fits(page, screen.path);
      }
      await page.goto("/");
      await scan(page, "CB-001A");
      await expect(page.getByRole("region", { name: "First end: CB-001A" })).toBeVisible();
      await scan(page, "CB-009A");
      await expect(page.getByRole("heading", { name: "Why" })).toBeVisible();
      await audit(page, `a check, ${scheme} ${width}`);
      await fits(page);
    });
  }
}

test("every form of an end has no violation", async ({ page }) => {
  await page.goto("/end/CB-001A");
  for (const name of ["Look", "Gauge", "Clean", "Hold", "Release", "Retire"]) {
    await page.getByRole("button", { name, exact: true }).click();
    await audit(page, name);
  }
});

test("with the keyboard only: from the bench to the register, to an end, a look on record", async ({ page }) => {
  await ready(page);
  const press = async (name: string, until: () => Promise<boolean>) => {
    for (let i = 0; i < 80; i++) {
      await page.keyboard.press("Tab");
      if (await until()) return;
    }
    throw new Error(`expected to reach ${name} by Tab`);
  };
  const isOn = (text: string) => () => page.evaluate((t) => document.activeElement?.textContent?.trim() === t, text);
  const hasId = (id: string) => () => page.evaluate((t) => document.activeElement?.id === t, id);

  await page.locator("h1").focus();
  for (let i = 0; i < 20 && !(await isOn("Register")()); i++) await page.keyboard.press("Shift+Tab");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "Register" })).toBeFocused();
  await press("the filter", hasId("find"));
  await page.keyboard.type("CB-002A");
  await expect(page.getByText("1 to 1 of 1 ends")).toBeVisible();
  await press("the end", isOn("CB-002A"));
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1, name: "CB-002A" })).toBeFocused();
  await press("Look", isOn("Look"));
  await page.keyboard.press("Enter");
  await press("the outcome", () => page.evaluate(() => (document.activeElement as HTMLInputElement | null)?.name === "outcome"));
  await page.keyboard.press("Space");
  await press("who", hasId("act-person"));
  await page.keyboard.type("keyboard-person");
  await press("the button", isOn("Record the look at CB-002A"));
  await page.keyboard.press("Enter");
  await expect(page.getByText(/^Recorded: a look at CB-002A/)).toBeVisible();
  await expect(page.getByRole("cell", { name: "keyboard-person" })).toBeVisible();
});

test("a form's refusal is shown at its field, and a gauging is recorded with words", async ({ page, request }) => {
  await page.goto("/end/CB-003A");
  await page.getByRole("button", { name: "Gauge", exact: true }).click();
  await page.getByLabel("1. reading").fill("CB-003A");
  await page.getByRole("button", { name: "Recessed" }).click();
  await page.getByLabel("Who did it").fill("bench-person");
  const send = page.getByRole("button", { name: "Record the gauging of CB-003A" });
  await send.click();
  await expect(page.locator("#readings-error")).toBeVisible();
  await expect(page.getByLabel("1. reading")).toBeFocused();
  await audit(page, "a refused reading");
  await page.getByLabel("1. reading").fill("21um");
  await page.keyboard.press("Enter");
  await page.keyboard.type("22um");
  await page.getByLabel("Gauge used").fill("GA-002");
  await send.click();
  await expect(page.getByText(/^Recorded: a gauging of CB-003A/)).toBeVisible();
  const history = (await (await request.get("/api/v1/ends/CB-003A")).json()).history as { text: string }[];
  expect(history[0]?.text).toContain("21 µm");
  await page.getByRole("button", { name: "Take back" }).click();
  await expect(page.getByText("Taken back. The record keeps both.")).toBeVisible();
});

test("a standing that changes elsewhere changes on the screen", async ({ page, request }) => {
  // Other tests open cases, which hold what they trace: take an end nobody holds.
  const { ends } = (await (await request.get("/api/v1/ends", { params: { filter: "", limit: 200 } })).json()) as { ends: { end: { tag: string } }[] };
  let free = "";
  for (const { end } of ends) {
    const found = (await (await request.get(`/api/v1/ends/${encodeURIComponent(end.tag)}`)).json()) as { standing: { standing: string } };
    if (["do-not-mate", "retired"].includes(found.standing.standing) || /exposed/i.test(JSON.stringify(found.standing))) continue;
    free = end.tag;
    break;
  }
  expect(free).not.toBe("");
  await page.goto(`/end/${encodeURIComponent(free)}`);
  await expect(page.getByText("Live", { exact: true })).toBeVisible();
  await expect(page.locator("#standing-title")).not.toHaveText("Do not mate");
  const held = await request.post("/api/v1/holds", { data: { end: free, because: "looks bent", person: "someone-else" } });
  expect(held.status()).toBe(201);
  await expect(page.locator("#standing-title")).toHaveText("Do not mate");
  const released = await request.post("/api/v1/releases", { data: { end: free, because: "looked at, in order", person: "someone-else" } });
  expect(released.status()).toBe(201);
  await expect(page.locator("#standing-title")).not.toHaveText("Do not mate");
});
