import { expect, test } from "vitest";
import { casePath, cleanPath, dossierPath, driftPath, endPath, newCasePath, routeOf } from "../src/router";

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
  ["/cases", { screen: "cases" }],
  ["/case/Repair%20of%20CB-009", { screen: "case", id: "Repair of CB-009" }],
  ["/case/%E0%A4%A", { screen: "nowhere", path: "/case/%E0%A4%A" }],
  ["/clean/C-102%20A", { screen: "clean", tag: "C-102 A" }],
  ["/dossier/end/rack%203%2Fleft", { screen: "dossier", about: "end", id: "rack 3/left" }],
  ["/dossier/case/Repair%20of%20CB-009", { screen: "dossier", about: "case", id: "Repair of CB-009" }],
  ["/dossier/tool/GA-001", { screen: "nowhere", path: "/dossier/tool/GA-001" }],
  ["/your-numbers", { screen: "yours" }],
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
  expect(routeOf(cleanPath(tag))).toEqual({ screen: "clean", tag });
  expect(dossierPath("end", tag)).not.toContain(".");
  expect(routeOf(dossierPath("end", tag))).toEqual({ screen: "dossier", about: "end", id: tag });
});

test.each(["CB-009A 2026-11-25", "rack 3/left", "v1.2", "50 Ω #1?"])("the address of the case %s leads back to it", (id) => {
  const path = casePath(id);
  expect(path).not.toContain(".");
  expect(routeOf(path)).toEqual({ screen: "case", id });
});

test("what is empty is left out of the address of a new case", () => {
  expect(newCasePath({ ends: "A B", since: "" })).toBe("/cases?ends=A+B");
});
