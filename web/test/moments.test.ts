import { afterEach, beforeEach, expect, test } from "vitest";
import { personal } from "../src/personal.svelte";
import { ticks } from "../src/trace/scale";

// Each test reads the module with the zone it needs: the formats are made once.
let zone: string | undefined;
beforeEach(() => {
  zone = process.env.TZ;
});
afterEach(() => {
  process.env.TZ = zone;
  personal.keep({ times: "local" });
});

async function inZone(name: string) {
  process.env.TZ = name;
  const { vi } = await import("vitest");
  vi.resetModules();
  const mine = await import("../src/personal.svelte");
  return { ...(await import("../src/moments")), personal: mine.personal };
}

test("a moment is local, or in UTC with its name for who asks", async () => {
  const { momentText, zonedText, personal: mine } = await inZone("America/New_York");
  expect(momentText("2026-11-25T02:30:00Z")).toBe("24 Nov 2026, 21:30");
  expect(zonedText("2026-11-25T02:30:00Z")).toMatch(/^24 Nov 2026, 21:30 (GMT-5|EST)$/);
  mine.keep({ times: "utc" });
  expect(momentText("2026-11-25T02:30:00Z")).toBe("25 Nov 2026, 02:30 UTC");
  expect(zonedText("2026-11-25T02:30:00Z")).toBe("25 Nov 2026, 02:30 UTC");
  mine.keep({ times: "local" });
});

test("the day of an instant is the reader's, a day of the record stays", async () => {
  const { dayText, momentText } = await inZone("America/New_York");
  expect(dayText("2026-11-25T02:30:00Z")).toBe("24 Nov 2026");
  expect(dayText("2026-11-25T00:00:00Z")).toBe("25 Nov 2026");
  expect(momentText("2026-11-25T12:00:00Z", "day")).toBe("25 Nov 2026");
  expect(momentText("soon")).toBe("soon");
});

test("a time axis in UTC has its days at midnight UTC", () => {
  const from = Date.parse("2026-11-20T03:00:00Z");
  const marks = ticks({ from, to: from + 5 * 86_400_000 }, 8, true);
  expect(marks.length).toBeGreaterThan(3);
  for (const mark of marks) expect(mark.at % 86_400_000).toBe(0);
});
