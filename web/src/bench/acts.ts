// What a person can record about an end, and how each is sent.
import { outbox, type Sent } from "../offline/waiting.svelte";
import { lengthTyped, readingTyped } from "./typed";

export type Act = "look" | "gauge" | "clean" | "hold" | "release" | "retire";

interface Choice {
  act: Act;
  name: string;
  button: string;
  done: string;
  lead: string;
  /** Fields of the form, as the API names them. */
  fields: string[];
}

export const ACTS: readonly Choice[] = [
  { act: "look", name: "Look", button: "Record the look at", done: "a look at", lead: "Look under magnification, before and after cleaning.", fields: ["outcome", "seen", "magnification"] },
  { act: "gauge", name: "Gauge", button: "Record the gauging of", done: "a gauging of", lead: "Look and clean first. A gauge touches the pin: it counts as one contact.", fields: ["readings", "gauge", "standard_uncertainty"] },
  { act: "clean", name: "Clean", button: "Record the cleaning of", done: "a cleaning of", lead: "What was done to it, so that the next person knows.", fields: ["method"] },
  { act: "hold", name: "Hold", button: "Hold", done: "a hold on", lead: "From now on it may not be mated, until somebody releases it.", fields: ["because"] },
  { act: "release", name: "Release", button: "Release", done: "the release of", lead: "Say what showed that it is in order.", fields: ["because", "evidence"] },
  { act: "retire", name: "Retire", button: "Retire", done: "the retirement of", lead: "It will not be used again. Its record stays.", fields: ["because"] },
];

export interface Draft {
  person: string;
  note: string;
  outcome: string;
  seen: string;
  magnification: string;
  method: string;
  because: string;
  gauge: string;
  spread: string;
  readings: { word: string; distance: string }[];
}

/** Sends or keeps what the form says. Only empty things are left out: the server judges the rest. */
export function write(act: Act, tag: string, draft: Draft, key: string, at: string): Promise<Sent> {
  const said = { end: tag, person: draft.person.trim(), ...(draft.note.trim() ? { note: draft.note.trim() } : {}) };
  const words = `${ACTS.find((choice) => choice.act === act)?.name ?? act}: ${tag}`;
  switch (act) {
    case "look": {
      const magnification = draft.magnification.trim();
      const number = Number(magnification.replace(",", "."));
      if (magnification !== "" && Number.isNaN(number)) {
        return Promise.resolve(notANumber("magnification", magnification));
      }
      const seen = draft.seen.split(",").map((word) => word.trim()).filter((word) => word !== "");
      const body = { ...said, outcome: draft.outcome, seen, ...(magnification === "" ? {} : { magnification: number }) };
      return outbox.write("/api/v1/inspections", body, words, key, at);
    }
    case "gauge": {
      const readings = draft.readings.filter((reading) => reading.distance.trim() !== "" || reading.word !== "");
      const body = {
        ...said,
        readings: readings.map(readingTyped),
        ...(draft.gauge.trim() ? { gauge: draft.gauge.trim() } : {}),
        ...(draft.spread.trim() ? { standard_uncertainty: lengthTyped(draft.spread.trim()) } : {}),
      };
      return outbox.write("/api/v1/gaugings", body, words, key, at);
    }
    case "clean":
      return outbox.write("/api/v1/cleanings", { ...said, ...(draft.method.trim() ? { method: draft.method.trim() } : {}) }, words, key, at);
    case "hold":
      return outbox.write("/api/v1/holds", { ...said, because: draft.because }, words, key, at);
    case "release":
      return outbox.write("/api/v1/releases", { ...said, because: draft.because }, words, key, at);
    case "retire":
      return outbox.write("/api/v1/retirements", { ...said, because: draft.because }, words, key, at);
  }
}

function notANumber(field: string, found: string): Sent {
  return {
    state: "refused",
    problem: { type: "about:blank", title: "", status: 422, code: "bad-field", field, detail: `expected a number, found "${found}"` },
  };
}
