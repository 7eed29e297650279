// Which screen does an address show? History API, no library.

export type Route =
  | { screen: "bench" }
  | { screen: "end"; tag: string }
  | { screen: "gauging"; tag: string }
  | { screen: "due" }
  | { screen: "register" }
  | { screen: "line" }
  | { screen: "cases" }
  | { screen: "case"; id: string }
  | { screen: "trace"; search: string }
  | { screen: "sweeps" }
  | { screen: "study" }
  | { screen: "waiting" }
  | { screen: "labels" }
  | { screen: "drift"; tag: string }
  | { screen: "tools" }
  | { screen: "tool"; tag: string }
  | { screen: "item"; tag: string }
  | { screen: "look"; tag: string }
  | { screen: "clean"; tag: string }
  | { screen: "dossier"; about: "end" | "case"; id: string }
  | { screen: "storage" }
  | { screen: "kit"; tag: string }
  | { screen: "intake" }
  | { screen: "new-item" }
  | { screen: "policy" }
  | { screen: "people" }
  | { screen: "yours" }
  | { screen: "nowhere"; path: string };

/** Every screen, each once: the compiler refuses a list that is not whole. */
export const SCREENS: Readonly<Record<Route["screen"], true>> = { bench: true, end: true, gauging: true, due: true, register: true, line: true, cases: true, case: true, trace: true, sweeps: true, study: true, waiting: true, labels: true, drift: true, tools: true, tool: true, item: true, look: true, clean: true, dossier: true, storage: true, kit: true, intake: true, "new-item": true, policy: true, people: true, yours: true, nowhere: true };

export function routeOf(path: string, search = ""): Route {
  const clean = path.length > 1 ? path.replace(/\/+$/, "") : path;
  if (clean === "/" || clean === "") return { screen: "bench" };
  if (clean === "/due") return { screen: "due" };
  if (clean === "/register") return { screen: "register" };
  if (clean === "/line") return { screen: "line" };
  if (clean === "/cases") return { screen: "cases" };
  const id = /^\/case\/(.+)$/.exec(clean)?.[1];
  if (id !== undefined) return read(path, () => ({ screen: "case", id: decodeURIComponent(id) }));
  if (clean === "/trace") return { screen: "trace", search };
  if (clean === "/sweeps") return { screen: "sweeps" };
  if (clean === "/waiting") return { screen: "waiting" };
  if (clean === "/labels") return { screen: "labels" };
  if (clean === "/study") return { screen: "study" };
  if (clean === "/register/bring-in") return { screen: "intake" };
  if (clean === "/register/new") return { screen: "new-item" };
  if (clean === "/policy") return { screen: "policy" };
  if (clean === "/people") return { screen: "people" };
  if (clean === "/your-numbers") return { screen: "yours" };
  if (clean === "/tools") return { screen: "tools" };
  if (clean === "/storage") return { screen: "storage" };
  const [, about, paper] = /^\/dossier\/(end|case)\/(.+)$/.exec(clean) ?? [];
  if (paper !== undefined) return read(path, () => ({ screen: "dossier", about: about as "end" | "case", id: decodeURIComponent(paper) }));
  const [, screen, tag] = /^\/(end|drift|gauge|tool|item|look|clean|kit)\/(.+)$/.exec(clean) ?? [];
  if (tag === undefined) return { screen: "nowhere", path };
  const of = { end: "end", drift: "drift", gauge: "gauging", tool: "tool", item: "item", look: "look", clean: "clean", kit: "kit" } as const;
  return read(path, () => ({ screen: of[screen as keyof typeof of], tag: decodeURIComponent(tag) }));
}

/** A path that is no text shows no screen. */
function read(path: string, route: () => Route): Route {
  try {
    return route();
  } catch {
    return { screen: "nowhere", path };
  }
}

/** Address of the screen of an end. A label may hold anything. The server hands
 * out the page for paths without a dot only, so a dot is written as %2E. */
export function endPath(tag: string): string {
  return `/end/${encodeURIComponent(tag).replaceAll(".", "%2E")}`;
}

/** Address of the screen of a case, by its id or its name. */
export function casePath(case_: string): string {
  return `/case/${encodeURIComponent(case_).replaceAll(".", "%2E")}`;
}

/** Address of the list of cases, with the form for a new one filled in. */
export function newCasePath(asked: Record<string, string>): string {
  return `/cases?${new URLSearchParams(Object.entries(asked).filter(([, value]) => value !== ""))}`;
}

/** Address of the screen of a trace; what is empty is left out. */
export function tracePath(asked: Record<string, string>): string {
  const query = new URLSearchParams(Object.entries(asked).filter(([, value]) => value !== ""));
  return query.size > 0 ? `/trace?${query}` : "/trace";
}

/** Address of the drift of an end. */
export function driftPath(tag: string): string {
  return endPath(tag).replace(/^\/end\//, "/drift/");
}

/** Address of a gauging session of an end. */
export function gaugePath(tag: string): string {
  return endPath(tag).replace("/end/", "/gauge/");
}

/** Address of the screen of a gauge, a master or a wrench. */
export function toolPath(tag: string): string {
  return endPath(tag).replace("/end/", "/tool/");
}

/** Address of the screen of an item. */
export function itemPath(tag: string): string {
  return endPath(tag).replace("/end/", "/item/");
}

/** Address of the screen of a kit. */
export function kitPath(tag: string): string {
  return endPath(tag).replace("/end/", "/kit/");
}

/** Address of a guided look at an end. */
export function lookPath(tag: string): string {
  return endPath(tag).replace("/end/", "/look/");
}

/** Address of a look on the screen of its end. */
export function lookAt(tag: string, fact: string): string {
  return `${endPath(tag)}#look-${fact}`;
}

/** Address of the comparison of a sweep on record. */
export function sweepPath(fact: string): string {
  return `/sweeps?${new URLSearchParams({ sweep: fact })}`;
}

/** Address of the cleaning of an end. */
export function cleanPath(tag: string): string {
  return endPath(tag).replace("/end/", "/clean/");
}

/** Address of what is put on paper about an end or a case. */
export function dossierPath(about: "end" | "case", id: string): string {
  return `/dossier${about === "end" ? endPath(id) : casePath(id)}`;
}

export function go(path: string): void {
  history.pushState(null, "", path);
  dispatchEvent(new PopStateEvent("popstate"));
}

/** Makes plain clicks on the page's own links change the screen without a reload. */
export function followLinks(event: MouseEvent): void {
  if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  const link = event.target instanceof Element ? event.target.closest("a") : null;
  if (!link || link.target || link.hasAttribute("download") || link.origin !== location.origin || link.pathname.startsWith("/api/")) return;
  if (link.hash && link.pathname === location.pathname) return;
  event.preventDefault();
  go(link.pathname + link.search + link.hash);
}
