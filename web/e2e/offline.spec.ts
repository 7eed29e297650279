// The server stops, people go on, the server comes back: on a service and a lab of its own.
import { type ChildProcess, spawn } from "node:child_process";
import { mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Page } from "@playwright/test";
import { audit, expect, fits, LIKE, pair, scan, test } from "./lab";

const port = Number(process.env.MATEWELL_E2E_PORT ?? "7393") + 100;
const base = `http://127.0.0.1:${port}`;
const data = join(mkdtempSync(join(tmpdir(), "matewell-offline-")), "lab.db");
let server: ChildProcess | null = null;

async function start(): Promise<void> {
  server = spawn(process.env.MATEWELL_BIN ?? "matewell", ["--data", data, "serve", "--demo", "--port", String(port)], { stdio: "ignore" });
  for (let i = 0; i < 600; i++) {
    if (await fetch(`${base}/api/v1/openapi.json`).then((r) => r.ok, () => false)) return;
    await new Promise((done) => setTimeout(done, 100));
  }
  throw new Error("the service did not start");
}

async function stop(): Promise<void> {
  const gone = new Promise((done) => server?.once("exit", done));
  server?.kill("SIGKILL");
  await gone;
  server = null;
}

test.use({ baseURL: base });
test.beforeAll(async () => {
  test.setTimeout(120_000);
  await start();
});
test.afterAll(async () => {
  if (server) await stop();
});

/** Opens the page until its own files are kept. */
async function settle(page: Page): Promise<void> {
  await page.goto("/");
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  await expect.poll(() => page.evaluate(() => navigator.serviceWorker.controller !== null)).toBe(true);
}

async function twoScans(page: Page, a: string, b: string): Promise<void> {
  await page.getByRole("textbox", { name: /^Scan/ }).focus();
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, b);
  await expect(page.getByRole("region", { name: `Other end: ${b}` })).toBeVisible();
}

test("server stopped: the page opens, keeps facts with their times, and each arrives once", async ({ page, request }) => {
  test.setTimeout(180_000);
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  const before = (await (await request.get(`/api/v1/ends/${a}`)).json()).history.length as number;
  await settle(page);
  await page.getByLabel("Who works here").fill("screened-room");
  await page.keyboard.press("Enter");
  await twoScans(page, a, b);
  await expect(page.getByRole("heading", { name: /^Go/ })).toBeVisible();

  await stop();
  await expect(page.getByText("No connection")).toBeVisible();
  // The whole page anew, with nobody to hand it out.
  await page.reload();
  await expect(page.getByRole("heading", { level: 1, name: "Bench" })).toBeVisible();

  await twoScans(page, a, b);
  await expect(page.getByRole("heading", { name: "Not judged" })).toBeVisible();
  await expect(page.getByText(/^Last known: .* \(less than a minute old\)|minutes? old/).first()).toBeVisible();
  // No answer of an earlier check is passed off as one of now.
  await expect(page.getByRole("heading", { name: /^Go/ })).toHaveCount(0);
  await expect(page.getByRole("button", { name: "Log this mate" })).toHaveCount(0);
  await audit(page, "not judged");
  await fits(page, "not judged");
  await page.keyboard.press("Control+Enter");
  await expect(page.getByText(`Kept on this device: ${a} on ${b}, without a mate check.`)).toBeVisible();
  await expect(page.getByRole("link", { name: "1 kept here" })).toBeVisible();

  // An address typed anew opens too.
  await page.goto(`/end/${a}`);
  await expect(page.getByText("The page cannot judge")).toBeVisible();
  await audit(page, "an end without a connection");
  await page.getByRole("button", { name: "Clean", exact: true }).click();
  await page.getByRole("button", { name: `Record the cleaning of ${a}` }).click();
  await expect(page.getByText(`Kept on this device: a cleaning of ${a}.`)).toBeVisible();
  await page.getByRole("button", { name: "Look", exact: true }).click();
  await page.getByLabel("Good").check();
  await page.getByRole("button", { name: `Record the look at ${a}` }).click();
  await expect(page.getByText(`Kept on this device: a look at ${a}.`)).toBeVisible();
  await page.getByRole("link", { name: "3 kept here" }).click();
  await expect(page.getByRole("list", { name: "Kept here" }).getByRole("listitem")).toHaveCount(3);
  await audit(page, "what waits");
  const moments = await page.locator(".waiting time").evaluateAll((all) => all.map((time) => time.getAttribute("datetime")));
  expect(moments).toHaveLength(3);

  await new Promise((done) => setTimeout(done, 1500));
  const back = Date.now();
  await start();
  await expect(page.getByRole("list", { name: "Arrived" }).getByRole("listitem")).toHaveCount(3, { timeout: 40_000 });
  await expect(page.getByText("Nothing waits.")).toBeVisible();
  await expect(page.getByRole("link", { name: /kept here/ })).toHaveCount(0);
  await audit(page, "what arrived");

  const end = await (await request.get(`/api/v1/ends/${a}`)).json();
  expect(end.history.length).toBe(before + 3);
  const mine = end.history.filter((event: { person: string }) => event.person === "screened-room");
  expect(mine.map((event: { kind: string }) => event.kind).sort()).toEqual(["cleaned", "inspected", "mated"]);
  // Their own times, from before the server came back.
  expect(mine.map((event: { happened_at: string }) => Date.parse(event.happened_at)).sort()).toEqual(moments.map((at) => Date.parse(at ?? "")).sort());
  for (const event of mine) expect(Date.parse(event.happened_at)).toBeLessThan(back);
});

