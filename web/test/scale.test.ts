import { describe, expect, it } from "vitest";
import { moved, NEAREST, pieces, place, ticks, whole, zoomed } from "../src/trace/scale";

const DAY = 86_400_000;
const all = { from: 0, to: 100 * DAY };

describe("the time scale of a trace", () => {
  it("shows everything, also where there is one moment or none", () => {
    const view = whole([10 * DAY, 20 * DAY, Number.NaN]);
    expect(view.from).toBeLessThan(10 * DAY);
    expect(view.to).toBeGreaterThan(20 * DAY);
    expect(whole([5]).to).toBeGreaterThan(whole([5]).from);
    expect(whole([]).to).toBeGreaterThan(whole([]).from);
  });
  it("zooms about a moment that stays where it is, and never beyond the whole", () => {
    const view = zoomed(all, all, 0.5, 20 * DAY);
    expect(place(20 * DAY, view, 100)).toBeCloseTo(place(20 * DAY, all, 100), 9);
    expect(zoomed(all, all, 4)).toEqual(all);
    let near = all;
    for (let i = 0; i < 60; i++) near = zoomed(near, all, 0.5);
    expect(near.to - near.from).toBeCloseTo(NEAREST, 3);
  });
  it("moves inside the whole", () => {
    const view = { from: 0, to: 10 * DAY };
    expect(moved(view, all, -0.5)).toEqual(view);
    expect(moved(view, all, 100)).toEqual({ from: 90 * DAY, to: 100 * DAY });
  });
  it.each([[100 * DAY, 6], [3 * DAY, 8], [DAY / 4, 5], [DAY * 4000, 4]])("gives at most so many ticks of %d ms", (length, most) => {
    const found = ticks({ from: 1_700_000_000_000, to: 1_700_000_000_000 + length }, most);
    expect(found.length).toBeGreaterThan(0);
    expect(found.length).toBeLessThanOrEqual(most + 1);
    expect(found.every((t, i) => i === 0 || t.at > (found[i - 1]?.at ?? 0))).toBe(true);
  });
  it("cuts a stretch where it turns from possible to definite", () => {
    const found = pieces([{ since: "2026-01-01T00:00:00Z", until: null }], "2026-01-03T00:00:00Z", Date.parse("2026-01-05T00:00:00Z"));
    expect(found.map((p) => [p.sure, p.lasts, p.cleared])).toEqual([["possible", false, false], ["definite", true, false]]);
    expect(found[0]?.to).toBe(found[1]?.from);
    const cleared = pieces([{ since: "2026-01-01T00:00:00Z", until: "2026-01-02T00:00:00Z" }], null, 0);
    expect(cleared).toEqual([{ from: Date.parse("2026-01-01T00:00:00Z"), to: Date.parse("2026-01-02T00:00:00Z"), sure: "possible", lasts: false, cleared: true }]);
  });
});
