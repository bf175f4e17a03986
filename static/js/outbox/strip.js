// The line that says what waits on this phone, and lets it be sent, saved as a file, opened or thrown away.
import { REASONS } from "./outbox.js";
import { written } from "./files.js";
import { sendPlainly } from "./forms.js";
import { make } from "./parts.js";

const DAY = 86400000;
const FULL = "This phone keeps nothing: it is full, or the browser refuses it. What you type or take is only on this page.";
const REFUSED = {
  VersionError: "This page is older than what is kept here. Load it again.",
  TimeoutError: "An older page of this site is open in another tab: close it. What you type or take is only on this page.",
};
const LONG = 14 * DAY; // some browsers forget what a site keeps when nobody comes by

export class Strip {
  constructor(place, outbox) {
    this.outbox = outbox;
    this.place = place;
    this.status = add(place, "p", "", { role: "status" });
    this.list = add(place, "details");
    this.summary = add(this.list, "summary");
    this.items = add(this.list, "ul");
    this.promise = add(this.list, "p");
    this.actions = add(place, "p", "", { class: "actions" });
    this.sendNow = button(this.actions, "Send now", () => this.send());
    button(this.actions, "Export", async () => save(await outbox.exported()));
    outbox.onchange((news) => this.hear(news));
    setInterval(() => this.show(), 60000);
  }

  hear(news) {
    if (news.put && !news.isQuiet) this.say("Saved on this phone.");
    else if (news.answer?.isSent) this.say("Sent.");
    else if (news.answer?.problem) this.say(`${news.words} was not taken.`);
    else this.show();
  }

  say(words, to) {
    this.words = words;
    this.to = to;
    this.show();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => { this.words = this.to = ""; this.show(); }, 8000);
  }

  async send() {
    this.words = "Sending.";
    await this.show();
    await this.outbox.send({ again: true });
  }

  async show() {
    const found = await this.outbox.pending().catch((error) => this.refuse(error));
    if (!found) return;
    const here = new Set([...document.getElementsByName("outbox_key")].map(({ value }) => value)); // open on this page
    const entries = found.filter(({ key }) => !here.has(key));
    const waits = entries.length > 0;
    this.place.hidden = !waits && !this.words;
    this.list.hidden = this.actions.hidden = !waits;
    this.status.textContent = [this.words, waits && this.outbox.reason && `Not sent yet: ${whyNot(this.outbox.reason)}.`, warning(entries)].filter(Boolean).join(" ");
    if (this.to) add(this.status, "a", " See it", { href: this.to });
    this.summary.replaceChildren(...(waits ? howMany(entries) : []));
    this.promise.textContent = this.outbox.isLasting === false ? "This browser may clear what waits here when the phone runs short of room: send it soon, or export it." : "";
    this.items.replaceChildren(...entries.map((entry) => this.item(entry)));
  }

  item(entry) {
    const item = document.createElement("li");
    add(item, "span", `${entry.words}, ${age(entry.made)}.`);
    if (entry.problem) add(item, "p", advice(entry.problem));
    if (!entry.problem && !entry.files.length) return item;
    const actions = add(item, "p", "", { class: "actions" });
    for (const [, file] of entry.files) button(actions, "Save the picture", () => saveFile(file, file.name));
    if (entry.problem) {
      if (!entry.files.length) button(actions, "Open it", () => sendPlainly(this.outbox, entry));
      const away = button(actions, "Throw away", () => {
        if (away.dataset.asked) return this.outbox.drop(entry);
        away.dataset.asked = "yes";
        away.textContent = "Really throw away?";
      });
    }
    return item;
  }

  // Nothing can be kept here: said at once, with the words as a file.
  refuse(error, entry) {
    this.place.hidden = false;
    this.status.textContent = REFUSED[error?.name] || FULL;
    if (entry) button(this.status, "Export", async () => save(JSON.stringify(await written(entry), null, 2)));
  }
}

// How many wait and how old the oldest is; some of the words only where there is room.
function howMany(entries) {
  const roomy = (words) => make("span", { class: "roomy" }, words);
  return [entries.length === 1 ? "1 waits" : `${entries.length} wait`, roomy(" on this phone"), ", ", roomy("the oldest "), age(entries[0].made)];
}

function whyNot(reason) {
  return REASONS[reason] || reason;
}

function warning(entries) {
  return entries.some(({ made }) => Date.now() - made > LONG) ? "Something has waited for more than 14 days: send it or export it, since a browser may forget it." : "";
}

// What to do about an answer that was no success.
function advice({ status, words }) {
  if (status === 0) return "This browser lost the picture, so it cannot be sent. Take it again.";
  if (status === 404) return "It was not taken: you no longer reach this student, or the lesson was moved to another. Ask the academy, or export it.";
  if (status === 403) return "It was not taken: you may not write this now. Ask the academy, or export it.";
  if (status === 409) return `It was changed elsewhere. Open it to see both. ${words}`;
  if (status === 422) return `Something is to be put right. ${words}`;
  return `The server refused it. ${words}`;
}

function age(made) {
  const minutes = Math.floor(Math.max(0, Date.now() - made) / 60000); // a clock that was put back
  if (minutes < 1) return "just now";
  if (minutes < 60) return `${minutes} min old`;
  return minutes < 48 * 60 ? `${Math.floor(minutes / 60)} h old` : `${Math.floor(minutes / 1440)} days old`;
}

function add(parent, name, text = "", attributes = {}) {
  const part = make(name, attributes, text);
  parent.append(part);
  return part;
}

function button(parent, text, act) {
  const made = add(parent, "button", text, { type: "button" });
  made.addEventListener("click", act);
  return made;
}

// A file with these words.
export function save(text) {
  saveFile(new Blob([text], { type: "application/json" }), "waiting.json");
}

function saveFile(file, name) {
  const link = make("a", { href: URL.createObjectURL(file), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}
