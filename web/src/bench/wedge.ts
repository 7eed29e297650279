// What does a scanner that types like a keyboard mean?
//
// A scan ends with Enter or Tab. Timing is a poor test alone (radio scanners
// type slowly, people type fast), so Enter always ends a scan and timing only
// tells a scanner's Tab from a person's Tab.

/** Longest text taken from a scanner or a person as a label. */
export const LABEL_LIMIT = 200;

export type Scanned = { kind: "label"; text: string } | { kind: "nothing" } | { kind: "strange"; why: string };

/** Reads what was scanned. Labels are free text: the server decides what they name. */
export function scanned(raw: string): Scanned {
  const text = raw.replace(/[\u0000-\u001f\u007f]/g, "").trim();
  if (text === "") return { kind: "nothing" };
  if (text.length > LABEL_LIMIT) {
    return { kind: "strange", why: `expected a label of at most ${LABEL_LIMIT} characters, found ${text.length}` };
  }
  return { kind: "label", text };
}

/** Whether keys came as fast as a machine types: at least four, typically 100 ms apart or less. */
export function isBurst(times: readonly number[]): boolean {
  if (times.length < 4) return false;
  const gaps = times.slice(1).map((time, i) => time - (times[i] ?? time));
  gaps.sort((a, b) => a - b);
  return (gaps[Math.floor(gaps.length / 2)] ?? Infinity) <= 100;
}

/** A scanner that reads a label twice within a second meant it once. */
export function isDouble(text: string, now: number, last: { text: string; at: number } | null): boolean {
  return last !== null && last.text === text && now - last.at < 1000;
}

export interface Pending {
  text: string;
  at: number;
  /** When each of its keys came. */
  times: number[];
  /** When the last run of keys was ended by its Enter or Tab. */
  endedAt: number;
}

export const NOTHING_PENDING: Pending = { text: "", at: 0, times: [], endedAt: -Infinity };

/** Longest pause within a run of keys. */
const PAUSE_MS = 600;
/** A scanner that ends with two Enters meant one. */
const SECOND_ENTER_MS = 150;

export interface Gathered {
  pending: Pending;
  /** What was typed, when Enter or a scanner's Tab ended it. */
  text: string | null;
  /** The key must press nothing: it belongs to a run of keys. */
  swallow: boolean;
}

/** Keys that arrive where no field has focus. A run of keys ends with Enter, or
 * with Tab when it came as fast as a machine types; a pause drops what came
 * before. Space, Enter and Tab of a run press nothing and leave nothing; a run
 * does not begin with a space: that one is a person's. */
export function gather(pending: Pending, key: string, now: number): Gathered {
  const before: Pending = now - pending.at > PAUSE_MS ? { ...pending, text: "", times: [] } : pending;
  if (key === "Enter" || key === "Tab") {
    if (before.text === "") return { pending: before, text: null, swallow: key === "Enter" && now - before.endedAt < SECOND_ENTER_MS };
    if (key === "Tab" && !isBurst(before.times)) return { pending: NOTHING_PENDING, text: null, swallow: false };
    return { pending: { ...NOTHING_PENDING, endedAt: now }, text: before.text, swallow: true };
  }
  if ([...key].length !== 1 || (key === " " && before.text === "")) return { pending: before, text: null, swallow: false };
  const text = before.text.length >= LABEL_LIMIT ? before.text : before.text + key;
  return { pending: { text, at: now, times: [...before.times, now].slice(-LABEL_LIMIT), endedAt: before.endedAt }, text: null, swallow: key === " " };
}

/** Whether a run of keys says something: three keys or a number. */
export function saysSomething(text: string): boolean {
  return [...text.trim()].length >= 3 || /\d/.test(text);
}

/** Whether keys belong to the element that has focus. */
export function takesText(element: Element | null): boolean {
  if (!(element instanceof HTMLElement)) return false;
  if (element instanceof HTMLInputElement) return !["button", "checkbox", "radio", "submit", "reset", "range"].includes(element.type);
  return element instanceof HTMLTextAreaElement || element.isContentEditable;
}
