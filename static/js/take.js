// Taking stills one after the other: from the camera, from a clip, or chosen. Each is made small here and sent by itself,
// while the next checkpoint is offered. Without this script the form takes one picture at a time.
import { Camera, hasCamera } from "./taking/camera.js";
import { Clip } from "./taking/clip.js";
import { Sender } from "./taking/sender.js";
import { shrink, shrinkFile } from "./taking/shrink.js";
import { Waiting } from "./taking/waiting.js";

const form = document.querySelector("form.take");
const tools = document.getElementById("take-tools");
const said = document.getElementById("take-said");
const list = document.getElementById("on-their-way");
const fields = form.elements;
const most = Number(tools.dataset.most);
const part = (name) => tools.querySelector(`[data-part="${name}"]`);

const camera = new Camera(part("camera").querySelector("video"));
const clip = new Clip(part("clip").querySelector("video"));
const scrub = part("clip").querySelector("[type=range]");
const file = tools.querySelector("[type=file]");
const { person } = document.getElementById("outbox").dataset;
const shelf = new Waiting();
const sender = new Sender({ person, shelf, show: showEntry, taken: showTaken });

// --- What the next still shows ------------------------------------------------------------------

function chosen(name) {
  return form.querySelector(`[name="${name}"]:checked`);
}

function labelOf(name) {
  return chosen(name)?.closest("label").textContent.trim() || "";
}

// Of what this page took and has in the list already, by checkpoint, view and moment.
const taken = new Set();

function shows() {
  const option = fields.checkpoint.selectedOptions[0];
  return { checkpoint: option?.value ? option.textContent.trim() : "", view: labelOf("view"), moment: labelOf("moment") };
}

function wordsOf({ checkpoint, view, moment }) {
  return `${checkpoint}, ${view.toLowerCase()}, on ${moment.toLowerCase()}`;
}

// A first checkpoint and view, so that the camera can be used at once; what was chosen stays.
function fillIn() {
  if (!fields.checkpoint.value) choose([...fields.checkpoint.options].find((option) => option.value));
  for (const name of ["view", "moment"]) if (!chosen(name)) form.querySelector(`[name="${name}"]`).checked = true;
  nameShutters();
}

function choose(option) {
  if (option) option.selected = true;
}

function nameShutters() {
  const words = wordsOf(shows());
  for (const button of tools.querySelectorAll("[data-takes]")) button.textContent = `${button.dataset.says}: ${words}`;
}

// The next checkpoint of the same part of the game; after the last one the choice stays with the coach.
function offerNext() {
  taken.add(wordsOf(shows()));
  const own = fields.checkpoint.selectedOptions[0];
  const options = [...own.parentElement.querySelectorAll("option")].filter((option) => option.value);
  const next = options[options.indexOf(own) + 1];
  choose(next);
  fields.caption.value = "";
  nameShutters();
  said.textContent = next ? `Next: ${wordsOf(shows())}.` : "That was the last checkpoint. Choose another view or moment, or leave.";
}

// --- Taking one ---------------------------------------------------------------------------------

const KEY = /[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}(?=\/(?:\?.*)?$)/;

