// What people said about gauges that type: kept in this browser, one per gauge.
import { type Typing, UNITS } from "./numbers";

const NAME = "matewell.typing";
const NOTHING: Typing = { unit: "", minus: "" };

function all(): Record<string, Typing> {
  try {
    return JSON.parse(localStorage.getItem(NAME) ?? "{}") as Record<string, Typing>;
  } catch {
    return {};
  }
}

export function typingOf(gauge: string): Typing {
  const kept = all()[gauge.trim().toLowerCase()];
  const unit = UNITS.find((name) => name === kept?.unit) ?? "";
  const minus = kept?.minus === "recessed" || kept?.minus === "protruding" ? kept.minus : "";
  return kept ? { unit, minus } : NOTHING;
}

export function keepTyping(gauge: string, typing: Typing): void {
  const name = gauge.trim().toLowerCase();
  if (name === "") return;
  try {
    localStorage.setItem(NAME, JSON.stringify({ ...all(), [name]: typing }));
  } catch {
    // It is said anew next time.
  }
}
