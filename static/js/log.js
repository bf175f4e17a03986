// The page counts its own posts, so that the server can tell a late post of this page from one of another page.
"use strict";

const log = document.getElementById("log");
const saved = document.getElementById("saved");
const count = log.elements.namedItem("count");
let unsaved = false; // typed, and not known to be stored
let changed = false; // typed since the last save was sent
let leaving = false;

// A network that asks to sign in first answers everything with a success of its own: only the site names this page.
function isStored(xhr) {
  return isSaved(xhr) && xhr.getResponseHeader("Outbox-Page") === log.elements.namedItem("page").value;
}

function next() {
  count.value = String(Number(count.value) + 1);
}

// A save that still waited its turn when a button was pressed would come after the button's and undo it.
log.addEventListener("htmx:configRequest", (event) => {
  const { elt, parameters } = event.detail;
  const isKnown = elt === log && !changed; // a save that waited its turn while another one sent what is new
  if (leaving || isKnown) return event.preventDefault();
  next();
  changed = false;
  parameters.set("count", count.value);
  // A save of itself is no press of the button that was touched last.
  for (const { name } of log.querySelectorAll("button")) if (name !== elt.name) parameters.delete(name);
});

// Finishing waits for the answer to a button that fills in a focus: the page has it only then.
const FILLING = ["work", "drop", "usual", "propose", "enter", "enter_all"];
let filling = 0;
let waiting = null;
log.addEventListener("click", ({ target }) => {
  if (!FILLING.includes(target.closest("button")?.name)) return;
  filling += 1;
  holdBlanks();
});

// The answer fills a blank focus: until it is there nobody opens one, to have it replaced under their words.
function holdBlanks() {
  for (const block of log.querySelectorAll(".block.blank")) block.inert = ![...block.querySelectorAll("input, textarea, select")].some(isTouched);
}
function freeBlanks() {
  for (const block of log.querySelectorAll(".block[inert]")) block.inert = false;
}
log.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (!FILLING.includes(detail.elt.name)) return;
  filling -= 1;
  if (!filling) freeBlanks();
  if (filling || !waiting) return;
  if (isStored(detail.xhr)) log.requestSubmit(waiting);
  waiting = null;
});
log.addEventListener("submit", (event) => {
  if (filling) {
    event.preventDefault();
    waiting = event.submitter;
    return;
  }
  if (log.dataset.keeps && !plainly) { // log_outbox.js keeps it on this phone first
    event.preventDefault();
    leaving = true;
    unsaved = false;
    return log.dispatchEvent(new CustomEvent("keep", { detail: event.submitter }));
  }
  if (!navigator.onLine) {
    event.preventDefault();
    leaving = false;
    unsaved = true;
    saved.textContent = "No connection. What you typed is still here: press again when you are back online.";
    return;
  }
  next();
  leaving = true;
  unsaved = false;
});
window.addEventListener("pageshow", () => { leaving = false; });

// What log_outbox.js asks for: the next count, a save of what was not saved, a form sent as if there were no outbox.
let plainly = false;
log.addEventListener("count", next);
log.addEventListener("retry", () => {
  changed = true;
  htmx.trigger(log, "change");
});
log.addEventListener("plainly", ({ detail }) => setTimeout(() => { // while it is being submitted, it takes no other press
  plainly = true;
  log.requestSubmit(detail);
  plainly = false;
}));

for (const name of ["input", "change"]) log.addEventListener(name, ({ target }) => { if (target.id !== "find") unsaved = changed = true; }, true);
log.addEventListener("htmx:afterRequest", ({ detail }) => {
  unsaved = changed || !isStored(detail.xhr);
  changed = unsaved;
});
// A page that is left breaks off its own save.
log.addEventListener("htmx:sendError", (event) => { if (leaving) event.stopPropagation(); });
window.addEventListener("beforeunload", (event) => { if (unsaved && !leaving) event.preventDefault(); });

// The places of errors are emptied before each answer, which fills those that still have one.
log.addEventListener("htmx:beforeSwap", ({ detail }) => {
  if (isSaved(detail.xhr) && !isStored(detail.xhr)) {
    detail.shouldSwap = false;
    saved.textContent = `Not saved: something else than this site answered. ${saved.dataset.again}`;
  }
  if (detail.xhr.status !== 200 && detail.xhr.status !== 201 && detail.xhr.status !== 422) return;
  for (const place of log.querySelectorAll(".field-errors")) place.replaceChildren();
});

// A focus that a button filled in is shown where the button was pressed, too.
log.addEventListener("htmx:afterRequest", ({ detail }) => {
  const button = detail.elt;
  if (button.name === "work" && isStored(detail.xhr)) button.replaceWith(button.dataset.done);
});

// A proposal that is left out stays out while the page is open.
function offerLeaving() {
  for (const button of log.querySelectorAll(".leave")) button.hidden = false;
}
offerLeaving();
log.addEventListener("htmx:afterSettle", offerLeaving);
log.addEventListener("click", ({ target }) => {
  const button = target.closest(".leave");
  if (!button) return;
  const value = button.closest("li").querySelector("[name=proposed]");
  value.name = "left";
  button.closest("#proposals").append(value);
  button.closest("li").remove();
});

// What was typed before this script had loaded was not saved: save it now.
function isTouched(field) {
  if (field.type === "hidden") return false;
  if (field.type === "radio" || field.type === "checkbox") return field.checked !== field.defaultChecked;
  if (field.options) return [...field.options].some((option) => option.selected && !option.defaultSelected && option.index > 0);
  return "defaultValue" in field && field.value !== field.defaultValue;
}

// htmx listens for the same moment, and came first.
document.addEventListener("DOMContentLoaded", () => {
  if (![...log.elements].some(isTouched)) return;
  unsaved = true;
  log.dispatchEvent(new Event("change", { bubbles: true }));
});
