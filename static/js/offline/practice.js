// A day without a network: a student's drills, or those of a guardian's children, each with one form to report it; and the
// sheet that a student was given.
import { dayWords, link, make, show, today, unseen } from "./dom.js";
import { keep, waiting } from "./send.js";
import { drawSheet } from "./sheet.js";

const BUTTONS = 12; // a score out of so many at most is a row of buttons, as online

// The children of a guardian, each with what is to be practised today.
export async function family(found) {
  if (found.kind !== "guardian") return false;
  const waits = await waiting(/^\/students\/[0-9a-f-]{36}\/practice\//);
  show("Today", [],
    make("h1", {}, "Today ", make("span", { class: "soft" }, dayWords(today()))),
    found.children.map((child) => childPart(child, found, waits)));
  return true;
}

function childPart(child, found, waits) {
  const { student, name, drills } = child;
  const line = (drill) => `${drill.name}: ${drill.dose}${linesOf(drill, { ...found, ...child }, waits).length ? ", reported today" : ""}`;
  return make("section", { class: "entry", "aria-labelledby": `child-${student}` },
    make("h2", { id: `child-${student}` }, name),
    make("div", {},
      drills.length ? make("ul", {}, drills.map((drill) => make("li", {}, line(drill)))) : make("p", { class: "soft" }, "No drill for today."),
      drills.length > 0 && make("p", { class: "actions" }, link(`/students/${student}/practice/`, "Report practice", unseen(` of ${name}`)))));
}

// The day of the student at this address: one's own, or a child's.
function dayOf(found, student) {
  if (found.kind === "student") return !student || student === found.student ? found : null;
  const child = found.children?.find((one) => one.student === student);
  return child ? { ...found, ...child } : null;
}

export async function practice(kept, student) {
  const found = dayOf(kept, student);
  if (!found) return false;
  const waits = await waiting(new RegExp(`^/students/${found.student}/practice/`));
  const cards = found.drills.map((drill) => card(drill, found, waits));
  const isOwn = kept === found;
  show(isOwn ? "Today" : `Today, ${found.name}`, ["practice"],
    !isOwn && make("p", { class: "back" }, make("a", { href: "/" }, "Your children")),
    make("h1", { class: "day" }, isOwn ? "Today " : `Today, ${found.name} `, make("span", { class: "soft" }, dayWords(today()))),
    cards.length ? cards : make("p", { class: "empty" }, "No drill for today. The next lesson may bring one."),
    isOwn && make("p", { class: "actions" },
      found.sheet && link(`/students/${found.student}/sheets/${found.sheet.key}/`, "Sheet"),
      link(`/students/${found.student}/tests/new/`, "Begin a test")));
  return true;
}

// What was reported today, also by what waits since today.
function linesOf(drill, found, waits) {
  const reported = waits.filter(({ address, made }) => address.includes(`/practice/${drill.key}/`) && today(new Date(made)) === today());
  const said = found.on === today() ? drill.today : [];
  return [...said, ...reported.map(({ fields }) => wordsOf(fields, drill, found))];
}

function card(drill, found, waits) {
  const form = reportForm(drill, found);
  const lines = linesOf(drill, found, waits);
  return make("section", { class: "entry", "aria-labelledby": `name-${drill.key}` },
    make("h2", { id: `name-${drill.key}` }, drill.name),
    make("div", {},
      make("h3", {}, drill.feel),
      make("p", {}, make("b", {}, `${drill.dose}.`), ` ${drill.week}.`),
      lines.map((words) => make("p", {}, make("b", {}, "Reported today:"), ` ${words}.`)),
      !lines.length && make("p", { class: "actions" }, make("button", { form: form.id, class: "main" }, "Done today", unseen(`: ${drill.name}`))),
      make("p", {}, make("b", {}, "Done well:"), ` ${drill.mark}`),
      lines.length ? make("details", {}, make("summary", {}, "Report one more"), form) : form,
      make("details", {}, make("summary", {}, "Steps"), steps(drill)),
      make("p", { class: "care" }, drill.caution)));
}

function steps(drill) {
  return [
    make("p", {}, make("b", {}, "You need:"), ` ${drill.equipment}`),
    make("p", {}, make("b", {}, "Set up:"), ` ${drill.setup}`),
    make("ol", {}, drill.steps.map((step) => make("li", {}, step))),
    make("p", {}, drill.tip),
  ];
}

function reportForm(drill, found) {
  const id = `report-${drill.key}`;
  const form = make("form", { class: "practice", id, method: "post", novalidate: true },
    scoreField(drill),
    choice(`${id}-felt`, "How did it feel?", "felt", found.felt.filter(([value]) => value)),
    field(`How many ${drill.unit}`, "amount", make("input", { name: "amount", value: drill.amount, inputmode: "numeric" })),
    make("details", {}, make("summary", {}, "Note, question"), field("A note or a question", "note", make("textarea", { name: "note", rows: 2 }))),
    make("p", { class: "actions" }, make("button", {}, "Done")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    report(form, drill, found);
  });
  return form;

  function field(label, name, input) {
    input.id = `${id}-${name}`;
    return make("div", { class: "field" }, make("label", { for: input.id }, label, name !== "amount" && " (optional)"), input);
  }

  function scoreField({ score }) {
    if (!score) return field("Your score", "score_words", make("input", { name: "score_words", maxlength: 40 }));
    const label = score.of ? `How many of ${score.of}?` : "Your score";
    if (!score.of || score.of > BUTTONS) return field(label, "score", make("input", { name: "score", inputmode: "numeric" }));
    return choice(`${id}-score`, label, "score", [...Array(score.of + 1).keys()].map((number) => [String(number), String(number)]));
  }
}

function choice(id, label, name, choices) {
  return make("fieldset", { class: "field" }, make("legend", {}, `${label} (optional)`),
    make("div", {}, choices.map(([value, words], number) => make("div", {}, make("label", { for: `${id}-${number}` },
      make("input", { type: "radio", name, value, id: `${id}-${number}` }), ` ${words}`)))));
}

function wordsOf(fields, drill, found) {
  const typed = Object.fromEntries(fields);
  const felt = found.felt.find(([value]) => value && value === typed.felt);
  const score = typed.score && drill.score ? (drill.score.of ? `${typed.score} of ${drill.score.of}` : typed.score) : typed.score_words;
  return [`${typed.amount || drill.amount} ${drill.unit}`, score, felt && `felt ${felt[1].toLowerCase()}`].filter(Boolean).join(", ");
}

async function report(form, drill, found) {
  const address = `/students/${found.student}/practice/${drill.key}/${crypto.randomUUID()}/`;
  const fields = [...new FormData(form)].map(([name, value]) => [name, String(value)]);
  const before = await waiting(new RegExp(`/practice/${drill.key}/`));
  if (linesOf(drill, found, before).length) fields.push(["another", "on"]);
  try {
    await keep({ address, fields, kind: "practice", words: `Practice${found.name ? ` of ${found.name}` : ""}: ${drill.name}` });
  } catch {
    form.prepend(make("p", { class: "message error", role: "alert" }, "Not saved: this phone keeps nothing more. What you typed is still here."));
    return;
  }
  const part = form.closest("section");
  const waits = await waiting(new RegExp(`/practice/${drill.key}/`));
  part.replaceWith(card(drill, found, waits.length ? waits : [{ address, fields, made: Date.now() }]));
}

export async function sheet(found, student, key) {
  if (found.kind !== "student" || found.sheet?.key !== key) return false;
  show(`Practice sheet, ${dayWords(found.sheet.day)}`, ["sheet", "sheet-page"],
    make("p", { class: "back" }, make("a", { href: "/" }, "Today")), drawSheet(found.sheet));
  return true;
}
