import { audit, expect, fits, test } from "./lab";

type Traced = { last_known_good: { at: string }; first_evidence: { at: string } };
type WasOff = { flips: number; gaugings: { end: { tag: string }; flips: boolean }[] };

test("tools are listed with what is not in order first, and one opens", async ({ page }) => {
  await page.goto("/due");
  await page.getByRole("link", { name: "Tools" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Tools" })).toBeFocused();
  await expect(page.getByRole("status").filter({ hasText: /tools, what is not in order first/ })).toBeVisible();
  await audit(page, "the list of tools");
  await page.getByLabel("Kind").selectOption("torque-wrench");
  await expect(page.locator("table.tools tbody tr")).toHaveCount(await page.getByRole("link", { name: /^TW-/ }).count());
  await page.getByRole("link", { name: "TW-003" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "TW-003" })).toBeFocused();
  await fits(page);
  await audit(page, "a wrench");
});

test("a wrench is checked by its reference, and the arithmetic is shown", async ({ page }) => {
  await page.goto("/tool/TW-003");
  await page.getByLabel("What the reference said").fill("0.91N.m 0.90N.m 0.90N.m");
  await page.getByText("Ranges of the means by influence").click();
  await page.getByLabel("Output drive turned").fill("0.01N.m");
  await page.getByLabel("The lab takes it as in order").check();
  await page.getByLabel("Who (needed)", { exact: true }).fill("metrologist-1");
  await page.getByRole("button", { name: "Record the check" }).press("Enter");
  await expect(page.getByText("Recorded.")).toBeVisible();
  await expect(page.getByText(/W = .* %, W′ = .* %/)).toBeVisible();
  await expect(page.getByText(/Not measured, counted as zero: re-seating, interface, loading point, reference device/)).toBeVisible();
  await audit(page, "after a check");
});

test("what a gauge that was off changes is shown both ways before anything is written", async ({ page, request }) => {
  const traced = (await (await request.get("/api/v1/trace/tool?tool=GA-002")).json()) as Traced;
  await page.goto("/tool/GA-002");
  await page.getByLabel("From", { exact: false }).first().fill(traced.last_known_good.at);
  await page.getByLabel("Until", { exact: false }).first().fill(traced.first_evidence.at);
  await page.getByLabel("Slowly: interpolated").check();
  await page.getByRole("button", { name: "Show what that changes" }).press("Enter");
  const body = { since: traced.last_known_good.at, until: traced.first_evidence.at, drift: true, person: "x" };
  const found = (await (await request.post("/api/v1/tools/GA-002/was-off", { data: body })).json()) as WasOff;
  expect(found.flips).toBeGreaterThan(0);
  await expect(page.getByText(`${found.gaugings.length} gaugings recomputed, ${found.flips} flip.`)).toBeVisible();
  const first = page.locator("table.was-off tbody tr").first();
  await expect(first).toContainText(found.gaugings[0]!.end.tag);
  await expect(first).toContainText("flips");
  await expect(page.getByRole("columnheader", { name: "After (step)" })).toBeVisible();
  await audit(page, "a gauge that was off");
  await page.getByLabel("At once: somebody bumped it").check();
  await expect(page.getByRole("button", { name: "Write the corrections" })).toBeDisabled();
  await page.getByRole("link", { name: "Open a case over it" }).click();
  await expect(page.getByLabel(/Ends found bad/)).toHaveValue("GA-002");
});

test("a master's certificate says where its pin stands", async ({ page }) => {
  await page.goto("/tool/GM-005");
  await page.getByLabel("Number of the certificate").fill("LRW-M-5");
  await page.getByLabel("1. position, distance with unit").fill("3um");
  await page.getByLabel("Who (needed)", { exact: true }).fill("metrologist-1");
  await page.getByRole("button", { name: "Record the check" }).press("Enter");
  await expect(page.getByText(/expected the word recessed or protruding/)).toBeVisible();
  await page.getByRole("group", { name: "Side of position 1" }).getByRole("button", { name: "Recessed" }).click();
  await page.getByLabel("Standard uncertainty of that position").fill("0.4um");
  await page.getByLabel("The lab takes it as in order").check();
  await page.getByRole("button", { name: "Record the check" }).press("Enter");
  await expect(page.getByText("Recorded.")).toBeVisible();
  await expect(page.getByText("recessed 3 µm")).toBeVisible();
});
