import { afterEach, expect, test } from "vitest";
import { readTyped } from "../src/bench/numbers";
import { read } from "../src/gauging/kept";
import { isEmpty, emptyDraft } from "../src/gauging/session";
import { personal } from "../src/personal.svelte";
import { fixed, frequency, lengthText, lengthUnit, lengthValue, numberText, probability, significant, withUncertainty } from "../src/quantities";

afterEach(() => personal.keep({ length: "", decimal: "." }));

test("lengths and signs follow the person; the numbers stay the same", () => {
  expect(lengthText(12.5)).toBe("12.5\u202fµm");
  personal.keep({ length: "mil", decimal: "," });
  // 25.4 µm are a thousandth of an inch, exactly.
  expect(lengthText(25.4)).toBe("1,000\u202fmil");
  expect(lengthText(25.4, 0)).toBe("1,00\u202fmil");
  expect([lengthUnit(), lengthValue(50.8)]).toEqual(["mil", 2]);
  expect(withUncertainty(25.4, 2.54, "um")).toBe("1,00\u202fmil, u\u202f=\u202f0,10\u202fmil");
  expect(numberText({ name: "recession", value: -25.4, unit: "um", standard_uncertainty: 2.54 })).toBe("1,00\u202fmil, u\u202f=\u202f0,10\u202fmil protruding");
  expect([fixed(-1.5, 1), significant(0.125), frequency(26.5e9), probability(0.00001)]).toEqual(["\u22121,5", "0,125", "26,5\u202fGHz", "less than 0,01\u202f%"]);
  // Only short lengths change their unit.
  expect(withUncertainty(50, 0.1, "ohm")).toBe("50,00\u202fΩ, u\u202f=\u202f0,10\u202fΩ");
});

const NOTHING = { unit: "", minus: "" } as const;

test.each([
  ["1.250", ",", { kind: "ask" }],
  ["1,250", ".", { kind: "ask" }],
  ["1,250", ",", { kind: "reading", distance: "1.250mil" }],
  ["1.250", ".", { kind: "reading", distance: "1.250mil" }],
  ["0.250", ",", { kind: "reading", distance: "0.250mil" }],
  ["12um", ",", { kind: "reading", distance: "12um" }],
] as const)("%s typed by a person whose sign is %s", (text, decimal, expected) => {
  expect(readTyped(text, NOTHING, decimal, "mil")).toMatchObject(expected);
});

test("a gauge's own unit comes before the person's", () => {
  expect(readTyped("12", { unit: "um", minus: "" }, ".", "mil")).toMatchObject({ distance: "12um" });
  expect(readTyped("12", NOTHING, ".", "")).toMatchObject({ distance: "12" });
});

test("a draft comes back as it was kept, and nothing else does", () => {
  const draft = { ...emptyDraft(), readings: [{ word: "recessed", distance: "12um" }] };
  const kept = JSON.stringify({ draft, person: "t-1", note: "", at: "2026-11-27T09:00:00Z" });
  expect(read(kept)).toMatchObject({ at: "2026-11-27T09:00:00Z", person: "t-1", draft });
  // Kept by an earlier page that knew fewer fields.
  expect(read(JSON.stringify({ draft: { readings: draft.readings }, at: "x" }))?.draft.zeroBefore).toEqual(emptyDraft().zeroBefore);
  for (const other of [null, "null", "{}", '{"draft":{}}', "7"]) expect(read(other)).toBeNull();
});

test("tools alone are no session yet", () => {
  expect(isEmpty({ ...emptyDraft(), gauge: "GA-001", master: "GM-001" })).toBe(true);
  expect(isEmpty({ ...emptyDraft(), zeroAfter: [{ word: "", distance: "0um" }] })).toBe(false);
  expect(isEmpty({ ...emptyDraft(), temperature: "23degC" })).toBe(false);
});
