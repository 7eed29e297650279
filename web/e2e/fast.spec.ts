import { gzipSync } from "node:zlib";
import { expect, test } from "./lab";

test("the first load is small", async ({ page }) => {
  const sizes: Promise<[string, number]>[] = [];
  page.on("response", (response) => {
    const url = new URL(response.url());
    if (url.pathname.startsWith("/api/") || response.fromServiceWorker() || response.request().serviceWorker()) return;
    sizes.push(response.body().then((body) => [url.pathname, gzipSync(body).length]));
  });
  await page.goto("/");
  await expect(page.getByLabel("Scan an end")).toBeFocused();
  const loaded = (await Promise.all(sizes)).filter(([path]) => !path.includes("/plot-"));
  expect(loaded.length).toBeGreaterThan(2);
  const total = loaded.reduce((sum, [, size]) => sum + size, 0);
  expect(total, JSON.stringify(loaded)).toBeLessThanOrEqual(200_000);
  console.log(`first load ${total} bytes compressed`);
});
