// Keeps what a thumb said while there is no signal, and sends it, in order, once there is.

const SHELF = "taps";
const PATIENCE = 8000; // milliseconds: one bar of signal often means none
const AGAIN = 20000; // milliseconds: a phone with one bar never says that it is online again

const kept = () => JSON.parse(localStorage.getItem(SHELF) || "[]");
const keep = (taps) => localStorage.setItem(SHELF, JSON.stringify(taps));

function said(words) {
  const line = document.createElement("p");
  line.className = "said";
  line.textContent = words;
  return line;
}

const say = (words) => document.getElementById("said").replaceChildren(said(words));

function tellWaiting() {
  const taps = kept();
  if (taps.length) say(`${document.getElementById("said").dataset.waiting} ${taps.map((tap) => tap.what).join(", ")}.`);
}

async function post(tap) {
  const body = new URLSearchParams(tap.fields);
  const token = document.querySelector("[name=csrfmiddlewaretoken]");
  if (token) body.set("csrfmiddlewaretoken", token.value);
  return fetch(tap.to, { method: "POST", body, redirect: "manual", signal: AbortSignal.timeout(PATIENCE) });
}

// What was kept is answered by leading back to the page, which then says so: followed here, it would say it to nobody.
const isKept = (answer) => answer.type === "opaqueredirect";

// Shows what the server answered where it refused something: its sentence stands beside the work, with what was typed.
function show(main) {
  document.getElementById("main").replaceWith(main);
  document.querySelector("[role=alert]")?.scrollIntoView({ block: "center" });
}

async function refusal(answer) {
  if (answer.status < 400 || answer.status >= 500) return null;
  return new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("main");
}

// Words that are being typed and have not been sent outlive what was sent before them.
function isTyping() {
  const fields = document.querySelectorAll("#main form:not([data-sent]) :is(input:not([type=hidden]), select)");
  return [...fields].some((field) => field.value);
}

function tellSent() {
  if (!isTyping()) return location.reload();
  for (const line of document.querySelectorAll("#said, form[data-sent] .said")) line.textContent = document.getElementById("said").dataset.sent;
}

let sending = false;
let later;

async function send() {
  if (sending) return;
  sending = true;
  clearTimeout(later);
  let sent = false;
  try {
    for (let taps = kept(); taps.length; taps = kept()) {
      const answer = await post(taps[0]);
      const refused = isKept(answer) ? null : await refusal(answer);
      if (!isKept(answer) && !refused) break;
      keep(kept().slice(1));
      sent = true;
      if (refused) {
        show(refused);
        return;
      }
    }
    if (sent && !kept().length) tellSent();
  } catch {
    tellWaiting();
  } finally {
    sending = false;
    if (kept().length) later = setTimeout(send, AGAIN);
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
  form.dataset.sent = "";
  for (const button of form.querySelectorAll("button")) button.disabled = true;
  form.append(said(document.getElementById("said").dataset.here));
  tellWaiting();
  send();
});

addEventListener("online", send);
if (kept().length) send();
navigator.serviceWorker?.register("/crew/worker.js", { scope: "/crew/" }).catch(() => undefined);
