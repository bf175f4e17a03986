// What a tap on a log means by itself, with and without a network: it clears what it contradicts, and finds a row by name.
"use strict";

{
const log = document.getElementById("log");

// A skill is good or shows faults, and a fault has one degree: a tap clears what it contradicts, before the save.
log.addEventListener("change", ({ target }) => {
  const marks = target.closest(".panel .marks");
  if (!marks || !target.checked) return;
  const moment = [...marks.classList].find((name) => name !== "marks");
  const panel = target.closest(".panel");
  const isGood = target.name.endsWith(".good");
  const others = isGood ? panel.querySelectorAll(`.${moment} input`) : [
    ...marks.querySelectorAll("input"), ...panel.querySelectorAll(`.good .${moment} input`)];
  for (const other of others) if (other !== target) other.checked = false;
}, true);

// The drill that is chosen last counts: a tap on one clears the name of another.
log.addEventListener("change", ({ target }) => {
  if (target.type !== "radio" || !target.name.endsWith("-drill")) return;
  const other = log.elements.namedItem(target.name.replace(/-drill$/, "-other_drill"));
  if (other) other.value = "";
}, true);

// A skill or a fault is found by two letters; the fields of those that are not shown stay in the form.
const find = document.getElementById("find");
find.closest(".find").hidden = false;
for (const name of ["input", "change"]) find.addEventListener(name, (event) => event.stopPropagation());
find.addEventListener("input", () => {
  const word = find.value.trim().toLowerCase();
  const skills = [...log.querySelectorAll(".skill")];
  const found = skills.filter((skill) => word.length < 2 || namesOf(skill).some((name) => begins(name, word)));
  for (const skill of skills) skill.hidden = !found.includes(skill);
  for (const phase of log.querySelectorAll(".skills .phase")) phase.hidden = word.length > 1;
  const shown = found.filter((skill) => skill.offsetParent);
  if (word.length > 1 && shown.length <= 2) for (const skill of shown) skill.open = true;
});

function namesOf(skill) {
  return [...skill.querySelectorAll(":scope > summary, .what")].map((part) => part.textContent.trim().toLowerCase());
}

// Whether a word of the name begins so.
function begins(name, letters) {
  return name.startsWith(letters) || name.includes(` ${letters}`);
}
}
