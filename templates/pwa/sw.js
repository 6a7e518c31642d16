// The service worker. SHELL (cache name, offline page, files, paths) is written above this by config/shell.py.
// Rules: GET from our own origin only. Static files named by their content: from the cache first. Other static files:
// from the network, or else the cache. Navigations: from the network, or else the offline page at the asked address.
// All else, and every form that is sent, goes to the network untouched. No page of the yard is ever stored, so none
// outlives its reader. A newer worker waits until a page tells it to take over (js/update.js): nothing here hurries it.

const HASHED = /\.[0-9a-f]{12}\.\w+$/;
const DRAWN = SHELL.paths.map((path) => new RegExp(path)); // what the offline page can draw from the phone's copy
const PATIENCE_MS = 3000;
const UNREACHED = [502, 503, 504]; // a gateway says that the server behind it gave no answer

self.addEventListener("install", (event) => event.waitUntil(fill()));

self.addEventListener("activate", (event) => {
  event.waitUntil(forgetOlderShells().then(() => self.clients.claim()));
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

// A reminder, as the server sent it. Tapped, it opens Today in a page of its own: in another something may be half typed.
self.addEventListener("push", (event) => {
  const { title, ...shown } = event.data.json();
  event.waitUntil(self.registration.showNotification(title, shown));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow("/"));
});

self.addEventListener("fetch", (event) => {
  const request = event.request;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(event, url));
  else if (url.pathname.startsWith(SHELL.static)) event.respondWith(file(request, url));
});

// addAll fails as a whole when one file is missing: a half-filled shell would only show when offline. The page goes in
// last, so that its being there says that all is.
async function fill() {
  const page = await fetch(SHELL.offline, { cache: "reload" });
  const same = page.ok && !page.redirected && page.headers.get("X-Drystack-Shell") === SHELL.cache;
  if (!same) throw new Error("The offline page is of another version than this worker.");
  const cache = await caches.open(SHELL.cache);
  await cache.addAll(SHELL.files);
  await cache.put(SHELL.offline, page);
}

async function page(event, url) {
  const patience = DRAWN.some((path) => path.test(url.pathname)) ? PATIENCE_MS : Infinity;
  try {
    const answer = await within(patience, fetch(event.request));
    if (!UNREACHED.includes(answer.status)) {
      event.waitUntil(mend());
      return answer;
    }
  } catch {
    // no reception, or too little of it
  }
  return (await kept(SHELL.offline)) ?? barePage();
}

async function file(request, url) {
  const own = await kept(request);
  if (own && HASHED.test(url.pathname)) return own;
  return fetch(request).catch(() => own ?? Response.error());
}

// A browser short of room may have thrown the shell away.
async function mend() {
  if (!(await kept(SHELL.offline))) await fill().catch(() => {}); // tried again with the next page
}

async function kept(request) {
  const cache = await caches.open(SHELL.cache);
  return cache.match(request, { ignoreVary: true });
}

function barePage() {
  const headers = { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": "default-src 'none'" };
  return new Response(SHELL.bare, { status: 503, headers });
}

function within(milliseconds, answer) {
  if (milliseconds === Infinity) return answer;
  const late = new Promise((_, reject) => setTimeout(reject, milliseconds, new Error("late")));
  return Promise.race([answer, late]);
}

async function forgetOlderShells() {
  const names = await caches.keys();
  const older = names.filter((name) => name.startsWith("drystack-shell-") && name !== SHELL.cache);
  return Promise.all(older.map((name) => caches.delete(name)));
}
