// How moments are shown: in local time with UTC kept beside it, or in UTC for
// who asks for that.
import { personal } from "./personal.svelte";

const formats = (timeZone?: string) => {
  const where = timeZone === undefined ? {} : { timeZone };
  return {
    day: new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", ...where }),
    shortDay: new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", ...where }),
    clock: new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", hourCycle: "h23", ...where }),
    zone: new Intl.DateTimeFormat("en-GB", { timeZoneName: "short", ...where }),
  };
};
const local = formats();
const utc = formats("UTC");
const mine = () => (personal.times === "utc" ? utc : local);

/** A moment in the person's time; only the day when the record knows no more. */
export function momentText(rfc3339: string, resolution = "instant"): string {
  const date = new Date(rfc3339);
  if (Number.isNaN(date.getTime())) return rfc3339;
  // A day is a day of the record, whatever the zone of the reader.
  if (resolution === "day") return recordedDay(rfc3339);
  const { day, clock } = mine();
  return `${day.format(date)}, ${clock.format(date)}${personal.times === "utc" ? " UTC" : ""}`;
}

/** A moment with its zone, for paper. */
export function zonedText(rfc3339: string): string {
  return personal.times === "utc" ? momentText(rfc3339) : `${momentText(rfc3339)} ${zoneName(new Date(rfc3339))}`;
}

/** The day of a moment as the reader's calendar has it. What is kept at midnight UTC was known to the day only. */
export function dayText(rfc3339: string): string {
  const date = new Date(rfc3339);
  if (Number.isNaN(date.getTime()) || /T00:00:00(\.0+)?(Z|\+00:00)$/.test(rfc3339)) return momentText(rfc3339, "day");
  return mine().day.format(date);
}

function recordedDay(rfc3339: string): string {
  const [year, month, dayOfMonth] = rfc3339.slice(0, 10).split("-").map(Number);
  return local.day.format(new Date(year ?? 0, (month ?? 1) - 1, dayOfMonth ?? 1));
}

/** A place on an axis of time: the clock, or the day where the clock says midnight. */
export function tickText(at: number, hasTime: boolean): string {
  const { clock, shortDay } = mine();
  const time = clock.format(at);
  return hasTime && time !== "00:00" ? time : shortDay.format(at);
}

/** A moment in UTC, for paper. */
export function utcText(rfc3339: string): string {
  return rfc3339.replace("T", " ").replace(/(\.\d+)?(Z|\+00:00)$/, " UTC");
}

/** Name of the zone in which this person reads moments. */
export function zoneName(now: Date): string {
  return mine().zone.formatToParts(now).find((part) => part.type === "timeZoneName")?.value ?? "";
}
