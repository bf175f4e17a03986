// The page counts its own posts, so that the server can tell a late post of this page from one of another page.
"use strict";

const log = document.getElementById("log");
const saved = document.getElementById("saved");
const count = log.elements.namedItem("count");
let unsaved = false;
let leaving = false;

function next() {
  count.value = String(Number(count.value) + 1);
}

// A save that still waited its turn when a button was pressed would come after the button's and undo it.
log.addEventListener("htmx:configRequest", (event) => {
  if (leaving) return event.preventDefault();
  next();
  event.detail.parameters.set("count", count.value);
});
log.addEventListener("submit", (event) => {
  if (!navigator.onLine) {
    event.preventDefault();
    saved.textContent = "No connection. What you typed is still here: press again when you are back online.";
    return;
  }
  next();
  leaving = true;
  unsaved = false;
});
window.addEventListener("pageshow", () => { leaving = false; });

log.addEventListener("input", () => { unsaved = true; });
log.addEventListener("htmx:afterRequest", ({ detail }) => { unsaved = !isSaved(detail.xhr); });
// A page that is left breaks off its own save.
log.addEventListener("htmx:sendError", (event) => { if (leaving) event.stopPropagation(); });
window.addEventListener("beforeunload", (event) => { if (unsaved && !leaving) event.preventDefault(); });

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
