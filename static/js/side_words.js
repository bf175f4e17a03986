// Words that follow the player's side, put into a text at a tap. The form also works without.
"use strict";

const sideWords = document.getElementById("side-words");
let lastField = null;

// The buttons stand under the text in which somebody writes.
sideWords.closest("form").addEventListener("focusin", ({ target }) => {
  if (!target.matches("textarea, [type=text]:not([inputmode])") || !target.closest(".field")) return;
  lastField = target;
  sideWords.hidden = false;
  target.after(sideWords);
});

// A tap must not take the focus from the text.
sideWords.addEventListener("pointerdown", (event) => event.preventDefault());

sideWords.addEventListener("click", ({ target }) => {
  if (!lastField || !target.dataset.word) return;
  const begins = /(^|[.!?\n]\s*)$/.test(lastField.value.slice(0, lastField.selectionStart));
  const word = begins ? target.dataset.word[0].toUpperCase() + target.dataset.word.slice(1) : target.dataset.word;
  lastField.setRangeText(`[${word}]`, lastField.selectionStart, lastField.selectionEnd, "end");
  lastField.focus();
  lastField.dispatchEvent(new Event("input", { bubbles: true }));
});