test("what is put away without a connection arrives with its own time", async ({ page, request }) => {
  test.setTimeout(180_000);
  await settle(page);
  await stop();
  await expect(page.getByText("No connection")).toBeVisible();
  await page.goto("/storage");
  await expect(page.getByText("Where things are cannot be shown.")).toBeVisible();
  const away = page.getByRole("form", { name: "Put something away" });
  await away.getByLabel("Label (needed)").fill("CB-006");
  await away.getByLabel("Where (needed)").fill("screened room, shelf 2");
  await away.getByLabel("Who (needed)").fill("technician-2");
  await away.getByRole("button", { name: "Record it" }).press("Enter");
  await expect(page.getByText("Kept on this device: CB-006 is in screened room, shelf 2.")).toBeVisible();
  await audit(page, "storage without a connection");
  await fits(page, "storage without a connection");
  await new Promise((done) => setTimeout(done, 1500));
  const back = new Date().toISOString();
  await start();
  await expect(page.getByRole("link", { name: /kept here/ })).toHaveCount(0, { timeout: 40_000 });
  const { put_away } = (await (await request.get("/api/v1/storage?filter=shelf%202")).json()) as { put_away: { tag: string; at: string; person: string }[] };
  expect(put_away).toHaveLength(1);
  expect(put_away[0]).toMatchObject({ tag: "CB-006", person: "technician-2" });
  expect(Date.parse(put_away[0]?.at ?? "")).toBeLessThan(Date.parse(back));
  // The screen comes back by itself.
  await expect(page.getByRole("table", { name: "Items put away, latest first" })).toContainText("screened room, shelf 2");
});

test("what the server does not take is kept until a person decides", async ({ page, request }) => {
  test.setTimeout(180_000);
  await settle(page);
  await page.getByLabel("Who works here").fill("screened-room");
  await page.keyboard.press("Enter");
  await stop();
  await expect(page.getByText("No connection")).toBeVisible();
  await twoScans(page, "CB-001A", "NO-SUCH-LABEL");
  await expect(page.getByText("This browser has not seen the label NO-SUCH-LABEL")).toBeVisible();
  await page.getByRole("button", { name: "They were mated: keep the fact" }).click();
  await expect(page.getByRole("link", { name: "1 kept here" })).toBeVisible();
  await start();
  await page.getByRole("link", { name: "1 needs you" }).click({ timeout: 40_000 });
  const asks = page.getByRole("list", { name: "Needs you" });
  await expect(asks).toContainText("NO-SUCH-LABEL");
  await audit(page, "a fact that needs a person");
  await page.reload();
  await expect(asks.getByRole("listitem")).toHaveCount(1);
  // A label put right, and it arrives.
  await page.getByLabel("Label NO-SUCH-LABEL, put right").fill("CB-002A");
  await page.getByRole("button", { name: "Send with CB-002A" }).click();
  await expect(page.getByRole("list", { name: "Arrived" })).toContainText("CB-001A on CB-002A");
  const end = await (await request.get("/api/v1/ends/CB-002A")).json();
  expect(end.mated_with.tag).toBe("CB-001A");
  await page.getByRole("button", { name: /^Take back/ }).click();
  await expect(page.getByText("The record keeps both.")).toBeVisible();
});

