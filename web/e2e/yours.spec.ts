import { readFileSync } from "node:fs";
import type { APIRequestContext, Page } from "@playwright/test";
import { audit, expect, fits, scan, test } from "./lab";

/** Thousandths of an inch and a comma, as this person has chosen them on the screen. */
async function choose(page: Page): Promise<void> {
  await page.goto("/your-numbers");
  await page.getByLabel(/Thousandths of an inch/).check();
  await page.getByLabel(/Comma/).check();
}

/** What is read on the page as it stands, everything unfolded: micrometres, and numbers with a point.
 * Left out is what is quoted: sources, and names that the lab or a file gave. */
async function strange(page: Page, names: string[]): Promise<string[]> {
  return page.evaluate((given) => {
    for (const fold of document.querySelectorAll("main details")) (fold as HTMLDetailsElement).open = true;
    const copy = document.querySelector("main")!;
    const found: string[] = [];
    const walk = document.createTreeWalker(copy, NodeFilter.SHOW_ELEMENT);
    // By block, so that a number and its unit stand together.
    const leaf = (element: Element) => ![...element.children].some((child) => /^(DIV|P|UL|OL|LI|DL|DT|DD|TABLE|TBODY|THEAD|TR|TD|TH|SECTION|FORM|FIELDSET|FIGURE|DETAILS|LABEL|SVG|svg|g|text)$/.test(child.tagName));
    for (let node = walk.currentNode as Element | null; node; node = walk.nextNode() as Element | null) {
      if (!leaf(node) || node.closest(".source, .hash, [data-name='From'], option, select")) continue;
      const copied = node.cloneNode(true) as Element;
      for (const quoted of copied.querySelectorAll(".source, .hash")) quoted.remove();
      const texts = [copied.textContent ?? "", node.getAttribute("aria-label") ?? "", node.getAttribute("aria-valuetext") ?? "", node instanceof HTMLInputElement && node.type === "text" ? node.value : ""];
      for (const text of texts) {
        let left = text.replaceAll(/[\u202f\u00a0]/g, " ");
        for (const name of given) left = left.replaceAll(name, "");
        left = left.replaceAll(/(?<!\d|\d\.)(?:0\.8|1\.0|1\.35|1\.85|2\.4|2\.92|3\.5) ?mm/g, "").replaceAll(/"[^"]*"/g, "").replaceAll(/\S+\.s\dp/g, "").replaceAll(/\d+\.\d+\.\d+|Versions 1\.0 to 2\.1/g, "");
        if (/[µμ]m|\d ?um\b|\d\.\d/.test(left)) found.push(left.trim().slice(0, 300));
      }
    }
    return [...new Set(found)];
  }, names);
}

/** What the lab called its things: a name with a number in it stays a name. */
async function given(request: APIRequestContext): Promise<string[]> {
  const names = new Set<string>();
  const take = (value: unknown): void => {
    if (typeof value !== "object" || value === null) return;
    for (const [key, one] of Object.entries(value)) {
      if ((key === "description" || key === "sheets" || key === "revision") && typeof one === "string") names.add(one);
      take(one);
    }
  };
  for (const path of ["ends/CB-009A", "ends/CS-004A", "tools", "kits", "policy"]) take(await (await request.get(`/api/v1/${path}`)).json());
  return [...names].filter((name) => /\d\.\d/.test(name)).sort((a, b) => b.length - a.length);
}

