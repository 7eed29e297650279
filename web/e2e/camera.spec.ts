import { audit, expect, fits, ready, test } from "./lab";

test("a browser that reads no codes gets no camera button", async ({ page }) => {
  await page.addInitScript(() => Reflect.deleteProperty(globalThis, "BarcodeDetector"));
  await ready(page);
  await expect(page.getByRole("button", { name: /camera/i })).toHaveCount(0);
});

test("a code before the camera is a scan, and the camera is off afterwards", async ({ page }) => {
  await page.addInitScript(() => {
    const codes: string[] = [];
    const tracks: MediaStreamTrack[] = [];
    class Reads {
      static getSupportedFormats = () => Promise.resolve(["qr_code", "aztec"]);
      detect() {
        const code = codes.shift();
        return code === "unreadable" ? Promise.reject(new Error("a blurred frame")) : Promise.resolve(code ? [{ rawValue: code }] : []);
      }
    }
    Object.assign(globalThis, { BarcodeDetector: Reads, codes, tracks });
    navigator.mediaDevices.getUserMedia = async () => {
      const canvas = document.createElement("canvas");
      canvas.getContext("2d")?.fillRect(0, 0, 10, 10);
      const stream = canvas.captureStream(10);
      tracks.push(...stream.getTracks());
      return stream;
    };
  });
  await ready(page);
  await page.getByRole("button", { name: "Scan with the camera" }).click();
  await expect(page.getByLabel("Picture of the camera")).toBeVisible();
  await audit(page, "the camera");
  await fits(page, "the camera");
  await page.evaluate(() => (globalThis as unknown as { codes: string[] }).codes.push("unreadable", "CB-001A"));
  await expect(page.getByRole("region", { name: "First end: CB-001A" })).toBeVisible();
  await expect(page.getByLabel("Picture of the camera")).toHaveCount(0);
  expect(await page.evaluate(() => (globalThis as unknown as { tracks: MediaStreamTrack[] }).tracks.map((track) => track.readyState))).toEqual(["ended"]);
});

test("a camera that is refused says what to do", async ({ page }) => {
  await page.addInitScript(() => {
    Object.assign(globalThis, { BarcodeDetector: Object.assign(class {}, { getSupportedFormats: () => Promise.resolve(["qr_code"]) }) });
    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", "NotAllowedError"));
  });
  await ready(page);
  await page.getByRole("button", { name: "Scan with the camera" }).click();
  await expect(page.getByRole("alert")).toContainText("Allow it in the browser, or type the label.");
  await audit(page, "a refused camera");
});
