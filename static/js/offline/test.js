// A scored test without a network, ball by ball: each tap is the form that the page online would send, in order.
import { make, message, show, unseen } from "./dom.js";
import { get, put } from "./kept.js";
import { keep } from "./send.js";

const LAST = 3; // balls in sight, as online

export async function test(found, student, key) {
  const who = found.students[student] || (await get(`draft-walk-in-${student}`))?.who;
  if (!who || !found.designs) return false;
  if (key === "new") {
    key = crypto.randomUUID();
    history.replaceState({ isFresh: true }, "", `/students/${student}/tests/${key}/`);
  }
  const address = `/students/${student}/tests/${key}/`;
  const draft = await get(`draft-${key}`);
  if (!draft && !history.state?.isFresh) return false; // one that was begun with a network has its balls there
  const context = { found, who, address, key };
  if (draft) pad({ ...context, draft, design: found.designs.find(({ id }) => id === draft.design) });
  else begin(context);
  return true;
}

const sideOf = (who, design) => design.texts[who.sides[design.area] || "right"];
const total = (design) => design.stations.reduce((sum, { balls }) => sum + balls, 0);
const back = () => make("p", { class: "back" }, make("a", { href: "/" }, "Today"));
const whose = (context) => (context.found.kind === "student" ? "" : ` with ${context.who.name}`);

function begin(context) {
  const { found, who } = context;
  const form = make("form", { novalidate: true },
    make("fieldset", { class: "field tests" }, make("legend", {}, "Which test"), found.designs.map((design) => designCard(design, sideOf(who, design)))),
    make("p", { class: "actions" }, make("button", { class: "main" }, "Begin")));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const design = found.designs.find(({ id }) => String(id) === new FormData(form).get("design"));
    if (design) await started(context, design, form);
    else problem(form, "Choose a test.");
  });
  show(`Begin a test${whose(context)}`, ["score"], back(), make("h1", {}, `Begin a test${whose(context)}`), form,
    make("p", { class: "soft small" }, "Without a network each test has its usual distances and balls, outside a lesson."));
}

function designCard(design, texts) {
  const id = `design-${design.id}`;
  return make("div", { class: "card" },
    make("label", { class: "check", for: id }, make("input", { type: "radio", name: "design", value: design.id, id }), " ",
      make("span", {}, make("b", {}, texts.name), make("br"), design.usual)),
    make("div", { class: "how" }, make("p", {}, texts.purpose),
      make("p", {}, make("b", {}, "Set up:"), ` ${texts.setup}`), design.aim && make("p", {}, design.aim),
      make("p", {}, make("b", {}, "Note:"), ` ${texts.note}`), make("p", { class: "care" }, texts.caution)));
}

async function started(context, design, form) {
  const { found, who, address, key } = context;
  const draft = { address, open: true, design: design.id, balls: [] };
  const fields = [["design", String(design.id)], ["moment", "home"], ["unit", found.units], ["width_unit", found.units === "ft" ? "in" : "cm"], ["step", "step"]];
  try {
    await put(`draft-${key}`, draft);
    await keep({ address, fields, kind: "test", words: `Test of ${who.name}: ${sideOf(who, design).name}`, root: address });
  } catch {
    return problem(form, "Not saved: this phone keeps nothing more.");
  }
  return pad({ ...context, draft, design });
}

function problem(place, words) {
  place.querySelector(".error")?.remove();
  const said = make("p", { class: "message error", tabindex: "-1" }, words);
  place.prepend(said);
  said.focus();
}

// The station of a ball, counted from 1; none after the last one.
function stationOf(design, number) {
  for (const station of design.stations) {
    if (number <= station.balls) return station;
    number -= station.balls;
  }
  return undefined;
}

function pad(context) {
  const { draft, design, who } = context;
  const { name } = sideOf(who, design);
  const number = draft.balls.length + 1;
  const station = stationOf(design, number);
  if (!draft.open) return result(context, name);
  show(`${name}${whose(context)}`, ["score"],
    make("div", { class: "recording" }, back(), make("h1", {}, name)),
    make("div", { id: "pad" }, now(design, draft, number, station), keys(context, number, station)));
  document.querySelector(".ball").focus();
}

