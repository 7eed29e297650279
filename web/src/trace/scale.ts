// Time on x: from moments to pixels, ticks, zoom. Drawing only: what is exposed comes from the API.

export interface View {
  /** Milliseconds since 1970. */
  from: number;
  to: number;
}

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
const STEPS = [
  MINUTE, 5 * MINUTE, 15 * MINUTE, HOUR, 3 * HOUR, 6 * HOUR, 12 * HOUR,
  DAY, 2 * DAY, 7 * DAY, 14 * DAY, 30 * DAY, 91 * DAY, 182 * DAY, 365 * DAY, 1826 * DAY,
];
/** Closer than this shows nothing more: contacts are moments. */
export const NEAREST = 10 * MINUTE;

/** Everything, with a little room at both sides. */
export function whole(moments: number[]): View {
  const known = moments.filter(Number.isFinite);
  const from = known.reduce((least, at) => (at < least ? at : least), Number.POSITIVE_INFINITY);
  const to = known.reduce((most, at) => (at > most ? at : most), Number.NEGATIVE_INFINITY);
  if (!(from <= to)) return { from: 0, to: DAY };
  const room = to > from ? (to - from) * 0.03 : HOUR;
  return { from: from - room, to: to + room };
}

/** The view about `at`, `factor` times as long, inside the whole. */
export function zoomed(view: View, all: View, factor: number, at = (view.from + view.to) / 2): View {
  const length = Math.min(all.to - all.from, Math.max(NEAREST, (view.to - view.from) * factor));
  const share = (at - view.from) / (view.to - view.from);
  return within({ from: at - share * length, to: at + (1 - share) * length }, all);
}

/** The view moved by a share of its length, inside the whole. */
export function moved(view: View, all: View, share: number): View {
  const by = (view.to - view.from) * share;
  return within({ from: view.from + by, to: view.to + by }, all);
}

function within(view: View, all: View): View {
  const length = Math.min(view.to - view.from, all.to - all.from);
  const from = Math.min(Math.max(view.from, all.from), all.to - length);
  return { from, to: from + length };
}

/** Pixels from the left edge of the plot. */
export function place(at: number, view: View, width: number): number {
  return ((at - view.from) / (view.to - view.from)) * width;
}

/** Round moments in local time, or in UTC, at most `most` of them. */
export function ticks(view: View, most: number, utc = false): { at: number; hasTime: boolean }[] {
  const step = STEPS.find((s) => (view.to - view.from) / s <= most) ?? STEPS[STEPS.length - 1] ?? DAY;
  const found: { at: number; hasTime: boolean }[] = [];
  const day = new Date(view.from);
  if (utc) day.setUTCHours(0, 0, 0, 0);
  else day.setHours(0, 0, 0, 0);
  for (let at = day.getTime(); at <= view.to && found.length < 200; at = utc ? at + step : next(at, step)) {
    if (at >= view.from) found.push({ at, hasTime: step < DAY });
  }
  return found;
}

/** Days keep their midnight when the clocks change. */
function next(at: number, step: number): number {
  if (step < DAY) return at + step;
  const day = new Date(at);
  day.setDate(day.getDate() + Math.round(step / DAY));
  return day.getTime();
}

export interface Piece {
  from: number;
  to: number;
  sure: "possible" | "definite";
  /** Goes on to the moment asked about. */
  lasts: boolean;
  /** Its end is a clearing. */
  cleared: boolean;
}

/** An exposed stretch cut where it turns from possible to definite. */
export function pieces(intervals: { since: string; until?: string | null }[], definite: string | null | undefined, now: number): Piece[] {
  const sureFrom = definite == null ? Number.POSITIVE_INFINITY : Date.parse(definite);
  return intervals.flatMap((interval): Piece[] => {
    const from = Date.parse(interval.since);
    const lasts = interval.until == null;
    const to = lasts ? Math.max(now, from) : Date.parse(interval.until ?? "");
    const cleared = !lasts;
    if (sureFrom <= from) return [{ from, to, sure: "definite", lasts, cleared }];
    if (sureFrom >= to) return [{ from, to, sure: "possible", lasts, cleared }];
    return [
      { from, to: sureFrom, sure: "possible", lasts: false, cleared: false },
      { from: sureFrom, to, sure: "definite", lasts, cleared },
    ];
  });
}
