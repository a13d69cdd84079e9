{% load static %}// Keeps the crew's page for when there is no signal: the network first, else what was seen last.
const SHELF = "crew-page";
const PAGE = "{% url "crew-page" %}";
const PARTS = [
  "{% static "css/tokens.css" %}", "{% static "css/base.css" %}", "{% static "css/layout.css" %}",
  "{% static "css/parts/things.css" %}", "{% static "css/parts/crew_page.css" %}", "{% static "js/keep_taps.js" %}",
];

self.addEventListener("install", (event) => {
  // The page, too: it was opened before there was a worker, and the next look may be without a signal.
  event.waitUntil(caches.open(SHELF).then((shelf) => shelf.addAll([PAGE, ...PARTS])));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const page = request.mode === "navigate";
  event.respondWith(
    fetch(request)
      .then(async (answer) => {
        if (page && answer.ok && new URL(answer.url).pathname === PAGE) {
          (await caches.open(SHELF)).put(PAGE, answer.clone());
        }
        return answer;
      })
      .catch(() => caches.match(page ? PAGE : request).then((kept) => kept || Response.error())),
  );
});