function now(design, draft, number, station) {
  const last = draft.balls.slice(-LAST);
  const first = draft.balls.length - last.length + 1;
  return make("div", { class: "now" },
    make("p", { class: "ball", tabindex: "-1" },
      station ? [make("b", {}, `Ball ${number} of ${total(design)}`), " ", make("span", {}, `from ${station.where}`)] : make("b", {}, `All ${total(design)} balls are noted.`)),
    station && !draft.balls.length && design.aim && make("p", {}, design.aim),
    last.length && make("ol", { class: "last-three", "aria-label": "The last balls" }, last.map((ball, place) => make("li", {}, `${first + place}: ${ball.words}`))));
}

function keys(context, number, station) {
  const count = context.draft.balls.length;
  return make("div", { class: "thumb" },
    station && make("div", { class: "keys" }, station.rows.map((row) => make("div", { class: "row", role: "group" }, row.map((key) =>
      act(capital(key.label), () => note(context, number, key.word, "", key.label)))))),
    station?.further.length && make("div", { class: "row far" }, station.further.map((far) => further(context, number, far))),
    make("div", { class: "row foot-row" },
      count ? act(`Undo ball ${count}`, () => undo(context)) : make("a", { class: "button", href: "/" }, "Cancel"),
      count && (station ? make("details", {}, make("summary", {}, "Stop here"), act(`Yes, ${count === 1 ? "1 ball counts" : `${count} balls count`}`, () => done(context), "main"))
        : act("Done", () => done(context), "main"))));
}

function further(context, number, far) {
  const input = make("input", { id: `far-${far.word}`, inputmode: "decimal", autocomplete: "off" });
  const form = make("form", {}, make("label", { for: input.id }, far.ask), make("div", { class: "row" }, input, make("button", {}, "Note it")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = input.value.trim().replace(",", ".");
    if (!/^\d{1,3}(\.5)?$/.test(typed) || Number(typed) <= 0) return problem(form, "Type a number, such as 5 or 4.5.");
    return note(context, number, far.word, typed, `${typed} ${far.word}`);
  });
  return make("details", { name: "further" }, make("summary", {}, far.label), form);
}

function act(words, does, name) {
  const button = make("button", { type: "button", class: name }, words);
  button.addEventListener("click", does);
  return button;
}

const capital = (words) => words[0].toUpperCase() + words.slice(1);

// One step of the test: the outbox has it before the page shows it.
async function step(context, part, fields, words, change) {
  const { address, draft, key } = context;
  if (context.busy) return; // the second tap of a double tap
  context.busy = true;
  const changed = { ...draft, ...change };
  try {
    await keep({ address: `${address}${part}/`, fields, kind: "test", words, root: address });
    await put(`draft-${key}`, changed);
  } catch {
    context.busy = false;
    return problem(document.getElementById("pad"), "Not saved: this phone keeps nothing more.");
  }
  return pad({ ...context, busy: false, draft: changed });
}

function note(context, number, what, far, words) {
  const { draft, design } = context;
  const fields = [["number", String(number)], ["plan", design.plan], ["what", what], ["far", far]];
  return step(context, "balls", fields, `Ball ${number}`, { balls: [...draft.balls, { words }] });
}

function undo(context) {
  const { draft, design } = context;
  const number = draft.balls.length;
  return step(context, "undo", [["number", String(number)], ["plan", design.plan]], `Undo ball ${number}`, { balls: draft.balls.slice(0, -1) });
}

const done = (context) => step(context, "done", [], "The end of the test", { open: false });

function result(context, name) {
  const counts = new Map();
  for (const { words } of context.draft.balls) counts.set(words, (counts.get(words) || 0) + 1);
  show(`${name}${whose(context)}`, [], back(), make("h1", {}, name, unseen(whose(context))),
    message("Saved on this phone. The result is made when the test is sent."),
    make("ul", {}, [...counts].map(([words, count]) => make("li", {}, `${capital(words)}: ${count} of ${context.draft.balls.length}`))));
}
