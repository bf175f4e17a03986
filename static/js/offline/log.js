// The log of a lesson without a network: the server's own blank form, filled in with a student, kept at every change.
import { LESSON, PLACES, STUDENT, blank } from "./blanks.js";
import { begunBlock, continuedBlock, faultOf, fillUsual, keysOf, offerDrill, sayDose } from "./blocks.js";
import { problemsOf } from "./checks.js";
import { link, make, message, show, today } from "./dom.js";
import { get, put } from "./kept.js";
import { sheetOf } from "./provisional.js";
import { keep, listen as hear, waiting } from "./send.js";
import { drawSheet } from "./sheet.js";

const TRIAL = 30; // days until a trial is decided, as online
const PRESSED = ["done", "save", "csrfmiddlewaretoken"]; // buttons, and what is fetched anew
const PAUSE = 300; // milliseconds without typing until it is kept

export async function log(found, student, lesson) {
  if (found.kind !== "coach") return false;
  if (lesson === "new") {
    lesson = crypto.randomUUID();
    history.replaceState({ isFresh: true }, "", `/students/${student}/lessons/${lesson}/`);
  }
  const address = `/students/${student}/lessons/${lesson}/`;
  const [entry] = await waiting(new RegExp(`^${address}(\\?|$)`));
  const who = found.students[student] || (await get(`draft-walk-in-${student}`))?.who;
  if (!who || entry?.address.includes("kind=") || !(entry || history.state?.isFresh)) return false;
  const form = await draw(found, who, { student, lesson, ...draftFrom(entry, address, found, who) });
  if (form && document.contains(form)) document.body.append(make("script", { src: document.querySelector("meta[name=log-marks]").content }));
  return Boolean(form);
}

// A log as it waits to be sent, whichever page wrote it: its blocks, its count, and all that it held; else a fresh one.
function draftFrom(entry, address, found, who) {
  const values = entry?.fields;
  const one = (name) => values?.find(([other]) => other === name)?.[1];
  const goesOn = (key) => who.focuses.some((focus) => focus.key === key) || one(`focus-${key}-decision`) !== undefined;
  const fresh = (values || []).filter(([name, key]) => name === "focus" && !goesOn(key)).map(([, key]) => key);
  const begun = fresh.map((key) => ({ key, fault: one(`focus-${key}-fault`) })).filter(({ fault }) => found.faults[fault]);
  const places = fresh.filter((key) => !begun.some((block) => block.key === key));
  return {
    address: entry?.address || address,
    page: entry?.page || crypto.randomUUID(),
    base: one("base") || "0",
    count: Number(one("count") || 0),
    finished: one("done") !== undefined,
    begun,
    places: PLACES.map((_, number) => places[number] || crypto.randomUUID()),
    values,
  };
}

async function draw(found, who, draft) {
  const places = Object.fromEntries(PLACES.map((key, number) => [key, draft.places[number]]));
  const part = await blank("log", { [STUDENT]: draft.student, [LESSON]: draft.lesson, ...places });
  if (!part) return undefined;
  const form = part.querySelector("form");
  form.action = draft.address;
  for (const name of ["page", "base"]) form.elements.namedItem(name).value = draft[name];
  found.faultNames ||= namesIn(form, "fault-names", Object.keys(found.faults));
  show(`Lesson, ${who.name}`, ["log"], make("p", { class: "back" }, make("a", { href: "/" }, "Today")), make("h1", {}, who.name), care(), form);
  document.getElementById("main").after(document.getElementById("outbox")); // above, it would move the fields under the thumb
  await fillIn(form, found, who, draft);
  listen(form, found, who, draft);
  if (draft.finished) showSheet(found, who, draft, form);
  return form;
}

// Limits are no part of what a phone keeps: the coach asks.
function care() {
  return make("p", { class: "care" }, "Ask about pain and limits: they are not kept on this phone. Stop at pain.");
}

function namesIn(form, id, codes) {
  const options = [...form.querySelectorAll(`#${id} option`)].map((option) => option.value);
  return Object.fromEntries(codes.map((code, number) => [code, options[number] || ""]));
}

async function fillIn(form, found, who, draft) {
  for (const needless of form.querySelectorAll("[name=propose], .links")) needless.remove();
  const day = form.elements.namedItem("day");
  day.value = day.defaultValue = today();
  const decide = new Date();
  decide.setDate(decide.getDate() + TRIAL);
  for (const field of form.querySelectorAll("[name$=-decide_on]")) field.value = today(decide);
  for (const box of form.querySelectorAll("#id_areas input")) box.checked = who.areas.includes(box.name);
  if (who.focuses.length) openSection(form);
  for (const focus of who.focuses) await continuedBlock(form, focus, found);
  for (const { key, fault } of draft.begun) await begunBlock(form, fault, found, key);
  const taken = who.focuses.length;
  draft.places.slice(3 - Math.min(taken, 3)).forEach((key) => form.querySelector(`#block-${key}`)?.remove());
  form.querySelector("#saved").textContent = draft.values ? "Saved on this phone, not finished." : "Nothing is saved yet.";
  if (draft.values) restore(form, draft.values, found);
}

// The place of the focuses that go on, before everything else; practice is asked about there, as online.
function openSection(form) {
  const blocks = make("div", { id: "open-blocks" });
  const practice = form.querySelector("#id_practice_reported_whole");
  const section = make("section", { class: "entry", "aria-labelledby": "open" }, make("h2", { id: "open" }, "Open focuses"), blocks);
  if (practice) blocks.append(practice);
  form.querySelector("section.entry").before(section);
}

export function valuesOf(form) {
  return [...new FormData(form)].map(([name, value]) => [name, String(value)]);
}

