// How old something is, in words.

const STEPS: [number, string][] = [[86_400, "day"], [3600, "hour"], [60, "minute"]];

/** "3 hours old"; a clock that ran backwards counts as no time. */
export function ageText(rfc3339: string, nowMs: number): string {
  const seconds = Math.max(0, (nowMs - Date.parse(rfc3339)) / 1000);
  for (const [size, name] of STEPS) {
    const count = Math.floor(seconds / size);
    if (count >= 1) return `${count} ${name}${count === 1 ? "" : "s"} old`;
  }
  return "less than a minute old";
}
