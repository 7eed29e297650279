// Codes are read back by an independent decoder (jsqr).
import jsqr from "jsqr";
import { expect, test } from "vitest";
import { coder } from "../src/labels/code";

/** Draws the path as pixels, `scale` to a module. */
function pixels(side: number, path: string, scale = 4): Uint8ClampedArray {
  const width = side * scale;
  const data = new Uint8ClampedArray(width * width * 4).fill(255);
  for (const [, x = "0", y = "0"] of path.matchAll(/M(\d+) (\d+)h1v1h-1z/g)) {
    for (let dy = 0; dy < scale; dy++) {
      for (let dx = 0; dx < scale; dx++) data.set([0, 0, 0, 255], ((Number(y) * scale + dy) * width + Number(x) * scale + dx) * 4);
    }
  }
  return data;
}

test.each(["CB-001A", "IN-003P1", "4006381333931", "Kabel µ 7 / Ω", "x".repeat(80)])("%s is read back", async (text) => {
  const { side, path } = (await coder())(text);
  const read = jsqr(pixels(side, path), side * 4, side * 4);
  expect(read && new TextDecoder().decode(new Uint8Array(read.binaryData))).toBe(text);
});
