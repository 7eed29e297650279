// Sentences of the core in thousandths of an inch and with a comma. An inch is
// 25.4 mm exactly (international yard and pound agreement, 1959; from memory).
import { afterEach, describe, expect, test } from "vitest";
import { personal } from "../src/personal.svelte";
import { inMyNumbers, pieces } from "../src/said";
import harvested from "./sentences.json";

const MIL_COMMA = { length: "mil", decimal: "," } as const;
const shown = (sentence: string, how: Parameters<typeof pieces>[1] = MIL_COMMA) => pieces(sentence, how).map((piece) => piece.text).join("");

afterEach(() => personal.keep({ length: "", decimal: "." }));

/** Sentences that the demo lab said, and how they must read. */
const REAL: [string, string][] = [
  ["The pin protrudes by 62 µm: it ruins what it meets.", "The pin protrudes by 2,44 mil: it ruins what it meets."],
  ["The pin is recessed by 12.7 µm and shown not to protrude (chance 0.00 %).", "The pin is recessed by 0,500 mil and shown not to protrude (chance 0,00 %)."],
  [
    "Recessed by 17.3 µm; memory gives at most 13 µm for this grade (from memory, not verified); chance 100 %.",
    "Recessed by 0,681 mil; memory gives at most 0,51 mil for this grade (from memory, not verified); chance 100 %.",
  ],
  [
    "The zero moved by 6.3 µm during the gauging; the policy allows 1.8 µm. The session is void.",
    "The zero moved by 0,248 mil during the gauging; the policy allows 0,071 mil. The session is void.",
  ],
  [
    "Gauged with GA-002: protruding by 62 µm; protruding by 61 µm; protruding by 63 µm.",
    "Gauged with GA-002: protruding by 2,44 mil; protruding by 2,40 mil; protruding by 2,48 mil.",
  ],
  ["3 of 24 values signal; first 2026-06-22 (1.89 µm): single value.", "3 of 24 values signal; first 2026-06-22 (0,0744 mil): single value."],
  ["readings: expected a pin within 1000 µm of its plane, found 1200 µm; is the unit right?", "readings: expected a pin within 39,37 mil of its plane, found 47,24 mil; is the unit right?"],
  ["the gap is −3 µm: the centre conductors press together", "the gap is −0,12 mil: the centre conductors press together"],
  ["gap: expected a gap such as 60um or a recess, found nothing", "gap: expected a gap such as 2,36mil or a recess, found nothing"],
  ["No wrench on record is in date and set to 0.45 N·m.", "No wrench on record is in date and set to 0,45 N·m."],
  [
    "Sources disagree for AD-013A: 25 N·m (memory), 2.55 N·m (public-rf-tutorial). Choose one in the lab's own sheet file.",
    "Sources disagree for AD-013A: 25 N·m (memory), 2,55 N·m (public-rf-tutorial). Choose one in the lab's own sheet file.",
  ],
  ["50 Ω meets 75 Ω: |Γ| = 0.20 at the joint, whatever its state.", "50 Ω meets 75 Ω: |Γ| = 0,20 at the joint, whatever its state."],
  ["Asked for 26.5 GHz; this pair is good up to 18 GHz.", "Asked for 26,5 GHz; this pair is good up to 18 GHz."],
  ["Gauged at 31.5 °C; the policy says 23 ± 3 °C.", "Gauged at 31,5 °C; the policy says 23 ± 3 °C."],
  ["The readings scatter more than this gauge explains (chance 7.5e-25).", "The readings scatter more than this gauge explains (chance 7,5e-25)."],
  ["The slope may be chance (probability 0.7877; one up to 0.1 counts).", "The slope may be chance (probability 0,7877; one up to 0,1 counts)."],
  ["finger tip 0.186 to 0.206 in, from the datum 0.207 in", "finger tip 0,186 to 0,206 in, from the datum 0,207 in"],
  [
    "N 50 ohm on N 75 ohm: never. The 50 ohm pin (1.65 mm) splays the 75 ohm socket (0.91 mm). It destroys the 75 ohm socket.",
    "N 50 ohm on N 75 ohm: never. The 50 ohm pin (1,65 mm) splays the 75 ohm socket (0,91 mm). It destroys the 75 ohm socket.",
  ],
  [
    "own derivation, checked against full-wave mode matching to 1.5 %",
    "own derivation, checked against full-wave mode matching to 1,5 %",
  ],
];

