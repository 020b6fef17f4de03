// Keeps the last seen pages of the day and of batches, so that they open while the server is away. Nothing is answered
// from here while the server answers, and nothing is entered from here.
"use strict";
const PAGES = "fallrate-pages";
const kept = (path) => path === "/" || /^\/batches\/[^/]+$/.test(path);

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  const fixed = url.pathname.startsWith("/static/");
  if (!fixed && !(event.request.mode === "navigate" && kept(url.pathname))) return;
  event.respondWith((async () => {
    const pages = await caches.open(PAGES);
    if (fixed) {
      const known = await pages.match(event.request);
      if (known) return known;
    }
    try {
      const answer = await fetch(event.request);
      if (answer.ok && !answer.redirected) await pages.put(event.request, answer.clone());
      return answer;
    } catch (error) {
      const known = await pages.match(event.request);
      if (known) return known;
      throw error;
    }
  })());
});
