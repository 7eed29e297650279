import { audit, expect, fits, test } from "./lab";

// One dot, red: a whole PNG.
const DOT = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR4nGP4z8DwHwAFAAH/iZk9HQAAAABJRU5ErkJggg==", "base64");

test("a guided look marks the place, keeps the photo, and shows both on the end", async ({ page, request }) => {
  await page.goto("/end/CB-021A");
  await page.getByRole("link", { name: "Look with the guide" }).click();
  await expect(page.getByRole("heading", { level: 1, name: "Look at CB-021A" })).toBeFocused();
  await expect(page.getByRole("heading", { name: "In this order" })).toBeVisible();
  await fits(page);
  await audit(page, "a guided look");

  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByRole("button", { name: "Record the look" }).press("Enter");
  await expect(page.getByRole("alert").first(), "the outcome is asked for").toBeVisible();
  await page.getByRole("radio", { name: /^Damaged/ }).check();
  await page.getByRole("group", { name: "Damage", exact: true }).getByRole("checkbox", { name: "Dented rim" }).check();
  await page.getByLabel("What is marked").selectOption("dented-rim");
  await page.getByLabel("At", { exact: true }).selectOption("3");
  await page.getByLabel("On the", { exact: true }).selectOption("mating-plane");
  await page.getByRole("button", { name: "Mark it" }).press("Enter");
  await expect(page.getByRole("img", { name: /1: 3 o'clock, Mating plane, Dented rim/i })).toBeVisible();
  // By pointing: below the middle of the drawing is 6 o'clock, 71 of its 100 units out is the mating plane.
  const face = await page.locator(".face svg").boundingBox();
  if (!face) throw new Error("expected the drawing of the face");
  await page.mouse.click(face.x + face.width / 2, face.y + face.height * (100 + 71) / 200);
  await expect(page.getByRole("img", { name: /2: 6 o'clock, Mating plane, Dented rim/i })).toBeVisible();
  await page.mouse.click(face.x + face.width / 2 - (face.width * 90) / 200, face.y + face.height / 2);
  await expect(page.getByRole("img", { name: /3: 9 o'clock, Coupling/i })).toBeVisible();
  await page.getByRole("button", { name: /Take away mark 3/ }).click();
  await expect(page.getByRole("img", { name: /2: 6 o'clock, Mating plane, Dented rim$/i })).toBeVisible();
  await audit(page, "places marked by pointing");
  await page.getByLabel("Photo").setInputFiles({ name: "face.png", mimeType: "image/png", buffer: Buffer.from("<svg xmlns='x'/>") });
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.getByRole("button", { name: "Record the look" }).press("Enter");
  await expect(page.getByText(/expected a PNG, JPEG or WebP picture by its content/)).toBeVisible();
  await audit(page, "a photo that is none");
  await page.getByLabel("Photo").setInputFiles({ name: "face.png", mimeType: "image/png", buffer: DOT });
  await page.getByRole("button", { name: "Record the look" }).press("Enter");
  await expect(page.getByText(/^Recorded\./)).toBeVisible();
  await audit(page, "after a look");

  await page.getByRole("link", { name: "Go to CB-021A" }).click();
  const looks = page.getByRole("region", { name: "Looks with marks or photos" });
  await expect(looks).toContainText("3 o'clock on the mating plane (dented rim); 6 o'clock on the mating plane (dented rim)");
  await expect.poll(() => looks.getByRole("img").evaluate((img: HTMLImageElement) => img.naturalWidth)).toBe(1);
  const kept = (await (await request.get("/api/v1/ends/CB-021A/kept")).json()) as { looks: { fact: string }[] };
  const photo = await request.get(`/api/v1/looks/${kept.looks[0]!.fact}/photo`);
  expect(photo.headers()["content-type"]).toBe("image/png");
  expect(Buffer.compare(await photo.body(), DOT)).toBe(0);
  await audit(page, "an end with a photo");

  // The item shows the looks and sweeps of all its ends, each with the way to it.
  await page.goto("/item/CB-021");
  const ofItem = page.getByRole("region", { name: "Looks with marks or photos" });
  const picture = ofItem.getByRole("img", { name: /^CB-021A, damaged, dented rim, .* opens in full$/ });
  await expect.poll(() => picture.evaluate((img: HTMLImageElement) => img.naturalWidth)).toBe(1);
  await audit(page, "an item with a photo");
  await fits(page, "an item with a photo");
  await ofItem.getByRole("link", { name: "CB-021A", exact: true }).click();
  await expect(page.getByRole("heading", { level: 1, name: "CB-021A" })).toBeVisible();
  await expect(page.locator(`#look-${kept.looks[0]!.fact}`)).toBeFocused();
});

test("an item shows the sweeps that went through it, and a sweep is opened from there", async ({ page, request }) => {
  const { sweeps } = (await (await request.get("/api/v1/sweeps")).json()) as { sweeps: { fact: string; file: { name: string }; chain: { tag: string }[] }[] };
  const last = sweeps.at(-1)!;
  const through = last.chain.find((end) => /^CB-/.test(end.tag)) ?? last.chain[0]!;
  const item = ((await (await request.get(`/api/v1/ends/${through.tag}`)).json()) as { item: { tag: string } }).item.tag;
  const kept = (await (await request.get(`/api/v1/items/${item}/kept`)).json()) as { sweeps: { fact: string; file_name: string }[] };
  expect(kept.sweeps.map((one) => one.fact)).toContain(last.fact);
  expect(new Set(kept.sweeps.map((one) => one.fact)).size, "each once").toBe(kept.sweeps.length);
  await page.goto(`/item/${item}`);
  const list = page.getByRole("region", { name: "Sweeps through it" });
  const all = list.getByRole("button", { name: /^Show all/ });
  if (kept.sweeps.length > 3) await all.click();
  await expect(list.getByRole("listitem")).toHaveCount(kept.sweeps.length);
  await audit(page, "an item with sweeps");
  const oldest = kept.sweeps.at(-1)!;
  await list.locator(`a[href="/sweeps?sweep=${oldest.fact}"]`).click();
  await expect(page.getByRole("heading", { level: 1, name: "Sweeps" })).toBeVisible();
  await expect(page.getByRole("combobox").first()).toHaveValue(oldest.fact);
});

test("a browser that is full keeps nothing back: what was said stays in the form, and is sent when the server answers", async ({ page, request }) => {
  await page.addInitScript(() => {
    IDBObjectStore.prototype.put = () => {
      throw new DOMException("no room", "QuotaExceededError");
    };
  });
  const before = ((await (await request.get("/api/v1/ends/CB-023A/kept")).json()) as { looks: unknown[] }).looks.length;
  await page.goto("/look/CB-023A");
  await page.getByRole("radio", { name: /^Good/ }).check();
  await page.getByLabel("Photo").setInputFiles({ name: "face.png", mimeType: "image/png", buffer: DOT });
  await page.getByLabel("Who (needed)").fill("technician-1");
  await page.route("**/api/v1/looks?*", (route) => route.abort());
  await page.getByRole("button", { name: "Record the look" }).click();
  await expect(page.getByText(/could not keep it\. It is still in the form/)).toBeVisible();
  await expect(page.getByRole("img", { name: "The photo chosen: face.png" })).toBeVisible();
  await audit(page, "a look that could not be kept");
  await page.unroute("**/api/v1/looks?*");
  await page.getByRole("button", { name: "Record the look" }).click();
  await expect(page.getByText(/^Recorded\./)).toBeVisible();
  const after = ((await (await request.get("/api/v1/ends/CB-023A/kept")).json()) as { looks: unknown[] }).looks.length;
  expect(after - before).toBe(1);
});
