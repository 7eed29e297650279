import { describe, expect, it } from "vitest";
import { AUDITED } from "../e2e/screens";
import { routeOf, SCREENS } from "../src/router";

describe("the list of audited screens", () => {
  const audited = new Set(AUDITED.map(({ path }) => routeOf(new URL(path, "http://here").pathname).screen));
  it.each(Object.keys(SCREENS))("has %s", (screen) => expect([...audited]).toContain(screen));
  it("names no screen that the router does not know", () => expect([...audited].filter((screen) => !(screen in SCREENS))).toEqual([]));
});
