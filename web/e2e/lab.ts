// What the journeys share: the demo lab asked over HTTP, a scanner, an audit.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { type APIRequestContext, expect, type Page, test as base } from "@playwright/test";
import type { components } from "../src/api/schema";

type Schemas = components["schemas"];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Every test fails on a violation of the Content-Security-Policy or a script error. */
export const test = base.extend<{ clean: void }>({
  clean: [
    async ({ page }, use) => {
      const faults: string[] = [];
      page.on("pageerror", (error) => faults.push(String(error)));
      page.on("console", (message) => {
        // Playwright's recorder reads shown blob: pictures from within the page; the page itself fetches none.
        if (message.text().startsWith("Connecting to 'blob:")) return;
        if (message.type() === "error" && /content security|refused to/i.test(message.text())) faults.push(message.text());
      });
      await use();
      expect(faults).toEqual([]);
    },
    { auto: true },
  ],
});
export { expect };

/** Types like a scanner into whatever has focus, ended by Enter. */
export async function scan(page: Page, label: string, delay = 2): Promise<void> {
  await page.keyboard.type(label, { delay });
  await page.keyboard.press("Enter");
}

/** axe-core on the page as it is; nothing may be found. */
export async function audit(page: Page, where: string): Promise<void> {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const axe = (window as unknown as { axe: { run(c: unknown, o: unknown): Promise<{ violations: { id: string; help: string; nodes: { html: string; failureSummary?: string }[] }[] }> } }).axe;
    const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    const result = await axe.run(document, { runOnly: { type: "tag", values: tags } });
    return result.violations.map((v) => `${v.id}: ${v.help}\n${v.nodes.map((n) => `  ${n.html}\n  ${n.failureSummary ?? ""}`).join("\n")}`);
  });
  expect(found, where).toEqual([]);
}

/** No two-way scrolling. */
export async function fits(page: Page, where = "the page"): Promise<void> {
  const [content, window] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth] as const);
  expect(content, where).toBeLessThanOrEqual(window);
}

export async function ends(request: APIRequestContext): Promise<Schemas["EndRowJson"][]> {
  const list = (await (await request.get("/api/v1/ends?limit=1000")).json()) as Schemas["EndListJson"];
  return list.ends;
}

/** A pair for which the lab gives this answer. */
export async function pair(request: APIRequestContext, answer: string, interfaces: [string, string][]): Promise<[string, string]> {
  const all = await ends(request);
  for (const [pinned, socketed] of interfaces) {
    const pins = all.filter((e) => e.interface === pinned && e.sex === "pin");
    const sockets = all.filter((e) => e.interface === socketed && e.sex === "socket");
    for (const pin of pins) {
      const standing = (await (await request.get(`/api/v1/ends/${pin.end.tag}`)).json()) as Schemas["EndJson"];
      if (answer.startsWith("go") && (!standing.standing.standing.startsWith("usable") || standing.mated_with)) continue;
      for (const socket of sockets) {
        const check = await (await request.get("/api/v1/check", { params: { a: pin.end.tag, b: socket.end.tag } })).json();
        if ((check as Schemas["MateCheckJson"]).answer === answer) return [pin.end.tag, socket.end.tag];
      }
    }
  }
  throw new Error(`expected a pair with the answer ${answer} in the demo lab, found none`);
}

export const LIKE: [string, string][] = ["sma", "3.5mm", "2.92mm", "2.4mm", "n50"].map((name) => [name, name]);

/** A sentence of the core as the page shows it: its moments in local time. */
export function told(sentence: string): RegExp {
  const day = "\\d{1,2} [A-Z][a-z]+ \\d{4}, \\d\\d:\\d\\d";
  const plain = sentence.split(/\d{4}-\d{2}-\d{2}T[\d:.]+Z|\d{4}-\d{2}-\d{2} \d{2}:\d{2} UTC/).map((part) => part.replaceAll(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  return new RegExp(`^${plain.join(day)}$`);
}

/** The moment a bench is ready for the first scan. */
export async function ready(page: Page): Promise<void> {
  await page.goto("/");
  await expect(page.getByLabel("Scan an end")).toBeFocused();
}
