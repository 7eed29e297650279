import { describe, expect, it, test } from "vitest";
import { looksLikeReading, readTyped, shownText, typedText, type Typing } from "../src/bench/numbers";

const none: Typing = { unit: "", minus: "" };
const said: Typing = { unit: "um", minus: "recessed" };

describe("a reading is told from a label", () => {
  it.each(["12.5", "-12,5", "+0.0005in", "12 um", "0,012 mm", "3 mil", "42", "0.5\""])("%s is a reading", (text) => expect(looksLikeReading(text)).toBe(true));
  it.each(["CB-001A", "4006381333931", "123456", "12 furlongs", "12.5.3", "", "-", "A1"])("%s is none", (text) => expect(looksLikeReading(text)).toBe(false));
});

describe("a gauge that types", () => {
  it("gets its unit and the word of its sign", () => {
    expect(readTyped("-12.5", said, ".")).toEqual({ kind: "reading", distance: "12.5um", word: "recessed" });
    expect(readTyped("+3", said, ".")).toEqual({ kind: "reading", distance: "3um", word: "protruding" });
    expect(readTyped("\u22123", { unit: "mil", minus: "protruding" }, ".")).toEqual({ kind: "reading", distance: "3mil", word: "protruding" });
  });
  it("keeps a sign that nobody explained", () => {
    expect(readTyped("-12.5um", none, ".")).toEqual({ kind: "reading", distance: "-12.5um", word: null });
    expect(readTyped("12.5um", none, ".")).toEqual({ kind: "reading", distance: "12.5um", word: null });
  });
  it("gives zero no side", () => expect(readTyped("-0.0", said, ".")).toEqual({ kind: "reading", distance: "0.0um", word: null }));
  it("asks when it types another unit than was said", () => expect(readTyped("0.5mil", said, ".")).toMatchObject({ kind: "unit", found: "mil" }));
  it("understands a decimal comma and asks when it may set thousands apart", () => {
    expect(readTyped("12,5", said, ".")).toMatchObject({ distance: "12.5um" });
    expect(readTyped("0,250", said, ".")).toMatchObject({ distance: "0.250um" });
    expect(readTyped("1,250", said, ",")).toMatchObject({ distance: "1.250um" });
    const asked = readTyped("1,250", said, ".");
    expect(asked).toMatchObject({ kind: "ask", choices: [{ distance: "1.250um" }, { distance: "1250um" }] });
  });
  it("leaves what is no number alone", () => {
    expect(readTyped("CB-001A", said, ".")).toEqual({ kind: "other" });
    expect(readTyped("1e3", said, ".")).toEqual({ kind: "other" });
  });
});

test.each([
  ["0,5", ",", "mil", "0.5mil"],
  ["0,5mil", ",", "mil", "0.5mil"],
  ["12,5um", ",", "mil", "12.5um"],
  ["recessed 0,12", ",", "mil", "recessed 0.12mil"],
  ["recessed 3um", ".", "mil", "recessed 3um"],
  ["0,91N.m", ",", "", "0.91N.m"],
  ["3", ".", "", "3"],
  // Nobody said that the comma is a decimal sign: the server asks.
  ["0,5", ".", "um", "0,5"],
  ["GA-001, GA-002", ",", "", "GA-001, GA-002"],
  ["1,5,2,5", ",", "", "1,5,2,5"],
] as const)("%s with %s in %s is sent as %s", (typed, decimal, unit, sent) => {
  expect(typedText(typed, decimal, unit)).toBe(sent);
});

test("what is sent is shown with the person's sign", () => {
  expect(shownText("0.91N.m", ",")).toBe("0,91N.m");
  expect(shownText("0.91N.m", ".")).toBe("0.91N.m");
});
