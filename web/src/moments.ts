// How moments are shown: in local time, with UTC kept beside it.

const day = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric" });
const clock = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
const zone = new Intl.DateTimeFormat("en-GB", { timeZoneName: "short" });

/** A moment in local time; only the day when the record knows no more. */
export function momentText(rfc3339: string, resolution = "instant"): string {
  const date = new Date(rfc3339);
  if (Number.isNaN(date.getTime())) return rfc3339;
  // A day is a day of the record, whatever the zone of the reader.
  if (resolution === "day") {
    const [year, month, dayOfMonth] = rfc3339.slice(0, 10).split("-").map(Number);
    return day.format(new Date(year ?? 0, (month ?? 1) - 1, dayOfMonth ?? 1));
  }
  return `${day.format(date)}, ${clock.format(date)}`;
}

/** A moment in UTC, for paper. */
export function utcText(rfc3339: string): string {
  return rfc3339.replace("T", " ").replace(/(\.\d+)?(Z|\+00:00)$/, " UTC");
}

/** Name of the local zone now. */
export function zoneName(now: Date): string {
  return zone.formatToParts(now).find((part) => part.type === "timeZoneName")?.value ?? "";
}
