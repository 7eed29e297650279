// Sentences of the core in a person's own numbers. Display only: the sentence that
// is recorded and sent stays in micrometres, with a point, and its moments in UTC.
import { momentText, utcText } from "./moments";
import { MIL_UM } from "./mil";
import { type Decimal, type LengthUnit, personal } from "./personal.svelte";

export interface Numbers {
  length: LengthUnit;
  decimal: Decimal;
}

/** A stretch of a sentence; `utc` when it is a moment, as it was recorded. */
export interface Piece {
  text: string;
  utc?: { datetime: string; text: string };
}

/** Interfaces that are called by a length. A name is never rewritten. */
const NAMED_MM = new Set(["0.8", "1.0", "1", "1.35", "1.85", "2.4", "2.92", "3.5", "7"]);

/** Units that follow a number in what the core says. A decimal number before one is a quantity, wherever it stands. */
const UNITS = [
  "µm", "μm", "um", "mm", "cm", "mil", "in", "m",
  "N·m", "N.m", "cN·m", "in·lbf", "in.lbf", "GHz", "MHz", "kHz", "Hz", "dB", "dBm",
  "mΩ", "kΩ", "Ω", "ohm", "pH", "nH", "fF", "pF", "ps", "ns", "s", "h", "days", "degrees",
  "°C", "degC", "°", "K", "%", "hPa", "kPa", "Pa", "mW", "kW", "W", "kV", "V", "MS", "S", "ppm",
];
const LENGTHS = new Set(["µm", "μm", "um"]);

const escaped = (text: string) => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
const UNIT = [...UNITS].sort((a, b) => b.length - a.length).map(escaped).join("|");
const NUMBER = String.raw`[-+\u2212]?\d+(?:\.\d+)?(?:e[-+\u2212]?\d+)?`;
/** Between the numbers of one quantity: 3 to 5 µm, −2 … 4 µm, 12 ± 1 µm. */
const BETWEEN = String.raw`\s*(?:\bto\b|…|\.\.\.?|\u2013|±|\bplus or minus\b)\s*|(?<=\bbetween [^ ]+) and `;
/** Left as it stands: what a person typed, addresses, days, clocks and all that carries letters. */
const VERBATIM = String.raw`"[^"]*"|\x60[^\x60]*\x60|\b[a-z]+://\S+|\d{4}-\d{2}-\d{2}`;
const MOMENT = String.raw`\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[-+]\d{2}:\d{2})|\d{4}-\d{2}-\d{2} \d{2}:\d{2}(?::\d{2})? UTC`;
const QUANTITY = String.raw`(?<![\w.,:/#@\u2212-])(?<group>${NUMBER}(?:(?:${BETWEEN})${NUMBER})*)(?:(?<close>\)?)(?<space>\s?)(?<unit>${UNIT})(?![\w²³^·\u0370-\u03ff])(?!\.\w))?`;
const WALK = new RegExp(`(?<moment>${MOMENT})|(?<verbatim>${VERBATIM})|${QUANTITY}`, "gu");
const ONE = new RegExp(NUMBER, "gu");

/** Words before a number that make it a place in a text and no quantity. */
const PLACE = /(?:\b(?:sections?|clauses?|sub-?clauses?|tables?|figures?|fig\.|equations?|eq\.|parts?|chapters?|annex|pages?|versions?|v|revisions?|no\.?|ISO|IEC|IEEE|EN|DIN|ILAC|ANSI)|§|[A-Za-z]+[- ]?\d[\w/-]*(?::\d+)?,?|[A-Za-z]+(?:-\w+)+,|\d+[-/]\d[\w/-]*(?::\d+)?|\d{4,}[\w/:-]*,)\s*$/i;

/** One length of a sentence: where its digits stand and how fine they were. */
interface Length {
  um: number;
  sign: string;
  decimals: number;
}

