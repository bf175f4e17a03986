// Keeps the log on this phone while it is typed. The open page sends it itself, as it always did, and holds a lock as
// long as it is open; once it is gone, or the log is finished, it goes by way of the outbox.
import { outbox, strip } from "./outbox/page.js";
import { REASONS } from "./outbox/outbox.js";
import { entryOf, follow } from "./outbox/forms.js";

const log = document.getElementById("log");
const saved = document.getElementById("saved");
const value = (name) => log.elements.namedItem(name).value;
const RETRY = 10000; // ms
const AGAIN = "What you typed is still here, saved on this phone, and is sent as soon as it can be.";

let finishing = null; // the button that finishes or saves, from its press to the answer
let free = null; // lets the lock go
let held = null;
let failed = false; // whether the last save found no answer
let typed = false; // since the last answer
let keeping = null;
let again = false;

if (outbox && log.hasAttribute("hx-post")) start();

function start() {
  saved.dataset.again = AGAIN;
  log.dataset.keeps = "yes";
  hold();
  readAgain();
  for (const name of ["input", "change"]) log.addEventListener(name, ({ target }) => { if (!(name === "input" && changesAtOnce(target))) typing(); });
  log.addEventListener("htmx:afterRequest", ({ detail }) => heard(detail));
  log.addEventListener("keep", ({ detail }) => finish(detail));
  outbox.onchange((news) => told(news));
  window.addEventListener("online", retry);
  document.addEventListener("visibilitychange", retry);
  setInterval(retry, RETRY);
}

function hold() {
  outbox.own.add(value("page"));
  held = navigator.locks.request(`page-${value("page")}`, () => new Promise((resolve) => { free = resolve; }));
}

// What an earlier page left waiting of this log is sent first, and then the log is read again with all of it.
async function readAgain() {
  const isLeft = ({ address, key, problem }) => address.split("?")[0] === location.pathname && !problem && key !== log.elements.namedItem("outbox_key")?.value;
  const left = new Set((await outbox.pending()).filter(isLeft).map(({ key }) => key));
  if (!left.size) return;
  const before = saved.textContent;
  log.inert = true; // what was typed now would be another version of it
  saved.textContent = "Sending what you typed here before.";
  outbox.onchange(({ key, answer, reason }) => {
    if (answer?.isSent && left.has(key)) location.replace(location.pathname + location.search);
    else if (reason !== undefined && log.inert) {
      log.inert = false;
      saved.textContent = before;
    }
  });
}

// A tap on a mark is a change as well, by which what it contradicts is cleared: before that there is nothing to keep.
function changesAtOnce({ type }) {
  return type === "radio" || type === "checkbox" || type === "select-one";
}

function typing() {
  typed = true;
  keep();
}

// Put the whole log in, as it is now; while one is being kept, only the last one waits. Its entry, if it could be kept.
function keep() {
  again = Boolean(keeping);
  keeping ||= (async () => {
    let entry;
    do {
      again = false;
      log.dispatchEvent(new Event("count"));
      entry = await outbox.put({ ...entryOf(log, finishing), count: Number(value("count")) });
      sayKept();
    } while (again);
    return entry;
  })().catch((error) => strip.refuse(error, entryOf(log))).finally(() => { keeping = null; });
  return keeping;
}

// At once, unless the server has answered meanwhile, or something that it said is to be read.
function sayKept() {
  if (failed) saved.textContent = `Saved on this phone. ${AGAIN}`;
  else if (typed && !finishing && !saved.childElementCount) saved.textContent = "Saved on this phone.";
}

// The server has all that was typed before this save was sent.
async function heard({ xhr, requestConfig }) {
  const count = Number(requestConfig.parameters.get("count"));
  typed = false;
  const isElsewhere = xhr.status >= 200 && xhr.status < 300 && !isStored(xhr);
  failed = isElsewhere || xhr.status === 0 || xhr.status === 401 || xhr.status === 429 || xhr.status >= 500;
  outbox.stuck[failed ? "add" : "delete"](value("page"));
  if (isStored(xhr)) await outbox.settle(value("page"), count);
  else outbox.tell({});
  if (finishing) await keep(); // a button was pressed meanwhile: the log to finish has what it filled in
}

// The strip stands below the form: why what was finished still waits is said in the line in sight.
function told({ asked, reason }) {
  if (asked) retry();
  if (finishing && reason) saved.textContent = `Not sent yet: ${REASONS[reason] || reason}. ${AGAIN}`;
}

function retry() {
  if (failed && !finishing && document.visibilityState === "visible") log.dispatchEvent(new Event("retry"));
}

// Finish, or save and read on: kept first, then sent, and the page follows once there is an answer.
async function finish(button) {
  finishing = button;
  await keeping;
  const entry = await keep();
  if (!entry) { // it could not be kept, though perhaps an earlier one was: that one is not all that was typed
    finishing = null;
    return log.dispatchEvent(new CustomEvent("plainly", { detail: button }));
  }
  free();
  outbox.own.delete(value("page"));
  await held;
  follow(outbox, strip, log, entry);
}
