import { expect, test } from "vitest";
import { foundOf, nothing, pieceOf } from "../src/kit/found";

const piece = (tag: string, ...ends: string[]) =>
  ({ id: `id-${tag}`, tag, ends: ends.map((end) => ({ end: { id: end, tag: end } })) }) as unknown as Parameters<typeof pieceOf>[0][number];
const pieces = [piece("CS-1", "CS-1A"), piece("CS-2", "CS-2A", "CS-2B"), piece("CS-3")];

test("a label of a piece or of one of its ends names the piece", () => {
  expect(pieceOf(pieces, " cs-2b ")?.tag).toBe("CS-2");
  expect(pieceOf(pieces, "CS-3")?.tag).toBe("CS-3");
  expect(pieceOf(pieces, "CS-")).toBeUndefined();
});

test("only what was said is sent, and no caps of what is missing", () => {
  const said = {
    "id-CS-1": { place: "in-place", capped: "" },
    "id-CS-2": { place: "missing", capped: "yes" },
    "id-CS-3": nothing(),
  };
  expect(foundOf(pieces, said)).toEqual([
    { piece: "CS-1", place: "in-place" },
    { piece: "CS-2", place: "missing" },
  ]);
  expect(foundOf(pieces, { "id-CS-3": { place: "swapped", capped: "no" } })).toEqual([{ piece: "CS-3", place: "swapped", capped: false }]);
});