/** Real sentences in which nothing may change: names, standards, clauses, what was typed. */
const KEPT = [
  "2.92 mm on SMA: allowed because both are gauged. Loose tolerances of the SMA side can ruin the precision socket, and the thin-walled 2.92 mm socket most of all: gauge first. At risk: the precision socket, if the SMA pin or dielectric protrudes.",
  "3.5 mm on 1.0 mm: never. Their couplings differ: they do not go together. It destroys thread and contact, if forced.",
  "No limit of recession is known for 1.35mm, pin, instrument grade.",
  "section on 2.92 mm connectors",
  "Flush master, 2.4 mm and smaller",
  "Swept as end 4 of 8 in the chain of port2-chain-06.s1p.",
  "Used for the result lab://larkmoor/results/ad-001/125842.",
  "Certificate LRW-T-0117: in order.",
  "marcuvitz-1951, section 2.4, coaxial waveguides; from memory",
  "links: expected a number with a unit such as 12, found \"0.02,0.03\"",
  "ISO 6789-2:2017, Hand torque tools, calibration and determination of measurement uncertainty",
  "readings: expected a unit after 12: one of um, µm, mm, m, mil, in",
];

describe("sentences that the demo lab said", () => {
  test.each(REAL)("%s", (said, expected) => expect(shown(said)).toBe(expected));
  test.each(KEPT)("kept: %s", (said) => expect(shown(said)).toBe(said));

  test("they are in the stored list, so they are real", () => {
    const missing = [...REAL.map(([said]) => said), ...KEPT].filter((said) => !harvested.includes(said));
    // Asked with another number: 12.5 would follow the sign.
    expect(missing).toEqual(["links: expected a number with a unit such as 12, found \"0.02,0.03\""]);
  });

  test("no length is left in micrometres in any of them", () => {
    for (const said of harvested) expect(shown(said), said).not.toMatch(/\d\s?[µu]m\b/);
  });

  test("a decimal point stays in names and places only", () => {
    const left = harvested.flatMap((said) => shown(said).match(/\S*\d\.\d\S*(?: mm)?/g) ?? []);
    const known = /^\(?(?:0\.8|1\.0|1\.35|1\.85|2\.4|2\.92|3\.5) ?mm[,:;.)]*$/;
    const others = [...new Set(left.filter((text) => !known.test(text)))];
    expect(others.sort()).toEqual(["\"0.02,0.03\"", "2.1,", "2.3;", "2.4,", "2.4.4", "2.4.5", "4.3", "6.3.2;", "7.4.3", "9.7,"].sort());
  });

  test("nothing changes for who reads micrometres with a point, but the moments", () => {
    for (const said of harvested) {
      const all = pieces(said, { length: "", decimal: "." });
      if (all.every((piece) => piece.utc === undefined)) expect(all.map((piece) => piece.text).join("")).toBe(said);
    }
  });
});

test.each([
  ["3 to 5 µm", "0,12 to 0,20 mil"],
  ["\u22122 … 4 µm", "\u22120,08 … 0,16 mil"],
  ["12.0 ± 1.3 µm", "0,472 ± 0,051 mil"],
  ["(12.0 ± 1.3) µm", "(0,472 ± 0,051) mil"],
  ["between 3 and 5 µm", "between 0,12 and 0,20 mil"],
  ["3\u20135 µm", "0,12\u20130,20 mil"],
  ["it changed by about +76 µm (49 to 103). Chance", "it changed by about +2,99 mil (1,93 to 4,06 mil). Chance"],
  ["8.3 µm per 100 mates", "0,327 mil per 100 mates"],
])("a range is one quantity: %s", (said, expected) => expect(shown(said)).toBe(expected));

test.each([
  "IEC 61169-1 9.3.4",
  "IEC 61169-1 9.3",
  "IEC 61169-1, clause 9.3",
  "IEC 61169-1:2013, 9.3",
  "MIL-STD-348B, 2.5",
  "version 0.1.0 of 2026-11-27",
  "4.3-10 and 7-16 and 2.2-5",
  "table 3.2 of part 1.1",
  "the file line-2.5.s2p",
  "10.0.0.1:7373",
  "found \"12.5\"",
  "1.5,2.5,3.5",
  "4574 80f397b817a5e430489a55deda98b0a706840c683bcf5efb991590ad2b79accd",
  "3.5mm, 2.92mm and 1.85 mm",
])("kept: %s", (said) => expect(shown(said)).toBe(said));

