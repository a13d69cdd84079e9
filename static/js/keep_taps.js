// Keeps what a thumb said while there is no signal, and sends it, in order, once there is.

const SHELF = "taps";
const PATIENCE = 8000; // milliseconds: one bar of signal often means none

const kept = () => JSON.parse(localStorage.getItem(SHELF) || "[]");
const keep = (taps) => localStorage.setItem(SHELF, JSON.stringify(taps));

function say(words) {
  const line = document.createElement("p");
  line.className = "said";
  line.textContent = words;
  document.getElementById("said").replaceChildren(line);
}

function tellWaiting() {
  const taps = kept();
  if (taps.length) say(`${document.getElementById("said").dataset.waiting} ${taps.map((tap) => tap.what).join(", ")}.`);
}

async function post(tap) {
  const body = new URLSearchParams(tap.fields);
  const token = document.querySelector("[name=csrfmiddlewaretoken]");
  if (token) body.set("csrfmiddlewaretoken", token.value);
  return fetch(tap.to, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
}

// Shows what the server answered where it refused something: its sentence stands beside the work.
async function show(answer) {
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  document.getElementById("main").replaceWith(page.getElementById("main"));
  document.querySelector("[role=alert]")?.scrollIntoView({ block: "center" });
}

let sending = false;

async function send() {
  if (sending) return;
  sending = true;
  let sent = false;
  try {
    for (let taps = kept(); taps.length; taps = kept()) {
      const answer = await post(taps[0]);
      if (answer.status >= 500) break;
      keep(kept().slice(1));
      sent = true;
      if (!answer.ok) {
        await show(answer);
        return;
      }
    }
    if (sent && !kept().length) location.reload();
  } catch {
    tellWaiting();
  } finally {
    sending = false;
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.keep) return;
  event.preventDefault();
  const fields = new FormData(form, event.submitter);
  fields.set("at", new Date().toISOString());
  const what = event.submitter?.value ? `${form.dataset.keep}, ${event.submitter.textContent.toLowerCase()}` : form.dataset.keep;
  keep([...kept(), { to: form.action, fields: [...fields], what }]);
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  tellWaiting();
  send();
});

addEventListener("online", send);
if (kept().length) send();
navigator.serviceWorker?.register("/crew/worker.js", { scope: "/crew/" }).catch(() => undefined);
