// A session that is not recorded yet outlives a scan, a reload and a closed
// browser: one draft for each end, in this browser.
import { emptyDraft, type SessionDraft } from "./session";

export interface KeptDraft {
  draft: SessionDraft;
  person: string;
  note: string;
}

const nameOf = (end: string): string => `matewell.session.${end.trim().toLowerCase()}`;

export function draftOf(end: string): (KeptDraft & { at: string }) | null {
  try {
    return read(localStorage.getItem(nameOf(end)));
  } catch {
    return null;
  }
}

/** What was kept; nothing when it is no draft of ours. */
export function read(text: string | null): (KeptDraft & { at: string }) | null {
  const kept = JSON.parse(text ?? "null") as (KeptDraft & { at: string }) | null;
  const isDraft = Array.isArray(kept?.draft?.readings) && typeof kept.at === "string";
  return isDraft ? { ...kept, draft: { ...emptyDraft(), ...kept.draft } } : null;
}

export function keepDraft(end: string, kept: KeptDraft, at: string): void {
  try {
    localStorage.setItem(nameOf(end), JSON.stringify({ ...kept, at }));
  } catch {
    // A browser that keeps nothing still works while the page is open.
  }
}

export function dropDraft(end: string): void {
  try {
    localStorage.removeItem(nameOf(end));
  } catch {
    // It is not kept either.
  }
}
