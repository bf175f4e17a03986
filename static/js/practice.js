// The clock and the count of a drill while it is practised. The time comes from the server and from differences of this
// clock, so that a wrong clock, another zone, a locked screen and a reload change nothing.
"use strict";

const clock = document.getElementById("clock");
const loaded = Date.now() - Number(clock.dataset.seconds) * 1000;
const amount = document.getElementById(clock.dataset.fills);
let typed = false;

function showTime() {
  const seconds = Math.max(0, Math.floor((Date.now() - loaded) / 1000));
  clock.textContent = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  if (amount && !typed && seconds >= 60) amount.value = Math.min(600, Math.round(seconds / 60));
}

if (amount) amount.addEventListener("input", () => { typed = true; });
clock.hidden = false;
showTime();
setInterval(showTime, 1000);
document.addEventListener("visibilitychange", showTime);

// The count stands in the address, too, behind the moment of the start: it outlives a reload and is kept nowhere else.
const pad = document.getElementById("pad");
if (pad) {
  const of = Number(pad.dataset.of);
  const field = document.querySelector("form.practice").elements[pad.dataset.name];
  const kept = location.hash.match(/^#(\d+)-of-(\d+)$/) || ["", "0", "0"];
  let count = Number(kept[1]);
  let tries = Number(kept[2]);

  function show() {
    document.getElementById("count").textContent = count;
    document.getElementById("tries").textContent = `of ${tries} so far; ${of} in all`;
    for (const button of pad.querySelectorAll("[data-adds]")) button.disabled = tries >= of;
    if (tries === of) field.value = String(count);
  }

  function keep() {
    history.replaceState(null, "", `#${count}-of-${tries}`);
    show();
  }

  for (const button of pad.querySelectorAll("[data-adds]")) {
    button.addEventListener("click", () => {
      count += Number(button.dataset.adds);
      tries += 1;
      keep();
    });
  }
  pad.querySelector("[data-again]").addEventListener("click", () => {
    count = 0;
    tries = 0;
    keep();
  });
  pad.hidden = false;
  show();
}
