import type { APIRequestContext, Page } from "@playwright/test";
import { audit, expect, fits, test } from "./lab";

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
      if (!leaf(node) || node.closest(".source, .hash, [data-name='From'], option")) continue;
      const copied = node.cloneNode(true) as Element;
      for (const quoted of copied.querySelectorAll(".source, .hash")) quoted.remove();
      const texts = [copied.textContent ?? "", node.getAttribute("aria-label") ?? "", node.getAttribute("aria-valuetext") ?? "", node instanceof HTMLInputElement && node.type === "text" ? node.value : ""];
      for (const text of texts) {
        let left = text.replaceAll(/[\u202f\u00a0]/g, " ");
        for (const name of given) left = left.replaceAll(name, "");
        left = left.replaceAll(/(?<![\d.])(?:0\.8|1\.0|1\.35|1\.85|2\.4|2\.92|3\.5) ?mm/g, "").replaceAll(/"[^"]*"/g, "").replaceAll(/\S+\.s\dp/g, "");
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
  for (const path of ["ends?limit=1000", "tools", "kits", "policy"]) take(await (await request.get(`/api/v1/${path}`)).json());
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

test("no screen keeps micrometres or a decimal point from who chose otherwise", async ({ page, request }) => {
  test.setTimeout(180_000);
  const names = await given(request);
  await choose(page);
  const cases = (await (await request.get("/api/v1/cases")).json()) as { cases: { id: string }[] };
  const screens: [string, string, RegExp | string][] = [
    ["end", "/end/CB-009A", "Reasons"],
    ["end that was gauged", "/end/CS-004A", "History"],
    ["item", "/item/CB-009", "CB-009"],
    ["gauge", "/gauge/CB-015A", "Gauge CB-015A"],
    ["line", "/line", "Reflection magnitude over frequency"],
    ["sweeps", "/sweeps", "A joint changed"],
    ["study", "/study", "Study"],
    ["drift", "/drift/CS-004A", "Numbers"],
    ["policy", "/policy", "What is in force"],
    ["tools", "/tools", "Tools"],
    ["gauge as a tool", "/tool/GA-001", "On record"],
    ["wrench as a tool", "/tool/TW-001", "On record"],
    ["master as a tool", "/tool/GM-001", "On record"],
    ["cases", "/cases", "Cases"],
    ["trace", "/trace?ends=CB-009A", "The same as a table"],
    ["dossier", "/dossier/CB-009A", "Standing"],
    ["due", "/due", "Due"],
    ["look", "/look/CB-009A", "Look"],
    ["clean", "/clean/CB-009A", "Clean"],
    ["storage", "/storage", "Kits"],
    ["new item", "/new-item", "Write down"],
    ["import", "/import", "Bring in"],
    ["labels", "/labels", "Labels"],
    ...cases.cases.slice(0, 1).flatMap((one): [string, string, string][] => [["case", `/case/${one.id}`, "Work"], ["dossier of a case", `/case/${one.id}/dossier`, "Results"]]),
  ];
  for (const [name, path] of screens) {
    await page.goto(path);
    await page.waitForLoadState("networkidle");
    console.log(name, path, await page.locator("h1").first().textContent());
    for (const text of await strange(page, names)) console.log("   ", text);
  }
});
