// The cautions and steps of a cleaning as the server said them last, so that
// they can be read where there is no connection. Their text is the data's.
import type { Schemas } from "../api/client";

type Guide = Schemas["CleanGuideJson"];
const NAME = "matewell.clean-guide";

function all(): Record<string, { guide: Guide; at: string }> {
  try {
    return JSON.parse(localStorage.getItem(NAME) ?? "{}") as Record<string, { guide: Guide; at: string }>;
  } catch {
    return {};
  }
}

export function keepGuide(guide: Guide, at: string): void {
  try {
    const newest = Object.entries({ ...all(), [guide.end.tag]: { guide, at } }).sort(([, a], [, b]) => b.at.localeCompare(a.at));
    localStorage.setItem(NAME, JSON.stringify(Object.fromEntries(newest.slice(0, 50))));
  } catch {
    // It is asked anew next time.
  }
}

export function keptGuide(tag: string): { guide: Guide; at: string } | null {
  return all()[tag] ?? null;
}
