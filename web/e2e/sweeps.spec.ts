import { audit, expect, fits, test } from "./lab";
import type { components } from "../src/api/schema";

type Schemas = components["schemas"];

test("the screen says what the API says: the joint, its numbers, its place in the picture", async ({ page, request }) => {
  await page.goto("/sweeps");
  const list = (await (await request.get("/api/v1/sweeps")).json()) as Schemas["SweepListJson"];
  const latest = list.sweeps[0]!;
  expect(latest.points).toBeGreaterThan(10_000);
  const found = (await (await request.get("/api/v1/sweep/compare", { params: { sweep: latest.fact } })).json()) as Schemas["SweepCompareJson"];
  await expect(page.getByRole("heading", { name: "A joint changed" })).toBeVisible();
  await expect(page.getByText(found.text)).toBeVisible();
  const named = found.joints.filter((j) => j.named);
  expect(named.map((j) => j.name)).toEqual(["AD-001B – CB-013A"]);
  const row = page.getByRole("row").filter({ hasText: "named by the verdict" });
  await expect(row).toContainText("AD-001B");
  await expect(row).toContainText(`${named[0]!.inductance_change_ph.toFixed(1)} pH`);
  await expect(page.getByRole("img", { name: "Difference of the two sweeps over time" }).locator("canvas")).toBeVisible();
  await expect(page.getByText(/^The difference is largest with/)).toContainText("(low-pass)");
  // The canvas is repeated as a table.
  await page.getByText("The curves as a table").click();
  await expect(page.getByRole("columnheader", { name: /^in hand/ })).toBeVisible();
});

test("the sentence stands above the numbers, and a line marks each joint at its place", async ({ page, request }) => {
  // A canvas says nothing of what was drawn: note its vertical lines.
  await page.addInitScript(() => {
    const drawn: { canvas: HTMLCanvasElement; x: number }[] = [];
    (window as unknown as { drawn: typeof drawn }).drawn = drawn;
    const { moveTo, lineTo } = CanvasRenderingContext2D.prototype;
    let from = { x: Number.NaN, y: Number.NaN };
    CanvasRenderingContext2D.prototype.moveTo = function (x, y) {
      from = { x, y };
      moveTo.call(this, x, y);
    };
    CanvasRenderingContext2D.prototype.lineTo = function (x, y) {
      if (x === from.x && Math.abs(y - from.y) > 100) drawn.push({ canvas: this.canvas, x });
      lineTo.call(this, x, y);
    };
  });
  await page.goto("/sweeps");
  const list = (await (await request.get("/api/v1/sweeps")).json()) as Schemas["SweepListJson"];
  const found = (await (await request.get("/api/v1/sweep/compare", { params: { sweep: list.sweeps[0]!.fact } })).json()) as Schemas["SweepCompareJson"];
  const sentence = page.getByText(found.text);
  const plot = page.getByRole("img", { name: "Difference of the two sweeps over time" });
  await expect(plot.locator("canvas")).toBeVisible();
  const top = async (what: typeof sentence) => (await what.boundingBox())!.y;
  const table = page.getByRole("table", { name: "Change at each joint, from the port outward" });
  expect(await top(sentence)).toBeLessThan(await top(table));
  expect(await top(table)).toBeLessThan(await top(plot));

  const times = found.picture!.values[found.picture!.names.indexOf("round_trip_ns")]!;
  const [first, last] = [times[0]!, times.at(-1)!];
  const shown = await plot.evaluate((host) => {
    const canvas = host.querySelector("canvas")!;
    const over = host.querySelector(".plot-over")!.getBoundingClientRect();
    const scale = canvas.width / canvas.getBoundingClientRect().width;
    const left = (over.left - canvas.getBoundingClientRect().left) * scale;
    const all = (window as unknown as { drawn: { canvas: HTMLCanvasElement; x: number }[] }).drawn;
    return { left, width: over.width * scale, lines: all.filter((l) => l.canvas === canvas).map((l) => l.x) };
  });
  expect(found.joints.length).toBe(4);
  for (const joint of found.joints) {
    const expected = shown.left + ((joint.round_trip_ns - first) / (last - first)) * shown.width;
    const nearest = Math.min(...shown.lines.map((x) => Math.abs(x - expected)));
    expect(nearest, `${joint.name} at ${joint.round_trip_ns} ns`).toBeLessThan(1.5);
  }
});

test("another sweep is chosen from the keyboard, and nothing seen is no good news", async ({ page }) => {
  await page.goto("/sweeps");
  const now = page.getByLabel("Sweep in hand");
  await expect(page.getByRole("heading", { name: "A joint changed" })).toBeVisible();
  await now.focus();
  for (let i = 0; i < 3; i++) await page.keyboard.press("ArrowDown");
  await expect(page.getByRole("heading", { name: "Nothing seen" })).toBeVisible();
  await expect(page.getByText("This does not show that any end is mechanically safe.")).toBeVisible();
  await audit(page, "nothing seen");
  await page.keyboard.press("ArrowDown");
  await expect(page.getByRole("heading", { name: "No comparison" })).toBeVisible();
  await expect(page.getByRole("alert")).toContainText("cables held otherwise");
  await expect(page.getByRole("img", { name: "S11 over frequency" }).locator("canvas")).toBeVisible();
  await audit(page, "no baseline");
});

