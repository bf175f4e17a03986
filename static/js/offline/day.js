// A coach's day: who comes when, each with a log to write.
import { dayWords, link, make, show, today, unseen } from "./dom.js";
import { get } from "./kept.js";
import { waiting } from "./send.js";

export async function day(found) {
  if (found.kind !== "coach") return false;
  const on = today();
  const logs = await waiting(/\/lessons\/[0-9a-f-]{36}\/$/);
  const mine = found.visits.filter((visit) => visit.on === on);
  for (const visit of mine) visit.logged = (await get(`logged-${visit.student}`))?.on === on;
  show(
    `Today, ${dayWords(on)}`, [],
    make("h1", {}, `Today, ${dayWords(on, { weekday: "long", day: "numeric", month: "long", year: "numeric" })}`),
    mine.length ? mine.map((visit) => visitPart(visit, found, logs)) : make("p", { class: "soft" }, "Nothing planned."),
    make("p", { class: "actions" }, link("/students/walk-in/", "Walk-in")),
    later(found, on),
    make("p", { class: "soft small" }, `Kept on this phone at ${new Date(found.at).toLocaleString("en-GB", { weekday: "long", hour: "2-digit", minute: "2-digit" })}.`),
  );
  return true;
}

function visitPart(visit, found, logs) {
  const { name } = found.students[visit.student];
  return make("div", { class: "visit" },
    make("p", {}, make("b", {}, visit.time)),
    make("p", { class: "actions" }, make("span", { class: "name" }, name), step(visit, name, logs),
      link(`/students/${visit.student}/tests/new/`, "Test", unseen(` with ${name}`))));
}

function step(visit, name, logs) {
  const begun = logs.find((entry) => entry.address.startsWith(`/students/${visit.student}/`));
  if (begun) return make("a", { class: "button main", href: begun.address }, begun.fields.some(([name]) => name === "done") ? "The log" : "Finish the log", unseen(` of ${name}`));
  if (visit.begun) return make("span", { class: "soft" }, "logged");
  const again = `/students/${visit.student}/lessons/new/`;
  if (visit.logged) return [make("span", { class: "soft" }, "logged"), link(again, "Log once more", unseen(` ${name}`))];
  return make("a", { class: "button main", href: again }, "Log", unseen(` a lesson of ${name}`));
}

function later(found, on) {
  const days = [...new Set(found.visits.map((visit) => visit.on))].filter((other) => other > on);
  return days.map((other) => make("details", {},
    make("summary", {}, dayWords(other)),
    make("ul", { class: "plain" }, found.visits.filter((visit) => visit.on === other).map((visit) =>
      make("li", {}, `${visit.time} ${found.students[visit.student].name}`)))));
}
