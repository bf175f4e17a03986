// What a page needs beyond HTML and htmx. Everything also works without it.
"use strict";

const TOKEN = /(?:^|; )(?:__Host-csrf|csrftoken)=([^;]+)/;

// Signing in again in another tab renews the token, so the cookie is right and the field of an old page is not.
document.addEventListener("htmx:configRequest", ({ detail }) => {
  const token = document.cookie.match(TOKEN);
  if (detail.verb === "get" || !token) return;
  detail.headers["X-CSRFToken"] = token[1];
  delete detail.parameters.csrfmiddlewaretoken;
});

document.addEventListener("submit", ({ target }) => {
  const token = document.cookie.match(TOKEN);
  const field = target.querySelector("[name=csrfmiddlewaretoken]");
  if (token && field) field.value = token[1];
});

function isSaved(xhr) {
  return xhr.status >= 200 && xhr.status < 300; // 0 is no answer
}

// What was said of being signed out is over once something was saved.
document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (isSaved(detail.xhr) && detail.requestConfig.verb === "post") document.getElementById("notice").replaceChildren();
});

// Every answer that is no success, and no answer, is said where saving is said. Other statuses bring words of their own.
function whyNotSaved(status) {
  if (status === 0) return "no connection";
  if (status === 413) return "this is more than can be saved at once";
  if (status === 429) return "too much was sent at once, wait a minute";
  return status < 500 ? "the server refused it" : "the server cannot save just now";
}

for (const failure of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(failure, ({ detail }) => {
    if (detail.requestConfig.verb !== "post") return;
    const place = document.getElementById("saved") || document.getElementById("notice");
    const verdict = failure === "htmx:timeout" ? "Perhaps not saved: no answer came" : `Not saved: ${whyNotSaved(detail.xhr.status)}`;
    const again = place.dataset.again || "Try again; nothing counts twice.";
    place.textContent = `${verdict}. ${again}`;
  });
}

// A second refusal must not take the link to sign in from under the thumb.
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  const notice = document.getElementById("notice");
  if (detail.xhr.status === 401 && notice && notice.childElementCount) detail.shouldSwap = false;
});

// A button that copies a text of the page; where a browser may not, the text is there to select.
for (const button of document.querySelectorAll("[data-copies]")) {
  const text = document.getElementById(button.dataset.copies);
  button.hidden = !navigator.clipboard;
  button.addEventListener("click", async () => {
    const copied = await navigator.clipboard.writeText(text.textContent).then(() => true, () => false);
    button.parentElement.querySelector("[role=status]").textContent = copied ? "Copied." : "Not copied. Select the text and copy it.";
    if (!copied) getSelection().selectAllChildren(text);
  });
}

function showProblems(part) {
  const problems = part.querySelector(".problems");
  if (problems) problems.focus();
}

document.addEventListener("htmx:afterSwap", ({ detail }) => showProblems(detail.target));
showProblems(document);
