// The pad goes on to the next ball as soon as this one is kept on the phone; once all is sent it is drawn by the server.
import { make } from "./outbox/parts.js";

const LAST = 3;

document.addEventListener("kept", ({ target, detail }) => {
  const pad = target.closest("#pad");
  if (!pad) return;
  const number = Number(target.elements.namedItem("number")?.value);
  const words = detail.submitter?.name === "what" ? said(target, detail.submitter) : "";
  if (words && number === next(pad)) show(pad, number + 1, [...lastBalls(pad), `${number}: ${words}`]);
  if (target.matches(".undo") && number === next(pad) - 1) show(pad, number, lastBalls(pad).slice(0, -1));
});

function said(form, button) {
  const far = form.elements.namedItem("far");
  if (!far) return button.textContent.trim().toLowerCase();
  return /^\d{1,3}([.,]5)?$/.test(far.value.trim()) ? `${far.value.trim()}, ${button.value}` : ""; // the server says what is wrong
}

// The number of the next ball; one more than the last where all are noted.
function next(pad) {
  const field = pad.querySelector(".keys [name=number]");
  return pad.dataset.next ? Number(pad.dataset.next) : Number(field?.value || 0);
}

function lastBalls(pad) {
  return [...pad.querySelectorAll(".last-three li")].map((item) => item.textContent);
}

function distances(pad) {
  return pad.dataset.stations.split("|").flatMap((station) => {
    const [where, balls] = station.split("*");
    return Array(Number(balls)).fill(where);
  });
}

function show(pad, number, balls) {
  const all = distances(pad);
  const isOver = number > all.length;
  pad.dataset.next = number;
  for (const part of pad.querySelectorAll(".now > p:not(.ball)")) part.remove(); // what was said of the ball before
  const ball = pad.querySelector(".ball");
  ball.replaceChildren(make("b", {}, isOver ? `All ${all.length} balls are noted.` : `Ball ${number}${"ends" in pad.dataset ? ` of ${all.length}` : ""}`), isOver ? "" : ` from ${all[number - 1]}`);
  list(pad, balls.slice(-LAST));
  for (const form of pad.querySelectorAll("form:has([name=number]):not(.undo)")) {
    form.elements.namedItem("number").value = number;
    form.dataset.words = `Ball ${number}, ${pad.dataset.words}`;
    form.reset();
    form.hidden = isOver;
  }
  for (const part of pad.querySelectorAll(".far")) part.hidden = isOver;
  foot(pad, number - 1, isOver);
  const thumb = pad.querySelector(".thumb");
  thumb.replaceWith(thumb.cloneNode(true)); // it takes no tap for a moment: the second one of a double tap
}

function list(pad, balls) {
  let shown = pad.querySelector(".last-three");
  if (!shown) {
    shown = make("ol", { class: "last-three", "aria-label": "The last balls" });
    pad.querySelector(".now").append(shown);
  }
  shown.replaceChildren(...balls.map((words) => make("li", {}, words)));
}

// Undo, and the end of the test.
function foot(pad, noted, isOver) {
  const row = pad.querySelector(".foot-row");
  const { done, undo, root, words } = pad.dataset;
  const parts = noted ? [form(undo, `Undo ball ${noted}`, `Undo ball ${noted}`, root, { number: noted })] : [];
  if (noted) parts[0].classList.add("undo");
  if (noted) parts[0].dataset.part = "pad";
  if (noted && isOver) parts.push(form(done, "Done", `Done, ${words}`, root));
  if (noted && !isOver) {
    const stop = make("details");
    stop.append(make("summary", {}, "Stop here"));
    stop.append(form(done, `Yes, ${noted} ball${noted === 1 ? " counts" : "s count"}`, `Done, ${words}`, root));
    parts.push(stop);
  }
  row.replaceChildren(...parts);
}

function form(action, label, words, root, hidden = {}) {
  const made = make("form", { method: "post", action, "data-outbox": "", "data-kind": "test", "data-words": words, "data-root": root, "data-page": "" });
  for (const [name, value] of Object.entries(hidden)) made.append(make("input", { type: "hidden", name, value }));
  made.append(make("button", {}, label));
  return made;
}
