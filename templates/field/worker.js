// Keeps the phone's page on the phone. Nothing of an incident goes through here: what is
// asked of the link, and what is sent to it, is neither kept nor answered from the cache.
const CACHE = "worksheet-{{ version }}";
const ADDRESSES = {{ addresses }};
const SHELL = ADDRESSES[0];
const PATIENCE = 4000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE)
    .then((cache) => cache.addAll(ADDRESSES.map((url) => new Request(url, { cache: "reload" }))))
    .then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys()
    .then((names) => Promise.all(names.filter((name) => name !== CACHE).map((name) => caches.delete(name))))
    .then(() => self.clients.claim()));
});

// A page that is new on the post is taken by the next worker; until then all of one piece.
async function page(request) {
  const kept = await caches.match(SHELL, { cacheName: CACHE });
  if (kept) return kept;
  return fetch(request, { signal: AbortSignal.timeout(PATIENCE) });
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && url.pathname === SHELL) event.respondWith(page(request));
  else if (ADDRESSES.includes(url.pathname)) {
    event.respondWith(caches.match(request, { cacheName: CACHE, ignoreSearch: true }).then((kept) => kept ?? fetch(request)));
  }
});
