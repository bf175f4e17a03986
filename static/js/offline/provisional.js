// What a log says, as the words of a sheet: focuses with feel, drill and dose, what to keep, and what comes next time.
import { codeOf, faultOf, field, isBegun, keysOf } from "./blocks.js";
import { decisionOf } from "./checks.js";

export function sheetOf(form, found, who) {
  const value = (name) => form.elements.namedItem(name)?.value.trim() || "";
  const stays = (key) => {
    const focus = who.focuses.find((one) => one.key === key);
    return focus ? decisionOf(form, focus) === "open" : isBegun(form, key);
  };
  const keys = keysOf(form).filter(stays);
  return {
    name: who.name,
    day: value("day"),
    academy: found.academy,
    keep: value("keep"),
    focuses: keys.map((key, number) => focusOf(form, key, number + 1, found, who)),
    next_time: value("next_time"),
    cautions: [],
  };
}

function focusOf(form, key, number, found, who) {
  const typed = (name) => field(form, key, name)?.value.trim() || "";
  const fault = faultOf(form, key, who, found);
  const stored = who.focuses.find((focus) => focus.key === key);
  const code = codeOf(found.drills, typed("other_drill")) || typed("drill");
  const usual = found.doses[code];
  const drill = code && { name: found.drills[code] || code, dose: doseOf(typed, usual), mark: typed("mark") };
  const heading = stored?.title || typed("what") || found.faults[fault]?.name || "";
  return { number, heading, feel: typed("feel") || found.faults[fault]?.feel || "", drill };
}

// An empty dose is the usual one of the drill.
function doseOf(typed, usual = []) {
  const [amount, unit, often, long] = ["amount", "unit", "per_week", "days"].map((name, place) =>
    (name === "unit" && !typed("amount") ? "" : typed(name)) || usual[place]);
  return `${amount} ${unit}, ${often} times a week, for ${long} days`;
}