function restore(form, values, found) {
  for (const key of keysOf(form)) for (const [name, code] of values) if (name === `focus-${key}-drill`) offerDrill(form, key, code, found);
  const byName = new Map();
  for (const [name, value] of values) byName.set(name, [...(byName.get(name) || []), value]);
  for (const element of form.elements) {
    if (!element.name || element.type === "hidden" || element.tagName === "BUTTON") continue;
    const kept = byName.get(element.name) || [];
    if (element.type === "checkbox" || element.type === "radio") element.checked = kept.includes(element.value);
    else element.value = kept[0] ?? "";
    if (element.checked || (element.value && element.closest(".blank"))) openAround(element);
  }
  carryOver(form, values);
  for (const key of keysOf(form)) sayDose(form, key);
}

// What this page has no field for is sent along as it was.
function carryOver(form, values) {
  const shown = new Set([...form.elements].map(({ name }) => name));
  const keys = new Set(keysOf(form));
  for (const [name, value] of values) {
    const isMissing = name === "focus" ? !keys.has(value) : !shown.has(name);
    if (isMissing && !PRESSED.includes(name)) form.append(make("input", { type: "hidden", name, value }));
  }
}

function openAround(element) {
  const skill = element.closest("details.skill");
  if (skill && element.checked) skill.open = true;
}

function listen(form, found, who, draft) {
  let timer;
  const now = () => {
    clearTimeout(timer);
    timer = undefined;
    return save(form, found, who, draft);
  };
  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(now, PAUSE);
  };
  form.addEventListener("input", ({ target }) => target.id !== "find" && later());
  form.addEventListener("change", ({ target }) => {
    if (target.id === "find") return;
    tickArea(form, who, target);
    const key = target.name?.match(/^focus-(.{36})-/)?.[1];
    if (key) sayDose(form, key);
    now();
  });
  form.addEventListener("click", (event) => pressed(event, form, found, who).then((did) => did && now()));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (event.submitter?.name === "done") await finish(form, found, who, draft);
    else await now();
  });
  window.addEventListener("pagehide", () => timer && now());
  // Another tab has kept more of this log: this one would write over it.
  hear(({ put, page, isOfAnotherTab }) => { if (put && isOfAnotherTab && page === draft.page) location.reload(); });
}

// What was looked at belongs to an area that is ticked.
function tickArea(form, who, target) {
  if (!target.checked || !/^[ad]\./.test(target.name)) return;
  const focus = who.focuses.find(({ key }) => target.closest(`#block-${CSS.escape(key)}`));
  const area = focus?.area || [...(target.closest("section.area")?.classList || [])].find((name) => name !== "area");
  if (area) form.elements.namedItem(area).checked = true;
}

async function pressed(event, form, found, who) {
  const button = event.target.closest("button");
  if (!button || ["done", "save"].includes(button.name) || !button.name) return false;
  event.preventDefault();
  if (button.name === "work") return begin(button, form, found, who);
  if (button.name === "usual") fillUsual(form, button.value, faultOf(form, button.value, who, found), found);
  if (button.name === "drop") {
    form.querySelector(`#block-${CSS.escape(button.value)}`).remove();
  }
  return true;
}

async function begin(button, form, found, who) {
  const fault = button.value;
  if (keysOf(form).some((key) => faultOf(form, key, who, found) === fault)) return false;
  const key = await begunBlock(form, fault, found);
  fillUsual(form, key, fault, found);
  button.replaceWith(button.dataset.done);
  return true;
}

// Every change goes to the outbox as the form's own POST, in place of the one that waits.
async function save(form, found, who, draft) {
  const saved = form.querySelector("#saved");
  form.elements.namedItem("count").value = String((draft.count += 1));
  const typed = valuesOf(form).filter(([name]) => name !== "csrfmiddlewaretoken");
  const fields = draft.finished ? [...typed, ["done", "1"]] : typed;
  try {
    await keep({ address: draft.address, fields, page: draft.page, kind: "lesson", words: `Log of ${who.name}`, count: draft.count });
    history.replaceState(null, "");
    put(`logged-${draft.student}`, { on: today(), at: Date.now() }).catch(() => {}); // for the day's list, once it is sent
    saved.textContent = "Saved on this phone, not finished.";
    return true;
  } catch {
    saved.textContent = "Not saved: this phone keeps nothing more. What you typed is still here; do not close this page.";
    return false;
  }
}

async function finish(form, found, who, draft) {
  const problems = problemsOf(form, found, who);
  form.parentElement.querySelector(":scope > .problems")?.remove();
  if (problems.length) return showProblems(form, problems);
  draft.finished = true;
  if (await save(form, found, who, draft)) return showSheet(found, who, draft, form);
  draft.finished = false;
  return undefined;
}

function showProblems(form, problems) {
  const items = problems.map(([anchor, words]) => make("li", {}, make("a", { href: `#${anchor}` }, words)));
  const part = make("div", { class: "problems", role: "group", "aria-labelledby": "problems", tabindex: "-1" },
    make("h2", { id: "problems" }, "To put right"), make("p", {}, "Everything is saved on this phone."), make("ul", {}, items));
  form.parentElement.prepend(part);
  part.focus();
}

function showSheet(found, who, draft, form) {
  const back = make("button", { type: "button" }, "Change the log");
  back.addEventListener("click", async () => {
    draft.finished = false;
    if (await save(form, found, who, draft)) location.reload();
  });
  show(`Provisional sheet, ${who.name}`, ["sheet", "sheet-page"],
    make("p", { class: "back" }, make("a", { href: "/" }, "Today")),
    message("Saved on this phone. This sheet is provisional: the final one, with its drawings and steps, is made when the log is sent."),
    drawSheet(sheetOf(form, found, who)),
    make("p", { class: "actions" }, link("/", "Today’s students"), back));
  window.scrollTo(0, 0);
}