test("a gauging session without a connection: no budget is guessed, the readings wait, and are judged when they arrive", async ({ page, request }) => {
  test.setTimeout(180_000);
  const before = (await (await request.get("/api/v1/ends/CB-014B")).json()).history.length as number;
  await settle(page);
  await page.goto("/clean/CB-014B");
  await expect(page.getByText(/Isopropyl alcohol/)).toBeVisible();
  await page.goto("/gauge/CB-014B");
  await expect(page.getByRole("heading", { level: 1, name: "Gauge CB-014B" })).toBeVisible();
  await stop();
  await expect(page.getByText("No connection").first()).toBeVisible();
  await page.getByRole("textbox", { name: "Gauge", exact: true }).fill("GA-001");
  for (const [i, reading] of ["12um", "11um", "13um"].entries()) {
    await page.locator(`#reading-${i}`).fill(reading);
    await page.getByRole("group", { name: `Side of reading ${i + 1}` }).getByRole("button", { name: "Recessed" }).click();
    if (i < 2) await page.getByRole("button", { name: "One more reading" }).click();
  }
  await expect(page.getByText("No budget is computed here.")).toBeVisible();
  await expect(page.getByRole("heading", { name: /safe|decide/i })).toHaveCount(0);
  await page.getByLabel("Who gauged").fill("screened-room");
  await audit(page, "a session without a connection");
  await fits(page, "a session without a connection");
  await page.getByRole("button", { name: "Record the gauging of CB-014B" }).click();
  await expect(page.getByText("Kept on this device: a gauging of CB-014B. It is judged when it arrives.")).toBeVisible();
  await expect(page.locator("#reading-0")).toHaveValue("");
  // The cautions of a cleaning are still there, as they were known.
  await page.goto("/clean/CB-014B");
  await expect(page.getByText(/Isopropyl alcohol/)).toBeVisible();
  await expect(page.getByText(/Cautions and steps as they were known at/)).toBeVisible();
  await audit(page, "a cleaning without a connection");
  await start();
  await page.getByRole("link", { name: "1 kept here" }).click();
  await expect(page.getByRole("list", { name: "Arrived" })).toContainText("CB-014B", { timeout: 40_000 });
  const end = (await (await request.get("/api/v1/ends/CB-014B")).json()) as { history: { person: string; kind: string; text: string }[] };
  expect(end.history.length).toBe(before + 1);
  expect(end.history.filter((event) => event.person === "screened-room").map((event) => event.kind)).toEqual(["gauged"]);
});

// Two pixels side by side, red and dark: a whole PNG.
const PHOTO = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAIAAAABCAIAAAB7QOjdAAAAD0lEQVR4nGM4ISenoKAAAAaFAWX49SYSAAAAAElFTkSuQmCC", "base64");

