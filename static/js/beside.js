// Two taps in each of two pictures, and the line of the wipe. Both also work by typing, without this.
"use strict";

const slider = document.getElementById("wipe");
const wiped = document.getElementById("wiped");

function moveLine() {
  const place = `${slider.value}%`;
  wiped.querySelector("clipPath rect").setAttribute("x", place);
  for (const end of ["x1", "x2"]) wiped.querySelector("line").setAttribute(end, place);
  slider.setAttribute("aria-valuetext", `${slider.value} of 100: arrival left of the line, departure right of it`);
}

slider.addEventListener("input", moveLine);
document.getElementById("wipe-show").hidden = true;
moveLine();

const form = document.querySelector("form.align");
const NUMBERS = [1, 2];

function field(moment, number, way) {
  return form.elements[`${moment}_${number}_${way}`];
}

// Marks stand where the fields say, however they were filled.
function showMarks(picture, moment) {
  const { width, height } = picture.viewBox.baseVal;
  picture.querySelectorAll(".mark").forEach((mark, place) => {
    const across = field(moment, place + 1, "across").value;
    const down = field(moment, place + 1, "down").value;
    const isSaid = across !== "" && down !== "";
    mark.setAttribute("visibility", isSaid ? "visible" : "hidden");
    if (isSaid) mark.setAttribute("transform", `translate(${(across / 100) * width} ${(down / 100) * height})`);
  });
}

// The first point that is missing; with both there, a tap begins anew.
function nextPoint(moment) {
  return NUMBERS.find((number) => field(moment, number, "across").value === "") || 1;
}

function sayNext() {
  const missing = ["arrival", "departure"].find((moment) => NUMBERS.some((n) => field(moment, n, "across").value === ""));
  const words = missing ? `Tap point ${nextPoint(missing)} in the ${missing}.` : "All four points are set. Press Align.";
  document.getElementById("next-tap").textContent = words;
}

function tap(event, picture, moment) {
  const box = picture.querySelector("image").getBoundingClientRect();
  const number = nextPoint(moment);
  const isAnew = NUMBERS.every((each) => field(moment, each, "across").value !== "");
  if (isAnew) for (const way of ["across", "down"]) field(moment, 2, way).value = "";
  const within = (at, from, size) => Math.min(100, Math.max(0, ((at - from) / size) * 100)).toFixed(1);
  field(moment, number, "across").value = within(event.clientX, box.left, box.width);
  field(moment, number, "down").value = within(event.clientY, box.top, box.height);
  showMarks(picture, moment);
  sayNext();
}

if (form) {
  form.classList.add("taps");
  document.getElementById("taps").hidden = false;
  for (const set of form.querySelectorAll("fieldset[data-moment]")) {
    const picture = set.querySelector(".tapped");
    const { moment } = set.dataset;
    picture.addEventListener("click", (event) => tap(event, picture, moment));
    set.addEventListener("input", () => { showMarks(picture, moment); sayNext(); });
    showMarks(picture, moment);
  }
  sayNext();
}
