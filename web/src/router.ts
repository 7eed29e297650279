// Which screen does an address show? History API, no library.

export type Route =
  | { screen: "bench" }
  | { screen: "end"; tag: string }
  | { screen: "gauging"; tag: string }
  | { screen: "due" }
  | { screen: "register" }
  | { screen: "line" }
  | { screen: "nowhere"; path: string };

export function routeOf(path: string): Route {
  const clean = path.length > 1 ? path.replace(/\/+$/, "") : path;
  if (clean === "/" || clean === "") return { screen: "bench" };
  if (clean === "/due") return { screen: "due" };
  if (clean === "/register") return { screen: "register" };
  if (clean === "/line") return { screen: "line" };
  const [, place, tag] = /^\/(end|gauge)\/(.+)$/.exec(clean) ?? [];
  if (tag === undefined) return { screen: "nowhere", path };
  try {
    return { screen: place === "gauge" ? "gauging" : "end", tag: decodeURIComponent(tag) };
  } catch {
    return { screen: "nowhere", path };
  }
}

/** Address of the screen of an end. A label may hold anything. The server hands
 * out the page for paths without a dot only, so a dot is written as %2E. */
export function endPath(tag: string): string {
  return `/end/${encodeURIComponent(tag).replaceAll(".", "%2E")}`;
}

/** Address of a gauging session of an end. */
export function gaugePath(tag: string): string {
  return endPath(tag).replace("/end/", "/gauge/");
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
  go(link.pathname + link.search);
}
