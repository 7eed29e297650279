// What people come for, in their words: one journey each, ended by an audit.
// The screens behind them have spec files of their own.
import type { components } from "../src/api/schema";
import { audit, expect, fits, LIKE, pair, ready, scan, test, told } from "./lab";

type Schemas = components["schemas"];

test("May I put this on that? Two scans, an answer with its reasons, and what it would take", async ({ page, request }) => {
  const [a, b] = await pair(request, "stop", [["n75", "n50"], ["n50", "n75"]]);
  const check = (await (await request.get("/api/v1/check", { params: { a, b } })).json()) as Schemas["MateCheckJson"];
  await ready(page);
  await scan(page, a);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  const asked = Date.now();
  await scan(page, b);
  await expect(page.getByRole("heading", { name: "Stop" })).toBeVisible();
  expect(Date.now() - asked, "under five seconds").toBeLessThan(5000);
  for (const finding of check.findings) await expect(page.getByText(finding.text).first()).toBeVisible();
  await fits(page);
  await audit(page, "may I put this on that");
});

test("This pin sticks out: what did it touch? A work list with what clears each end, and the ends are held", async ({ page, request }) => {
  await page.goto("/end/CB-009A");
  await page.getByRole("link", { name: "What did it touch?" }).click();
  const trace = (await (await request.get("/api/v1/trace?ends=CB-009A")).json()) as Schemas["TraceJson"];
  await expect(page.getByText(trace.text)).toBeVisible();
  await expect(page.locator(".trace-rows tbody tr").first()).toContainText(trace.exposed[0]?.end.tag ?? "");
  await expect(page.getByText("Exposed is not damaged").first()).toBeVisible();
  await audit(page, "what did it touch");
  await page.goto("/end/CB-009A");
  await page.getByRole("link", { name: "Open a case" }).click();
  const form = page.getByRole("form", { name: "Open a case" });
  await form.getByLabel("Because").fill("pin protrudes");
  await form.getByLabel("Who decides").fill("technician-1");
  await form.getByRole("button", { name: "Open the case" }).click();
  await expect(page).toHaveURL(/\/case\//);
  await expect(page.getByRole("heading", { name: "What keeps it from being closed" })).toBeVisible();
  const list = page.getByRole("table").first().locator("tbody tr");
  expect(await list.count()).toBeGreaterThan(5);
  // What it holds may not be mated.
  const made = (await (await request.get(`/api/v1/cases/${new URL(page.url()).pathname.split("/").at(-1)}`)).json()) as Schemas["CaseJson"];
  const reached = made.work.find((line) => line.what === "end" && line.tag !== "CB-009A")?.tag ?? "";
  const end = (await (await request.get(`/api/v1/ends/${reached}`)).json()) as Schemas["EndJson"];
  expect(end.standing.standing).toBe("do-not-mate");
  await fits(page);
  await audit(page, "the work list");
});

test("My result looks odd: could a connector be the cause, and since when?", async ({ page, request }) => {
  await page.goto("/end/DU-008A");
  await page.getByRole("link", { name: "What could have made it bad?" }).click();
  const back = (await (await request.get("/api/v1/trace/back?ends=DU-008A")).json()) as Schemas["BackTraceJson"];
  await expect(page.getByText(told(back.text))).toBeVisible();
  const first = back.candidates[0];
  expect(first).toBeTruthy();
  await expect(page.getByText(first?.end.tag ?? "").first()).toBeVisible();
  await fits(page);
  await audit(page, "what could have made it bad");
});

test("Which results are in doubt, and who must hear of it? Each is decided about, with a name", async ({ page, request }) => {
  const opened = await request.post("/api/v1/cases", { data: { ends: ["CB-009A"], name: "Results in doubt", because: "pin protrudes", person: "technician-1" } });
  const { case: made } = (await opened.json()) as Schemas["CaseWrittenJson"];
  expect(made.results.length).toBeGreaterThan(0);
  await page.goto(`/case/${made.case.id}`);
  const results = page.getByRole("region", { name: /^Results/ });
  await expect(results.getByText(made.results[0]?.uri ?? "").first()).toBeVisible();
  await results.getByRole("checkbox").first().check();
  await results.getByRole("radio", { name: /Notify/ }).check();
  await results.getByLabel("Because").fill("the customer must hear of it");
  await results.getByLabel(/^Who/).fill("lead-1");
  await results.locator("form").getByRole("button").last().click();
  await expect.poll(async () => ((await (await request.get(`/api/v1/cases/${made.case.id}`)).json()) as Schemas["CaseJson"]).results.filter((one) => one.decision?.disposition === "notify").length).toBeGreaterThan(0);
  await expect(results).toContainText("the customer must hear of it");
  await page.getByRole("link", { name: "Dossier for paper" }).click();
  await expect(page.getByRole("article")).toContainText("Notify");
  await audit(page, "results in doubt on paper");
});

test("Is this pin depth good, with this gauge and its uncertainty? Typed by the gauge, decided by the core", async ({ page, request }) => {
  await page.goto("/gauge/CB-016A");
  await page.getByText("Add the dielectric").focus();
  await scan(page, "GA-001");
  await expect(page.getByRole("textbox", { name: "Gauge", exact: true })).toHaveValue("GA-001");
  await page.getByText("When GA-001 types").click();
  await page.getByLabel("Numbers without a unit are in").selectOption("um");
  await page.getByLabel("A minus means").selectOption("recessed");
  await page.getByText("Add the dielectric").focus();
  await scan(page, "GM-001");
  await expect(page.getByLabel("Gauge master")).toHaveValue("GM-001");
  await page.locator("#zero-before-0").focus();
  await scan(page, "0");
  await page.locator("#reading-0").focus();
  for (const reading of ["-12,0", "-11,5", "-12,5"]) await scan(page, reading);
  await page.locator("#zero-after-0").focus();
  await scan(page, "0");
  await expect(page.getByRole("heading", { name: /^(Shown safe|Not shown safe|This gauge cannot decide)$/ })).toBeVisible();
  await expect(page.getByRole("heading", { name: "Uncertainty budget" })).toBeVisible();
  await page.getByLabel("Who gauged").fill("technician-1");
  for (const box of await page.getByRole("group", { name: "Is it so?" }).getByRole("checkbox").all()) await box.check();
  await page.getByRole("button", { name: "Record the gauging of CB-016A" }).click();
  await expect(page.getByText(/^Recorded: a gauging of CB-016A/)).toBeVisible();
  const { history } = (await (await request.get("/api/v1/ends/CB-016A")).json()) as Schemas["EndJson"];
  expect(history[0]?.text).toContain("recessed by 12");
  await fits(page);
  await audit(page, "a pin depth with its gauge");
});

test("What is due today, on my bench? From the list to the work and back, one less", async ({ page, request }) => {
  const all = (await (await request.get("/api/v1/due")).json()) as Schemas["DueListJson"];
  const row = all.due.find((one) => one.task === "clean" && one.end !== null && one.location !== null) ?? all.due.find((one) => one.end !== null && one.location !== null);
  const place = row?.location ?? "";
  await page.goto("/due");
  await page.getByLabel("Bench or place").selectOption(place);
  await expect(page.getByText(`at ${place}, most pressing first`)).toBeVisible();
  const first = page.locator(".due li").first();
  await expect(first).toContainText(place);
  await audit(page, "due on my bench");
  await first.getByRole("link").first().click();
  await expect(page.getByRole("heading", { level: 1 })).toBeFocused();
  await page.goBack();
  await expect(page.getByLabel("Bench or place")).toHaveValue(place);
  await fits(page);
  await audit(page, "back at what is due");
});

test("How much life is left? The drift of a pin, and no forecast where none is carried", async ({ page, request }) => {
  await page.goto("/end/CB-014A");
  await expect(page.getByText("Contacts so far")).toBeVisible();
  await page.getByRole("link", { name: "Drift over its mates" }).click();
  const drift = (await (await request.get("/api/v1/ends/CB-014A/drift?cleaning=breaks")).json()) as Schemas["DriftJson"];
  await expect(page.getByText(drift.summary)).toBeVisible();
  for (const forecast of drift.forecasts) {
    const why = forecast.refused_because[0]?.text;
    if (why !== undefined) await expect(page.getByText(why).first()).toBeVisible();
  }
  await fits(page);
  await audit(page, "how much life is left");
});

test("The gauge was off: which readings does that change? Shown before it is written, the originals kept", async ({ page, request }) => {
  const traced = (await (await request.get("/api/v1/trace/tool?tool=GA-002")).json()) as { last_known_good: { at: string }; first_evidence: { at: string } };
  await page.goto("/tool/GA-002");
  await page.getByLabel("From", { exact: false }).first().fill(traced.last_known_good.at);
  await page.getByLabel("Until", { exact: false }).first().fill(traced.first_evidence.at);
  await page.getByLabel("Slowly: interpolated").check();
  await page.getByRole("button", { name: "Show what that changes" }).click();
  const before = page.getByRole("columnheader", { name: /^Before/ });
  await expect(before.first()).toBeVisible();
  const first = await page.locator("table.was-off tbody th a").first().textContent();
  await expect(page.getByText(/gaugings recomputed, \d+ flip/)).toBeVisible();
  await audit(page, "a gauge that was off");
  await page.goto(`/end/${(first ?? "").trim()}`);
  await expect(page.getByRole("heading", { name: "History" })).toBeVisible();
  await audit(page, "an end that it judged");
});

test("Log the mate without slowing me: two scans and one key, under five seconds, and a slip is taken back", async ({ page, request }) => {
  const [a, b] = await pair(request, "go", LIKE).catch(() => pair(request, "go-with-care", LIKE));
  await ready(page);
  await page.getByLabel("Who works here").fill("technician-1");
  await page.keyboard.press("Enter");
  const begun = Date.now();
  await scan(page, a, 10);
  await expect(page.getByRole("region", { name: `First end: ${a}` })).toBeVisible();
  await scan(page, b, 10);
  await expect(page.getByRole("heading", { name: /^Go/ })).toBeVisible();
  await page.keyboard.press("Control+Enter");
  await expect(page.getByText(`Logged: ${a} on ${b}.`)).toBeVisible();
  const took = Date.now() - begun;
  console.log(`two scans and one key: logged in ${took} ms`);
  expect(took).toBeLessThan(5000);
  await page.getByRole("button", { name: "Take back" }).click();
  await expect(page.getByText("Taken back. The record keeps both.")).toBeVisible();
  const end = (await (await request.get(`/api/v1/ends/${a}`)).json()) as Schemas["EndJson"];
  expect(end.mated_with).toBeNull();
  // The bench still knows who works there.
  await page.reload();
  await expect(page.getByLabel("Who works here")).toHaveValue("technician-1");
  await audit(page, "a mate logged and taken back");
});
