import { expect, test } from "vitest";
import { BLOCK, missing, seen } from "../src/register/blocks";

test.each([
  [-300, 900, 44, 100_000, { from: 0, first: 0 }],
  [44_000, 900, 44, 100_000, { from: 985, first: 1000, last: 1020, to: 1036 }],
  [9e9, 900, 44, 100_000, { first: 99_999, last: 99_999, to: 100_000 }],
  [0, 900, 44, 3, { from: 0, to: 3, first: 0, last: 2 }],
  [0, 900, 44, 0, { from: 0, to: 0 }],
  [0, 900, 0, 10, { from: 0, to: 0 }],
])("%d px above, %d high, rows of %d, %d in all", (above, height, row, total, expected) => {
  expect(seen(above, height, row, total)).toMatchObject(expected);
});

test("only blocks that are looked at and not there are asked for", () => {
  expect(missing(0, 50, () => false)).toEqual([0]);
  expect(missing(BLOCK - 5, BLOCK + 5, () => false)).toEqual([0, 1]);
  expect(missing(BLOCK - 5, BLOCK + 5, (block) => block === 0)).toEqual([1]);
  expect(missing(0, 0, () => false)).toEqual([]);
});
