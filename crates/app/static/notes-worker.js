// Shows a roll's page and its note page as they were last seen while the program cannot be reached. Whatever the program
// answers goes before that; nothing is sent from here, and nothing is kept but what notes.js put by.

const PAGES = "spoolwright-rolls";
// So long the program may take before the kept page is shown, in milliseconds.
const PATIENCE_MS = 8000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

const answer = async (request) => {
  const late = new Promise((_, give) => setTimeout(() => give(new Error("no answer")), PATIENCE_MS));
  const asked = fetch(request);
  asked.catch(() => {});
  try {
    return await Promise.race([asked, late]);
  } catch {
    const kept = await caches.open(PAGES);
    return (await kept.match(request, { ignoreSearch: true })) ?? asked;
  }
};

self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  if (method !== "GET" || new URL(url).origin !== self.location.origin) return;
  event.respondWith(answer(event.request));
});
