// Sends what waits, in its turn, and forgets an entry only once the server has named its key.
import { bodyOf, isWhole } from "./files.js";

const PATIENCE = 20000; // ms until an answer is no longer waited for
const PATIENCE_WITH_FILES = 90000;

export const REASONS = {
  offline: "no connection",
  out: "you are signed out",
  other: "somebody else is signed in",
  busy: "the server cannot save just now",
  much: "a lot was sent at once, wait a minute",
};

// Send every entry that may be sent; `told(entry, answer)` hears of each answer. The reason why some still wait, or "".
// What was refused before is sent again only if `again`, and so is what it holds up.
export async function sendAll(store, { person, who, again, told }) {
  const tried = new Set();
  let token = null;
  let reason = "";
  for (;;) {
    const entry = nextOf(await store.all(), { tried, again, held: await heldPages() });
    if (!entry) return reason;
    tried.add(entry.key);
    token ||= await askWho(who, person);
    if (token.reason) return token.reason;
    const answer = await send(entry, person, token.token);
    if (answer.reason && answer.status !== 500) return answer.reason;
    if (answer.reason) { // the server fails at this one alone: others are not held up
      reason = answer.reason;
      continue;
    }
    if (answer.isSent) await store.remove(entry);
    else await store.change(entry, { problem: answer.problem });
    told(entry, answer);
    if (answer.status === 403) token = null; // another sign-in may have made a new one
  }
}

function nextOf(entries, { tried, again, held }) {
  return entries.find((entry, at) => {
    const isRefused = entry.problem && !again;
    return !tried.has(entry.key) && !isRefused && !held.has(entry.page) && !isHeldUp(entry, entries.slice(0, at));
  });
}

// An entry waits for every earlier one of what it belongs to; of its own address, until that one was answered.
export function isHeldUp(entry, earlier) {
  return earlier.some((other) => entry.address.startsWith(other.root) && !(other.problem && path(other) === path(entry)));
}

function path({ address }) {
  return address.split("?")[0];
}

// Pages that are open and send for themselves hold a lock of their name; the browser frees it when they are gone.
export async function heldPages() {
  const { held } = await navigator.locks.query();
  return new Set(held.filter(({ name }) => name.startsWith("page-")).map(({ name }) => name.slice("page-".length)));
}

// A token for forms, if this person is signed in; a redirect to a page to sign in is no answer.
export async function askWho(who, person) {
  const answer = await ask(who, {});
  if (!answer) return { reason: "offline" };
  if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) return { reason: "out" };
  const found = answer.ok ? await answer.json().catch(() => null) : null;
  if (!found?.token) return { reason: "busy" };
  return found.person === person ? found : { reason: "other" };
}

async function send(entry, person, token) {
  if (!(await isWhole(entry))) return { status: 0, problem: { status: 0, words: "" } };
  const options = { method: "POST", body: bodyOf(entry), headers: headersOf(entry, person, token) };
  const answer = await ask(entry.address, options, entry.files.length ? PATIENCE_WITH_FILES : PATIENCE);
  return answer ? read(answer, entry) : { reason: "offline" };
}

// What tells the server which entry it is, whose, and how long it waited.
export function headersOf(entry, person, token) {
  return {
    "X-CSRFToken": token,
    "Outbox-Key": entry.key,
    "Outbox-Person": person,
    "Outbox-Age": String(Math.max(0, Math.round((Date.now() - entry.made) / 1000))),
  };
}

// What an answer means. Only one that names the key says that the form was saved.
async function read(answer, entry) {
  const { status } = answer;
  if (status === 401 || answer.type === "opaqueredirect") return { reason: "out" };
  if (status === 429) return { reason: "much" };
  if (status < 400) {
    const found = await answer.json().catch(() => null);
    return found?.key === entry.key ? { isSent: true, status, to: found.to } : { reason: "busy" };
  }
  if (status >= 500) return { reason: "busy", status };
  return { status, problem: { status, words: await wordsOf(answer) } };
}

// What the page of a refusal says is wrong.
async function wordsOf(answer) {
  const page = new DOMParser().parseFromString(await answer.text().catch(() => ""), "text/html");
  const said = [...page.querySelectorAll(".problems li, .problems > p, .message.error, .refusal")].map((part) => part.textContent.trim());
  return [...new Set(said)].join(" ").slice(0, 600);
}

function ask(address, options, patience = PATIENCE) {
  const signal = AbortSignal.timeout(patience);
  return fetch(address, { credentials: "same-origin", redirect: "manual", cache: "no-store", signal, ...options }).catch(() => null);
}
