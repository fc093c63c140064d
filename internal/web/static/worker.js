// Keeps the pages that are needed where there is no network, on HTTPS alone: what Pinset answers comes first, what was kept
// stands in for it. Entries are not its business: keep.js has them. It is served at /worker.js, so that it sees every page.
"use strict";
const pages = "pinset-pages", files = "pinset-files";
const mostPages = 200, mostFiles = 60;
const patience = 4000; // ms for an answer, if something is kept to stand in for it
const fresh = 120000; // ms for which a page that was asked for ahead is not asked for again
const needed = [
  /^\/$/, /^\/(rounds|shelf|scan|find|trust)$/, /^\/(batches|shelves)\/[^/]+\/rounds$/, /^\/[jJ]\/[^/]+$/,
  /^\/batches\/[^/]+(\/(weigh|inoculate|bench|list\/[a-z]+))?$/, /^\/cooks\/[^/]+(\/list)?$/,
];
const anyQuery = /\/(rounds|weigh|inoculate)$/; // the query says where one was, not what is shown
const stale = new Map(); // by client: when the page that stands in was fetched

const trim = async (cache, most) => {
  const all = await cache.keys();
  for (const old of all.slice(0, Math.max(0, all.length - most))) await cache.delete(old);
};

// fileOf answers for a file with a checksum in its address, which never changes.
const fileOf = async (request) => {
  const cache = await caches.open(files);
  const had = await cache.match(request);
  if (had) return had;
  const answer = await fetch(request);
  if (answer.ok) { await cache.put(request, answer.clone()); await trim(cache, mostFiles); }
  return answer;
};

// keep puts a page and the files that it names beside the others, the newest last.
const keep = async (url, answer) => {
  if (!answer.ok || answer.redirected || !(answer.headers.get("Content-Type") || "").startsWith("text/html")) return;
  const cache = await caches.open(pages);
  const named = [...(await answer.clone().text()).matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)];
  await Promise.all(named.map((m) => fileOf(m[1])));
  await cache.delete(url);
  await cache.put(url, answer);
  await trim(cache, mostPages);
};

const keptOf = async (url) => {
  const cache = await caches.open(pages);
  return await cache.match(url) || (anyQuery.test(new URL(url).pathname) ? await cache.match(url, { ignoreSearch: true }) : undefined);
};

const pageOf = async (event) => {
  const url = event.request.url;
  const answered = fetch(event.request).then((answer) => {
    event.waitUntil(keep(url, answer.clone()).catch(() => {})); // a full phone keeps no more, and shows the page all the same
    return answer;
  });
  const had = await keptOf(url);
  if (!had) return answered.catch(() => caches.match("/away"));
  const late = new Promise((resolve) => setTimeout(resolve, patience));
  const answer = await Promise.race([answered.catch(() => undefined), late]);
  if (answer) return answer;
  answered.catch(() => {});
  stale.set(event.resultingClientId, had.headers.get("Date"));
  return had;
};

self.addEventListener("install", (event) => {
  event.waitUntil(fetch("/away").then((answer) => keep(new URL("/away", location).href, answer)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// Another person, or nobody, is let in from here on: what the last one saw is forgotten.
const atDoor = (event, path) => event.request.mode === "navigate" && (path === "/login" || event.request.method === "POST" && (path === "/logout" || path === "/pair"));
const forget = async () => {
  const cache = await caches.open(pages);
  for (const request of await cache.keys()) if (new URL(request.url).pathname !== "/away") await cache.delete(request);
};

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (atDoor(event, url.pathname)) event.waitUntil(fetch("/healthz").then(forget, () => {})); // not where the door can not be reached
  if (event.request.method !== "GET") return;
  if (url.pathname.startsWith("/static/")) event.respondWith(fileOf(event.request));
  else if (event.request.mode !== "navigate") return;
  else if (needed.some((n) => n.test(url.pathname))) event.respondWith(pageOf(event));
  else event.respondWith(fetch(event.request).catch(() => caches.match("/away")));
});

const ahead = async (paths) => {
  for (const path of paths) {
    const url = new URL(path, location).href;
    const had = await (await caches.open(pages)).match(url);
    if (had && Date.now() - Date.parse(had.headers.get("Date")) < fresh) continue;
    const answer = await fetch(url, { headers: { Accept: "text/html" } });
    await keep(url, answer);
  }
};

self.addEventListener("message", (event) => {
  const { keep: paths, since } = event.data;
  if (paths) event.waitUntil(ahead(paths).catch(() => {}).then(() => event.source.postMessage({ keptAhead: paths.length })));
  if (since) event.source.postMessage({ since: stale.get(event.source.id) || "" });
});
