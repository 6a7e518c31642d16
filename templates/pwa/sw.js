// The service worker. SHELL (cache name, offline page, files) is written above this by config/pwa.py.
// Rules: GET from our own origin only. Static files named by their content: from the cache first. Other static files:
// from the network, or else the cache. Navigations: from the network, or else the offline page. All else, and every
// form that is sent, goes to the network untouched. No page of the yard is ever stored, so none outlives its reader.

const HASHED = /\.[0-9a-f]{12}\.\w+$/;

self.addEventListener("install", (event) => {
  // addAll fails as a whole when one file is missing: a half-filled shell would only show when offline.
  event.waitUntil(caches.open(SHELL.cache).then((cache) => cache.addAll([SHELL.offline, ...SHELL.files])));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(forgetOlderShells().then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const request = event.request;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (url.pathname.startsWith(SHELL.static)) event.respondWith(file(request, url));
});

async function page(request) {
  try {
    return await fetch(request);
  } catch {
    return (await fromShell(SHELL.offline)) ?? Response.error();
  }
}

async function file(request, url) {
  const kept = await fromShell(request);
  if (kept && HASHED.test(url.pathname)) return kept;
  try {
    return await keep(request, url, await fetch(request));
  } catch {
    return kept ?? Response.error();
  }
}

async function keep(request, url, response) {
  const storable = response.ok && !response.redirected && response.type === "basic";
  if (storable && HASHED.test(url.pathname)) {
    const cache = await caches.open(SHELL.cache);
    await cache.put(request, response.clone());
  }
  return response;
}

async function fromShell(request) {
  const cache = await caches.open(SHELL.cache);
  return cache.match(request);
}

async function forgetOlderShells() {
  const names = await caches.keys();
  const older = names.filter((name) => name.startsWith("drystack-shell-") && name !== SHELL.cache);
  return Promise.all(older.map((name) => caches.delete(name)));
}
