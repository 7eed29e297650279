// What a gauge that types means. Only how it is written: what it says is the
// server's to judge.

/** Units that a reading may be typed in, as the API reads them. */
export const UNITS = ["um", "mm", "mil", "in"] as const;
export type Unit = (typeof UNITS)[number];
export type Word = "recessed" | "protruding";

/** What a person said once about a gauge that types. */
export interface Typing {
  /** Unit it types in; empty when it types the unit itself or nobody said. */
  unit: Unit | "";
  /** What its minus means; empty when nobody said. */
  minus: Word | "";
}

export type Typed =
  | { kind: "reading"; distance: string; word: Word | null }
  /** A comma that may be a decimal sign or set thousands apart. */
  | { kind: "ask"; choices: { distance: string; word: Word | null }[]; why: string }
  /** Another unit than the one said for this gauge. */
  | { kind: "unit"; found: string; why: string }
  | { kind: "other" };

const READING = /^([+\-\u2212]?)\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*([a-zµμ]*|"|'')$/i;

/** Whether text reads as a reading and not as a label: a number of few digits, with a unit or without. */
export function looksLikeReading(text: string): boolean {
  const found = READING.exec(text.trim());
  if (!found) return false;
  const [, , digits = "", unit = ""] = found;
  return unit === "" ? /[.,]/.test(digits) || found[1] !== "" || digits.length <= 5 : unitOf(unit) !== null;
}

function unitOf(text: string): Unit | null {
  const unit = text.toLowerCase().replace(/[µμ]/g, "u");
  if (unit === '"' || unit === "''" || unit === "inch") return "in";
  if (unit === "mils" || unit === "thou") return "mil";
  return (UNITS as readonly string[]).includes(unit) ? (unit as Unit) : null;
}

/** What the API reads, with this person's decimal sign. */
export const shownText = (text: string, decimal: "." | ","): string => (decimal === "," ? text.replace(/(?<=\d)\.(?=\d)/g, ",") : text);

/** Text with numbers as the API reads them: a point as decimal sign where this
 * person writes a comma, and the person's unit behind a number that has none.
 * Everything else stays as typed, for the server to judge. */
export function typedText(raw: string, decimal: "." | ",", ownUnit: Unit | "" = ""): string {
  const text = decimal === "," ? raw.replace(/(?<![\w.,])([-+\u2212]?\d+),(\d+)(?![\d,]|\.\d)/g, "$1.$2") : raw;
  return ownUnit === "" ? text : text.replace(/(?<![\w.,])(\d+(?:\.\d+)?)(\s*)$/, `$1${ownUnit}$2`);
}

/** Reads what was typed for a gauge. A sign becomes a word only when somebody
 * said what this gauge's sign means. `decimal` is the person's decimal sign,
 * `ownUnit` the unit this person chose for lengths, if any: a gauge's comes first. */
export function readTyped(raw: string, typing: Typing, decimal: "." | ",", ownUnit: Unit | "" = ""): Typed {
  const found = READING.exec(raw.trim());
  if (!found) return { kind: "other" };
  const [, sign = "", number = "", written = ""] = found;
  const own = written === "" ? null : unitOf(written);
  if (written !== "" && own === null) return { kind: "other" };
  if (own !== null && typing.unit !== "" && own !== typing.unit) {
    return { kind: "unit", found: own, why: `This gauge types in ${typing.unit}, found ${own}. Which is right?` };
  }
  const unit = own ?? (typing.unit || ownUnit);
  const isMinus = sign !== "" && sign !== "+";
  // An unexplained sign stays where it is: the server asks whose it is.
  const word: Word | null = typing.minus === "" ? null : isMinus ? typing.minus : typing.minus === "recessed" ? "protruding" : "recessed";
  const kept = isMinus && word === null ? "-" : "";
  const isZero = /^0*[.,]?0*$/.test(number);
  const reading = (digits: string) => ({ distance: `${kept}${digits}${unit}`, word: isZero ? null : word });
  const other = decimal === "," ? "." : ",";
  const asDecimal = number.replace(",", ".");
  // 1,250 can be read both ways; 0,250 and 12,5 cannot.
  if (number.includes(other) && /^[1-9]\d{0,2}[.,]\d{3}$/.test(number)) {
    return {
      kind: "ask",
      choices: [reading(asDecimal), reading(number.replace(other, ""))],
      why: `${number}: is the ${other === "," ? "comma" : "point"} a decimal sign?`,
    };
  }
  return { kind: "reading", ...reading(asDecimal) };
}
