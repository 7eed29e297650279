import { expect, test } from "vitest";
import { personal } from "../src/personal.svelte";
import { decimalsFor, fixed, frequency, numberText, numberTexts, plainName, probability, significant, unitText, withUncertainty } from "../src/quantities";

const spaced = (text: string) => text.replaceAll("\u202f", " ");

test.each([
  [12.345, 1, "12.3"],
  [-3.06, 1, "\u22123.1"],
  [-0.04, 1, "0.0"],
  [5, 0, "5"],
])("fixed(%d, %d) is %s", (value, decimals, text) => {
  expect(fixed(value, decimals)).toBe(text);
});

test.each([
  [1.13, 1],
  [0.0996, 2],
  [0.0994, 3],
  [9.96, 0],
  [23, 0],
  [0.00012, 5],
  [Number.NaN, 3],
  [0, 3],
])("an uncertainty of %d shows %d decimals", (u, decimals) => {
  expect(decimalsFor(u)).toBe(decimals);
});

test.each([
  [0.9, 3, "0.9"],
  [0.90389, 3, "0.904"],
  [1234.5, 3, "1230"],
  [0, 3, "0"],
  [100, 3, "100"],
])("significant(%d, %d) is %s", (value, digits, text) => {
  expect(significant(value, digits)).toBe(text);
});

test("a value is shown to its uncertainty's second digit", () => {
  expect(spaced(withUncertainty(12.3456, 1.134, "um"))).toBe("12.3 µm, u = 1.1 µm");
  expect(spaced(withUncertainty(0.012345, 0.0021, "1"))).toBe("0.0123, u = 0.0021");
  expect(spaced(withUncertainty(7, null, "1"))).toBe("7");
});

test.each([
  [18e9, "18 GHz"],
  [26.5e9, "26.5 GHz"],
  [500e6, "500 MHz"],
  [10, "10 Hz"],
])("%d hertz is %s", (hertz, text) => {
  expect(spaced(frequency(hertz))).toBe(text);
});

test.each([
  [0.025, "2.5 %"],
  [0.00001, "less than 0.01 %"],
  [0, "0 %"],
  [0.999999, "more than 99.99 %"],
  [1, "100 %"],
])("probability %d is %s", (p, text) => {
  expect(spaced(probability(p))).toBe(text);
});

test("a pin position is a magnitude with a word, never a bare sign", () => {
  const number = { name: "recession", value: -62, unit: "um", standard_uncertainty: 2 };
  expect(spaced(numberText(number))).toBe("62.0 µm, u = 2.0 µm protruding");
  expect(spaced(numberText({ ...number, value: 12 }))).toBe("12.0 µm, u = 2.0 µm recessed");
});

test("a frequency with uncertainty is in gigahertz", () => {
  expect(spaced(numberText({ name: "usable_up_to", value: 18.1234e9, unit: "Hz", standard_uncertainty: 0.2e9 }))).toBe("18.12 GHz, u = 0.20 GHz");
});

test("units and names as people write them", () => {
  expect(unitText("N.m")).toBe("N·m");
  expect(unitText("furlong")).toBe("furlong");
  expect(plainName("joint_gap")).toBe("Joint gap");
});

test("a reading over its limit is not shown at it, in either unit", () => {
  const reading = { name: "recession", value: 13.04, unit: "um", standard_uncertainty: 1.1 };
  const limit = { name: "most", value: 13, unit: "um", standard_uncertainty: null };
  expect(numberTexts([reading, limit]).map(spaced)).toEqual(["13.04 µm, u = 1.10 µm recessed", "13 µm"]);
  expect(numberTexts([{ ...reading, value: 13.4 }, limit]).map(spaced)).toEqual(["13.4 µm, u = 1.1 µm recessed", "13 µm"]);
  personal.keep({ length: "mil" });
  const [mil, most] = numberTexts([{ ...reading, value: 13.004 }, limit]).map((text) => Number.parseFloat(text));
  expect(mil).toBeGreaterThan(most ?? Number.NaN);
  // Rounded to its uncertainty a smaller reading would have passed its limit.
  const [below, above] = numberTexts([{ ...reading, value: 12.96, standard_uncertainty: 3 }, { ...limit, value: 12.97 }]).map((text) => Number.parseFloat(text));
  expect(below).toBeLessThan(above ?? Number.NaN);
  personal.keep({ length: "" });
  expect(numberTexts([limit, limit]).map(spaced)).toEqual(["13 µm", "13 µm"]);
});
