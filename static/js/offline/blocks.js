// The blocks of a log: a focus that goes on, one that begins here, and the buttons that fill them in.
import { FAULT, FOCUS, WHAT, blank } from "./blanks.js";
import { dayWords, make } from "./dom.js";

const DOSE = ["amount", "unit", "per_week", "days", "mark"];
const CHIPS = 6; // as many drills are offered at once, as online

const field = (form, key, name) => form.elements.namedItem(`focus-${key}-${name}`);

// A focus of an earlier lesson: its words, its drill, and the panel of its skill, which stands in no other place then.
export async function continuedBlock(form, focus, found) {
  const part = await blank(focus.kind, { [FOCUS]: focus.key, [WHAT]: focus.title });
  const block = part.querySelector(".block");
  block.querySelector("h3 + p").textContent = `Since ${dayWords(focus.since, { day: "numeric", month: "long", year: "numeric" })}`;
  const panel = focus.skill ? form.querySelector(`#panel-${focus.skill}`) : await ownWordsPanel(focus);
  const skill = panel?.closest("details.skill");
  if (panel && !panel.closest(".block")) block.querySelector("[id$='-__all___error']").after(panel);
  skill?.remove();
  if (panel && focus.fault) showFirst(panel, focus.fault);
  form.querySelector("#open-blocks").append(block);
  offerDrills(form, focus.key, focus.fault, found, focus.given?.drill);
  fill(form, focus.key, { feel: focus.feel, decide_on: focus.decide_on, ...focus.given });
  return block;
}

// Only what is worked on stays in sight; it needs no button to be worked on.
function showFirst(panel, fault) {
  const more = panel.querySelector("details.more > summary");
  for (const line of [...panel.querySelectorAll(":scope > .line:not(.good)")].reverse()) {
    if (line.querySelector(`[name="a.${fault}"]`)) line.querySelector("button.work")?.remove();
    else more.after(line);
  }
}

async function ownWordsPanel(focus) {
  return (await blank("own-words", { [FOCUS]: focus.key, [WHAT]: focus.title })).querySelector(".panel");
}

// A focus on a fault that begins here; `key` is given where it is drawn again.
export async function begunBlock(form, fault, found, key = crypto.randomUUID()) {
  const about = found.faults[fault];
  const part = await blank("fresh", { [FOCUS]: key, [WHAT]: about.name, [FAULT]: fault });
  form.querySelector("#opened").append(part.querySelector(".block"));
  offerDrills(form, key, fault, found, about.usual?.drill);
  fill(form, key, { feel: about.feel });
  return key;
}

// The drill and dose that this coach usually gives for the fault of a block.
export function fillUsual(form, key, fault, found) {
  const usual = found.faults[fault]?.usual;
  if (!usual) return;
  const other = field(form, key, "other_drill");
  if (other) other.value = "";
  fill(form, key, usual);
}

function offerDrills(form, key, fault, found, chosen) {
  const fitting = (found.faults[fault]?.drills || []).slice(0, CHIPS);
  const codes = chosen && !fitting.includes(chosen) ? [chosen, ...fitting] : fitting;
  for (const code of codes) offerDrill(form, key, code, found);
}

// One more drill to choose in a block, unless it is offered there already.
export function offerDrill(form, key, code, found) {
  const name = `focus-${key}-drill`;
  const radios = [...form.querySelectorAll(`[name="${name}"]`)];
  if (!radios.length || radios.some(({ value }) => value === code)) return;
  const radio = make("input", { type: "radio", name, value: code });
  radios[0].closest(".chips").append(make("label", { class: "check" }, radio, ` ${found.drills[code] || code}`));
}

function fill(form, key, values) {
  for (const [name, value] of Object.entries(values)) {
    const place = field(form, key, name);
    if (place && value !== null && value !== undefined) place.value = String(value);
  }
  sayDose(form, key);
}

// The line of a dose says what its fields hold.
export function sayDose(form, key) {
  const [amount, unit, often, long] = DOSE.map((name) => field(form, key, name));
  const line = amount?.closest("details").querySelector("summary");
  if (!line) return;
  const said = amount.value && often.value && long.value;
  const words = unit.selectedOptions[0]?.textContent.toLowerCase();
  line.textContent = said ? `${amount.value} ${words}, ${often.value} times a week, for ${long.value} days` : "Another drill, dose";
}

// The fault of a block, by its code: the one it continues, or the one that was chosen or typed.
export function faultOf(form, key, who, found) {
  const stored = who.focuses.find((focus) => focus.key === key);
  if (stored) return stored.fault;
  const typed = field(form, key, "fault")?.value.trim();
  return typed && found.faults[typed] ? typed : codeOf(found.faultNames, typed);
}

export function codeOf(names, typed) {
  const word = typed?.toLowerCase();
  return Object.keys(names).find((code) => names[code].toLowerCase() === word) || "";
}

export const keysOf = (form) => [...form.querySelectorAll("[name=focus]")].map((input) => input.value);

// Whether a block of a new focus holds anything.
export function isBegun(form, key) {
  return ["fault", "what", "drill", "other_drill"].some((name) => field(form, key, name)?.value);
}
export { field };
