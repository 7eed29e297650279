import { expect, test } from "vitest";
import { atField, elsewhere, type Problem } from "../src/api/problem";
import { EntryKey, newKey } from "../src/bench/keys";
import { momentText } from "../src/moments";

const problem: Problem = { type: "about:blank", title: "", status: 422, code: "bad-field", field: "person", detail: "person: expected a name or pseudonym, found nothing" };

test("a problem is shown at its field, else above the form", () => {
  expect(atField(problem, "person")).toBe("expected a name or pseudonym, found nothing");
  expect(atField(problem, "note")).toBeNull();
  expect(elsewhere(problem, ["person"])).toBeNull();
  expect(elsewhere(problem, ["note"])).toBe(problem.detail);
  expect(elsewhere(null, [])).toBeNull();
});

test("the same entry keeps its key until it is written, another entry gets another", () => {
  const entry = new EntryKey();
  const first = entry.for({ end: "C-102" });
  expect(first).toMatch(/^[0-9a-f]{32}$/);
  expect(entry.for({ end: "C-102" })).toBe(first);
  expect(entry.for({ end: "C-103" })).not.toBe(first);
  const third = entry.for({ end: "C-102" });
  expect(third).not.toBe(first);
  entry.written();
  expect(entry.for({ end: "C-102" })).not.toBe(third);
  expect(newKey()).not.toBe(newKey());
});

test("a record that knows the day only shows the day, whatever the zone", () => {
  expect(momentText("2026-03-05T00:00:00Z", "day")).toBe("5 Mar 2026");
  expect(momentText("not a time")).toBe("not a time");
});