test("a guided look with marks and a photo waits through a reload and arrives once, in its turn, byte for byte", async ({ page, request }) => {
  test.setTimeout(180_000);
  const asked = async () => (await (await request.get("/api/v1/ends/CB-021B")).json()) as { history: { person: string; kind: string; happened_at: string }[] };
  const before = (await asked()).history.length;
  await settle(page);
  await page.goto("/look/CB-021B");
  await expect(page.getByRole("heading", { name: "In this order" })).toBeVisible();
  await page.goto("/clean/CB-021B");
  await expect(page.getByText(/Isopropyl alcohol/)).toBeVisible();
  await stop();
  await expect(page.getByText("No connection").first()).toBeVisible();

  // Cleaned first, then looked at: they arrive in this order.
  await page.getByLabel("Who (needed)").fill("screened-room");
  await page.getByRole("button", { name: "Record the cleaning of CB-021B" }).click();
  await expect(page.getByText(/^Kept on this device: a cleaning/)).toBeVisible();
  await page.getByRole("link", { name: "Look again" }).click();
  await expect(page.getByText(/What to look for as it was known at/)).toBeVisible();
  await page.getByRole("radio", { name: /^Normal wear/ }).check();
  await page.getByLabel("At", { exact: true }).selectOption("4");
  await page.getByLabel("On the", { exact: true }).selectOption("mating-plane");
  await page.getByRole("button", { name: "Mark it" }).click();
  await page.getByLabel("Photo").setInputFiles({ name: "face.png", mimeType: "image/png", buffer: PHOTO });
  await expect(page.getByRole("img", { name: "The photo chosen: face.png" })).toBeVisible();
  await audit(page, "a guided look without a connection");
  await fits(page, "a guided look without a connection");
  await page.getByRole("button", { name: "Record the look" }).click();
  await expect(page.getByText("Kept on this device: a look at CB-021B, with its photo.")).toBeVisible();
  await page.reload();
  await page.getByRole("link", { name: "2 kept here" }).click();
  await expect(page.getByRole("list", { name: "Kept here" }).getByRole("listitem")).toHaveCount(2);
  const kept = page.getByRole("img", { name: "The photo kept here with: Look: CB-021B, with a photo" });
  await expect.poll(() => kept.evaluate((img: HTMLImageElement) => img.naturalWidth)).toBe(2);
  await audit(page, "a photo that waits");
  const moments = await page.locator(".waiting time").evaluateAll((all) => all.map((time) => time.getAttribute("datetime") ?? ""));

  // An end whose guide this device never saw: the look is taken all the same.
  await page.goto("/look/CB-022B");
  await expect(page.getByText(/has not seen what to look for on CB-022B/)).toBeVisible();
  await page.getByRole("radio", { name: /^Good/ }).check();
  await page.getByLabel("Photo").setInputFiles({ name: "face.png", mimeType: "image/png", buffer: Buffer.from("no picture") });
  await audit(page, "a look without a guide");
  await fits(page, "a look without a guide");
  await page.getByRole("button", { name: "Record the look" }).click();
  await expect(page.getByRole("link", { name: "3 kept here" })).toBeVisible();

  const back = Date.now();
  await start();
  await page.goto("/waiting");
  // What is no picture is told by its content, and a person decides.
  const asks = page.getByRole("list", { name: "Needs you" });
  await expect(asks).toContainText(/expected a PNG, JPEG or WebP picture by its content/, { timeout: 40_000 });
  await audit(page, "a photo that the server does not take");
  await page.reload();
  await asks.getByRole("button", { name: "Send without the photo" }).click();
  await expect(page.getByRole("list", { name: "Arrived" })).toContainText("Look: CB-022B");
  await expect(page.getByText("Nothing waits.")).toBeVisible();

  const mine = (await asked()).history.filter((event) => event.person === "screened-room");
  expect((await asked()).history.length).toBe(before + 2);
  expect(mine.map((event) => event.kind)).toEqual(["inspected", "cleaned"]);
  expect(mine.map((event) => Date.parse(event.happened_at)).reverse()).toEqual(moments.map((at) => Date.parse(at)));
  for (const event of mine) expect(Date.parse(event.happened_at)).toBeLessThan(back);
  const looks = ((await (await request.get("/api/v1/ends/CB-021B/kept")).json()) as { looks: { fact: string; marks: unknown[] }[] }).looks;
  expect(looks).toHaveLength(1);
  expect(looks[0]?.marks).toEqual([{ clock: 4, zone: "mating-plane", word: null }]);
  const photo = await request.get(`/api/v1/looks/${looks[0]!.fact}/photo`);
  expect(photo.headers()["content-type"]).toBe("image/png");
  expect(Buffer.compare(await photo.body(), PHOTO)).toBe(0);
});
