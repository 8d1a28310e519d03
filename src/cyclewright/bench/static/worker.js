// Answers for the bench when the network is gone: its own files, and one page that shows what
// this browser has kept. Pages of the record are never stored here.
"use strict";

const SHELF = "bench";
const FILES = [
  "/offline",
  "/static/bench.css",
  "/static/drawing.css",
  "/static/bench.js",
  "/static/carry.js",
  "/static/dock.js",
  "/static/dom.js",
  "/static/forms.js",
  "/static/keep.js",
  "/static/known.js",
  "/static/live.js",
  "/static/net.js",
  "/static/pocket.js",
  "/static/queue.js",
  "/static/shelf.js",
  "/static/mark.svg",
  "/static/vendor/htmx.min.js",
  "/static/fonts/SourceSans3-Regular.woff2",
  "/static/fonts/SourceSans3-Semibold.woff2",
  "/static/fonts/SourceSans3-Bold.woff2",
];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(SHELF)
      .then((shelf) => shelf.addAll(FILES))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (/\.\w+$/.test(address.pathname)) return;
    event.respondWith(fetch(request).catch(() => kept("/offline")));
  } else if (address.pathname.startsWith("/static/") && request.cache !== "no-store") {
    event.respondWith(newest(request, plain(address.pathname)));
  }
});

// Pages ask for files under the version that they belong to; kept is one of each.
function plain(path) {
  return path.replace(/^\/static\/[0-9a-f]{12}\//, "/static/");
}

async function renew(path, answer) {
  const shelf = await caches.open(SHELF);
  const old = await shelf.match(path);
  if (old?.headers.get("etag") !== answer.headers.get("etag")) await shelf.put(path, answer.clone());
}

async function kept(path) {
  const shelf = await caches.open(SHELF);
  return (await shelf.match(path)) ?? Response.error();
}

// The network first, so that a new version of the bench is never mixed with an old one.
async function newest(request, path) {
  try {
    const answer = await fetch(request);
    if (answer.ok) await renew(path, answer);
    return answer;
  } catch {
    return kept(path);
  }
}
