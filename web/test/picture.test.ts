import { afterEach, expect, test } from "vitest";
import { personal } from "../src/personal.svelte";
import { pictureText } from "../src/study/picture";

afterEach(() => personal.keep({ length: "", decimal: "." }));

// Lines of the picture of the drift of an end, as the server draws it.
const SVG = `<desc id="desc">the last one recessed by 7.033 µm after 32 mates.</desc>
<text x="186.0" y="364.0" text-anchor="middle">10</text>
<text x="75.0" y="249.3" text-anchor="end">5</text>
<text x="75.0" y="150.7" text-anchor="end">\u22120.5</text>
<text x="20" y="196.0" text-anchor="middle" transform="rotate(-90 20 196.0)">recessed in µm (below zero: protruding)</text>
<path d="M84.0 249.3H696"/>
<text x="692.0" y="82.5" text-anchor="end">recessed 13 µm</text>`;

test("the numbers at an axis of lengths follow the person, the drawing stays", () => {
  expect(pictureText(SVG)).toBe(SVG);
  personal.keep({ length: "mil", decimal: "," });
  expect(pictureText(SVG)).toBe(`<desc id="desc">the last one recessed by 0,27689 mil after 32 mates.</desc>
<text x="186.0" y="364.0" text-anchor="middle">10</text>
<text x="75.0" y="249.3" text-anchor="end">0,20</text>
<text x="75.0" y="150.7" text-anchor="end">\u22120,020</text>
<text x="20" y="196.0" text-anchor="middle" transform="rotate(-90 20 196.0)">recessed in mil (below zero: protruding)</text>
<path d="M84.0 249.3H696"/>
<text x="692.0" y="82.5" text-anchor="end">recessed 0,51 mil</text>`);
});