test("10 600 points on two curves move with the buttons and with a drag, without a pause", async ({ page }) => {
  await page.goto("/sweeps");
  const tools = page.getByRole("group", { name: "View of S11 over frequency" });
  const view = tools.locator("span");
  await expect(view).toHaveText(/^0\.00 to 26\.50 GHz$/);
  await tools.getByRole("button", { name: "Closer" }).focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("Enter");
  await expect(view).toHaveText("9.94 to 16.56 GHz");
  await tools.getByRole("button", { name: "Right" }).focus();
  await page.keyboard.press("Space");
  await expect(view).toHaveText(/^11\.(59|60) to 18\.22 GHz$/);
  await tools.getByRole("button", { name: "Wider" }).click();
  const plot = page.getByRole("img", { name: "S11 over frequency" }).locator(".plot-over");
  await plot.scrollIntoViewIfNeeded();
  const box = (await plot.boundingBox())!;
  const before = await view.textContent();
  const frames = page.evaluate(
    () =>
      new Promise<number[]>((done) => {
        const times: number[] = [];
        const start = performance.now();
        const tick = (now: number) => {
          times.push(now);
          if (now - start < 1500) requestAnimationFrame(tick);
          else done(times.slice(1).map((t, i) => t - times[i]!));
        };
        requestAnimationFrame(tick);
      }),
  );
  await page.mouse.move(box.x + box.width * 0.8, box.y + 100);
  await page.mouse.down();
  for (let i = 1; i <= 60; i++) await page.mouse.move(box.x + box.width * (0.8 - i * 0.01), box.y + 100);
  await page.mouse.up();
  const gaps = (await frames).sort((a, b) => a - b);
  const median = gaps[Math.floor(gaps.length / 2)]!;
  console.log(`frames while panning 2 × 10 600 points: median ${median.toFixed(1)} ms, 95 % ${gaps[Math.floor(gaps.length * 0.95)]!.toFixed(1)} ms`);
  expect(median).toBeLessThan(50);
  expect(await view.textContent()).not.toBe(before);
  await tools.getByRole("button", { name: "All" }).click();
  await expect(view).toHaveText(/^0\.00 to 26\.50 GHz$/);
});

test("the plot is not part of the first load, and the first load is small", async ({ page }) => {
  const loaded: { url: string; bytes: number }[] = [];
  page.on("response", async (response) => {
    if (!response.url().includes("/assets/")) return;
    const sizes = await response.request().sizes();
    loaded.push({ url: response.url(), bytes: sizes.responseBodySize });
  });
  await page.goto("/");
  await expect(page.getByLabel("Scan an end")).toBeFocused();
  await expect.poll(() => loaded.length).toBeGreaterThan(1);
  expect(loaded.filter((l) => l.url.includes("plot"))).toEqual([]);
  expect(loaded.reduce((sum, l) => sum + l.bytes, 0)).toBeLessThan(200_000);
  await page.goto("/sweeps");
  await expect(page.locator("canvas").first()).toBeVisible();
  expect(loaded.some((l) => l.url.includes("plot"))).toBe(true);
});

test("a file is looked into, its doubts and its faults have a place", async ({ page }) => {
  await page.goto("/sweeps");
  const input = page.getByLabel("Touchstone file");
  await input.setInputFiles({ name: "odd.s1p", mimeType: "text/plain", buffer: Buffer.from("# GHz S RI\n1\t0.1 0\n2 0.1 0\n3 0.1 0\n4 0 0\n5 0 0") });
  await expect(page.getByText(/Touchstone 1\.0, 1 port, 5 frequencies/)).toBeVisible();
  await expect(page.getByText(/the last line has no line end/)).toBeVisible();
  await audit(page, "a file");
  await input.setInputFiles({ name: "bad.s1p", mimeType: "text/plain", buffer: Buffer.from("# THz S RI R 50\n1 0 0\n") });
  await expect(page.getByRole("alert")).toContainText('found "THz"');
  await audit(page, "a refused file");
  await page.setViewportSize({ width: 320, height: 900 });
  await fits(page);
});

test("a file is kept as evidence and a verdict is noted, as information only", async ({ page, request }) => {
  const before = (await (await request.get("/api/v1/sweeps")).json()) as Schemas["SweepListJson"];
  await page.goto("/sweeps");
  await page.getByText("Note this verdict in the history").click();
  await page.getByLabel("Who did it").fill("metrologist-1");
  await page.getByRole("button", { name: "Note the verdict" }).click();
  await expect(page.getByText("No standing changed.")).toBeVisible();
  const end = (await (await request.get("/api/v1/ends/AD-001B")).json()) as Schemas["EndJson"];
  expect(end.history[0]?.kind).toBe("sweep-judged");
  await page.getByText("Note this verdict in the history").click();
  const text = "# GHz S RI R 50\r\n1 0.1 0\r\n2 0.1 0\r\n3 0.1 0\r\n4 0 0\r\n5 0 0\r\n";
  await page.getByLabel("Touchstone file").setInputFiles({ name: "kept.s1p", mimeType: "text/plain", buffer: Buffer.from(text) });
  await page.getByText("Keep it as evidence").click();
  const keep = page.getByRole("button", { name: "Keep kept.s1p as evidence" });
  await page.getByRole("form", { name: "Keep kept.s1p as evidence" }).getByLabel("Who did it").fill("metrologist-1");
  await keep.click();
  await expect(page.locator("#keep-chain-error")).toContainText("labels of the ends");
  await audit(page, "a sweep that is not kept");
  await page.locator("#keep-chain").fill("IN-001P2, CB-015A");
  await keep.click();
  await expect(page.getByText("Kept: kept.s1p.")).toBeVisible();
  const after = (await (await request.get("/api/v1/sweeps")).json()) as Schemas["SweepListJson"];
  expect(after.sweeps.length).toBe(before.sweeps.length + 1);
  const kept = after.sweeps.find((s) => s.file.name === "kept.s1p")!;
  expect(await (await request.get(`/api/v1/sweeps/${kept.fact}/file`)).text()).toBe(text);
  expect((await request.post("/api/v1/corrections", { data: { fact: kept.fact, because: "a trial", person: "metrologist-1" } })).ok()).toBe(true);
});
