// The button to print, for those whose browser runs scripts; everybody else has the browser's own command.
"use strict";

const button = document.getElementById("print");
if (button) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
