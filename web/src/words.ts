// Words of the answers, for people. The keys are the API's; an unknown key is shown as it is.
import { plainName } from "./quantities";

const ANSWERS: Record<string, string> = {
  go: "Go",
  "go-with-care": "Go, with care",
  undecided: "Undecided",
  stop: "Stop",
};
const STANDINGS: Record<string, string> = {
  usable: "Usable",
  "usable-with-limits": "Usable, with limits",
  undecided: "Undecided",
  "do-not-mate": "Do not mate",
  retired: "Retired",
};
const WEIGHTS: Record<string, string> = {
  forbids: "Forbids",
  open: "Open question",
  care: "Take care",
  note: "Note",
};
const PIN: Record<string, string> = {
  out: "Out",
  "shown-safe": "Shown safe",
  "not-shown-safe": "Not shown safe",
  "gauge-cannot-decide": "This gauge cannot decide",
  unknown: "Unknown",
};
const TASKS: Record<string, string> = {
  gauge: "Gauge",
  look: "Look",
  clean: "Clean",
  "check-tool": "Check tool",
  "check-kit": "Look through the kit",
  "label-twice": "One label on two things",
  "follow-up": "Follow up",
  "decide-hold": "Decide the hold",
  "mated-while-held": "Mated while held",
  "waiver-ran-out": "Waiver ran out",
  case: "Case",
};
const CASE: Record<string, string> = {
  open: "Open",
  "ready-to-close": "Ready to close",
  closed: "Closed",
  cleared: "Cleared",
  damaged: "Damaged",
  waived: "Waived",
  "waiver-ran-out": "Waiver ran out",
  "set-aside": "Set aside",
  "no-effect": "No effect",
  "re-measure": "Measure again",
  notify: "Notify",
};
const VERDICTS: Record<string, string> = {
  "nothing-seen": "Nothing seen",
  joint: "A joint changed",
  "one-of": "One of these changed",
  several: "Several joints changed",
  "no-verdict": "No verdict",
};
const TOOLS: Record<string, string> = {
  "in-date": "In date",
  due: "Check due",
  unchecked: "Never checked",
  "out-of-order": "Out of order",
  retired: "Retired",
};
const KITS: Record<string, string> = {
  whole: "Whole",
  "not-whole": "Not whole",
  due: "Due to be looked through",
  "not-checked": "Never looked through",
  "no-pieces": "No pieces yet",
};
const TOOL_KINDS: Record<string, string> = { gauge: "Gauge", "gauge-master": "Gauge master", "torque-wrench": "Torque wrench" };
const SEXES: Record<string, string> = { pin: "pin", socket: "socket", neutral: "neutral" };

export const answerWord = (key: string): string => ANSWERS[key] ?? plainName(key);
export const standingWord = (key: string): string => STANDINGS[key] ?? plainName(key);
export const weightWord = (key: string): string => WEIGHTS[key] ?? plainName(key);
export const pinWord = (key: string): string => PIN[key] ?? plainName(key);
export const taskWord = (key: string): string => TASKS[key] ?? plainName(key);
export const caseWord = (key: string): string => CASE[key] ?? plainName(key);
export const verdictWord = (key: string): string => VERDICTS[key] ?? plainName(key);
export const toolWord = (key: string): string => TOOLS[key] ?? plainName(key);
export const kitWord = (key: string): string => KITS[key] ?? plainName(key);
export const toolKindWord = (key: string): string => TOOL_KINDS[key] ?? plainName(key);
export const sexWord = (key: string): string => SEXES[key] ?? key;

/** Tone of an answer or standing: chooses colour and shape, which repeat the word. */
export type Tone = "good" | "care" | "open" | "bad" | "rest";

const TONES: Record<string, Tone> = {
  go: "good",
  usable: "good",
  "shown-safe": "good",
  "go-with-care": "care",
  "usable-with-limits": "care",
  care: "care",
  undecided: "open",
  open: "open",
  unknown: "open",
  "not-shown-safe": "open",
  "gauge-cannot-decide": "open",
  cleared: "good",
  "ready-to-close": "good",
  "in-date": "good",
  due: "care",
  unchecked: "open",
  "out-of-order": "bad",
  whole: "good",
  "not-whole": "bad",
  "not-checked": "open",
  "no-pieces": "open",
  waived: "care",
  damaged: "bad",
  "waiver-ran-out": "bad",
  stop: "bad",
  "do-not-mate": "bad",
  forbids: "bad",
  out: "bad",
  // A sweep releases nothing and rejects nothing: what it names is to be gauged.
  "nothing-seen": "rest",
  joint: "open",
  "one-of": "open",
  several: "open",
  "no-verdict": "open",
};

export const toneOf = (key: string): Tone => TONES[key] ?? "rest";
