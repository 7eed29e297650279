import { expect, test } from "vitest";
import { driftPath, endPath, routeOf } from "../src/router";

test.each([
  ["/", { screen: "bench" }],
  ["/due", { screen: "due" }],
  ["/due/", { screen: "due" }],
  ["/register", { screen: "register" }],
  ["/line", { screen: "line" }],
  ["/study", { screen: "study" }],
  ["/drift/C-102%20A", { screen: "drift", tag: "C-102 A" }],
  ["/sweeps", { screen: "sweeps" }],
  ["/end/C-102%20A", { screen: "end", tag: "C-102 A" }],
  ["/gauge/C-102%20A", { screen: "gauging", tag: "C-102 A" }],
  ["/end/", { screen: "nowhere", path: "/end/" }],
  ["/end/%E0%A4%A", { screen: "nowhere", path: "/end/%E0%A4%A" }],
  ["/else", { screen: "nowhere", path: "/else" }],
])("%s", (path, route) => {
  expect(routeOf(path)).toEqual(route);
});

test.each(["C-102", "rack 3/left", "a.b", "50 Ω #1?", "%2F"])("the address of %s leads back to it", (tag) => {
  const path = endPath(tag);
  expect(path).not.toContain(".");
  expect(routeOf(path)).toEqual({ screen: "end", tag });
  expect(driftPath(tag)).not.toContain(".");
  expect(routeOf(driftPath(tag))).toEqual({ screen: "drift", tag });
});
