// The log counts its own posts, so that the server can tell a late reply of this page from another page's.
"use strict";

const log = document.getElementById("log");
const count = log.elements.namedItem("count");
let unsaved = false;

function next() {
  count.value = String(Number(count.value) + 1);
}

log.addEventListener("htmx:configRequest", ({ detail }) => {
  next();
  detail.parameters.set ? detail.parameters.set("count", count.value) : (detail.parameters.count = count.value);
});
log.addEventListener("submit", next);

log.addEventListener("input", () => { unsaved = true; });
log.addEventListener("htmx:afterRequest", ({ detail }) => { unsaved = !(detail.xhr && detail.xhr.status < 300); });
log.addEventListener("submit", () => { unsaved = false; });

const saved = document.getElementById("saved");
log.addEventListener("htmx:sendError", () => { saved.textContent = "Not saved: no connection. What you typed is still here; it is tried again with the next change."; });
window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
