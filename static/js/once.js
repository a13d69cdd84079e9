// A form pressed twice in one breath is sent once; after a while, or coming back to the page, it may be sent again.

const BREATH = 5000; // milliseconds
let sent = new WeakSet();

addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return;
  if (sent.has(form)) {
    event.preventDefault();
    return;
  }
  sent.add(form);
  setTimeout(() => sent.delete(form), BREATH);
});
addEventListener("pageshow", () => { sent = new WeakSet(); });
