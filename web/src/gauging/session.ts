// What a gauging session's form says, as the API takes it. Empty things are
// left out; the server judges the rest.
import type { Schemas } from "../api/client";
import { lengthText } from "../quantities";
import { numberTyped, readingTyped } from "../bench/typed";

export interface Reading {
  word: string;
  distance: string;
}

export interface SessionDraft {
  gauge: string;
  master: string;
  method: string;
  temperature: string;
  humidity: string;
  zeroBefore: Reading[];
  readings: Reading[];
  zeroAfter: Reading[];
  dielectric: Reading[];
  sure: string[];
}

export const emptyReading = (): Reading => ({ word: "", distance: "" });

export function emptyDraft(): SessionDraft {
  return {
    gauge: "",
    master: "",
    method: "",
    temperature: "",
    humidity: "",
    zeroBefore: [emptyReading()],
    readings: [emptyReading()],
    zeroAfter: [emptyReading()],
    dielectric: [],
    sure: [],
  };
}

/** Whether nothing of the session itself was typed yet; the tools are no reading. */
export function isEmpty(draft: SessionDraft): boolean {
  const read = [...draft.zeroBefore, ...draft.readings, ...draft.zeroAfter, ...draft.dielectric];
  return [draft.method, draft.temperature, draft.humidity, ...read.map((one) => one.distance)].every((text) => text.trim() === "");
}

const filled = (readings: Reading[]): Reading[] => readings.filter((reading) => reading.distance.trim() !== "");

/** A reading typed by halves is not asked about yet: the side comes after the distance. */
export function complete(readings: Reading[]): Reading[] {
  return filled(readings).filter((reading) => reading.word !== "" || Number.parseFloat(readingTyped(reading).distance) === 0);
}

export function asked(end: string, draft: SessionDraft, pick: (readings: Reading[]) => Reading[] = filled): Schemas["GaugingAsked"] {
  const text = (value: string) => (value.trim() === "" ? {} : { value: value.trim() });
  const only = <K extends string>(key: K, value: string): Partial<Record<K, string>> => {
    const found = text(value);
    return "value" in found ? ({ [key]: found.value } as Record<K, string>) : {};
  };
  const humidity = Number(draft.humidity.replace(",", "."));
  return {
    end,
    ...only("gauge", draft.gauge),
    ...only("master", draft.master),
    ...only("method", draft.method),
    ...only("temperature", numberTyped(draft.temperature)),
    ...(draft.humidity.trim() === "" || Number.isNaN(humidity) ? {} : { humidity_percent: humidity }),
    readings: pick(draft.readings).map(readingTyped),
    zero_before: pick(draft.zeroBefore).map(readingTyped),
    zero_after: pick(draft.zeroAfter).map(readingTyped),
    dielectric: pick(draft.dielectric).map(readingTyped),
    sure: [...draft.sure],
  };
}

/** Where a position is drawn: protruding to the right of the plane. */
export function drawnAt(word: string, distance: number): number {
  return word === "protruding" ? distance : -distance;
}

/** Where a position is, in words. */
export function placeText(um: number, decimals = 1): string {
  return `${lengthText(Math.abs(um), decimals)} ${um > 0 ? "protruding" : "recessed"}`;
}
