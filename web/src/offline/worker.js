// The service worker: the page opens when the server does not answer.
// The build writes FILES and VERSION above these lines. Answers of the API are
// never kept here: the page keeps what it last saw, with its age.

const KEEP = `matewell-page-${VERSION}`;
/** How long the server may take to hand out the page before the kept one is shown. */
const PATIENCE_MS = 2500;

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(KEEP)
      .then((cache) => cache.addAll(FILES))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((name) => name.startsWith("matewell-page-") && name !== KEEP).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin || url.pathname.startsWith("/api/")) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (FILES.includes(url.pathname)) event.respondWith(file(request));
});

/** The server's page when it answers in time, else the kept one. */
async function page(request) {
  const cache = await caches.open(KEEP);
  const kept = await cache.match("/");
  if (kept === undefined) return fetch(request);
  const late = new Promise((done) => setTimeout(() => done(undefined), PATIENCE_MS));
  const answer = await Promise.race([fetch(request).catch(() => undefined), late]);
  return answer === undefined || answer.status >= 500 ? kept : answer;
}

/** Files carry a hash in their name or come with this version: the kept one is the right one. */
async function file(request) {
  const cache = await caches.open(KEEP);
  return (await cache.match(request, { ignoreSearch: true })) ?? fetch(request);
}