test("units and decimal sign follow the person, in reading and in showing", async ({ page, request }) => {
  await choose(page);
  // 12.5 um are 0.492 mil, 1.3 um are 0.051 mil.
  await expect(page.getByText("0,492\u202fmil, u\u202f=\u202f0,051\u202fmil recessed")).toBeVisible();
  await expect(page.getByText("The zero moved by 0,248 mil during the gauging; the policy allows 0,071 mil.")).toBeVisible();
  await audit(page, "your numbers");
  await fits(page, "your numbers");

  const end = (await (await request.get("/api/v1/ends/CB-014A")).json()) as { standing: { pin: { distance_um: number; u_distance_um: number } } };
  const { distance_um: um, u_distance_um: u } = end.standing.pin;
  await page.goto("/end/CB-014A");
  const shown = (await page.getByRole("region", { name: "Pin", exact: true }).locator(".figure").textContent()) ?? "";
  const [mil, umil] = [...shown.matchAll(/(\d+,\d+)\u202fmil/g)].map((found) => Number((found[1] ?? "").replace(",", ".")));
  expect(Math.abs((mil ?? 0) * 25.4 - um), shown).toBeLessThan(u / 5);
  expect(Math.abs((umil ?? 0) * 25.4 - u), shown).toBeLessThan(u / 10);
  await audit(page, "an end in mil");

  await page.goto("/gauge/CB-014A");
  const first = page.locator("#reading-0");
  await first.fill("0,5");
  await page.keyboard.press("Enter");
  await expect(first).toHaveValue("0,5mil");
  // With a decimal comma a point before three digits can be read two ways.
  await page.locator("#reading-1").fill("1.250");
  await page.keyboard.press("Enter");
  await expect(page.getByText("1.250: is the point a decimal sign?")).toBeVisible();
  await audit(page, "a point is asked about");
  const [asked] = await Promise.all([page.waitForRequest(/gaugings\/budget/), page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Recessed" }).click()]);
  expect((asked.postDataJSON() as { readings: unknown[] }).readings[0]).toEqual({ word: "recessed", distance: "0.5mil" });
});

interface Screen {
  name: string;
  path: string;
  /** What stands there once the answer has come. */
  until: string | RegExp;
  /** What is done before it is read. */
  act?: (page: Page) => Promise<void>;
}

const STUDY = readFileSync(new URL("../../docs/examples/studies/gauge-study.csv", import.meta.url), "utf8");

function screens(caseId: string, proud: string, deep: string): Screen[] {
  return [
    { name: "mate check", path: "/", until: "Bench", act: async (page) => {
      await expect(page.getByLabel("Scan an end")).toBeFocused();
      await scan(page, proud);
      await expect(page.getByRole("region", { name: `First end: ${proud}` })).toBeVisible();
      await scan(page, deep);
      await expect(page.getByRole("heading", { name: "How tight" })).toBeVisible();
    } },
    { name: "end", path: "/end/CB-009A", until: "History" },
    { name: "end with limits", path: "/end/CS-004A", until: "History" },
    { name: "item", path: "/item/CB-009", until: "Ends" },
    { name: "gauge", path: "/gauge/CB-015A", until: "The budget appears", act: async (page) => {
      await page.getByLabel("Gauge", { exact: true }).fill("GA-001");
      await page.locator("#reading-0").fill("0,5");
      await page.getByRole("group", { name: "Side of reading 1" }).getByRole("button", { name: "Recessed" }).click();
      await page.locator("#zero-before-0").fill("0");
      await page.locator("#zero-after-0").fill("0,3");
      await page.getByRole("group", { name: "Side of zero after 1" }).getByRole("button", { name: "Recessed" }).click();
      await expect(page.getByText(/The zero moved by 0,\d+ mil during the gauging; the policy allows 0,\d+ mil/)).toBeVisible();
    } },
    { name: "line", path: "/line", until: "What limits the numbers", act: async (page) => {
      const [asked] = await Promise.all([page.waitForRequest(/line\/gap\?/), page.getByRole("spinbutton", { name: "Gap in mil", exact: true }).fill("2,5")]);
      expect(new URL(asked.url()).searchParams.get("gap")).toBe("63.5um");
      await page.getByRole("spinbutton", { name: "Frequency in GHz" }).fill("26,5");
      await expect(page.getByRole("spinbutton", { name: "Gap in mil", exact: true })).toHaveValue("2,5");
      await page.getByRole("spinbutton", { name: "Off centre by in mil" }).fill("90");
      await expect(page.getByText("Expected 0 to 11,811 mil, found 90.")).toBeVisible();
      await page.getByRole("spinbutton", { name: "Off centre by in mil" }).fill("0,4");
      await expect(page.getByText("0,4 mil off centre")).toBeVisible();
    } },
    { name: "sweeps", path: "/sweeps", until: "A joint changed", act: async (page) => {
      await expect(page.getByText(/If a gap is the cause, it changed by about \+2,99 mil \(1,93 to 4,06 mil\)/)).toBeVisible();
    } },
    { name: "study", path: "/study", until: "Compute", act: async (page) => {
      await page.getByLabel("Table", { exact: true }).fill(STUDY);
      await page.getByLabel("Pool the interaction").fill("0,25");
      await page.getByLabel("Ratios over").selectOption("repeatability");
      const tolerance = page.getByLabel("Tolerance");
      await expect(tolerance).toHaveAccessibleDescription(/for example 1,97mil.*In mil when no unit is typed/);
      await tolerance.fill("2,0");
      const [asked] = await Promise.all([page.waitForRequest(/study\/gauge\?/), page.getByRole("button", { name: "Compute" }).click()]);
      const { searchParams } = new URL(asked.url());
      expect([searchParams.get("tolerance"), searchParams.get("pool")]).toEqual(["2.0mil", "0.25"]);
      await expect(page.getByText(/has the standard deviation 0,021406 mil: 6,754 % of the total/)).toBeVisible();
      await expect(page.getByRole("img", { name: /Gauge study/ })).toBeVisible();
    } },
    { name: "drift", path: "/drift/CS-004A", until: "Forecasts", act: async (page) => {
      await expect(page.getByRole("img", { name: /Pin position/ })).toBeVisible();
      await page.getByLabel("Limit").fill("recessed 0,12");
      const [asked] = await Promise.all([page.waitForRequest(/CS-004A\/drift\?/), page.getByRole("button", { name: "Compute" }).click()]);
      expect(new URL(asked.url()).searchParams.get("limit")).toBe("recessed 0.12mil");
      await expect(page.getByText("the limit asked for").first()).toBeVisible();
    } },
    { name: "policy", path: "/policy", until: "What is in force", act: async (page) => {
      await expect(page.getByText("is quoted as the source or the lab writes it")).toBeVisible();
    } },
    { name: "tools", path: "/tools", until: "Last check" },
    { name: "a gauge", path: "/tool/GA-001", until: "On record" },
    { name: "a wrench", path: "/tool/TW-001", until: "On record" },
    { name: "a master", path: "/tool/GM-001", until: "On record" },
    { name: "case", path: `/case/${caseId}`, until: "What keeps it from being closed" },
    { name: "trace", path: "/trace?ends=CB-009A", until: "The same as a table" },
    { name: "dossier", path: "/dossier/end/CB-009A", until: "Why it stands so" },
    { name: "dossier of a case", path: `/dossier/case/${caseId}`, until: "ISO/IEC 17025" },
    { name: "due", path: "/due", until: "Due" },
    { name: "look", path: "/look/CB-009A", until: "Looked into" },
    { name: "clean", path: "/clean/CB-009A", until: "In this order" },
    { name: "storage", path: "/storage", until: "Looked through" },
    { name: "new item", path: "/register/new", until: "Write it down", act: async (page) => {
      await page.getByLabel("What it is").selectOption("gauge");
      await expect(page.getByLabel("Repeatability")).toHaveAccessibleDescription(/In mil when no unit is typed/);
    } },
    { name: "a gauge as an item", path: "/item/GA-001", until: "About" },
    { name: "kit", path: "/kit/KIT-001", until: "Not whole" },
    { name: "register", path: "/register", until: "AD-001A" },
    { name: "people", path: "/people", until: "People" },
    { name: "import", path: "/register/bring-in", until: "Spreadsheet" },
    { name: "labels", path: "/labels", until: "Form" },
  ];
}

test("no screen keeps micrometres or a decimal point from who chose otherwise", async ({ page, request }) => {
  test.setTimeout(240_000);
  const names = await given(request);
  const opened = await request.post("/api/v1/cases", { data: { ends: ["DU-008A"], because: "pin protrudes by 62.5 µm", person: "lead-1" } });
  expect(opened.ok(), await opened.text()).toBe(true);
  const { case: made } = (await opened.json()) as { case: { case: { id: string } } };
  const all = screens(made.case.id, "CB-009A", "CS-004A");
  await choose(page);
  const wrong: string[] = [];
  for (const { name, path, until, act } of all) {
    await page.goto(path);
    await expect(page.getByText(until).first(), name).toBeVisible();
    await act?.(page);
    wrong.push(...(await strange(page, names)).map((text) => `${name}: ${text}`));
    await audit(page, `${name} in mil with a comma`);
  }
  expect(wrong).toEqual([]);

  // Printed: the paper follows the person too, and says the unit.
  await page.goto("/dossier/end/CB-009A");
  await page.emulateMedia({ media: "print" });
  await expect(page.getByText(/Lengths are shown in mil and times in/)).toBeVisible();
  await expect(page.getByText(/protrudes by 2,44 mil/).first()).toBeVisible();
  await page.emulateMedia({ media: "screen" });

  // And back: the same sentence as the service says it.
  await page.goto("/your-numbers");
  await page.getByLabel(/Micrometres/).check();
  await page.getByRole("radio", { name: /^Point/ }).check();
  const end = (await (await request.get("/api/v1/ends/CB-009A")).json()) as { standing: { findings: { text: string }[] } };
  const said = end.standing.findings.find((finding) => finding.text.includes("µm"))!.text;
  await page.goto("/end/CB-009A");
  await expect(page.getByText(said, { exact: true }).first()).toBeVisible();
  // What looks for micrometres finds them where they stand.
  expect((await strange(page, names)).some((text) => text.includes(said))).toBe(true);
});

test("times are local with UTC beside them, or in UTC for who asks", async ({ browser, request, baseURL }) => {
  const context = await browser.newContext({ timezoneId: "Pacific/Pago_Pago", ...(baseURL === undefined ? {} : { baseURL }) });
  const page = await context.newPage();
  const tools = (await (await request.get("/api/v1/tools")).json()) as { tools: { tag: string; last_check: { at: string } | null }[] };
  const { tag, last_check } = tools.tools.find((tool) => tool.last_check !== null && new Date(tool.last_check.at).getUTCHours() < 11)!;
  const at = new Date(last_check!.at);
  const shown = (timeZone: string) => new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", timeZone }).format(at);
  expect(shown("Pacific/Pago_Pago")).not.toBe(shown("UTC"));
  await page.goto("/tools");
  const row = page.getByRole("row").filter({ has: page.getByRole("link", { name: tag, exact: true }) });
  await expect(row.getByText(shown("Pacific/Pago_Pago"))).toBeVisible();
  await page.goto("/your-numbers");
  await page.getByRole("radio", { name: /^UTC/ }).check();
  await page.goto("/tools");
  await expect(row.getByText(shown("UTC"))).toBeVisible();
  await page.goto("/trace?ends=CB-009A");
  await expect(page.getByText(/times in UTC/).first()).toBeVisible();
  await expect(page.locator(".trace-windows time").first()).toHaveText(/ UTC$/);
  await audit(page, "a trace in UTC");
  await context.close();
});
