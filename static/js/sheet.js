// The button to print, for those whose browser runs scripts; everybody else has the browser's own command.
"use strict";

const print = document.getElementById("print");
if (print) {
  print.hidden = false;
  print.addEventListener("click", () => window.print());
}
