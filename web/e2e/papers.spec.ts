// What is put on paper, how an end is cleaned, and what is due at a bench.
import { audit, expect, fits, test } from "./lab";

type Head = { log: { number: number; hash: string } };

test("the dossier of an end says everything and fits on paper", async ({ page, request }) => {
  const dossier = (await (await request.get("/api/v1/ends/CB-009A/dossier")).json()) as Head & { end: { history: unknown[]; standing: { findings: { text: string }[] } }; gaugings: unknown[] };
  await page.goto("/end/CB-009A");
  await page.getByRole("link", { name: "Dossier for paper" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Dossier of CB-009A" })).toBeFocused();
  const paper = page.getByRole("article", { name: "Dossier of CB-009A" });
  await expect(paper.getByRole("table", { name: /facts, newest first/ }).locator("tbody tr")).toHaveCount(dossier.end.history.length);
  await expect(paper.getByRole("table", { name: "Gaugings, oldest first" }).locator("tbody tr")).toHaveCount(dossier.gaugings.length);
  for (const finding of dossier.end.standing.findings) await expect(paper.getByText(finding.text).first()).toBeVisible();
  await expect(paper).toContainText(`number ${dossier.log.number}, hash ${dossier.log.hash}`);
  await audit(page, "a dossier of an end");
  await fits(page, "a dossier of an end");
  await page.setViewportSize({ width: 320, height: 900 });
  await fits(page, "a dossier on a narrow screen");
  await page.emulateMedia({ media: "print" });
  await page.setViewportSize({ width: 794, height: 1123 });
  await expect(page.getByRole("button", { name: "Print" })).toBeHidden();
  await expect(page.getByRole("navigation", { name: "Screens" })).toBeHidden();
  await expect(paper.getByText(dossier.log.hash)).toBeVisible();
  await fits(page, "a dossier on A4");
  const pdf = await page.pdf({ format: "A4", margin: { top: "12mm", bottom: "12mm", left: "12mm", right: "12mm" } });
  expect(pdf.length).toBeGreaterThan(10_000);
});

test("the dossier of a case says its decisions, its record and its steps", async ({ page, request }) => {
  const opened = await request.post("/api/v1/cases", { data: { ends: ["CB-009A"], because: "for a dossier", person: "lead-1" } });
  const { case: made } = (await opened.json()) as { case: { case: { id: string; name: string }; work: { tag: string }[]; history: unknown[] } };
  await page.goto(`/case/${made.case.id}`);
  await page.getByRole("link", { name: "Dossier for paper" }).click();
  const paper = page.getByRole("article", { name: `Dossier of ${made.case.name}` });
  await expect(paper.getByRole("table", { name: "Work list of the case" }).locator("tbody tr")).toHaveCount(made.work.length);
  await expect(paper.getByRole("heading", { name: /ISO\/IEC 17025/ })).toBeVisible();
  const { log } = (await (await request.get(`/api/v1/cases/${made.case.id}/dossier`)).json()) as Head;
  await expect(paper).toContainText(`number ${log.number}, hash ${log.hash}`);
  await audit(page, "a dossier of a case");
  await page.setViewportSize({ width: 768, height: 1024 });
  await fits(page, "a dossier of a case");
});

test("a cleaning shows the cautions of the data before the steps, and is recorded", async ({ page, request }) => {
  const guide = (await (await request.get("/api/v1/ends/CB-022A/clean-guide")).json()) as { cautions: { code: string; text: string }[]; steps: string[] };
  expect(guide.cautions.map((one) => one.code)).toContain("solvent");
  await page.goto("/end/CB-022A");
  await page.getByRole("link", { name: "Clean, step by step" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Clean CB-022A" })).toBeFocused();
  for (const { text } of guide.cautions) await expect(page.getByText(text)).toBeVisible();
  await expect(page.locator("ol.look-steps li")).toHaveText(guide.steps);
  await audit(page, "a cleaning");
  await fits(page, "a cleaning");
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByLabel("How").fill("dry swab");
  await page.getByRole("button", { name: "Record the cleaning of CB-022A" }).press("Enter");
  await expect(page.getByText(/^Recorded: a cleaning of CB-022A/)).toBeVisible();
  await audit(page, "a cleaning on record");
  await page.getByRole("link", { name: "Look again" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Look at CB-022A" })).toBeVisible();
  // The short form on the end shows the same cautions.
  await page.goto("/end/CB-022A");
  await page.getByRole("button", { name: "Clean", exact: true }).click();
  for (const { text } of guide.cautions) await expect(page.getByRole("list", { name: "Cautions" }).getByText(text)).toBeVisible();
});

test("what is due at one bench, as the core says it", async ({ page, request }) => {
  const all = (await (await request.get("/api/v1/due")).json()) as { locations: string[]; due: { location: string | null }[] };
  const place = all.locations[0] ?? "";
  const there = (await (await request.get("/api/v1/due", { params: { location: place } })).json()) as { due: { location: string; rank: number; tag: string }[] };
  expect(there.due.length).toBeGreaterThan(0);
  expect(there.due.length).toBeLessThan(all.due.length);
  await page.goto("/due");
  await page.getByLabel("Bench or place").selectOption(place);
  await expect(page.locator(".due li")).toHaveCount(there.due.length);
  await expect(page.getByText(`at ${place}, most pressing first; ranks are those of the whole lab`)).toBeVisible();
  await audit(page, "due at a bench");
  await page.reload();
  await expect(page.getByLabel("Bench or place")).toHaveValue(place);
  await page.goto("/due?at=nowhere");
  await expect(page.getByRole("alert")).toContainText("nowhere");
  await audit(page, "a place that is none");
  await page.getByRole("button", { name: "Show the whole lab" }).click();
  await expect(page.locator(".due li")).toHaveCount(all.due.length);
});
