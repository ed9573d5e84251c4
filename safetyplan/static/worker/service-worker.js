/**
 * The service worker. Served by the establishment's own address with its version, the kept page and the
 * kept files set before this text (records/offline/worker.py).
 *
 * It keeps one page and the files it needs, gives that page where a page cannot be fetched, leaves a form that
 * cannot be sent on the screen, and sends what waits when the browser wakes it. A new version waits until no page of the old one is open, or until a
 * person says so: it never takes a page away from under what is half typed.
 */

const CACHE = `kept-${KEPT_PAGE}-${VERSION}`;
const OURS = `kept-${KEPT_PAGE}-`;
const PATIENCE = 8000;
const ON_DEVICE = /\/(today|device)\/$|\/checks\/[^/]+\/$|\/events\/[^/]+\/$/;
const FAULTY = [502, 503, 504];

/** Pages that were given from the kept ones: their files come from the same version, at once. */
const keptClients = new Set();

async function keepAll() {
  const cache = await caches.open(CACHE);
  const fetched = await Promise.all([KEPT_PAGE, ...FILES].map(async (url) => {
    const answer = await fetch(url, { cache: "reload", credentials: "same-origin", redirect: "error" });
    // A portal or a sign-in page must never be kept in place of ours.
    if (!answer.ok || (url === KEPT_PAGE && answer.headers.get("X-Kept-Page") !== "1")) throw new Error(url);
    return [url, answer];
  }));
  await Promise.all(fetched.map(([url, answer]) => cache.put(url, answer)));
}

self.addEventListener("install", (event) => event.waitUntil(keepAll()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith(OURS) && name !== CACHE) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("message", ({ data }) => { if (data === "use-now") self.skipWaiting(); });

async function kept(url, fallback) {
  const cache = await caches.open(CACHE);
  return (await cache.match(url, { ignoreSearch: true })) ?? fallback;
}

async function keptPage(event) {
  const page = await kept(KEPT_PAGE, Response.error());
  if (event.resultingClientId) keptClients.add(event.resultingClientId);
  return page;
}

async function navigated(event) {
  const onDevice = ON_DEVICE.test(new URL(event.request.url).pathname);
  const late = new Promise((resolve, reject) => { if (onDevice) setTimeout(() => reject(new Error("late")), PATIENCE); });
  try {
    const answer = await Promise.race([fetch(event.request), late]);
    return onDevice && FAULTY.includes(answer.status) ? await keptPage(event) : answer;
  } catch {
    return keptPage(event);
  }
}

/** A form that cannot be sent: no answer to show, so the page stays as it is with what was typed, and is told. */
async function sendForm(event) {
  try {
    return await fetch(event.request);
  } catch {
    for (const page of await self.clients.matchAll({ type: "window" })) page.postMessage("form-not-sent");
    return new Response(null, { status: 204 });
  }
}

async function file(event) {
  const { pathname } = new URL(event.request.url);
  if (keptClients.has(event.clientId)) return (await kept(pathname)) ?? fetch(event.request);
  try {
    return await fetch(event.request);
  } catch (error) {
    const found = await kept(pathname);
    if (found) return found;
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  if (new URL(url).origin !== self.location.origin) return;
  if (method === "POST" && mode === "navigate") event.respondWith(sendForm(event));
  if (method !== "GET") return;
  if (mode === "navigate") event.respondWith(navigated(event));
  else if (FILES.includes(new URL(url).pathname)) event.respondWith(file(event));
});

/** Background Sync, where there is one: an open page sends; without a page the worker does. */
self.addEventListener("sync", (event) => {
  if (event.tag === "outbox" && sendAll) event.waitUntil(sendAll());
});
