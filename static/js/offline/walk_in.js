// A walk-in without a network: a name, child or adult, and a side; then their log.
import { blank } from "./blanks.js";
import { make, show } from "./dom.js";
import { put } from "./kept.js";
import { keep } from "./send.js";

const REQUIRED = { name: "Type a name.", age_group: "Choose child or adult." };

export async function walkIn(found, key) {
  if (found.kind !== "coach") return false;
  const student = key || crypto.randomUUID();
  const address = `/students/${student}/walk-in/`;
  const fields = await blank("walk-in");
  if (!fields) return false;
  history.replaceState(null, "", address);
  const form = make("form", { method: "post", action: address, novalidate: true }, [...fields.childNodes],
    make("p", { class: "actions" }, make("button", { class: "main" }, "Save and log the lesson")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    save(form, student, address);
  });
  show("Walk-in", [], make("p", { class: "back" }, make("a", { href: "/" }, "Today")), make("h1", {}, "Walk-in"), form,
    make("p", { class: "soft" }, "Everything else can wait. The side applies to every area until you change it in the details."));
  return true;
}

async function save(form, student, address) {
  const typed = Object.fromEntries(new FormData(form));
  const missing = Object.keys(REQUIRED).filter((name) => !typed[name]?.trim());
  form.querySelector(".problems")?.remove();
  if (missing.length) return showMissing(form, missing);
  const name = shortName(typed.name);
  const who = { name, areas: ["putting"], focuses: [], sides: {} };
  try {
    await put(`draft-walk-in-${student}`, { address: `/students/${student}/`, who });
    await keep({ address, page: address, fields: Object.entries(typed), kind: "walk-in", words: `Walk-in ${name}`, root: `/students/${student}/` });
  } catch {
    return showMissing(form, [], "Not saved: this phone keeps nothing more. What you typed is still here.");
  }
  location.assign(`/students/${student}/lessons/new/`);
}

function showMissing(form, missing, words) {
  const items = words ? [make("li", {}, words)] : missing.map((name) => make("li", {}, make("a", { href: `#${fieldOf(form, name).id}` }, REQUIRED[name])));
  const part = make("div", { class: "problems", role: "group", "aria-labelledby": "problems", tabindex: "-1" },
    make("h2", { id: "problems" }, "To put right"), make("ul", {}, items));
  form.prepend(part);
  part.focus();
}

const fieldOf = (form, name) => form.querySelector(`[name=${name}]`);

function shortName(name) {
  const [first, ...others] = name.trim().split(/\s+/);
  return others.length ? `${first} ${others.at(-1)[0]}.` : first;
}
