// Words of a trace, for people. The keys are the API's.
import type { Schemas } from "../api/client";
import { momentText } from "../moments";
import { plainName } from "../quantities";

const BECAUSE: Record<string, string> = {
  registered: "registered; nothing is known before",
  "contact-made-anew": "its contact was made anew; nothing is known before",
  "looked-good": "looked at and good",
  "gauged-safe": "gauged and shown safe",
  cleaned: "cleaned",
  released: "released by a person",
  "pin-protrudes": "its pin was found to protrude",
  damaged: "damage was seen",
  dirty: "dirt was seen",
  held: "it was held",
  "nothing-found": "nothing was found; taken as bad now",
  "as-asked": "as asked",
};

export const becauseText = (key: string): string => BECAUSE[key] ?? plainName(key);

export function carrierText(carrier: Schemas["CarrierJson"]): string {
  return carrier.what === "gauge" ? `${carrier.tag} (gauge)` : carrier.tag;
}

/** Two whole percentages, or one where they agree. */
export function chanceText(p: Schemas["ProbabilityJson"]): string {
  const low = Math.floor(p.ever_lower * 100);
  const high = Math.ceil(p.ever_upper * 100);
  return low === high ? `${low} %` : `${low} to ${high} %`;
}

/** Until when, as a word where it lasts. */
export function untilText(x: Schemas["ExposedJson"]): string {
  const until = x.intervals[x.intervals.length - 1]?.until;
  return until == null ? "still exposed" : `cleared ${momentText(until)}`;
}

export function pathText(via: Schemas["TraceStepJson"][]): string {
  return via.map((step) => step.from.tag).join(" → ");
}

/** A lane as one sentence, for those who do not see it. */
export function laneText(x: Schemas["ExposedJson"]): string {
  const way = x.hops === 0 ? "where the trace starts" : `${x.hops} ${x.hops === 1 ? "touch" : "touches"} away, by way of ${pathText(x.via)}`;
  return `${carrierText(x.end)}: exposed since ${momentText(x.arrived_at)}, ${x.certainty}, ${untilText(x)}; ${way}`;
}
