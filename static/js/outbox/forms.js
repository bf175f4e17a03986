// Forms that go by way of the outbox: `data-outbox` says so, `data-kind` what they are, `data-words` what a list says.
import { make } from "./parts.js";

const SOON = 15000; // ms in which a person still waits for the answer to a tap

export function take(outbox, strip) {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!("outbox" in form.dataset) || form.dataset.plainly) return;
    event.preventDefault();
    event.stopImmediatePropagation(); // htmx would send it, too
    keep(outbox, strip, form, event.submitter);
  }, true);
}

async function keep(outbox, strip, form, submitter) {
  try {
    const entry = await outbox.put(entryOf(form, submitter));
    form.dispatchEvent(new CustomEvent("kept", { bubbles: true, detail: { entry, submitter } }));
    follow(outbox, strip, form, entry);
  } catch (error) {
    refused(strip, form, submitter, error);
  }
}

// The form as it would be sent.
export function entryOf(form, submitter) {
  const fields = [...new FormData(form, submitter)].filter(([name]) => name !== "csrfmiddlewaretoken" && name !== "outbox_key");
  const { kind, words, page, root } = form.dataset;
  const address = new URL(form.getAttribute("action") || location.href, location.href);
  const path = address.pathname + address.search;
  return {
    address: path,
    root: root || address.pathname,
    page: page === undefined ? path : page,
    fields: fields.map(([name, value]) => [name, String(value)]),
    kind,
    words,
    replaces: form.elements.namedItem("outbox_key")?.value || "",
  };
}

// Once it is sent, show where it led; what is refused at once is shown on its own page.
export function follow(outbox, strip, form, entry) {
  const since = Date.now();
  // A log that was changed once more before it was sent waits under another key: it is the same page.
  const isOurs = ({ key, page }) => key === entry.key || (form.dataset.page && page === entry.page);
  outbox.onchange(async ({ answer, ...news }) => {
    if (!answer || !isOurs(news)) return;
    if (answer.isSent) arrive(outbox, strip, { ...entry, part: form.dataset.part }, answer.to, Date.now() - since < SOON);
    else if (Date.now() - since < SOON) sendPlainly(outbox, (await outbox.store.all()).find(({ key }) => key === news.key) || entry);
  });
  outbox.send();
}

function arrive(outbox, strip, { part, root }, to, isSoon) {
  if (part && document.getElementById(part)) renew(outbox, strip, part, root, to);
  else if (isSoon) go(to);
  else strip.say("Sent.", to);
}

let going = null; // the page that was asked for last

// To a page, also where only what stands behind # differs: that alone would load nothing. Answers to two saves of one
// page may come together: loaded a second time, it would lack the message that it shows once.
function go(to) {
  const there = new URL(to, location.href);
  if (going?.to === there.href && Date.now() - going.at < SOON) return;
  going = { to: there.href, at: Date.now() };
  const isHere = there.pathname + there.search === location.pathname + location.search;
  location.assign(there);
  if (isHere) location.reload();
}

// The part of the page that the form changed, as it is now, and what the server says of it; unless more of it waits.
async function renew(outbox, strip, part, root, to) {
  const waits = async () => (await outbox.pending()).some((entry) => entry.root === root);
  if (await waits()) return;
  const answer = await fetch(to, { redirect: "manual", cache: "no-store" }).catch(() => null);
  if (!answer?.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const [old, fresh] = [document, page].map((whole) => whole.getElementById(part));
  if (old && fresh && !(await waits())) {
    old.replaceWith(fresh);
    window.htmx?.process(fresh);
    fresh.querySelector("[autofocus]")?.focus({ preventScroll: true });
  }
  const said = [...page.querySelectorAll(".messages .message")].map((message) => message.textContent.trim());
  strip.say(["Sent.", ...said].join(" "));
}

// Send an entry as a form of its own, to see the page that it is answered with.
export async function sendPlainly(outbox, entry) {
  const { token } = await outbox.token();
  if (!token) return outbox.send();
  const form = make("form", { method: "post", action: entry.address, hidden: "" });
  const fields = [...entry.fields, ["outbox_key", entry.key], ["csrfmiddlewaretoken", token]];
  for (const [name, value] of fields) {
    form.append(make("input", { type: "hidden", name, value }));
  }
  document.body.append(form);
  form.submit();
}

// A phone that is full, or keeps nothing: the form is sent as if there were no outbox, and can be saved as a file.
function refused(strip, form, submitter, error) {
  strip.refuse(error, entryOf(form, submitter));
  if (navigator.onLine) setTimeout(submitPlainly, 0, form, submitter); // while a form is being submitted, it takes no other press
}

function submitPlainly(form, submitter) {
  form.dataset.plainly = "yes";
  form.requestSubmit(submitter);
  delete form.dataset.plainly;
}