// A key in the form of RFC 9562, version 4; crypto.randomUUID is for pages with TLS alone.
function freshKey() {
  const marks = new Map([[6, (byte) => (byte & 0x0f) | 0x40], [8, (byte) => (byte & 0x3f) | 0x80]]);
  const bytes = [...crypto.getRandomValues(new Uint8Array(16))].map((byte, place) => (marks.get(place) ?? Number)(byte));
  const digits = bytes.map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return digits.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// Whether all that a still needs is said; else the first field that is not.
function isReady() {
  const missing = [...form.querySelectorAll("select, [type=radio], [type=checkbox]")].find((field) => (
    field.type === "radio" ? !chosen(field.name) : field.type === "checkbox" ? !field.checked : !field.value));
  if (!missing) return true;
  said.textContent = missing.name === "agrees" ? "Ask first, and tick that they agree." : "Choose what it shows first.";
  missing.focus();
  return false;
}

function send(blob, name) {
  const { pathname, search } = new URL(form.action);
  const [key] = form.action.match(KEY);
  const fields = [...new FormData(form)].filter(([field]) => field !== "csrfmiddlewaretoken" && field !== "picture");
  const files = [["picture", new File([blob], name, { type: blob.type })]];
  const words = wordsOf(shows());
  offerNext();
  sender.add({ words, form: { key, address: pathname + search, fields, files, kind: "still", words: `${form.dataset.words}, ${words}` } });
  form.action = form.action.replace(KEY, freshKey());
}

async function takeFrom(video) {
  if (!isReady()) return;
  const { videoWidth, videoHeight } = video;
  const blob = videoWidth ? await shrink(video, videoWidth, videoHeight) : null;
  if (blob) send(blob, "still.jpg");
  else said.textContent = "There is no picture to take yet. Wait until you see one.";
}

async function takeChosen() {
  const picture = fields.picture.files[0];
  if (!picture) {
    said.textContent = "Choose a picture first.";
    return fields.picture.focus();
  }
  if (!isReady()) return;
  said.textContent = "Making it smaller …";
  const small = await shrinkFile(picture);
  if (!small && picture.size > most) {
    said.textContent = `${picture.name} has ${Math.round(picture.size / 1e6)} MB, and this browser cannot make it smaller; ` +
      `${most / 1e6} MB may be sent. Take a screenshot of it and choose that.`;
    return;
  }
  fields.picture.value = "";
  send(small || picture, small ? "still.jpg" : picture.name);
}

// --- What becomes of each -----------------------------------------------------------------------

function showEntry(entry) {
  if (!entry.row) {
    entry.row = document.getElementById("on-its-way").content.firstElementChild.cloneNode(true);
    entry.row.querySelector("strong").textContent = entry.words;
    entry.row.querySelector("[data-again]").addEventListener("click", () => sender.send(entry));
    entry.row.querySelector("[data-drop]").addEventListener("click", () => { sender.drop(entry); entry.row.remove(); });
    list.append(entry.row);
  }
  entry.row.querySelector("span").textContent = entry.said;
  entry.row.querySelector(".actions").hidden = !entry.isProblem;
}

async function showTaken(entry, to) {
  said.textContent = `Kept: ${entry.words}. ${taken.has(wordsOf(shows())) ? "" : `Next: ${wordsOf(shows())}.`}`;
  if (await renewList(to)) entry.row.remove();
}

let asked = 0; // of several answers, the list of the last one is shown

// The list as the server has it now; whether it could be had.
async function renewList(to) {
  const number = ++asked;
  const answer = await fetch(to, { redirect: "manual", cache: "no-store" }).catch(() => null);
  if (!answer?.ok) return false;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const [old, renewed] = [document, page].map((whole) => whole.getElementById("stills"));
  if (!old || !renewed) return false;
  if (number === asked) old.replaceChildren(...[...renewed.childNodes].map((node) => document.importNode(node, true)));
  form.querySelector("[name=agrees]")?.closest(".field").remove(); // asked once
  return true;
}

// A still of this lesson that waited since an earlier page.
shelf.onchange(({ kind, answer }) => {
  if (kind === "still" && answer?.isSent && answer.to === location.pathname) renewList(answer.to);
});

// --- The page -----------------------------------------------------------------------------------

function open(name) {
  for (const other of ["camera", "clip"]) part(other).hidden = other !== name;
  if (name !== "camera") camera.close();
  if (name !== "clip") clip.close();
  for (const shutter of tools.querySelectorAll("[data-takes]")) shutter.disabled = true;
  if (name) fillIn();
}

// It shows something: now it can be taken.
function ready(name) {
  const shutter = part(name).querySelector("[data-takes]");
  shutter.disabled = false;
  shutter.focus();
}

const DOES = {
  async camera() {
    said.textContent = "Opening the camera …";
    open("camera");
    said.textContent = await camera.open();
    if (said.textContent) open("");
    else ready("camera");
  },
  clip() { file.click(); },
  close() { open(""); said.textContent = ""; },
  before: () => clip.step(-1),
  after: () => clip.step(1),
  play: () => clip.toggle(),
};

tools.addEventListener("click", ({ target }) => {
  const button = target.closest("button");
  if (button?.dataset.takes) takeFrom(part(button.dataset.takes).querySelector("video"));
  else if (button) DOES[button.dataset.does]();
});

file.addEventListener("change", async () => {
  if (!file.files[0]) return;
  open("clip");
  said.textContent = "Opening the clip …";
  const why = await clip.open(file.files[0]);
  said.textContent = why || "The clip stays on this device; only the frame that you take is sent.";
  file.value = "";
  if (why) return open("");
  scrub.max = clip.video.duration;
  scrub.value = 0;
  ready("clip");
});

scrub.addEventListener("input", () => clip.go(Number(scrub.value)));
scrub.addEventListener("keydown", (event) => {
  const direction = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (!direction) return;
  event.preventDefault();
  clip.step(direction);
});
for (const name of ["seeked", "timeupdate"]) {
  clip.video.addEventListener(name, () => {
    if (document.activeElement !== scrub || clip.video.paused) scrub.value = clip.video.currentTime;
    scrub.setAttribute("aria-valuetext", `${clip.video.currentTime.toFixed(2)} s of ${clip.video.duration.toFixed(2)} s`);
    part("time").textContent = `${clip.video.currentTime.toFixed(2)} s`;
  });
}
for (const name of ["play", "pause"]) {
  clip.video.addEventListener(name, () => { part("play").textContent = clip.video.paused ? "Play slowly" : "Stop"; });
}

form.addEventListener("change", nameShutters);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  takeChosen();
});
tools.querySelector('[data-does="camera"]').hidden = !hasCamera;
tools.hidden = false;
