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
}

/** Keys that arrive where no field has focus, on screens without a scan field.
 * Gives the text when Enter ends a run of keys; a pause drops what came before. */
export function gather(pending: Pending, key: string, now: number): { pending: Pending; label: string | null } {
  const text = now - pending.at > 600 ? "" : pending.text;
  if (key === "Enter") return { pending: { text: "", at: now }, label: text.length >= 3 ? text : null };
  if ([...key].length !== 1 || text.length >= LABEL_LIMIT) return { pending: { text, at: text ? now : 0 }, label: null };
  return { pending: { text: text + key, at: now }, label: null };
}

/** Whether keys belong to the element that has focus. */
export function takesText(element: Element | null): boolean {
  if (!(element instanceof HTMLElement)) return false;
  if (element instanceof HTMLInputElement) return !["button", "checkbox", "radio", "submit", "reset", "range"].includes(element.type);
  return element instanceof HTMLTextAreaElement || element instanceof HTMLSelectElement || element.isContentEditable;
}