test("a label before a number leaves it a number", () => {
  expect(shown("GA-001: 0.25 of the whole")).toBe("GA-001: 0,25 of the whole");
  expect(shown("CB-014A 12.7 µm")).toBe("CB-014A 0,500 mil");
});

test("an area and a length in a divisor are no short lengths", () => {
  expect(shown("3.5 µm² and 17.3 µm/(m·K)")).toBe("3,5 µm² and 17,3 µm/(m·K)");
});

describe("rounding", () => {
  test("what is over a limit never looks at it", () => {
    // To two decimals 6.1 µm and 6 µm are both 0.24 mil.
    expect(shown("Recessed by 6.1 µm; the sheet gives at most 6 µm.")).toBe("Recessed by 0,240 mil; the sheet gives at most 0,236 mil.");
    expect(shown("Recessed by 38.1 µm; the sheet gives at most 38 µm.")).toBe("Recessed by 1,500 mil; the sheet gives at most 1,496 mil.");
    expect(shown("moved by 2.02 µm; the policy allows 2 µm")).toBe("moved by 0,0795 mil; the policy allows 0,079 mil");
  });

  test("what is at a limit never looks beyond it", () => {
    expect(shown("Recessed by 13.0 µm; the sheet gives at most 13 µm.")).toBe("Recessed by 0,512 mil; the sheet gives at most 0,512 mil.");
  });

  // A generator of its own, with a fixed seed: the same cases each time.
  let state = 0x2f6e2b1;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const length = () => {
    const decimals = Math.floor(random() * 4);
    return (random() * 10 ** (Math.floor(random() * 4) + 1)).toFixed(decimals);
  };
  const mils = (text: string) => [...text.matchAll(/([-+\u2212]?)([\d,]+) mil/g)].map((found) => ({ value: Number((found[2] ?? "").replace(",", ".")), text: found[2] ?? "" }));

  test("switching back gives the same number within what was written", () => {
    for (let i = 0; i < 5000; i++) {
      const um = length();
      const decimals = um.split(".")[1]?.length ?? 0;
      const [mil] = mils(shown(`by ${um} µm.`));
      expect(((mil?.value ?? Number.NaN) * 25.4).toFixed(decimals), um).toBe(um);
    }
  });

  test("the order of two lengths of one sentence is the order that is shown", () => {
    for (let i = 0; i < 5000; i++) {
      const a = length();
      // Near one another, as a reading and its limit are.
      const b = random() < 0.5 ? length() : (Number(a) + (random() - 0.5)).toFixed(Math.floor(random() * 3)).replace("-", "");
      const [first, second] = mils(shown(`Recessed by ${a} µm; at most ${b} µm.`));
      expect(Math.sign((first?.value ?? Number.NaN) - (second?.value ?? Number.NaN)), `${a} ${b}`).toBe(Math.sign(Number(a) - Number(b)));
    }
  });

  test("the decimal sign alone changes no digit", () => {
    for (let i = 0; i < 1000; i++) {
      const um = length();
      expect(shown(`by ${um} µm, at ${um} GHz`, { length: "um", decimal: "," }).replaceAll(/(?<=\d),(?=\d)/g, ".")).toBe(`by ${um} µm, at ${um} GHz`);
    }
  });
});

test("a moment is shown in local time, and its UTC is kept", () => {
  const all = pieces("3 of 4 pieces were in place on 2026-11-25 18:45 UTC: CS-004 missing.", MIL_COMMA);
  expect(all[1]?.utc).toEqual({ datetime: "2026-11-25T18:45Z", text: "2026-11-25T18:45Z".replace("T", " ").replace("Z", " UTC") });
  const local = new Date("2026-11-25T18:45:00Z");
  expect(all[1]?.text).toContain(`${String(local.getHours()).padStart(2, "0")}:${String(local.getMinutes()).padStart(2, "0")}`);
  expect(all.map((piece) => piece.text).join("")).not.toContain("UTC");
  expect(pieces("from 2026-12-09T08:00:00Z until 2026-12-13T18:00:00Z.", MIL_COMMA).filter((piece) => piece.utc).length).toBe(2);
});

test("the person's choice is what counts", () => {
  expect(inMyNumbers("by 12.7 µm")).toBe("by 12.7 µm");
  personal.keep({ length: "mil", decimal: "," });
  expect(inMyNumbers("by 12.7 µm")).toBe("by 0,500 mil");
});
