// What is missing before a log can be finished, in the server's words; the server judges again when it is sent.
import { codeOf, faultOf, field, isBegun, keysOf } from "./blocks.js";

const MOST = 3; // focuses that may be open at once

// Problems as [id of an element, words].
export function problemsOf(form, found, who) {
  return [...departuresAlone(form), ...nothingLogged(form, who), ...focusProblems(form, found, who)];
}

const isSeen = (panel, moment) =>
  [...panel.querySelectorAll(`.${moment} input`)].some((input) => input.checked) ||
  [...panel.querySelectorAll(`input[name^="${moment[0]}."]:not([type=checkbox])`)].some((input) => input.value.trim());

function departuresAlone(form) {
  return [...form.querySelectorAll(".panel")]
    .filter((panel) => isSeen(panel, "departure") && !isSeen(panel, "arrival"))
    .map((panel) => [panel.id, `${nameOf(panel)}: not looked at on arrival, so its departure has nothing to compare with.`]);
}

const nameOf = (panel) => (panel.closest("details.skill")?.querySelector("summary") || panel.closest(".block")?.querySelector("h3")).textContent.trim();

function nothingLogged(form, who) {
  const seen = [...form.querySelectorAll(".panel")].some((panel) => isSeen(panel, "arrival") || isSeen(panel, "departure"));
  const said = ["keep", "next_time", "note"].some((name) => form.elements.namedItem(name)?.value.trim());
  const begun = keysOf(form).some((key) => isBegun(form, key) && !who.focuses.some((focus) => focus.key === key));
  const closed = who.focuses.some((focus) => decisionOf(form, focus) !== "open");
  return seen || said || begun || closed ? [] : [["id_keep", "Nothing is logged yet."]];
}

export const decisionOf = (form, focus) => form.elements.namedItem(`focus-${focus.key}-decision`)?.value || "open";

function focusProblems(form, found, who) {
  const fresh = keysOf(form).filter((key) => isBegun(form, key) && !who.focuses.some((focus) => focus.key === key));
  const open = who.focuses.filter((focus) => decisionOf(form, focus) === "open").length + fresh.length;
  const problems = fresh.flatMap((key) => blockProblems(form, key, found, who));
  if (open > MOST) problems.push([`block-${fresh.at(-1)}`, "Three focuses are open already. Close one first."]);
  else if (open === MOST && fresh.length && !fresh.some((key) => field(form, key, "reason").value.trim())) {
    problems.push([`id_focus-${fresh.at(-1)}-reason`, "A third focus needs a reason."]);
  }
  return problems;
}

function blockProblems(form, key, found, who) {
  const [fault, what, drill, kind, day] = ["fault", "what", "other_drill", "kind", "decide_on"].map((name) => field(form, key, name)?.value.trim());
  const problems = [];
  if (!fault && !what) problems.push([`id_focus-${key}-fault`, "Choose what to work on, or write it in your own words."]);
  if (fault && !faultOf(form, key, who, found)) problems.push([`id_focus-${key}-fault`, "Not in the catalogue. Choose from the list, or use your own words."]);
  if (drill && !codeOf(found.drills, drill) && !found.drills[drill]) problems.push([`id_focus-${key}-other_drill`, "Not in the library. Choose a drill from the list."]);
  if (kind === "trial" && !day) problems.push([`id_focus-${key}-decide_on`, "A trial needs the day on which you decide."]);
  return problems;
}
