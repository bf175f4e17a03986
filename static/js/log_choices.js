// What may be chosen at a skill is the same in every log: it is fetched once, kept by the browser, and put in where a
// skill is opened. Until it is there, and without a script, a button brings the whole page.
"use strict";

{
const log = document.getElementById("log");
const saved = document.getElementById("saved");
const find = document.getElementById("find");
let fetching = null;

function rows() {
  fetching ||= fetch(log.dataset.choices).then((answer) => answer.json()).catch(() => { fetching = null; });
  return fetching;
}

// Put in what belongs to these skills; whether all of it is there.
async function fill(skills) {
  const known = await rows();
  if (known) for (const skill of skills) put(skill, known[skill.id.replace("skill-", "")]);
  return skills.every((skill) => !bare(skill));
}

function bare(skill) {
  return skill.querySelector(":scope > .bare");
}

function put(skill, row) {
  if (!row || !bare(skill)) return;
  const panel = new DOMParser().parseFromString(row, "text/html").querySelector(".panel");
  bare(skill).replaceWith(panel);
  htmx.process(panel);
}

log.addEventListener("toggle", ({ target }) => { if (target.matches(".skill[open]")) fill([target]); }, true);
fill([...log.querySelectorAll(".skill[open]")]);

// Faults are found by name in all of it.
find.addEventListener("focus", async () => {
  if (await fill([...log.querySelectorAll(".skill")])) find.dispatchEvent(new Event("input"));
});

log.addEventListener("click", async (event) => {
  const button = event.target.closest("[name=whole]");
  if (!button) return;
  event.preventDefault();
  if (await fill([button.closest(".skill")])) return;
  if (navigator.onLine) log.requestSubmit(button);
  else saved.textContent = "No connection: the choices come when you are back online. What you typed is still here.";
});
}
