// Where do numbers go on a drawing? Lengths and places only; every quantity
// that is drawn comes from the API.
import type { Schemas } from "../api/client";

export type Point = readonly [x: number, y: number];

/** Maps `from` to `to` in a straight line; a range without width maps to the start of `to`. */
export function scale(from: readonly [number, number], to: readonly [number, number]): (value: number) => number {
  const width = from[1] - from[0];
  if (!Number.isFinite(width) || width === 0) return () => to[0];
  return (value) => to[0] + ((value - from[0]) / width) * (to[1] - to[0]);
}

/** An SVG path through points. A point that is no number breaks the line: nothing is drawn across it. */
export function path(points: readonly Point[]): string {
  let pen = "M";
  let text = "";
  for (const [x, y] of points) {
    if (!Number.isFinite(x) || !Number.isFinite(y)) {
      pen = "M";
      continue;
    }
    text += `${pen}${tidy(x)} ${tidy(y)}`;
    pen = "L";
  }
  return text;
}

/** The nearest of 1, 2 or 5 times a power of ten that is not above `value`. */
export function roundBelow(value: number): number {
  if (!(value > 0) || !Number.isFinite(value)) return 0;
  const decade = 10 ** Math.floor(Math.log10(value));
  const first = value / decade;
  // 0.001 / 10 ** -3 is below one by a rounding.
  const digit = [5, 2, 1].find((d) => d <= first * (1 + 1e-12)) ?? 1;
  return Number((digit * decade).toPrecision(3));
}

/** Round numbers from zero up to `top`, three to eight of them. */
export function ticks(top: number): number[] {
  const step = roundBelow(top / 3);
  if (step === 0) return [0];
  return Array.from({ length: Math.floor(top / step + 1e-9) + 1 }, (_, i) => Number((i * step).toPrecision(6)));
}

/** A column of a sweep against its first one; nothing when the sweep has no such column. */
export function column(sweep: Schemas["SweepJson"] | null | undefined, name: string): Point[] {
  const at = sweep?.columns.indexOf(name) ?? -1;
  if (!sweep || at < 0) return [];
  return sweep.rows.map((row) => [row[0] ?? Number.NaN, row[at] ?? Number.NaN] as const);
}

const MICROMETRES: Record<string, number> = { um: 1, mm: 1000 };

/** A length among what was used, in micrometres; nothing when it is not known. */
export function lengthUm(inputs: readonly Schemas["NumberJson"][] | undefined, name: string): number | null {
  const input = inputs?.find((i) => i.name === name);
  const size = MICROMETRES[input?.unit ?? ""];
  return input && size !== undefined ? input.value * size : null;
}

function tidy(value: number): number {
  return Math.round(value * 100) / 100;
}
