import { afterEach, expect, test, vi } from "vitest";
import { reader, refusal } from "../src/bench/camera";

afterEach(() => vi.unstubAllGlobals());

function browser(formats: string[] | null, isSecureContext = true) {
  const made: string[][] = [];
  if (formats !== null) {
    vi.stubGlobal("BarcodeDetector", class {
      static getSupportedFormats = () => Promise.resolve(formats);
      constructor(options: { formats: string[] }) {
        made.push(options.formats);
      }
    });
  }
  vi.stubGlobal("isSecureContext", isSecureContext);
  vi.stubGlobal("navigator", { mediaDevices: { getUserMedia: () => Promise.reject(new Error("no")) } });
  return made;
}

test("a reader only where the browser reads a code of ours and may use a camera", async () => {
  const made = browser(["aztec", "qr_code", "code_128"]);
  expect(await reader()).not.toBeNull();
  expect(made).toEqual([["qr_code", "code_128"]]);
  for (const [formats, secure] of [[null, true], [[], true], [["aztec"], true], [["qr_code"], false]] as const) {
    vi.unstubAllGlobals();
    browser(formats === null ? null : [...formats], secure);
    expect(await reader(), String(formats)).toBeNull();
  }
});

test("a refusal says what to do", () => {
  expect(refusal(new DOMException("", "NotAllowedError"))).toContain("Allow it");
  expect(refusal(new DOMException("", "NotFoundError"))).toContain("No camera");
  expect(refusal(new Error("x"))).toContain("no picture");
});
