import { describe, expect, it } from "vitest";
import { ageText } from "../src/ages";
import { ahead } from "../src/offline/clock";
import { labelsOf, relabelled } from "../src/offline/labels";
import { inBase64, photoFrom, shownSize } from "../src/offline/photo";

describe("the age of what was last known", () => {
  const now = Date.parse("2026-03-01T12:00:00Z");
  it.each([
    ["2026-03-01T11:59:30Z", "less than a minute old"],
    ["2026-03-01T11:58:59Z", "1 minute old"],
    ["2026-03-01T09:00:00Z", "3 hours old"],
    ["2026-02-27T12:00:00Z", "2 days old"],
    ["2026-03-01T12:05:00Z", "less than a minute old"],
  ])("%s is %s", (at, words) => expect(ageText(at, now)).toBe(words));
});

describe("the server's clock", () => {
  const date = "Sun, 01 Mar 2026 12:00:00 GMT";
  const server = Date.parse(date);
  it("agrees when the whole second allows it", () => {
    expect(ahead(server - 5, server + 5, date)).toBe(0);
    expect(ahead(server + 990, server + 1000, date)).toBe(0);
  });
  it("corrects a clock that is ahead or behind by the least it must be", () => {
    expect(ahead(server + 61_000, server + 61_010, date)).toBe(60_000);
    expect(ahead(server - 60_010, server - 60_000, date)).toBe(-60_000);
  });
  it("says nothing without a date", () => expect(ahead(0, 1, null)).toBeNull());
});

describe("labels of a kept fact", () => {
  const bulk = { mates: [{ a: "CB-1A", b: "X", happened_at: "t", wrench: "W" }], person: "CB-1A" };
  it("are found in mates too", () => expect(labelsOf(bulk)).toEqual(["CB-1A", "X", "W"]));
  it("are put right where they are labels and nowhere else", () =>
    expect(relabelled(bulk, "CB-1A", "CB-1B")).toEqual({ mates: [{ a: "CB-1B", b: "X", happened_at: "t", wrench: "W" }], person: "CB-1A" }));
  it("leave the rest", () => expect(relabelled({ end: "A", note: "A" }, "A", "B")).toEqual({ end: "B", note: "A" }));
});

describe("a photo that waits", () => {
  const bytes = Uint8Array.from({ length: 20_001 }, (_, at) => at % 251);
  it("keeps its bytes and its type", async () => {
    const kept = await photoFrom(new Blob([bytes], { type: "image/png" }));
    expect(new Uint8Array(await kept.arrayBuffer())).toEqual(bytes);
    expect(kept.type).toBe("image/png");
  });
  it("is saved whole in base64", async () => {
    expect(Uint8Array.from(Buffer.from(await inBase64(new Blob([bytes])), "base64"))).toEqual(bytes);
  });
  it("says how big it is", () => expect([0, 1023, 1024, 1536 * 1024].map(shownSize)).toEqual(["0 bytes", "1023 bytes", "1 KiB", "1.5 MiB"]));
});
