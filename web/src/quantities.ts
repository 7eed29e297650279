// How numbers are written for people. Display only: no limit, no judgement.
import { MIL_UM } from "./mil";
import { personal } from "./personal.svelte";

const MINUS = "\u2212";
const NARROW = "\u202f";

const UNITS: Record<string, string> = {
  um: "µm",
  "N.m": "N·m",
  "in.lbf": "in·lbf",
  ohm: "Ω",
  degC: "°C",
  "1": "",
};

/** A unit as people write it. */
export function unitText(unit: string): string {
  return UNITS[unit] ?? unit;
}

/** Unit in which this person reads short lengths. */
export function lengthUnit(): string {
  return personal.length === "mil" ? "mil" : "µm";
}

/** Micrometres as a number of that unit. */
export function lengthValue(um: number): number {
  return personal.length === "mil" ? um / MIL_UM : um;
}

/** Decimals of a length in that unit that keep what `decimals` in micrometres showed. */
export function lengthDecimals(decimals: number): number {
  return personal.length === "mil" ? decimals + 2 : decimals;
}

/** What a field expects where a length has no unit. */
export function unitHint(): string {
  return personal.length === "" ? "With its unit, like um or mil." : `In ${lengthUnit()} when no unit is typed.`;
}

/** A short length with its unit. A mil takes two decimals more, so that nothing is lost. */
export function lengthText(um: number, decimals = 1): string {
  return `${fixed(lengthValue(um), lengthDecimals(decimals))}${NARROW}${lengthUnit()}`;
}

/** A number with fixed decimals, a true minus sign and this person's decimal sign. */
export function fixed(value: number, decimals: number): string {
  return signed(plainFixed(value, decimals));
}

const signed = (text: string): string => (personal.decimal === "," ? text.replace(".", ",") : text);

function plainFixed(value: number, decimals: number): string {
  const text = value.toFixed(Math.min(12, Math.max(0, decimals)));
  const isZero = Number(text) === 0;
  return text.startsWith("-") ? (isZero ? "" : MINUS) + text.slice(1) : text;
}

/** Decimals so that an uncertainty shows two significant digits. */
export function decimalsFor(u: number): number {
  if (!(u > 0) || !Number.isFinite(u)) return 3;
  const first = Math.floor(Math.log10(u));
  // 0.0996 rounds up into the next decade.
  const rounded = Number(u.toPrecision(2));
  return Math.max(0, 1 - (rounded >= 10 ** (first + 1) ? first + 1 : first));
}

/** Up to `digits` significant digits without an exponent and without trailing zeros. */
export function significant(value: number, digits = 3): string {
  if (value === 0) return "0";
  const shown = Number(value.toPrecision(digits));
  const decimals = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(shown))));
  const text = plainFixed(shown, decimals);
  return signed(text.includes(".") ? text.replace(/\.?0+$/, "") : text);
}

/** A value with its standard uncertainty, both to the uncertainty's second digit. */
export function withUncertainty(value: number, u: number | null | undefined, unit: string, more = 0): string {
  if (unit === "um" && personal.length === "mil") return withUncertainty(value / MIL_UM, u == null ? u : u / MIL_UM, "mil", more);
  const name = unitText(unit);
  const tail = name === "" ? "" : `${NARROW}${name}`;
  if (u === null || u === undefined) return `${significant(value, 6 + more)}${tail}`;
  const decimals = decimalsFor(u) + more;
  return `${fixed(value, decimals)}${tail}, u${NARROW}=${NARROW}${fixed(u, decimals)}${tail}`;
}

/** A frequency with the prefix that keeps it short. */
export function frequency(hertz: number): string {
  const steps: [number, string][] = [[1e9, "GHz"], [1e6, "MHz"], [1e3, "kHz"]];
  const step = steps.find(([size]) => Math.abs(hertz) >= size);
  return step ? `${significant(hertz / step[0], 5)}${NARROW}${step[1]}` : `${significant(hertz, 5)}${NARROW}Hz`;
}

/** A probability in per cent; small ones are not rounded to nothing. */
export function probability(p: number): string {
  const percent = p * 100;
  if (percent > 0 && percent < 0.01) return `less than ${signed("0.01")}${NARROW}%`;
  if (percent < 100 && percent > 99.99) return `more than ${signed("99.99")}${NARROW}%`;
  return `${significant(percent, 2)}${NARROW}%`;
}

interface Shown {
  name: string;
  value: number;
  unit: string;
  standard_uncertainty?: number | null;
}

/** A number that decided something. A pin position is a magnitude with a word. */
export function numberText(n: Shown, more = 0): string {
  if (n.name.includes("recession") && n.unit === "um") {
    return `${withUncertainty(Math.abs(n.value), n.standard_uncertainty, n.unit, more)} ${n.value < 0 ? "protruding" : "recessed"}`;
  }
  if (n.name.includes("probability") && n.unit === "1") return probability(n.value);
  if (n.unit === "Hz") {
    const u = n.standard_uncertainty ?? null;
    return u === null ? frequency(n.value) : withUncertainty(n.value / 1e9, u / 1e9, "GHz", more);
  }
  return withUncertainty(n.value, n.standard_uncertainty, n.unit, more);
}

/** Digits beyond the usual ones before two numbers are left looking the same. */
const MOST_MORE = 6;

/** The numbers behind one reason. Two that differ never look the same or change
 * places: a reading over its limit must not be shown at it. */
export function numberTexts(numbers: readonly Shown[]): string[] {
  const texts = (more: number) => numbers.map((number) => numberText(number, more));
  for (let more = 0; more <= MOST_MORE; more += 1) {
    const shown = texts(more);
    const isTrue = (a: number, b: number) =>
      numbers[a]?.unit !== numbers[b]?.unit || Math.sign(size(numbers[a]) - size(numbers[b])) === Math.sign(amount(shown[a] ?? "") - amount(shown[b] ?? ""));
    if (numbers.every((_, a) => numbers.every((_, b) => isTrue(a, b)))) return shown;
  }
  return texts(0);
}

const size = (n: Shown | undefined): number => (n === undefined ? Number.NaN : n.name.includes("recession") ? Math.abs(n.value) : n.value);
/** The first number of a text, as it reads. */
const amount = (text: string): number => Number((/^[-\u2212]?[\d.,]*\d/.exec(text)?.[0] ?? "").replace(MINUS, "-").replace(",", "."));

/** `joint_gap` as people write it. */
export function plainName(name: string): string {
  const text = name.replaceAll("_", " ").replaceAll("-", " ").trim();
  return text.charAt(0).toUpperCase() + text.slice(1);
}