/** The sentence with its short lengths, decimal signs and moments as this person reads them. */
export function pieces(sentence: string, how: Numbers, moments = true): Piece[] {
  const out: Piece[] = [];
  const lengths: Length[] = [];
  // Lengths are written last, when all of the sentence are known.
  const parts: (string | Length | Piece)[] = [];
  let at = 0;
  // Whether what stands before is a length, so that a parenthesis after it may be one too.
  let wasLength = false;
  for (const found of sentence.matchAll(WALK)) {
    const groups = found.groups ?? {};
    const whole = found[0];
    const before = sentence.slice(at, found.index);
    parts.push(before);
    at = found.index + whole.length;
    if (groups.moment !== undefined && !moments) {
      parts.push(whole);
      wasLength = false;
      continue;
    }
    if (groups.moment !== undefined) {
      const datetime = groups.moment.endsWith(" UTC") ? `${groups.moment.slice(0, -4).replace(" ", "T")}Z` : groups.moment;
      parts.push({ text: momentText(datetime), utc: { datetime, text: utcText(datetime) } });
      wasLength = false;
      continue;
    }
    if (groups.group === undefined) {
      parts.push(whole);
      wasLength = false;
      continue;
    }
    const { group, close = "", space = "", unit = "" } = groups;
    const after = sentence.slice(at);
    // 4 µm (3 to 5): the numbers in the parenthesis are of the length before it.
    const inherits: boolean = unit === "" && wasLength && before === " (" && group !== "" && after.startsWith(")") && /\D\s/.test(group);
    const isLength: boolean = inherits || (LENGTHS.has(unit) && !/^[/*]/.test(after));
    if (isLength && how.length === "mil") {
      let from = 0;
      for (const one of group.matchAll(ONE)) {
        const text = one[0];
        parts.push(group.slice(from, one.index));
        from = one.index + text.length;
        const length = readLength(text);
        lengths.push(length);
        parts.push(length);
      }
      parts.push(inherits ? " mil" : `${close}${space}mil`);
    } else {
      parts.push(isQuantity(group, unit, sentence.slice(0, found.index), after) ? whole.replace(group, withSign(group, how.decimal)) : whole);
    }
    wasLength = isLength && !inherits;
  }
  parts.push(sentence.slice(at));

  const written = writeLengths(lengths, how.decimal);
  for (const part of parts) {
    const piece: Piece = typeof part === "string" ? { text: part } : "um" in part ? { text: written.get(part) ?? "" } : part;
    const last = out.at(-1);
    if (piece.utc === undefined && last !== undefined && last.utc === undefined) last.text += piece.text;
    else if (piece.text !== "") out.push({ ...piece });
  }
  return out;
}

/** The sentence as this person reads it, where only text can stand. */
export function inMyNumbers(sentence: string): string {
  return pieces(sentence, personal).map((piece) => piece.text).join("");
}

/** What a field says it expects: an example of a moment stays as it can be typed. */
export function inMyHint(hint: string): string {
  return pieces(hint, personal, false).map((piece) => piece.text).join("");
}

function isQuantity(group: string, unit: string, before: string, after: string): boolean {
  if (!group.includes(".")) return false;
  // 3.5 mm and 2.92 mm are names.
  if (unit === "mm" && NAMED_MM.has(group)) return false;
  if (unit !== "" && unit !== "in") return true;
  // 1.2.3, 4.3-10, 1.5,2.5 and what carries letters.
  if (unit === "" && /^(?:[\w/@#]|\.\w|-\w|,\w|:\w)/.test(after)) return false;
  return !PLACE.test(before);
}

const withSign = (text: string, decimal: Decimal): string => (decimal === "," ? text.replaceAll(/(?<=\d)\.(?=\d)/g, ",") : text);

function readLength(text: string): Length {
  const sign = /^[-+\u2212]/.exec(text)?.[0] ?? "";
  const digits = sign === "" ? text : text.slice(1);
  const um = Number(digits) * (sign === "" || sign === "+" ? 1 : -1);
  const [mantissa = "", exponent = "0"] = digits.split("e");
  const decimals = (mantissa.split(".")[1]?.length ?? 0) - Number(exponent.replace("\u2212", "-"));
  return { um, sign, decimals };
}

/** Most decimals of a thousandth of an inch: finer than any reading by far. */
const MOST_DECIMALS = 8;

/** Writes the lengths of one text in thousandths of an inch, two decimals more
 * than in micrometres, and more where two that differ would look the same or
 * change places: what is over a limit must not look at it. */
function writeLengths(lengths: Length[], decimal: Decimal): Map<Length, string> {
  let least = 0;
  const shown = (length: Length) => {
    // 13 and 13.0 are one value and must not look like two.
    const finest = Math.max(...lengths.filter((other) => other.um === length.um).map((other) => other.decimals));
    if (length.um === 0 && finest <= 0) return "0";
    return (Math.abs(length.um) / MIL_UM).toFixed(Math.min(MOST_DECIMALS, Math.max(0, finest + 2, least)));
  };
  const value = (length: Length) => Math.sign(length.um) * Number(shown(length));
  while (least < MOST_DECIMALS && lengths.some((a) => lengths.some((b) => a.um < b.um && !(value(a) < value(b))))) least += 1;
  return new Map(lengths.map((length) => [length, length.sign + withSign(shown(length), decimal)]));
}
