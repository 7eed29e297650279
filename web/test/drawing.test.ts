import { expect, test } from "vitest";
import { column, lengthUm, path, roundBelow, scale, ticks } from "../src/line/drawing";

test.each([
  [0, 10],
  [20, 110],
  [40, 210],
  [50, 260],
])("0 to 40 on 10 to 210: %d is at %d", (value, place) => {
  expect(scale([0, 40], [10, 210])(value)).toBeCloseTo(place, 12);
});

test("a scale turned upside down puts larger numbers higher", () => {
  const y = scale([0, 0.02], [200, 0]);
  expect(y(0)).toBe(200);
  expect(y(0.005)).toBeCloseTo(150, 12);
});

test("a range without width, or without end, stays at the start", () => {
  expect(scale([3, 3], [10, 20])(3)).toBe(10);
  expect(scale([0, Number.POSITIVE_INFINITY], [10, 20])(3)).toBe(10);
});

test("a path moves first, draws on, and breaks where a number is missing", () => {
  expect(path([])).toBe("");
  expect(path([[0, 1], [2.004, 3.006]])).toBe("M0 1L2 3.01");
  expect(path([[0, 1], [1, Number.NaN], [2, 3], [4, 5]])).toBe("M0 1M2 3L4 5");
});

test.each([
  [3500, 2000],
  [0.0152, 0.01],
  [0.001, 0.001],
  [5, 5],
  [4.99, 2],
  [0, 0],
  [Number.NaN, 0],
])("the round number below %d is %d", (value, round) => {
  expect(roundBelow(value)).toBe(round);
});

test.each([
  [38.8, [0, 10, 20, 30]],
  [0.0152, [0, 0.005, 0.01, 0.015]],
  [0, [0]],
])("ticks up to %d", (top, places) => {
  expect(ticks(top)).toEqual(places);
});

test("there are three to eight ticks, none above the top", () => {
  for (let top = 0.0001; top < 1000; top *= 1.07) {
    const places = ticks(top);
    expect(places.length).toBeGreaterThanOrEqual(3);
    expect(places.length).toBeLessThanOrEqual(8);
    expect(places.at(-1)).toBeLessThanOrEqual(top * (1 + 1e-9));
  }
});

test("a column of a sweep is found by its name", () => {
  const sweep = { columns: ["frequency_hz", "reflection_magnitude"], rows: [[1e9, 0.001], [2e9, 0.002]] };
  expect(column(sweep, "reflection_magnitude")).toEqual([[1e9, 0.001], [2e9, 0.002]]);
  expect(column(sweep, "loss_db")).toEqual([]);
  expect(column(null, "reflection_magnitude")).toEqual([]);
});

test("a length is read in its own unit, and an unknown one is not zero", () => {
  const origin = { source: "memory", locator: "interface dimensions", evidence: "from memory" };
  const inputs = [
    { name: "outer", value: 3.5, unit: "mm", origin },
    { name: "gap", value: 60, unit: "um", origin },
    { name: "at", value: 18e9, unit: "Hz", origin },
  ];
  expect(lengthUm(inputs, "outer")).toBe(3500);
  expect(lengthUm(inputs, "gap")).toBe(60);
  expect(lengthUm(inputs, "at")).toBeNull();
  expect(lengthUm(inputs, "pin")).toBeNull();
});
