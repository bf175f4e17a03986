// On a green there may be no signal: a tap that did not arrive is said, and can be tapped again.
"use strict";

document.addEventListener("htmx:sendError", () => {
  document.getElementById("notice").textContent = "Not noted: no connection. Tap it again when you are back on line.";
});
