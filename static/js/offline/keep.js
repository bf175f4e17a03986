// On every page of a signed-in person: the service worker is registered, and what they may need without a network is
// fetched now and then. Whatever another person left on this phone goes first.
import { outbox } from "../outbox/page.js";
import { forget, get, kept, put, remove, tidy } from "./kept.js";

const AGAIN = 10 * 60 * 1000; // milliseconds after which it is fetched anew
const place = document.querySelector("script[data-worker]").dataset;
const person = document.getElementById("outbox")?.dataset.person;

async function forgetOthers() {
  const found = await kept();
  if (found && found.person !== person) await forget();
}

async function refresh() {
  if (outbox) await tidy(await outbox.pending());
  const found = await kept();
  const isFresh = found?.person === person && Date.now() - found.at < AGAIN && new Date(found.at).getDate() === new Date().getDate();
  if (isFresh && !(await get("changed"))) return;
  const forms = await get("forms");
  const answer = await fetch(`${place.day}?forms=${forms ? forms.version : ""}`, { redirect: "manual" });
  if (!answer.ok) return;
  const { forms: newer, ...day } = await answer.json();
  if (day.person !== person) return;
  if (newer.blanks) await put("forms", newer);
  const ahead = Date.now() - Date.parse(answer.headers.get("Date")); // milliseconds of this phone's clock
  await put("day", { ...day, ahead, at: Date.now() });
  await remove("changed");
}

// What was sent from here changes the day: the next page fetches it anew.
outbox?.onchange(({ settled, answer }) => { if (settled || answer?.isSent) put("changed", true).catch(() => {}); });

function start() {
  navigator.serviceWorker?.register(place.worker, { scope: "/" }).catch(() => {});
  (window.requestIdleCallback || setTimeout)(() => isOwn.then(refresh).catch(() => {}));
}

// On the page that signs out nothing is fetched: sign_out.js forgets what is kept.
const isLeaving = Boolean(document.getElementById("sign-out"));

// At once what another person left; the rest when the page itself is there: on a slow network it would be in its way.
const isOwn = person && forgetOthers().catch(() => {});
if (person && !isLeaving) {
  if (document.readyState === "complete") start();
  else window.addEventListener("load", start);
}
