import { expect, test } from "vitest";
import { gather, isBurst, isDouble, LABEL_LIMIT, NOTHING_PENDING, saysSomething, scanned } from "../src/bench/wedge";

const typed = (text: string, step: number) => [...text].map((_, i) => i * step);

test("a label is taken as typed, without control characters and outer spaces", () => {
  expect(scanned("  C-102 A\r\n")).toEqual({ kind: "label", text: "C-102 A" });
  expect(scanned("\u0002C-102\u0003")).toEqual({ kind: "label", text: "C-102" });
  expect(scanned(" \t ")).toEqual({ kind: "nothing" });
});

test("a text longer than a label is refused and says so", () => {
  expect(scanned("9".repeat(LABEL_LIMIT))).toMatchObject({ kind: "label" });
  expect(scanned("9".repeat(LABEL_LIMIT + 1))).toMatchObject({ kind: "strange" });
});

test.each([
  [2, true],
  [80, true],
  [100, true],
  [180, false],
])("keys %d ms apart: a machine types is %s", (step, machine) => {
  expect(isBurst(typed("C-102A", step))).toBe(machine);
});

test("one pause does not hide a burst, three keys are none", () => {
  expect(isBurst([0, 2, 4, 400, 402, 404])).toBe(true);
  expect(isBurst([0, 2, 4])).toBe(false);
});

test("the same label within a second is one scan", () => {
  expect(isDouble("C-102", 1900, { text: "C-102", at: 1000 })).toBe(true);
  expect(isDouble("C-102", 2000, { text: "C-102", at: 1000 })).toBe(false);
  expect(isDouble("C-103", 1001, { text: "C-102", at: 1000 })).toBe(false);
  expect(isDouble("C-102", 0, null)).toBe(false);
});

function feed(keys: string[], step: number): (string | null)[] {
  let pending = NOTHING_PENDING;
  return keys.map((key, i) => {
    const next = gather(pending, key, 1000 + i * step);
    pending = next.pending;
    return next.text;
  });
}

test.each([2, 80, 200])("a scan outside a field is gathered at %d ms a key", (step) => {
  expect(feed([..."C-102", "Enter"], step).at(-1)).toBe("C-102");
});

test("Enter alone, and keys long before it, are no scan", () => {
  expect(feed(["Enter"], 10)).toEqual([null]);
  expect(feed([..."C-102", "Enter"], 700).at(-1)).toBeNull();
});

test("shift of a scanner does not break a label", () => {
  expect(feed(["Shift", "C", "-", "1", "Enter"], 5).at(-1)).toBe("C-1");
});

function swallowed(keys: string[], step: number): boolean[] {
  let pending = NOTHING_PENDING;
  return keys.map((key, i) => {
    const next = gather(pending, key, 1000 + i * step);
    pending = next.pending;
    return next.swallow;
  });
}

test("a run's space and Enter press nothing; a person's do", () => {
  expect(swallowed([..."GA 1", "Enter"], 5)).toEqual([false, false, true, false, true]);
  expect(swallowed([" "], 5)).toEqual([false]);
  expect(swallowed(["Enter"], 5)).toEqual([false]);
  // Long after a run, Enter is a person's again.
  expect(swallowed([..."GA-1", "Enter", "Enter"], 400)).toEqual([false, false, false, false, true, false]);
});

test("a scanner that ends with two Enters presses nothing with the second", () => {
  expect(swallowed([..."GA-1", "Enter", "Enter"], 5).at(-1)).toBe(true);
});

test("a scanner's Tab ends a run, a person's Tab moves on", () => {
  expect(feed([..."GA-001", "Tab"], 5).at(-1)).toBe("GA-001");
  expect(feed([..."GA-001", "Tab"], 200).at(-1)).toBeNull();
});

test.each([
  ["5", true],
  ["-12,5", true],
  ["CB-1", true],
  ["ab", false],
])("whether %s says something: %s", (text, says) => {
  expect(saysSomething(text)).toBe(says);
});
