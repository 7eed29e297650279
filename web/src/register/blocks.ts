// A long list in blocks: only what is looked at is asked for and drawn.

/** Rows of a block, and of an answer. */
export const BLOCK = 200;
/** Rows drawn above and below what is seen. */
const BEYOND = 15;

export interface Seen {
  /** First row that is drawn, and the first that is not. */
  from: number;
  to: number;
  /** First row in sight, and the last. */
  first: number;
  last: number;
}

/** Which rows are drawn when the list begins `above` px over the window's upper edge. */
export function seen(above: number, height: number, row: number, total: number): Seen {
  if (total === 0 || !(row > 0)) return { from: 0, to: 0, first: 0, last: 0 };
  const first = Math.min(Math.max(0, Math.floor(above / row)), total - 1);
  const last = Math.min(total - 1, Math.max(first, Math.ceil((above + height) / row) - 1));
  return { from: Math.max(0, first - BEYOND), to: Math.min(total, last + 1 + BEYOND), first, last };
}

/** Blocks of these rows that are not there yet. */
export function missing(from: number, to: number, has: (block: number) => boolean): number[] {
  const found: number[] = [];
  for (let block = Math.floor(from / BLOCK); block * BLOCK < to; block++) if (!has(block)) found.push(block);
  return found;
}
